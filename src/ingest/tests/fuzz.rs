//! No input makes reading fall over.

use proptest::prelude::*;

use super::{READINGS, REFERENCE, RUN, STUDY, files};
use crate::ingest::parse;
use crate::ingest::store::Memory;

fn touch_everything(store: &Memory) {
    let loaded = parse(store);
    let _ = crate::diagnose::text(&loaded.findings, &loaded.sources);
    let _ = crate::diagnose::entries(&loaded.findings, &loaded.sources);
}

/// Parts of the good text, shuffled and cut: closer to real mistakes than noise.
fn broken(text: &'static str) -> impl Strategy<Value = Vec<u8>> {
    let insert = prop_oneof![
        any::<char>().prop_map(|c| c.to_string().into_bytes()),
        prop::sample::select(vec![
            "\"", "[", "]", "{", "=", "\n", "\r", ",", ";", "\t", "'''", "\"\"\"", "#", ".", "-", "·",
            "\u{feff}"
        ])
        .prop_map(|s| s.as_bytes().to_vec()),
        any::<u8>().prop_map(|b| vec![b]),
    ];
    prop::collection::vec((0..text.len(), 0..12_usize, insert), 1..6).prop_map(move |edits| {
        let mut bytes = text.as_bytes().to_vec();
        for (at, cut, insert) in edits {
            let at = at.min(bytes.len());
            let end = (at + cut).min(bytes.len());
            bytes.splice(at..end, insert);
        }
        bytes
    })
}

#[test]
fn deep_and_long_input_does_not_exhaust_the_stack() {
    for deep in [
        format!("{}b = 1", "a.".repeat(200_000)),
        format!("[{}b]", "a.".repeat(200_000)),
        format!("a = {}", "[".repeat(200_000)),
        format!("a = {}", "{b=".repeat(200_000)),
        format!("{} = 1", "k".repeat(200_000)),
        format!("{}x", format!("{}b = {{\n", "a.".repeat(32)).repeat(78)),
    ] {
        touch_everything(&files().with("run.toml", deep.as_str()));
        touch_everything(&files().with("ref.toml", deep.as_str()));
    }
    let cells = format!("series,target,indicated,reference,status\npoints,{},1,1,ok", "·".repeat(10_000_000));
    touch_everything(&files().with("readings.csv", cells));
    touch_everything(&files().with("readings.csv", "\"".repeat(200_000)));
    touch_everything(&files().with("readings.csv", format!("series,unit\n{}", ",".repeat(200_000))));
    touch_everything(&files().with("readings.csv", format!("series,unit\n{}", "x\n".repeat(200_000))));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_make_it_fall(file in 0..5_usize, bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let name = ["run.toml", "readings.csv", "ref.toml", "study.toml", "lab.toml"][file];
        touch_everything(&files().with(name, bytes));
    }

    #[test]
    fn no_edit_of_a_run_makes_it_fall(bytes in broken(RUN)) {
        touch_everything(&files().with("run.toml", bytes));
    }

    #[test]
    fn no_edit_of_a_reference_makes_it_fall(bytes in broken(REFERENCE)) {
        touch_everything(&files().with("ref.toml", bytes));
    }

    #[test]
    fn no_edit_of_readings_makes_them_fall(bytes in broken(READINGS)) {
        touch_everything(&files().with("readings.csv", bytes));
    }

    #[test]
    fn no_edit_of_a_study_makes_it_fall(bytes in broken(STUDY)) {
        touch_everything(&files().with("study.toml", bytes));
    }
}
