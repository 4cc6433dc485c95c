//! What a wrong reference reaches: runs evaluated again, the report, the letters, the command.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod command;
mod letters;
mod runs;
mod ten_thousand;

use std::num::NonZeroUsize;
use std::path::Path;
use std::process::{Command, Output};

use leverarm::ingest::store::Memory;
use leverarm::metrology::exposure::Model;
use leverarm::metrology::reference::Reference;
use leverarm::office::exposure::{Case, Question, Report, examine, found};

/// A file of the samples.
pub fn sample(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs").join(name);
    std::fs::read_to_string(path).unwrap()
}

/// A reference whose deviation is the same at every torque, in percent; calibrated before or after.
pub fn proportional(percent: f64, after: bool) -> String {
    let text = if after { found_file(0.0) } else { sample("references/rt-250.toml") };
    let (head, _) = text.split_once("[[curve]]").unwrap();
    let points = [5.0, 50.0, 100.0, 150.0, 200.0, 250.0].map(|applied: f64| {
        let (indicated, u) = (applied * (1.0 + percent / 100.0), applied / 1000.0);
        format!(
            "{{ indicated = \"{indicated:.9} N·m\", applied = \"{applied} N·m\", expanded = \"{u} N·m\" }},\n"
        )
    });
    format!("{head}[[curve]]\ndirection = \"clockwise\"\nk = 2\npoints = [\n{}]\n", points.concat())
}

/// The reference of the samples, calibrated again, with so many percent more on its display.
pub fn found_file(percent: f64) -> String {
    let mut text = sample("references/rt-250.toml")
        .replace("MI-T-2026-0320", "MI-T-2027-0288")
        .replace("calibrated_on = \"2026-03-13\"", "calibrated_on = \"2027-03-12\"")
        .replace("due = \"2028-03-12\"", "due = \"2029-03-12\"");
    let mut out = String::new();
    while let Some(at) = text.find("indicated = \"") {
        let start = at + "indicated = \"".len();
        let end = start + text[start..].find(' ').unwrap();
        let value: f64 = text[start..end].parse().unwrap();
        out.push_str(&text[..start]);
        out.push_str(&format!("{:.5}", value * (1.0 + percent / 100.0)));
        text = text[end..].to_owned();
    }
    out + &text
}

pub fn found(percent: f64) -> Reference {
    found::read(found_file(percent).as_bytes()).unwrap()
}

/// A sample run in memory, with what was changed in its run.toml.
pub fn files(name: &str, edit: impl Fn(String) -> String) -> Memory {
    Memory::new()
        .with("run.toml", edit(sample(&format!("{name}/run.toml"))))
        .with("readings.csv", sample(&format!("{name}/readings.csv")))
        .with("../references/rt-250.toml", sample("references/rt-250.toml"))
        .with("../references/rt-50.toml", sample("references/rt-50.toml"))
        .with("../laboratory.toml", sample("laboratory.toml"))
        .with("../studies/brundholt-bc-200.toml", sample("studies/brundholt-bc-200.toml"))
}

pub fn case(origin: &str, files: Memory) -> Case {
    Case {
        origin: origin.to_owned(),
        certificate: None,
        superseded: false,
        customer: None,
        recorded: None,
        files: Ok(Box::new(files)),
    }
}

/// Sample runs as they are.
pub fn cases(names: &[&str]) -> Vec<Case> {
    names.iter().map(|name| case(name, files(name, |run| run))).collect()
}

pub fn report(found: &Reference, model: Model, cases: Vec<Case>) -> Report {
    let question = Question { found, model, since: None };
    examine(&question, cases.into_iter(), NonZeroUsize::new(2).unwrap())
}

pub fn leverarm(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("COLUMNS", "100")
        .env_remove("LEVERARM_LEDGER")
        .output()
        .unwrap()
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}
