//! Random runs are paired back exactly; what is dropped, moved or exchanged is refused. The data is
//! invented; the bounds are those that `pairing` states.
#![allow(clippy::unwrap_used, clippy::result_large_err)]

use chrono::DateTime;
use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::reading::{Direction, Reading, Recorded, Series, Status};
use proptest::prelude::*;

use super::{CellPlace, Doubt, Mapping, PairingKeys, StoredError, StoredValue, pair, read_table};

const STEP_NM: f64 = 0.1;
const KEYS: PairingKeys =
    PairingKeys { noise_percent: 0.3, deviation_percent_max: 20.0, time_tolerance_s: 10.0 };

fn noise(reference: f64) -> f64 {
    STEP_NM + 0.003 * reference
}

fn recorded(value: f64, decimals: usize) -> Recorded {
    Recorded::new(&format!("{value:.decimals$}"), TorqueUnit::NewtonMetre).unwrap()
}

/// A pull: test point, pull beside it and noise as shares, seconds since the pull before.
type Pull = (f64, f64, f64, i64);

/// A run and what an ideal tool stored of it, its clock off by some seconds.
fn work(pulls: &[Pull], bias: f64, clock_s: Option<i64>) -> (Vec<Reading>, Vec<StoredValue>) {
    let mut now = 1_800_000_000_i64;
    let (mut readings, mut stored) = (Vec::new(), Vec::new());
    for ((target, pull, share, pause), row) in pulls.iter().zip(1_u32..) {
        now += pause;
        let reference = recorded(target * (1.0 + pull), 2);
        // Rounding to the step takes half a step of the noise.
        let scatter = share * (noise(reference.value()) - 0.5 * STEP_NM - 0.001);
        readings.push(Reading {
            row,
            series: Series::Points,
            position: String::new(),
            direction: Direction::Clockwise,
            target: recorded(*target, 1),
            indicated: recorded(*target, 1),
            reference,
            time: clock_s.and(DateTime::from_timestamp(now, 0).map(|time| time.fixed_offset())),
            status: Status::Valid,
            note: String::new(),
            loading_time: None,
            trace: None,
        });
        let value = recorded(reference.value() * (1.0 + bias) + scatter, 1);
        stored.push(StoredValue {
            place: CellPlace { file: "peaks.csv".into(), sheet: None, row: row + 1, column: Some(2) },
            text: value.to_string(),
            torque: value,
            direction: None,
            time_ms: clock_s.map(|offset| (now + offset) * 1000),
        });
    }
    (readings, stored)
}

fn paired(readings: &[Reading], stored: &[StoredValue]) -> Result<Vec<(usize, usize)>, Doubt> {
    let waiting: Vec<&Reading> = readings.iter().collect();
    let pairing = pair(&waiting, stored, Torque::new(STEP_NM, TorqueUnit::NewtonMetre), &KEYS);
    pairing
        .map(|pairing| pairing.pairs.iter().map(|pair| (pair.reading, pair.stored)).collect())
        .map_err(|doubt| *doubt)
}

/// Three test points of three to eight pulls each.
fn pulls() -> impl Strategy<Value = Vec<Pull>> {
    let point =
        |target: f64| prop::collection::vec((Just(target), -0.04..0.04_f64, -1.0..1.0_f64, 20_i64..90), 3..8);
    (point(20.0), point(60.0), point(100.0)).prop_map(|(a, b, c)| [a, b, c].concat())
}

proptest! {
    #[test]
    fn random_runs_are_paired_back(pulls in pulls(), bias in -0.06..0.06_f64, clock in prop::option::of(-100_000_i64..100_000)) {
        let (readings, stored) = work(&pulls, bias, clock);
        let wanted: Vec<(usize, usize)> = (0..pulls.len()).map(|at| (at, at)).collect();
        prop_assert_eq!(paired(&readings, &stored), Ok(wanted));
    }

    #[test]
    fn a_row_that_is_dropped_is_refused_and_named(pulls in pulls(), bias in -0.06..0.06_f64, at in any::<prop::sample::Index>()) {
        let (readings, mut stored) = work(&pulls, bias, Some(77));
        let at = at.index(stored.len());
        stored.remove(at);
        match paired(&readings, &stored) {
            Err(Doubt::Count { bench, tool, .. }) => {
                // The clocks tell which one.
                prop_assert_eq!(bench.iter().map(|side| side.reading as usize).collect::<Vec<_>>(), [at + 1]);
                prop_assert!(tool.is_empty());
            }
            other => prop_assert!(false, "{other:?}"),
        }
    }

    #[test]
    fn a_table_that_is_moved_is_refused(pulls in pulls(), bias in -0.06..0.06_f64, clock in prop::option::of(-99_i64..99), back in any::<bool>()) {
        let (readings, mut stored) = work(&pulls, bias, clock);
        if back { stored.rotate_left(1) } else { stored.rotate_right(1) }
        prop_assert!(paired(&readings, &stored).is_err());
        // A pull more before the first, and the last one not stored.
        let (mut readings, mut stored) = work(&pulls, bias, clock);
        if back { readings.pop(); stored.remove(0); } else { readings.remove(0); stored.pop(); }
        prop_assert!(paired(&readings, &stored).is_err());
    }

    #[test]
    fn one_point_alone_that_is_moved_is_refused(
        pulls in prop::collection::vec((Just(100.0), -0.04..0.04_f64, -1.0..1.0_f64, 20_i64..90), 4..12),
        bias in -0.06..0.06_f64,
    ) {
        let (mut readings, mut stored) = work(&pulls, bias, None);
        readings.pop();
        stored.remove(0);
        prop_assert!(paired(&readings, &stored).is_err());
    }

    #[test]
    fn two_exchanged_values_are_refused_beyond_four_times_the_noise(
        pulls in pulls(), bias in -0.06..0.06_f64, clock in prop::option::of(-99_i64..99),
        i in any::<prop::sample::Index>(), k in any::<prop::sample::Index>(),
    ) {
        let (readings, mut stored) = work(&pulls, bias, clock);
        let (i, k) = (i.index(stored.len()), k.index(stored.len()));
        let (a, b) = (readings[i].reference.value(), readings[k].reference.value());
        if (a - b).abs() <= 4.0 * noise(a.max(b)) {
            return Ok(());
        }
        let torque = stored[i].torque;
        stored[i].torque = stored[k].torque;
        stored[k].torque = torque;
        let refused = paired(&readings, &stored).unwrap_err();
        prop_assert!(matches!(refused, Doubt::Swap { .. } | Doubt::Shift { .. }), "{refused}");
    }

    #[test]
    fn a_pull_missing_on_each_side_is_refused_or_harmless(
        pulls in pulls(), bias in -0.06..0.06_f64, clock in prop::option::of(-99_i64..99),
        i in any::<prop::sample::Index>(), k in any::<prop::sample::Index>(),
    ) {
        let (mut readings, mut stored) = work(&pulls, bias, clock);
        let right: Vec<f64> = stored.iter().map(|value| value.torque.value()).collect();
        readings.remove(i.index(pulls.len()));
        stored.remove(k.index(pulls.len()));
        for (reading, value) in paired(&readings, &stored).unwrap_or_default() {
            let (reading, value) = (&readings[reading], &stored[value]);
            if clock.is_some() {
                let off = (value.torque.value() - right[reading.row as usize - 1]).abs();
                prop_assert!(off <= 7.0 * noise(reading.reference.value()), "{off} at {}", reading.row);
            }
            // The line of a stored value is its pull and one for the header.
            let pull = pulls[value.place.row as usize - 2];
            prop_assert_eq!(pull.0, reading.target.value());
        }
    }

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..600), zip in any::<bool>()) {
        let mapping = Mapping::parse("m", MAPPING).unwrap();
        let head: &[u8] = if zip { b"PK\x03\x04" } else { b"" };
        let _ = read_table("x", &[head, &bytes].concat(), &mapping);
        let _ = Mapping::parse("m", &String::from_utf8_lossy(&bytes));
    }
}

const MAPPING: &str = "format = 1\nmodel = \"M\"\n[columns]\nvalue = \"Peak\"\n[value]\nunit = \"N·m\"\n";

#[test]
fn a_moved_table_and_an_exchanged_pair_are_named_as_such() {
    let pulls: Vec<Pull> =
        [(20.0, 0.02), (20.0, -0.03), (60.0, 0.0), (60.0, 0.03), (60.0, -0.02), (100.0, 0.01)]
            .map(|(target, pull)| (target, pull, 0.0, 30))
            .to_vec();
    let (readings, stored) = work(&pulls, -0.01, None);
    let mut moved = stored.clone();
    moved.rotate_left(1);
    let doubt = paired(&readings, &moved).unwrap_err();
    assert!(matches!(doubt, Doubt::Shift { by: -1, .. }), "{doubt}");
    let mut exchanged = stored;
    exchanged.swap(3, 4);
    let doubt = paired(&readings, &exchanged).unwrap_err();
    let Doubt::Swap { first_bench, second_bench, .. } = &doubt else { unreachable!("{doubt}") };
    assert_eq!((first_bench.reading, second_bench.reading), (4, 5));
}

#[test]
fn equal_pulls_at_one_point_need_times() {
    let pulls: Vec<Pull> = (0..6).map(|at| (100.0, 0.0, 0.0, 30 + 7 * (at % 4))).collect();
    let (readings, stored) = work(&pulls, 0.0, None);
    assert!(matches!(paired(&readings, &stored), Err(Doubt::Ambiguous { .. })));
    let (readings, stored) = work(&pulls, 0.0, Some(5));
    assert!(paired(&readings, &stored).is_ok());
}

#[test]
fn a_pull_out_of_time_is_refused() {
    let pulls: Vec<Pull> = (0..6).map(|at| (20.0 * f64::from(at + 1), 0.0, 0.0, 40)).collect();
    let (readings, mut stored) = work(&pulls, 0.0, Some(3600));
    stored[2].time_ms = stored[2].time_ms.map(|ms| ms + 14_000);
    let doubt = paired(&readings, &stored).unwrap_err();
    assert!(matches!(&doubt, Doubt::Time { bench, .. } if bench.reading == 3), "{doubt}");
}

#[test]
fn mappings_that_are_refused() {
    let told = |text: &str| match Mapping::parse("stored.toml", text).unwrap_err() {
        StoredError::Mapping { line, column, .. } => (line, column),
        other => unreachable!("{other}"),
    };
    assert!(Mapping::parse("stored.toml", MAPPING).is_ok());
    assert_eq!(told(&MAPPING.replace("value = ", "vlaue = ")), (4, 1));
    assert_eq!(told(&MAPPING.replace("format = 1", "format = 2")), (1, 1));
    assert_eq!(told(&MAPPING.replace("[value]\nunit = \"N·m\"", "")), (3, 1));
    assert_eq!(told(&format!("{MAPPING}[pairing]\nnoise_percent = nan\n")), (8, 1));
    assert_eq!(told(&format!("{MAPPING}[table]\nserial_cell = \"7\"\n")), (8, 1));
    assert_eq!(told(&"a.".repeat(100_000)).0, 1);
}
