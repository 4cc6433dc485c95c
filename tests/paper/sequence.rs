//! `leverarm sequence`: the sheet as text, PDF, JSON and empty readings; filled in, it is certified.
//!
//! `LEVERARM_BLESS=1 cargo test --release sequence` writes the texts anew.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use leverarm::assess::{Overrides, assess};
use leverarm::metrology::finding::Severity;
use serde_json::Value;

fn leverarm(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

fn stdout(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn the_sheets_are_those_on_file() {
    let bless = std::env::var_os("LEVERARM_BLESS").is_some_and(|value| value == "1");
    let mut changed = Vec::new();
    for sample in ["click-wrench-full", "screwdriver"] {
        let text = stdout(&leverarm(&["sequence", &format!("sample-runs/{sample}")]));
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
        let file = root().join(format!("tests/paper/snapshots/sequence-{sample}.txt"));
        if bless {
            fs::write(&file, &text).unwrap();
        }
        if fs::read_to_string(&file).ok() != Some(text) {
            changed.push(sample);
        }
    }
    assert!(
        changed.is_empty(),
        "changed: {changed:?}; read the difference, then write with LEVERARM_BLESS=1"
    );
}

/// A copy of a sample run without its readings, beside the files that it names.
fn unmeasured(scratch: &Path, sample: &str) -> PathBuf {
    let samples = root().join("sample-runs");
    copy_toml(&samples, scratch);
    for folder in ["references", "studies"] {
        copy_toml(&samples.join(folder), &scratch.join(folder));
    }
    let run = scratch.join(sample);
    copy_toml(&samples.join(sample), &run);
    run
}

fn copy_toml(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
        }
    }
}

/// Fills the empty cells of a readings.csv with good values.
fn fill(path: &Path) {
    const SCATTER: [f64; 10] = [0.12, -0.31, 0.22, -0.05, 0.33, -0.17, 0.03, -0.26, 0.28, -0.09];
    let empty = fs::read_to_string(path).unwrap();
    let mut lines = empty.lines();
    let mut filled = format!("{}\n", lines.next().unwrap());
    for (i, line) in lines.enumerate() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        assert_eq!((cells[3].as_str(), cells[4].as_str(), cells[6].as_str()), ("", "", ""), "{line}");
        let target: f64 = cells[2].parse().unwrap();
        cells[3] = cells[2].clone();
        let share = SCATTER[(i + i / 10) % 10] + f64::from(u32::try_from(i % 7).unwrap()) / 100.0;
        cells[4] = format!("{:.2}", target * (1.0 + share / 100.0));
        filled.push_str(&cells.join(","));
        filled.push('\n');
    }
    fs::write(path, filled).unwrap();
}

#[test]
fn the_empty_readings_filled_in_are_a_run_that_can_be_certified() {
    for sample in ["click-wrench-full", "both-directions", "conformance", "fixed-tool", "electronic-200"] {
        let scratch = tempfile::tempdir().unwrap();
        let run = unmeasured(scratch.path(), sample);
        let csv = run.join("readings.csv");
        let (folder, file) = (run.to_str().unwrap(), csv.to_str().unwrap());
        assert!(stdout(&leverarm(&["sequence", folder, "--csv", file])).contains("written"));
        assert!(stdout(&leverarm(&["sequence", folder, "--csv", file])).contains("unchanged"));
        // With the empty readings in it, the folder still has a sheet.
        stdout(&leverarm(&["sequence", folder]));
        fill(&csv);
        let assessed = assess(&run, &Overrides::default()).unwrap();
        let bad: Vec<_> = assessed.findings.iter().filter(|f| f.severity() != Severity::Warning).collect();
        assert!(assessed.is_certifiable(), "{sample}: {bad:?}");
        // What was filled in is never replaced.
        let before = fs::read(&csv).unwrap();
        let again = leverarm(&["sequence", folder, "--csv", file]);
        assert_eq!(again.status.code(), Some(2));
        assert!(String::from_utf8_lossy(&again.stderr).contains("never replaced"));
        assert_eq!(fs::read(&csv).unwrap(), before);
    }
}

#[test]
fn every_sample_has_a_sheet_on_both_papers() {
    let out = Path::new(env!("CARGO_TARGET_TMPDIR"));
    for sample in ["click-wrench-full", "screwdriver", "both-directions", "dial-wrench", "foot-pounds"] {
        for paper in ["a4", "letter"] {
            let file = out.join(format!("sequence-{sample}-{paper}.pdf"));
            let _ = fs::remove_file(&file);
            let run = format!("sample-runs/{sample}");
            let arguments = ["sequence", &run, "--paper", paper, "--pdf", file.to_str().unwrap()];
            stdout(&leverarm(&arguments));
            let bytes = fs::read(&file).unwrap();
            assert!(bytes.starts_with(b"%PDF-1.7"));
            // The same sheet is the same bytes.
            assert!(stdout(&leverarm(&arguments)).contains("unchanged"));
        }
    }
}

#[test]
fn its_json_holds_the_steps() {
    let run = "sample-runs/click-wrench-full";
    let sheet: Value = serde_json::from_str(&stdout(&leverarm(&["sequence", run, "--json"]))).unwrap();
    assert_eq!((&sheet["format"], &sheet["version"]), (&"leverarm sequence".into(), &1.into()));
    let points = &sheet["groups"][3];
    assert_eq!(points["title"], "Test points, clockwise");
    let first = &points["steps"][0];
    assert_eq!((&first["target"], &first["unit"], &first["count"]), (&"40".into(), &"N·m".into(), &5.into()));
    // ±4 % of the reference at 40 N·m: 38.4615… to 41.6666…, rounded inward.
    assert_eq!((&first["lowest"], &first["highest"]), (&"38.462".into(), &"41.666".into()));
    assert_eq!(first["seconds"], "at least 1.5 s");
}

#[test]
fn a_folder_without_a_run_is_refused_with_its_reason() {
    let scratch = tempfile::tempdir().unwrap();
    let output = leverarm(&["sequence", scratch.path().to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("run.toml"));
    let run = unmeasured(scratch.path(), "click-wrench-full");
    let toml = fs::read_to_string(run.join("run.toml")).unwrap();
    fs::write(run.join("run.toml"), toml.replace("40 N·m .. 200 N·m", "40 .. 200")).unwrap();
    let output = leverarm(&["sequence", run.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("tool.range") || said.contains("range"), "{said}");
    assert!(!said.contains("readings.csv"), "{said}");
    // A reference that nobody has chosen yet stands in no way.
    fs::write(run.join("run.toml"), toml.replace("rt-250.toml", "not-yet.toml")).unwrap();
    stdout(&leverarm(&["sequence", run.to_str().unwrap()]));
}
