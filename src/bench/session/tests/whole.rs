//! Whole sessions from the first question to the file.

use leverarm_metrology::quantity::Percent;
use leverarm_metrology::reading::{Direction, Series};
use leverarm_metrology::tool::ToolClass;
use leverarm_pull::butterworth::Order;
use leverarm_pull::codec;
use leverarm_session::plan::Filter;
use leverarm_session::{Cue, Indicated, readings_csv};
use sha2::{Digest, Sha256};

use crate::bench::{Bench, click_plan, plan_of, tool};

fn csv(bench: &Bench) -> String {
    String::from_utf8(readings_csv(&bench.session.outcome()).unwrap()).unwrap()
}

#[test]
fn a_click_wrench_by_part_one() {
    let plan = click_plan();
    let total: u32 = plan.steps.iter().filter_map(|s| s.readings()).map(|r| r.count).sum();
    let mut bench = Bench::begin(plan);
    bench.work();
    assert!(bench.is_finished);
    let outcome = bench.session.outcome();
    assert_eq!(outcome.rows.len(), total as usize);
    assert!(outcome.rows.iter().all(|row| row.void.is_none()));
    assert_eq!(outcome.performed.unwrap().to_string(), "2026-11-18");
    assert_eq!(outcome.start.as_ref().unwrap().temperature, "21.3 °C");
    assert_eq!(outcome.end.as_ref().unwrap().humidity, "45 %");
    assert_eq!(outcome.technicians.len(), 1);
    assert_eq!(outcome.acknowledged.len(), 1);
    assert_eq!(outcome.acknowledged[0].technician, "Runa Hjaltevik");
    // each reading is where the tool released, to within two steps of the display
    for row in &outcome.rows {
        let top = row.target.value() * (1.0 + 0.0004 * f64::from(row.number % 7));
        assert!((row.reference.value() - top).abs() < 0.03, "{row:?}, released at {top}");
        let seconds = row.seconds.as_deref().map(|s| s.parse::<f64>().unwrap());
        assert!(seconds.is_none_or(|s| (s - 2.0).abs() < 0.05), "{row:?}");
        assert_eq!(seconds.is_some(), row.series != Series::Zero);
    }
    // every sound for a reading is after its entry, one each
    assert_eq!(bench.cues.iter().filter(|cue| **cue == Cue::Taken).count(), total as usize);
    assert_eq!(bench.cues.last(), Some(&Cue::Done));
}

#[test]
fn every_trace_is_there_whole_and_from_half_a_second_before() {
    let mut bench = Bench::begin(click_plan());
    bench.work();
    for row in bench.session.outcome().rows.iter().filter(|row| row.series != Series::Zero) {
        let name = row.trace.clone().unwrap();
        assert_eq!(name, format!("traces/{:04}.ltrc", row.number));
        let file = bench.traces.iter().find(|trace| trace.file == name).unwrap();
        // FIPS 180-4 by the library, over the bytes that went out
        let digest: String = Sha256::digest(&file.bytes).iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(row.trace_sha256.as_deref(), Some(digest.as_str()));
        let trace = codec::decode(&file.bytes).unwrap();
        let samples: Vec<_> = trace.samples().collect();
        let loaded = samples.iter().find(|s| s.torque.newton_metres() > 0.05 * row.target.value()).unwrap();
        let lead_s = loaded.time_s - samples[0].time_s;
        assert!((0.45..0.6).contains(&lead_s), "{lead_s}");
        assert!(samples.last().unwrap().torque.newton_metres().abs() < 0.05);
        let highest = samples.iter().map(|s| s.torque.newton_metres()).fold(0.0, f64::max);
        assert!((highest - row.reference.value()).abs() < 0.05);
    }
}

#[test]
fn the_file_is_in_the_format_of_the_run_folder() {
    let mut bench = Bench::begin(click_plan());
    bench.work();
    let text = csv(&bench);
    let mut lines = text.lines();
    assert_eq!(
        lines.next(),
        Some("series,position,target,indicated,reference,unit,time,status,note,seconds,trace")
    );
    let first: Vec<&str> = lines.next().unwrap().split(',').collect();
    assert_eq!(&first[..4], ["preload", "", "200", "200"]);
    assert_eq!(first[5], "N·m");
    assert!(first[6].starts_with("2026-11-18T08:4") && first[6].ends_with("+01:00"), "{}", first[6]);
    assert_eq!(first[7], "ok");
    assert_eq!(first[10], "traces/0001.ltrc");
    let zero: Vec<&str> = text.lines().find(|line| line.starts_with("zero")).unwrap().split(',').collect();
    assert_eq!(&zero[..6], ["zero", "", "0", "0", "0.00", "N·m"]);
    assert_eq!((zero[9], zero[10]), ("", ""));
}

/// Both directions, with every variation: the order of the rows is that of the sequence.
#[test]
fn a_click_wrench_by_part_two_in_both_directions() {
    let both = [Direction::Clockwise, Direction::CounterClockwise];
    let plan = plan_of(tool(ToolClass::IIA, &both), "iso-6789-2", Indicated::AsSet);
    let mut wanted = Vec::new();
    for readings in plan.steps.iter().filter_map(|step| step.readings()) {
        for _ in 0..readings.count {
            wanted.push((readings.series, readings.position.clone(), readings.direction, readings.target));
        }
    }
    let mut bench = Bench::begin(plan);
    bench.work();
    let rows = bench.session.outcome().rows;
    let given: Vec<_> = rows.iter().map(|r| (r.series, r.position.clone(), r.direction, r.target)).collect();
    assert_eq!(given, wanted);
    assert!(rows.iter().all(|row| row.void.is_none()));
    // magnitudes in both directions, as the checks of the record want them
    assert!(rows.iter().filter(|r| r.series != Series::Zero).all(|r| r.reference.value() > 30.0));
    // every position that is made by hand was acknowledged before its readings
    let positions = bench.session.plan().steps.iter().filter_map(|s| s.readings());
    let made = positions.filter(|r| !r.position.is_empty()).count();
    assert_eq!(bench.session.outcome().acknowledged.len(), made + 2);
    assert!(csv(&bench).lines().next().unwrap().contains("note,direction,seconds,trace"));
}

/// Behind a low-pass the first peak is that of the filtered torque: it lies within the error that the
/// filter states for the rise of the pull, 10 % of the target in a second.
#[test]
fn a_filter_before_the_detector() {
    let mut plan = crate::bench::short(click_plan());
    plan.instrument.filter = Some(Filter { order: Order::Second, cutoff_hz: 100.0 });
    let filter = plan.filter().unwrap().unwrap();
    let error = filter.peak_error(Percent::new(10.0)).fraction();
    let mut bench = Bench::begin(plan);
    bench.work();
    for row in bench.session.outcome().rows.iter().filter(|row| row.series != Series::Zero) {
        let top = row.target.value() * (1.0 + 0.0004 * f64::from(row.number % 7));
        let allowed = 2.0 * error * top + 0.03;
        assert!((row.reference.value() - top).abs() < allowed, "{row:?}, released at {top}, {allowed}");
    }
}
