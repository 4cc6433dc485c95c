//! Whatever the record says, the checks return; and what they let pass can be evaluated.
#![allow(clippy::unwrap_used)]

use chrono::{DateTime, FixedOffset, NaiveDate};
use proptest::prelude::*;
use proptest::sample::select;

use super::sample::{Sample, curve, void};
use crate::evaluate::evaluate;
use crate::finding::Severity;
use crate::quantity::{Celsius, Percent, TorqueUnit};
use crate::reading::{Direction, LoadingTime, Reading, Recorded, Series, Status};
use crate::tool::{ToolClass, TorqueRange};

fn recorded() -> impl Strategy<Value = Recorded> {
    let digits = prop_oneof![
        4 => select(vec!["40", "120", "200", "40.00", "121.1", "0.2", "1"]).prop_map(str::to_owned),
        2 => (0_u32..30_000).prop_map(|n| format!("{}.{:02}", n / 100, n % 100)),
        1 => select(vec!["0", "-0", "-40", "79228162514264337593543950335", "0.0000000000000000000000000001"]).prop_map(str::to_owned),
    ];
    let unit = prop_oneof![5 => Just(TorqueUnit::NewtonMetre), 1 => select(TorqueUnit::ALL.to_vec())];
    (digits, unit).prop_map(|(digits, unit)| Recorded::new(&digits, unit).unwrap())
}

fn number() -> impl Strategy<Value = f64> {
    select(vec![
        0.0,
        -0.0,
        0.05,
        1.0,
        4.0,
        21.0,
        70.0,
        -5.0,
        1e300,
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
    ])
}

fn day() -> impl Strategy<Value = NaiveDate> {
    let some = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
    select(vec![
        NaiveDate::MIN,
        NaiveDate::MAX,
        some(2026, 11, 18),
        some(2026, 11, 19),
        some(2025, 1, 1),
        some(2028, 2, 29),
    ])
}

fn time() -> impl Strategy<Value = Option<DateTime<FixedOffset>>> {
    let west = FixedOffset::west_opt(86_399).unwrap();
    let east = FixedOffset::east_opt(86_399).unwrap();
    prop_oneof![
        Just(None),
        Just(Some(DateTime::<chrono::Utc>::MIN_UTC.with_timezone(&west))),
        Just(Some(DateTime::<chrono::Utc>::MAX_UTC.with_timezone(&east))),
        (0_i64..90_000_000)
            .prop_map(|ms| DateTime::from_timestamp_millis(1_794_988_800_000 + ms).map(|t| t.fixed_offset())),
    ]
}

fn direction() -> impl Strategy<Value = Direction> {
    select(vec![Direction::Clockwise, Direction::CounterClockwise])
}

prop_compose! {
    fn reading()(
        row in any::<u32>(),
        series in prop_oneof![3 => Just(Series::Points), 1 => select(Series::ALL.to_vec())],
        position in select(vec!["", " ", "1", "2"]),
        direction in direction(),
        (target, indicated, reference) in (recorded(), recorded(), recorded()),
        time in time(),
        reason in select(vec![None, None, None, Some(""), Some("slipped")]),
        note in select(vec!["", "?", "broken spring"]),
        seconds in select(vec!["", "0.01", "2.5", "79228162514264337593543950335"]),
    ) -> Reading {
        let status = reason.map_or(Status::Valid, void);
        Reading { row, series, position: position.to_owned(), direction, target, indicated, reference, time, status, note: note.to_owned(), loading_time: LoadingTime::new(seconds).ok(), trace: None }
    }
}

/// Some readings of the good run, some at random.
fn readings() -> impl Strategy<Value = Vec<Reading>> {
    let good = Sample::good().run.readings;
    prop_oneof![
        proptest::collection::vec(reading(), 0..40),
        proptest::sample::subsequence(good.clone(), 0..=good.len()),
        (Just(good), proptest::collection::vec((any::<proptest::sample::Index>(), reading()), 0..6))
            .prop_map(|(mut all, changes)| {
                for (at, change) in changes {
                    let i = at.index(all.len());
                    all[i] = change;
                }
                all
            }),
    ]
}

/// A sample with some of its fields at random.
fn sample() -> impl Strategy<Value = Sample> {
    let tool = (
        select(ToolClass::ALL.to_vec()),
        (recorded(), recorded()),
        proptest::option::of(recorded()),
        proptest::collection::vec(direction(), 0..4),
        proptest::option::of(number()),
    );
    let reference =
        (day(), day(), (recorded(), recorded()), recorded(), proptest::option::of(number()), 0_usize..3);
    let run = (
        day(),
        proptest::option::of(day()),
        proptest::option::of(day()),
        proptest::array::uniform4(proptest::option::of(number())),
    );
    (readings(), proptest::option::of(tool), proptest::option::of(reference), proptest::option::of(run))
        .prop_map(|(readings, tool, reference, run)| {
            let mut sample = Sample::good();
            sample.run.readings = readings;
            if let Some((class, (lower, upper), resolution, directions, claim)) = tool {
                let tool = &mut sample.run.tool;
                (tool.class, tool.range) = (class, TorqueRange { lower, upper });
                (tool.resolution, tool.directions, tool.claim) =
                    (resolution, directions, claim.map(Percent::new));
            }
            if let Some((calibrated_on, due, (lower, upper), resolution, drift, curves)) = reference {
                let it = &mut sample.reference;
                (it.calibrated_on, it.due, it.range) = (calibrated_on, due, TorqueRange { lower, upper });
                (it.resolution, it.drift_per_year) = (resolution, drift.map(Percent::new));
                let both = [Direction::Clockwise, Direction::CounterClockwise];
                it.curves =
                    both[..curves].iter().map(|d| curve(*d, &[0.0001, 50.0, 100.0, 250.0], 0.2)).collect();
            }
            if let Some((performed, received, agreed, [a, b, c, d])) = run {
                let run = &mut sample.run;
                (run.performed, run.received) = (performed, received);
                run.agreement.as_mut().unwrap().agreed = agreed;
                let room = &mut run.environment;
                (room.temperature_start, room.temperature_end) = (a.map(Celsius), b.map(Celsius));
                (room.humidity_start, room.humidity_end) = (c.map(Percent::new), d.map(Percent::new));
            }
            sample
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_record_makes_a_check_panic(sample in sample()) {
        let findings = sample.findings();
        for finding in &findings {
            prop_assert!(finding.message.len() > 1);
        }
        if findings.iter().all(|f| f.severity() != Severity::Error) {
            let evaluation = evaluate(&sample.run, &sample.rulebook, &sample.reference);
            prop_assert!(evaluation.is_ok(), "{:?}", evaluation);
        }
    }
}
