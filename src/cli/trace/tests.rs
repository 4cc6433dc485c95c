//! The command in the process: what it prints, what it writes, what it refuses.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::Path;

use clap::Parser;
use leverarm_pull::codec::encode;

use super::{Arguments, run};
use crate::cli::failure::Kind;
use crate::cli::{Ending, Failure};
use crate::trace_view::sample;

#[derive(Debug, Parser)]
struct Line {
    #[command(flatten)]
    arguments: Arguments,
}

fn trace(path: &Path, more: &[&str]) -> Result<(Ending, String), Failure> {
    let line = ["trace", path.to_str().unwrap()].into_iter().chain(more.iter().copied());
    let arguments = Line::try_parse_from(line).unwrap().arguments;
    let mut out = Vec::new();
    let ending = run(&arguments, &mut out)?;
    Ok((ending, String::from_utf8(out).unwrap()))
}

fn refused(path: &Path, more: &[&str]) -> String {
    let failure = trace(path, more).unwrap_err();
    assert_eq!(failure.kind, Kind::BadInput);
    let said = failure.to_string();
    assert!(said.contains("mend: "), "{said}");
    said
}

/// A file with the trace of a click.
fn click(folder: &Path) -> std::path::PathBuf {
    let path = folder.join("click.ltrc");
    fs::write(&path, encode(&sample::click())).unwrap();
    path
}

const TARGET: [&str; 4] = ["--target", "120 N·m", "--mode", "first-peak"];

#[test]
fn it_draws_and_writes_and_says_the_same_everywhere() {
    let scratch = tempfile::tempdir().unwrap();
    let path = click(scratch.path());
    let (ending, text) = trace(&path, &TARGET).unwrap();
    assert_eq!(ending, Ending::Done);
    let (svg, csv) = (scratch.path().join("a.svg"), scratch.path().join("a.csv"));
    let files = ["--svg", svg.to_str().unwrap(), "--csv", csv.to_str().unwrap(), "--json"];
    let (_, json) = trace(&path, &[&TARGET[..], &files].concat()).unwrap();
    let facts: serde_json::Value = serde_json::from_str(&json).unwrap();
    let peak = facts["pull"]["first_peak"]["torque"].as_f64().unwrap();
    let said = format!("{peak:.2} N·m at 2.900 s");
    assert!(text.contains(&said), "{said}: {text}");
    assert!(fs::read_to_string(&svg).unwrap().contains(&said));
    let samples = fs::read_to_string(&csv).unwrap();
    assert_eq!(samples.lines().count(), 4601);
    let (_, printed) = trace(&path, &["--csv", "-"]).unwrap();
    assert_eq!(printed, samples);
}

#[test]
fn a_file_with_other_content_is_replaced_only_when_asked() {
    let scratch = tempfile::tempdir().unwrap();
    let path = click(scratch.path());
    let svg = scratch.path().join("a.svg");
    fs::write(&svg, "mine").unwrap();
    let name = svg.to_str().unwrap();
    assert!(refused(&path, &["--svg", name]).contains("other content"));
    assert_eq!(fs::read_to_string(&svg).unwrap(), "mine");
    trace(&path, &["--svg", name, "--force"]).unwrap();
    trace(&path, &["--svg", name]).unwrap();
    assert!(fs::read_to_string(&svg).unwrap().starts_with("<svg"));
}

#[test]
fn what_cannot_be_done_says_how() {
    let scratch = tempfile::tempdir().unwrap();
    let path = click(scratch.path());
    assert!(refused(&scratch.path().join("none.ltrc"), &[]).contains("no file"));
    assert!(refused(&path, &["--reading", "7"]).contains("run folder"));
    assert!(refused(&path, &["--json", "--csv", "-"]).contains("both"));
    assert!(refused(&path, &["--seconds-min", "4", "--seconds-max", "1"]).contains("above"));
    assert!(refused(&path, &["--svg", "/no/such/folder/a.svg"]).contains("cannot write"));
    let text = scratch.path().join("b\u{1b}[2J.ltrc");
    fs::write(&text, "hello").unwrap();
    assert!(!refused(&text, &[]).contains('\u{1b}'));
    for wrong in ["0 N·m", "120", "abc"] {
        assert!(Line::try_parse_from(["trace", "a.ltrc", "--target", wrong]).is_err());
    }
}

/// A sample run with traces by their number, one of them cut off.
fn run_folder(scratch: &Path) -> std::path::PathBuf {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs");
    let run = scratch.join("run");
    fs::create_dir_all(run.join("traces")).unwrap();
    fs::create_dir_all(scratch.join("references")).unwrap();
    for file in ["laboratory.toml", "references/rt-250.toml"] {
        fs::copy(samples.join(file), scratch.join(file)).unwrap();
    }
    for file in ["run.toml", "readings.csv"] {
        fs::copy(samples.join("click-wrench-full").join(file), run.join(file)).unwrap();
    }
    let bytes = encode(&sample::click());
    fs::write(run.join("traces/0012.ltrc"), &bytes).unwrap();
    fs::write(run.join("traces/0014.ltrc"), encode(&sample::snatch())).unwrap();
    run
}

#[test]
fn a_run_says_target_mode_and_window() {
    let scratch = tempfile::tempdir().unwrap();
    let run = run_folder(scratch.path());
    let (ending, text) = trace(&run, &["--reading", "12"]).unwrap();
    assert_eq!(ending, Ending::Done);
    for wanted in
        ["Reading 12: points, 120 N·m clockwise", "119.37 N·m", "(mode first-peak)", "wanted at least"]
    {
        assert!(text.contains(wanted), "{wanted}: {text}");
    }
    let (_, void) = trace(&run, &["--reading", "14"]).unwrap();
    assert!(void.contains("STRUCK OUT: grip slipped") && void.contains("too fast"), "{void}");
    let (_, other) = trace(&run, &["--reading", "12", "--target", "200 N·m"]).unwrap();
    assert!(other.contains("80 % of the target was not reached"), "{other}");
    assert!(refused(&run, &["--reading", "900"]).contains("no reading 900"));
    assert!(refused(&run, &["--reading", "13"]).contains("traces/0013.ltrc"));
}

#[test]
fn a_run_lists_its_traces() {
    let scratch = tempfile::tempdir().unwrap();
    let run = run_folder(scratch.path());
    let (ending, text) = trace(&run, &["--width", "80"]).unwrap();
    assert_eq!(ending, Ending::Done);
    assert!(
        text.contains("void: grip slipped") && text.contains("readings of the run have no trace"),
        "{text}"
    );
    assert!(refused(&run, &["--svg", "a.svg"]).contains("--reading"));
    let (_, json) = trace(&run, &["--json"]).unwrap();
    let list: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(list["traces"][1]["facts"]["pull"]["flaws"][0]["flaw"], "too-fast");
    fs::write(run.join("traces/0013.ltrc"), b"LTRC\x01").unwrap();
    let (ending, text) = trace(&run, &[]).unwrap();
    assert_eq!(ending, Ending::BadInput);
    assert!(text.contains("not opened") && text.contains("its end is missing"), "{text}");
    fs::remove_dir_all(run.join("traces")).unwrap();
    assert!(refused(&run, &[]).contains("has a trace"));
}
