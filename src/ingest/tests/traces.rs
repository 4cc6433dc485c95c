//! Traces of a run folder: read, hashed, held against their rows, and hostile ones refused.

use leverarm_metrology::low_pass::{LowPass, Order};
use leverarm_metrology::quantity::{Hertz, TorqueUnit};
use leverarm_pull::codec::encode;
use leverarm_pull::trace::{Timing, Trace};
use proptest::prelude::*;

use super::{READINGS, RUN, files, told};
use crate::ingest::store::Memory;
use crate::ingest::{Loaded, parse, sha256};

const RATE_HZ: f64 = 500.0;

/// A pull in hundredths of a newton metre: zero, up to 80 % in half a second, evenly on to the
/// release, a fall by 5 N·m, letting go.
fn pull(release: f64, loading_s: f64, sign: f64, unit: TorqueUnit) -> Vec<u8> {
    let release_s = (release - 32.0) / 8.0 * loading_s;
    let at = |t: f64| match t - 0.6 {
        t if t < 0.0 => 0.0,
        t if t < 0.5 => 64.0 * t,
        t if t < 0.5 + release_s => 32.0 + 8.0 * (t - 0.5) / loading_s,
        t if t < 0.7 + release_s => release - 5.0,
        t => ((release - 5.0) * (1.0 - (t - 0.7 - release_s) / 0.3)).max(0.0),
    };
    let samples = ((2.0 + release_s) * RATE_HZ) as u32;
    let values = (0..samples).map(|i| sign * (at(f64::from(i) / RATE_HZ) * 100.0).round() / 100.0).collect();
    encode(&Trace::new(unit, Timing::Uniform { start_s: 0.0, rate_hz: RATE_HZ }, values).unwrap())
}

/// The small run with these cells behind its fourth reading, 40.01 N·m at 40 N·m.
fn table(seconds: &str, trace: &str) -> String {
    READINGS
        .lines()
        .enumerate()
        .map(|(i, line)| match (i, line.trim()) {
            (_, "") => String::new(),
            (0, line) => format!("{line},seconds,trace\n"),
            (4, line) => format!("{line},{seconds},{trace}\n"),
            (_, line) => format!("{line},,\n"),
        })
        .collect()
}

fn with(seconds: &str, trace: &str, bytes: Vec<u8>) -> Loaded {
    parse(&files().with("readings.csv", table(seconds, trace)).with(trace, bytes))
}

const FILE: &str = "traces/0004.ltrc";

fn newton_metres(release: f64) -> Vec<u8> {
    pull(release, 1.8, 1.0, TorqueUnit::NewtonMetre)
}

#[test]
fn a_trace_that_shows_its_reading_is_hashed() {
    let bytes = newton_metres(40.01);
    let loaded = with("1.80", FILE, bytes.clone());
    assert_eq!(told(&loaded), Vec::<String>::new());
    let run = loaded.run.unwrap();
    let reading = &run.readings[3];
    assert_eq!(reading.loading_time.unwrap().to_string(), "1.80 s");
    let kept = reading.trace.as_ref().unwrap();
    assert_eq!((kept.file.as_str(), kept.sha256.clone()), (FILE, Some(sha256(&bytes))));
    assert_eq!(run.readings[0].trace, None);
    // a display that shows the other direction with a sign
    let negative = pull(40.01, 1.8, -1.0, TorqueUnit::NewtonMetre);
    assert_eq!(told(&with("1.80", FILE, negative)), Vec::<String>::new());
}

#[test]
fn a_trace_that_shows_something_else_is_found() {
    let differs = ["trace-differs readings.csv:5:65"];
    // two digits changed places; a tenth too high and too low
    for release in [41.0, 40.11, 39.91] {
        assert_eq!(told(&with("", FILE, newton_metres(release))), differs, "{release}");
    }
    for seconds in ["1.60", "2.0"] {
        let column = 65 + seconds.len();
        let told = told(&with(seconds, FILE, newton_metres(40.01)));
        assert_eq!(told, [format!("trace-differs readings.csv:5:{column}")], "{seconds}");
    }
    // no pull at all
    let flat = Trace::new(
        TorqueUnit::NewtonMetre,
        Timing::Uniform { start_s: 0.0, rate_hz: RATE_HZ },
        vec![0.0; 900],
    );
    assert_eq!(told(&with("", FILE, encode(&flat.unwrap()))), differs);
    let inches = pull(40.01, 1.8, 1.0, TorqueUnit::PoundForceInch);
    assert_eq!(told(&with("", FILE, inches)), ["trace-unit readings.csv:5:65"]);
}

#[test]
fn a_file_that_is_no_trace_is_refused() {
    let missing = ["trace-missing readings.csv:5:65"];
    assert_eq!(told(&parse(&files().with("readings.csv", table("", FILE)))), missing);
    for path in ["../0004.ltrc", "/tmp/0004.ltrc", "traces/../../x", "traces\\4", "a//b", "C:x"] {
        let loaded = with("", path, newton_metres(40.01));
        assert_eq!(told(&loaded), missing, "{path}");
    }
    let unreadable = ["trace-unreadable readings.csv:5:65"];
    for bytes in [b"".to_vec(), b"LTRC".to_vec(), newton_metres(40.01)[..200].to_vec(), vec![0; 9 << 20]] {
        assert_eq!(told(&with("", FILE, bytes)), unreadable);
    }
}

/// A thousand readings that name what is not there are eleven lines of a report and no more.
#[test]
fn many_lost_traces_are_counted() {
    let header = "series,position,target,indicated,reference,unit,status,trace\n";
    let rows: String = (0..1000).map(|i| format!("points,,40,40,40.01,N·m,ok,t/{i}\n")).collect();
    let loaded = parse(&files().with("readings.csv", format!("{header}{rows}")));
    assert_eq!(loaded.findings.len(), 10);
    assert!(loaded.findings[9].message.ends_with("and so 990 more traces"));
}

#[test]
fn seconds_follow_the_decimal_sign_of_the_file() {
    let csv = "series;target;indicated;reference;unit;status;seconds\npoints;40;40;40;N·m;ok;1,25\n";
    let loaded = parse(&files().with("readings.csv", csv));
    assert_eq!(told(&loaded), Vec::<String>::new());
    assert_eq!(loaded.run.unwrap().readings[0].loading_time.unwrap().to_string(), "1.25 s");
    for (cell, check) in
        [("0", "number-unreadable"), ("1.2 s", "number-unreadable"), ("-1", "number-unreadable")]
    {
        let loaded = parse(&files().with("readings.csv", table(cell, "")));
        assert_eq!(told(&loaded), [format!("{check} readings.csv:5:64")], "{cell}");
    }
}

fn bench(keys: &str) -> Loaded {
    let files: Memory = files().with("run.toml", format!("{RUN}[bench]\n{keys}")).with("s.journal", "{}\n");
    parse(&files)
}

#[test]
fn the_chain_is_read_whole_or_named_incomplete() {
    let all = "instrument = \"rt-250\"\nrate = \"1 kHz\"\nfilter = \"butterworth\"\norder = 4\n\
        cut_off = \"50 Hz\"\njournal = \"s.journal\"\n";
    let loaded = bench(all);
    assert_eq!(told(&loaded), Vec::<String>::new());
    assert!(loaded.inputs.iter().any(|input| input.path == "s.journal"));
    let chain = loaded.run.unwrap().chain.unwrap();
    assert_eq!((chain.rate, chain.instrument.as_str()), (Hertz(1000.0), "rt-250"));
    assert_eq!(chain.filter, Some(LowPass { order: Order::Fourth, cut_off: Hertz(50.0) }));
    for (lost, check) in [
        ("instrument = \"rt-250\"\n", "key-missing"),
        ("rate = \"1 kHz\"\n", "key-missing"),
        ("filter = \"butterworth\"\n", "key-missing"),
        ("order = 4\n", "key-missing"),
        ("cut_off = \"50 Hz\"\n", "key-missing"),
    ] {
        let loaded = bench(&all.replace(lost, ""));
        let checks: Vec<&str> = loaded.findings.iter().map(|finding| finding.check.name).collect();
        assert_eq!(checks, [check], "{lost}");
    }
    let third = bench(&all.replace("order = 4", "order = 3"));
    assert_eq!(third.findings.iter().map(|f| f.check.name).collect::<Vec<_>>(), ["value-unknown"]);
    let lost = bench(&all.replace("s.journal", "lost.journal"));
    assert_eq!(lost.findings.iter().map(|f| f.check.name).collect::<Vec<_>>(), ["file-missing"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Whatever the bytes of a trace are: a finding or none, and no panic.
    #[test]
    fn no_bytes_of_a_trace_make_it_panic(
        changes in proptest::collection::vec((any::<proptest::sample::Index>(), any::<u8>()), 0..6),
        seconds in "[0-9.]{0,4}",
    ) {
        let mut bytes = newton_metres(40.01);
        for (at, byte) in changes {
            let i = at.index(bytes.len());
            bytes[i] = byte;
        }
        let loaded = with(&seconds, FILE, bytes);
        prop_assert!(loaded.findings.len() <= 2);
    }
}
