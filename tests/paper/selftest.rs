//! The self-test: every example agrees, what does not agree is said first, the same bytes twice, and
//! the hash is that of the program that ran.

use std::path::Path;
use std::process::{Command, Output};

use chrono::NaiveDate;
use leverarm::ingest::sha256;
use leverarm::metrology::rulebook::embedded;
use leverarm::selftest::{Agreement, Ask, Case, Mark, Report, cases, json, paper, text};
use serde_json::Value;

fn ask() -> Ask {
    Ask {
        dated: NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
        laboratory: Some("Skarvholm Torque Laboratory".into()),
        executable_sha256: "ab".repeat(32),
    }
}

/// An example of which one expectation is wrong on purpose.
fn wrong() -> Case {
    let mut case = Case::new("wrong", "no source", "A wrong expectation.", "nothing", Mark::Derivable);
    case.printed("one and one", "2", 2.0);
    case.printed("two and two", "5.0", 4.0);
    case
}

#[test]
fn every_example_agrees() {
    let cases = cases::run();
    for case in &cases {
        assert!(case.passed(), "{}: {:?}", case.id, case.failed().collect::<Vec<_>>());
    }
    let report = Report::new(ask(), cases);
    assert!(report.outcome.passed && report.outcome.failed == 0);
    assert!(report.outcome.values >= 200, "{}", report.outcome.values);
    let mut names: Vec<_> = report.cases.iter().map(|case| case.id).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), report.outcome.cases);
}

#[test]
fn a_wrong_expectation_is_said_first() {
    let report = Report::new(ask(), vec![wrong()]);
    assert_eq!((report.outcome.passed, report.outcome.failed), (false, 1));
    let text = text::text(&report);
    let first_lines: String = text.lines().take(2).collect();
    assert!(first_lines.contains("1 of 2 values DO NOT AGREE"), "{first_lines}");
    let at = text.find("Values that do not agree").unwrap();
    assert!(at < text.find("What this is").unwrap());
    assert!(text[at..].contains("✗ two and two"), "{text}");
    let page = paper::pdf(&report).unwrap();
    std::fs::write(Path::new(env!("CARGO_TARGET_TMPDIR")).join("selftest-failed.pdf"), page).unwrap();
}

#[test]
fn each_way_to_agree_has_its_boundary() {
    let agrees = |expected: &str, agreement, found: Option<f64>| {
        let mut case = Case::new("a", "b", "c", "d", Mark::Derivable);
        case.holds("x", expected, agreement, found);
        case.passed()
    };
    use Agreement::{AtMost, Exact, HalfUnit, Relative, Trials, TrialsOfExact};
    assert!(agrees("1.49", HalfUnit, Some(1.4949)) && !agrees("1.49", HalfUnit, Some(1.4951)));
    assert!(agrees("93", HalfUnit, Some(92.6)) && !agrees("93", HalfUnit, Some(93.6)));
    assert!(agrees("6", Exact, Some(6.0)) && !agrees("6", Exact, Some(6.000_000_1)));
    assert!(agrees("0.05", AtMost, Some(0.048)) && !agrees("0.05", AtMost, Some(0.051)));
    assert!(agrees("-2", Relative(0.1), Some(-2.1)) && !agrees("-2", Relative(0.1), Some(-2.3)));
    assert!(agrees("2.00", Trials(0.01), Some(2.044)) && !agrees("2.00", Trials(0.01), Some(2.046)));
    assert!(agrees("2", TrialsOfExact(0.01), Some(2.03)) && !agrees("2", TrialsOfExact(0.01), Some(2.05)));
    // No number, no agreement: nothing found, not a number, an expectation that is none.
    for agreement in [HalfUnit, Exact, AtMost, Relative(1.0), Trials(1.0), TrialsOfExact(1.0)] {
        assert!(!agrees("1", agreement, None) && !agrees("1", agreement, Some(f64::NAN)), "{agreement:?}");
        assert!(!agrees("one", agreement, Some(1.0)), "{agreement:?}");
    }
}

#[test]
fn what_stops_or_is_empty_does_not_pass() {
    let empty = Case::new("empty", "no source", "Nothing.", "nothing", Mark::Seen);
    assert!(!empty.passed());
    let report = Report::new(ask(), vec![empty.clone()]);
    assert!(!report.outcome.passed && report.outcome.sentence.contains("proves nothing"));
    let mut stopped = empty;
    stopped.stopped(&"no such table".into());
    assert_eq!(stopped.failed().next().unwrap().found, "no such table");
    assert!(!Report::new(ask(), vec![]).outcome.passed);
}

#[test]
fn the_same_report_is_the_same_bytes() {
    let report = || Report::new(ask(), cases::run());
    let (one, two) = (report(), report());
    assert_eq!(json(&one).unwrap(), json(&two).unwrap());
    assert_eq!(text::text(&one), text::text(&two));
    assert_eq!(paper::pdf(&one).unwrap(), paper::pdf(&two).unwrap());
}

#[test]
fn it_claims_no_more_than_it_may() {
    let report = text::text(&Report::new(ask(), cases::run()));
    assert!(report.contains("nothing about the competence or the accreditation of any laboratory"));
    assert!(!report.to_lowercase().contains("certified"));
    assert!(report.contains("What it does not cover"));
    assert!(report.lines().all(|line| line.chars().count() <= 100), "a line is too long");
}

fn selftest(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_leverarm"));
    command.arg("selftest").args(["--dated", "2026-11-25"]).args(arguments).output().unwrap()
}

#[test]
fn the_command_prints_json_with_the_hash_of_the_program() {
    let output = selftest(&["--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(report["format"], "leverarm selftest");
    assert_eq!(report["dated"], "2026-11-25");
    assert_eq!(report["laboratory"], Value::Null);
    assert_eq!(report["program"]["version"], env!("CARGO_PKG_VERSION"));
    let program = std::fs::read(env!("CARGO_BIN_EXE_leverarm")).unwrap();
    assert_eq!(report["program"]["executable_sha256"], sha256(&program));
    let part = |name: &str| {
        let parts = report["parts"].as_array().unwrap();
        parts.iter().find(|part| part["name"] == name).unwrap()["sha256"].clone()
    };
    assert_eq!(part("iso-6789-2"), sha256(embedded("iso-6789-2").unwrap().text.as_bytes()));
    let template = Path::new(env!("CARGO_MANIFEST_DIR")).join("templates/certificate.typ");
    assert_eq!(part("certificate.typ"), sha256(&std::fs::read(template).unwrap()));
    assert_eq!(part("Noto Sans Regular").as_str().unwrap().len(), 64);
    let gum = &report["cases"][0];
    assert_eq!((&gum["id"], &gum["mark"]), (&"gum-4-4-3".into(), &Value::Null));
    let mean = &gum["values"][0];
    assert_eq!((&mean["expected"], &mean["found"]), (&"100.145".into(), &"100.145".into()));
    assert_eq!((&mean["tolerance"], &mean["passed"]), (&0.0005.into(), &true.into()));
    assert_eq!(mean["mark"], "reproduced");
}

#[test]
fn the_command_writes_three_files_and_overwrites_none() {
    let scratch = tempfile::tempdir().unwrap();
    let folder = scratch.path().join("record");
    let out = folder.to_str().unwrap();
    assert_eq!(selftest(&["--out", out]).status.code(), Some(0));
    let bytes = |file: &str| std::fs::read(folder.join(file)).unwrap();
    let (text, pdf) = (bytes("selftest.txt"), bytes("selftest.pdf"));
    assert!(text.starts_with(b"Self-test of leverarm") && pdf.starts_with(b"%PDF-"));
    let again = selftest(&["--out", out]);
    assert_eq!(again.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&again.stdout).contains("unchanged"));
    let other = selftest(&["--out", out, "--laboratory", "Another"]);
    assert_eq!(other.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&other.stderr).contains("never overwritten"));
    assert_eq!(bytes("selftest.pdf"), pdf);
    assert_eq!(std::fs::read_dir(scratch.path()).unwrap().count(), 1);
}
