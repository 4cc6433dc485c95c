//! The report for a terminal or a text file.

use std::fmt::Write;

use super::case::{Case, Value};
use super::print::{allowed, raised, shown};
use super::report::Report;
use crate::export::lines::wrapped;

const WIDTH: usize = 100;

/// The report as text; what does not agree stands first.
#[must_use]
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    head(&mut out, report);
    if report.outcome.failed > 0 {
        section(&mut out, "Values that do not agree");
        for (case, value) in report.failed() {
            line(&mut out, &format!("{} ({})", case.id, case.source));
            table(&mut out, std::iter::once(value));
        }
    }
    section(&mut out, "What this is");
    report.purpose.iter().for_each(|sentence| wrapped(&mut out, "  ", "  ", sentence, WIDTH));
    section(&mut out, "What it covers");
    report.covers.iter().for_each(|item| wrapped(&mut out, "  - ", "    ", item, WIDTH));
    section(&mut out, "What it does not cover");
    report.does_not_cover.iter().for_each(|item| wrapped(&mut out, "  - ", "    ", item, WIDTH));
    section(&mut out, "The program and what it was built with (SHA-256)");
    line(
        &mut out,
        &format!("  {:<9} {:<22} {}", "program", report.software(), report.program.executable_sha256),
    );
    for part in &report.parts {
        line(&mut out, &format!("  {:<9} {:<22} {}", part.kind, part.name, part.sha256));
    }
    section(&mut out, "How sure the expected values are");
    for mark in &report.marks {
        let lead = format!("  {:<12} {:>4}  ", mark.word, mark.values);
        wrapped(&mut out, &lead, &" ".repeat(20), mark.means, WIDTH);
    }
    section(&mut out, "The examples");
    report.cases.iter().for_each(|case| example(&mut out, case));
    out
}

fn head(out: &mut String, report: &Report) {
    line(out, &format!("Self-test of {}, dated {}", report.software(), report.dated));
    wrapped(out, "", "", &report.outcome.sentence, WIDTH);
    line(out, "");
    if let Some(laboratory) = &report.laboratory {
        line(out, &format!("for      {laboratory}"));
    }
    line(out, &format!("built    for {}", report.program.target));
    line(out, &format!("SHA-256  {}", report.program.executable_sha256));
}

fn example(out: &mut String, case: &Case) {
    let state = if case.passed() { "agrees" } else { "DOES NOT AGREE" };
    line(out, &format!("{}: {state}", case.id));
    wrapped(out, "  ", "  ", case.source, WIDTH);
    wrapped(out, "  ", "  ", case.about, WIDTH);
    case.notes.iter().for_each(|note| wrapped(out, "  note: ", "        ", note, WIDTH));
    table(out, case.values.iter());
    line(out, "");
}

const HEADER: [&str; 5] = ["quantity", "expected", "found", "within", "mark"];

/// Values in columns as wide as they need.
fn table<'a>(out: &mut String, values: impl Iterator<Item = &'a Value>) {
    let rows: Vec<(bool, [String; 5])> = values.map(|value| (value.passed, cells(value))).collect();
    let mut widths = HEADER.map(|head| head.chars().count());
    for (_, row) in &rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = cell.chars().count().max(*width);
        }
    }
    let [quantity, expected, found, within, _] = widths;
    let mut put = |sign: &str, [a, b, c, d, e]: [&str; 5]| {
        let left = format!("  {sign} {a:<quantity$}  {b:>expected$}");
        line(out, &format!("{left}  {c:<found$}  {d:<within$}  {e}"));
    };
    put(" ", HEADER);
    for (passed, row) in &rows {
        put(if *passed { " " } else { "✗" }, row.each_ref().map(String::as_str));
    }
}

fn cells(value: &Value) -> [String; 5] {
    [
        value.quantity.clone(),
        raised(&shown(&value.expected)),
        raised(&shown(&value.found)),
        raised(&allowed(value)),
        value.mark.word().to_owned(),
    ]
}

fn section(out: &mut String, title: &str) {
    line(out, &format!("\n{title}\n"));
}

fn line(out: &mut String, text: &str) {
    // Writing to a string does not fail.
    let _ = writeln!(out, "{}", text.trim_end());
}
