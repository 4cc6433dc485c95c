//! The runs whose pulls have traces: their readings and traces are made here, from pulls that are
//! simulated sample by sample and read by the detector of the bench, so that a trace shows what its
//! row says. What is on file must be what is made.
//!
//! `LEVERARM_BLESS=1 cargo test --release --test paper traced` writes the files anew.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use leverarm::assess::{Overrides, assess};
use leverarm::export::json::{ResultFile, RunRecord, schema, to_bytes};
use leverarm::metrology::budget::Influence;
use leverarm::metrology::quantity::{Torque, TorqueUnit};
use leverarm_pull::butterworth::{Butterworth, Order};
use leverarm_pull::codec;
use leverarm_pull::detector::{Detector, Event, Mode, Pull, Settings};
use leverarm_pull::trace::{Timing, Trace};

/// Samples a second.
const RATE_HZ: f64 = 250.0;

/// A pull on a setting tool as a hand makes it.
#[derive(Clone, Copy)]
struct Hand {
    target: f64,
    /// the torque at which the tool releases
    release: f64,
    /// from 80 % to 100 % of the target, s
    loading_s: f64,
    unit: TorqueUnit,
    /// one step of the display, and how many of its steps make one of the unit
    per_unit: f64,
}

impl Hand {
    /// The torque at a time: zero, quickly to 80 %, evenly to the release, a fall by a twelfth within
    /// milliseconds, a rest, letting go.
    fn torque(&self, t: f64) -> f64 {
        const ZERO_S: f64 = 0.6;
        const RISE_S: f64 = 0.7;
        const REST_S: f64 = 0.12;
        const LET_GO_S: f64 = 0.25;
        let slow = 0.8 * self.target;
        let rate = 0.2 * self.target / self.loading_s;
        let release_s = (self.release - slow) / rate;
        let t = t - ZERO_S;
        if t < 0.0 {
            return 0.0;
        }
        if t < RISE_S {
            return slow * t / RISE_S;
        }
        let t = t - RISE_S;
        if t < release_s {
            return slow + rate * t;
        }
        let t = t - release_s;
        let rest = self.release * (11.0 / 12.0);
        if t < REST_S {
            let fall = (1.0 - t / 0.012).max(0.0);
            return rest + (self.release - rest) * fall * fall;
        }
        rest * (1.0 - (t - REST_S) / LET_GO_S).max(0.0)
    }

    /// What the display gives out: behind its low-pass, with noise, in its steps.
    fn trace(&self, seed: u32) -> Trace {
        let length_s = 0.6 + 0.7 + self.loading_s + 0.12 + 0.25 + 0.5;
        let samples = (length_s * RATE_HZ) as u32;
        let mut filter = Butterworth::new(Order::Second, 50.0, RATE_HZ).unwrap();
        let mut state = seed;
        let values = (0..samples).map(|i| {
            // a linear congruential generator (Numerical Recipes): the same on every machine
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = (f64::from(state >> 8) / f64::from(1_u32 << 24) - 0.5) * 1.2;
            let torque = filter.step(self.torque(f64::from(i) / RATE_HZ));
            (torque * self.per_unit + noise).round() / self.per_unit
        });
        let timing = Timing::Uniform { start_s: 0.0, rate_hz: RATE_HZ };
        Trace::new(self.unit, timing, values.collect()).unwrap()
    }
}

/// The pull as the detector finds it.
fn detected(trace: &Trace, target: f64) -> Pull {
    let target = Torque::new(target, trace.unit());
    let mut detector = Detector::new(Settings::new(Mode::FirstPeak, target, RATE_HZ)).unwrap();
    let mut events = Vec::new();
    trace.samples().for_each(|sample| detector.push(sample, &mut events));
    detector.finish(&mut events);
    let mut pulls = events.into_iter().filter_map(|event| match event {
        Event::Done(pull) => Some(*pull),
        _ => None,
    });
    let pull = pulls.next().unwrap();
    assert!(pulls.next().is_none());
    pull
}

/// A row with its pull.
struct Made {
    reference: String,
    seconds: String,
    trace: Vec<u8>,
}

fn made(hand: &Hand, seed: u32) -> Made {
    let trace = hand.trace(seed);
    let pull = detected(&trace, hand.target);
    let torque = pull.reading().unwrap().in_unit(hand.unit);
    let decimals = if hand.unit == TorqueUnit::CentinewtonMetre { 2 } else { 3 };
    Made {
        reference: format!("{:.decimals$}", (torque * hand.per_unit).round() / hand.per_unit),
        seconds: format!("{:.2}", pull.loading.unwrap().seconds),
        trace: codec::encode(&trace),
    }
}

/// Series, target, and of each pull the torque of the release and the seconds from 80 % to 100 %.
type Pulls = (&'static str, f64, &'static [(f64, f64)]);

type Files = BTreeMap<String, Vec<u8>>;

const PULLS: [Pulls; 4] = [
    ("preload", 200.0, &[(198.10, 1.1), (197.30, 1.0), (196.20, 0.9), (197.60, 1.2), (198.40, 1.0)]),
    ("points", 40.0, &[(39.20, 1.1), (39.60, 1.3), (38.10, 0.3), (39.35, 0.9), (39.75, 1.2), (39.45, 1.0)]),
    ("points", 120.0, &[(118.80, 1.2), (119.40, 0.9), (118.35, 1.0), (118.95, 1.4), (119.05, 1.1)]),
    ("points", 200.0, &[(198.55, 1.0), (197.60, 1.2), (198.95, 1.1), (199.10, 0.8), (197.90, 1.3)]),
];
/// Pulled in less time than the rulebook asks for, and struck out.
const TOO_FAST_S: f64 = 0.5;

fn traced_screwdriver() -> Files {
    let folder = "traced-screwdriver";
    let mut files = Files::new();
    let mut csv =
        "series,position,target,indicated,reference,unit,time,status,note,seconds,trace\n".to_owned();
    let (mut row, mut second) = (0_u32, 0_u32);
    let mut clock = |step: u32| {
        second += step;
        format!("2026-11-24T10:{:02}:{:02}+00:00", 4 + second / 60, second % 60)
    };
    for (series, target, pulls) in PULLS {
        for (release, loading_s) in pulls {
            row += 1;
            let hand = Hand {
                target,
                release: *release,
                loading_s: *loading_s,
                unit: TorqueUnit::CentinewtonMetre,
                per_unit: 20.0,
            };
            let Made { reference, seconds, trace } = made(&hand, row * 7919);
            let (status, note) = if *loading_s < TOO_FAST_S {
                ("void", "pulled too fast; taken again at once")
            } else {
                ("ok", "")
            };
            let name = format!("traces/{row:04}.ltrc");
            let time = clock(24 + row * 5 % 13);
            let _ = writeln!(
                csv,
                "{series},,{target},{target},{reference},cN·m,{time},{status},{note},{seconds},{name}"
            );
            files.insert(format!("{folder}/{name}"), trace);
        }
        if series == "preload" || target == 200.0 {
            row += 1;
            let time = clock(41);
            let _ = writeln!(csv, "zero,,0,0,0.00,cN·m,{time},ok,,,");
        }
    }
    files.insert(format!("{folder}/readings.csv"), csv.into_bytes());
    files
}

/// The readings of the small run behind the broken samples: target, what the reference showed, time.
const SMALL: [(&str, &str, &str, &str); 22] = [
    ("preload", "25", "24.796", "13:12:30"),
    ("preload", "25", "24.789", "13:13:05"),
    ("preload", "25", "24.993", "13:13:45"),
    ("preload", "25", "24.696", "13:14:25"),
    ("preload", "25", "24.910", "13:14:48"),
    ("zero", "0", "0.000", "13:15:53"),
    ("points", "5", "4.925", "13:17:01"),
    ("points", "5", "", "13:17:24"),
    ("points", "5", "4.890", "13:18:02"),
    ("points", "5", "4.901", "13:18:36"),
    ("points", "5", "4.959", "13:19:16"),
    ("points", "15", "14.979", "13:20:20"),
    ("points", "15", "14.803", "13:20:58"),
    ("points", "15", "14.774", "13:21:21"),
    ("points", "15", "14.887", "13:21:42"),
    ("points", "15", "14.898", "13:22:09"),
    ("points", "25", "24.912", "13:23:07"),
    ("points", "25", "24.814", "13:23:49"),
    ("points", "25", "24.801", "13:24:30"),
    ("points", "25", "24.740", "13:24:59"),
    ("points", "25", "24.901", "13:25:27"),
    ("zero", "0", "0.000", "13:26:31"),
];

const TRACE: &str = "traces/0008.ltrc";

/// What is wrong with the eighth reading, whose pull has a trace, and with its file.
fn broken(name: &str, files: &mut Files) {
    let hand =
        Hand { target: 5.0, release: 4.940, loading_s: 1.5, unit: TorqueUnit::NewtonMetre, per_unit: 1000.0 };
    let Made { reference, trace, .. } = made(&hand, 26);
    let in_inches = || {
        let values = hand.trace(26).values().to_vec();
        let timing = Timing::Uniform { start_s: 0.0, rate_hz: RATE_HZ };
        let values = values.iter().map(|nm| (nm * 8_850.75).round() / 1000.0).collect();
        codec::encode(&Trace::new(TorqueUnit::PoundForceInch, timing, values).unwrap())
    };
    let file = match name {
        "trace-missing" => None,
        "trace-unreadable" => Some(b"torque,time\n0.001,0.000\n".to_vec()),
        "trace-unit" => Some(in_inches()),
        _ => Some(trace),
    };
    files.extend(file.map(|bytes| (format!("broken/{name}/{TRACE}"), bytes)));
    let mut csv = "series,position,target,indicated,reference,unit,time,status,note,trace\n".to_owned();
    for ((series, target, shown, time), row) in SMALL.into_iter().zip(1..) {
        let names_it = row == 8 || (row == 9 && name == "trace-shared");
        let shown = match (row, name) {
            // two digits changed places
            (8, "trace-differs") => "4.983",
            (8, _) => reference.as_str(),
            _ => shown,
        };
        let trace = if names_it { TRACE } else { "" };
        let _ = writeln!(csv, "{series},,{target},{target},{shown},N·m,2026-11-24T{time}+00:00,ok,,{trace}");
    }
    files.insert(format!("broken/{name}/readings.csv"), csv.into_bytes());
}

fn every_file() -> Files {
    let mut files = traced_screwdriver();
    for name in ["trace-missing", "trace-unreadable", "trace-shared", "trace-unit", "trace-differs"] {
        broken(name, &mut files);
    }
    files
}

fn samples() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("sample-runs")
}

#[test]
fn the_traced_runs_are_those_that_are_made() {
    let bless = std::env::var_os("LEVERARM_BLESS").is_some_and(|value| value == "1");
    let mut stale = Vec::new();
    for (name, bytes) in every_file() {
        let path = samples().join(&name);
        if bless {
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(&path, &bytes).unwrap();
        }
        if fs::read(&path).ok().as_ref() != Some(&bytes) {
            stale.push(name.clone());
        }
        assert!(!name.ends_with(".ltrc") || bytes.len() < 2000, "{name}: {} bytes", bytes.len());
    }
    assert!(stale.is_empty(), "stale: {stale:?}; write them with LEVERARM_BLESS=1");
}

fn record() -> RunRecord {
    let assessed = assess(&samples().join("traced-screwdriver"), &Overrides::default()).unwrap();
    assert!(assessed.is_certifiable(), "{:#?}", assessed.findings);
    assessed.record().unwrap().unwrap()
}

/// Every pull has its trace in the result, by the hash of the file; the oracle of the hash is
/// `leverarm::ingest::sha256`, which is tested by itself.
#[test]
fn the_result_names_every_trace_by_its_hash() {
    let record = record();
    let made = every_file();
    let pulls: usize = PULLS.iter().map(|(_, _, pulls)| pulls.len()).sum();
    assert_eq!(record.traces.len(), pulls);
    for kept in &record.traces {
        let bytes = &made[&format!("traced-screwdriver/{}", kept.trace.file)];
        assert_eq!(kept.trace.sha256, leverarm::ingest::sha256(bytes));
        assert_eq!(kept.trace.file, format!("traces/{:04}.ltrc", kept.row));
    }
    for reading in record.points.iter().flat_map(|point| &point.readings) {
        assert_eq!(reading.trace.as_ref().unwrap().file, format!("traces/{:04}.ltrc", reading.row));
        assert!(reading.seconds.unwrap() > 0.2);
    }
}

/// The file with traces, and one without, follow the schema; without traces nothing is said of them.
#[test]
fn the_result_follows_its_schema() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let of = |run: RunRecord| ResultFile {
        format: "leverarm result",
        version: 1,
        program: "test",
        certificate: None,
        runs: vec![run],
        changes: vec![],
    };
    let plain = assess(&samples().join("screwdriver"), &Overrides::default()).unwrap();
    for (run, says) in [(record(), true), (plain.record().unwrap().unwrap(), false)] {
        let text = String::from_utf8(to_bytes(&of(run)).unwrap()).unwrap();
        let value: serde_json::Value = serde_json::from_str(&text).unwrap();
        let errors: Vec<String> = validator.iter_errors(&value).map(|error| error.to_string()).collect();
        assert_eq!(errors, Vec::<String>::new());
        for word in ["\"seconds\"", "\"trace\"", "\"traces\"", "ltrc"] {
            assert_eq!(text.contains(word), says, "{word}");
        }
    }
}

/// Order 2 at 50 Hz lags by 4.5016 ms (1.4142 / 314.16 s), so that a point whose fastest pull took t
/// seconds has 20 % / t · 0.0045016 s, by hand.
#[test]
fn the_low_pass_is_in_the_budget_of_every_point() {
    for point in &record().points {
        let fastest = point.readings.iter().filter(|r| r.status == "valid").filter_map(|r| r.seconds);
        let fastest = fastest.fold(f64::INFINITY, f64::min);
        let uncertainty = point.uncertainty.as_ref().unwrap();
        let line = uncertainty.lines.iter().find(|line| line.influence == Influence::Filter).unwrap();
        let by_hand =
            20.0 / fastest * 0.004_501_6 * point.target_newton_metres / point.mean_reference_newton_metres;
        assert!((line.value.value() - by_hand).abs() < 1e-5, "{} and {by_hand}", line.value);
    }
}
