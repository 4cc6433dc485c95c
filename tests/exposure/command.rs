//! `leverarm exposure` as its user meets it, over run folders.

use std::process::Output;

use super::{found_file, leverarm, stderr, stdout};

const RUNS: [&str; 5] = [
    "sample-runs/click-wrench-full",
    "sample-runs/guard-band-zone",
    "sample-runs/found-fails",
    "sample-runs/left-passes",
    "sample-runs/electronic-30",
];

fn exposure(percent: f64, more: &[&str]) -> (Output, tempfile::TempDir) {
    let scratch = tempfile::tempdir().unwrap();
    let file = scratch.path().join("new.toml");
    std::fs::write(&file, found_file(percent)).unwrap();
    let mut arguments = vec!["exposure", "reference", "RT-250", "--found", file.to_str().unwrap()];
    arguments.extend(more);
    (leverarm(&arguments), scratch)
}

#[test]
fn the_report_names_what_changes_the_gravest_first() {
    let (output, _scratch) = exposure(3.4, &RUNS);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    insta::assert_snapshot!(stdout(&output));
}

#[test]
fn help() {
    insta::assert_snapshot!(stdout(&leverarm(&["exposure", "reference", "--help"])));
}

#[test]
fn the_gate_tells_a_change_from_none() {
    let with = |percent, more: &[&str]| {
        let mut arguments = RUNS.to_vec();
        arguments.extend(more);
        exposure(percent, &arguments).0.status.code()
    };
    assert_eq!(with(4.5, &["--gate"]), Some(1));
    assert_eq!(with(0.0, &["--gate"]), Some(0));
    assert_eq!(with(4.5, &[]), Some(0));
}

#[test]
fn a_folder_holds_report_and_letters_and_is_never_overwritten() {
    let scratch = tempfile::tempdir().unwrap();
    let out = scratch.path().join("out");
    let with = |percent| {
        let mut arguments = RUNS.to_vec();
        arguments.extend(["--out", out.to_str().unwrap(), "--dated", "2027-03-20"]);
        exposure(percent, &arguments).0
    };
    let first = with(4.5);
    assert_eq!(first.status.code(), Some(0), "{}", stderr(&first));
    let mut names: Vec<String> = std::fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert!(names.len() >= 4 && names[..3] == ["exposure.csv", "exposure.json", "exposure.txt"], "{names:?}");
    assert!(stdout(&with(4.5)).contains("unchanged"));
    let other = with(-4.5);
    assert_eq!(other.status.code(), Some(2), "{}", stdout(&other));
    assert!(stderr(&other).contains("never overwritten"));
}

#[test]
fn json_is_the_report() {
    let mut arguments = RUNS.to_vec();
    arguments.push("--json");
    let (output, _scratch) = exposure(4.5, &arguments);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(json["format"], "leverarm exposure");
    assert_eq!(json["runs"][0]["gravity"], "to-fail");
    assert_eq!(json["counts"]["other_reference"], 1);
    assert_eq!(json["model"], "at-once");
}

#[test]
fn what_is_wrong_with_the_input_is_said() {
    let scratch = tempfile::tempdir().unwrap();
    let bad = scratch.path().join("bad.toml");
    std::fs::write(&bad, "id = \"RT-250\"\n").unwrap();
    let of = |id: &str, file: &str| {
        leverarm(&["exposure", "reference", id, "--found", file, "sample-runs/click-wrench-full"])
    };
    let refused = of("RT-250", bad.to_str().unwrap());
    assert_eq!(refused.status.code(), Some(2), "{}", stdout(&refused));
    assert!(stderr(&refused).contains("description"), "{}", stderr(&refused));
    let refused = of("RT-9", "sample-runs/references/rt-250.toml");
    assert_eq!(refused.status.code(), Some(2));
    assert!(stderr(&refused).contains("RT-9"), "{}", stderr(&refused));
    // the calibration that the runs were certified with did not come after them
    let refused = of("RT-250", "sample-runs/references/rt-250.toml");
    assert_eq!(refused.status.code(), Some(2));
    assert!(stderr(&refused).contains("1 from after"), "{}", stderr(&refused));
    let refused =
        leverarm(&["exposure", "reference", "RT-250", "--found", "sample-runs/references/rt-250.toml"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(stderr(&refused).contains("there is no ledger"), "{}", stderr(&refused));
}
