//! Findings as text for a terminal.

use std::fmt::Write as _;
use std::sync::Arc;

use leverarm_metrology::finding::{Document, Finding, Severity, joined};
use leverarm_metrology::rulebook::RulebookError;

use super::excerpt::Excerpt;
use super::order::{Counts, Located, arranged};
use super::{harmless, sentence};
use crate::ingest::rulebook::findings;
use crate::ingest::{Source, SourceMap};

/// Every finding, the gravest first, and a last line that counts them.
#[must_use]
pub fn text(findings: &[Finding], sources: &SourceMap) -> String {
    let mut out = String::new();
    for located in arranged(findings, sources) {
        one(&mut out, &located, sources);
        out.push('\n');
    }
    out.push_str(&Counts::of(findings).to_string());
    if let Some(awaited) = listed(&sources.awaited()).filter(|_| !findings.is_empty()) {
        let _ = write!(out, "; further checks wait until {awaited} can be used");
    }
    out.push('\n');
    out
}

/// `a`, `a and b`, `a, b and c`; nothing where there is none.
fn listed(names: &[&str]) -> Option<String> {
    (!names.is_empty()).then(|| harmless(&joined(names, "and")))
}

/// What is wrong with a rulebook that stands alone, without a run.
#[must_use]
pub fn rulebook_errors(rulebook: &str, path: &str, errors: &[RulebookError]) -> String {
    rulebook_findings(rulebook, path, &findings(errors))
}

/// The findings of a rulebook that stands alone, without a run.
#[must_use]
pub fn rulebook_findings(rulebook: &str, path: &str, findings: &[Finding]) -> String {
    let mut sources = SourceMap::default();
    sources.insert(Document::Rulebook, Source::new(path, Arc::new(rulebook.as_bytes().to_vec())));
    text(findings, &sources)
}

fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "ERROR",
        Severity::Gap => "GAP",
        Severity::Warning => "WARNING",
    }
}

fn one(out: &mut String, located: &Located<'_>, sources: &SourceMap) {
    let Located { finding, location } = located;
    let place = match location.position {
        Some((line, column)) => format!("{}:{line}:{column}", harmless(&location.path)),
        None => harmless(&location.path),
    };
    // Writing to a String cannot fail.
    let _ = writeln!(out, "{} {}  {place}", word(finding.severity()), finding.check.name);
    if let Some(excerpt) = Excerpt::of(&finding.place, location, sources) {
        let number = excerpt.line.to_string();
        let margin = " ".repeat(number.len());
        let _ = writeln!(out, "  {number} | {}", excerpt.text);
        let _ = writeln!(out, "  {margin} | {}{}", " ".repeat(excerpt.indent), "^".repeat(excerpt.width));
    }
    let _ = writeln!(out, "  {}", harmless(&sentence(&finding.message)));
    let clause = finding.clause.as_deref().unwrap_or(finding.check.source);
    for (label, value) in [
        ("given", finding.given.as_str()),
        ("wanted", &finding.wanted),
        ("asked by", clause),
        ("mend", &finding.remedy),
    ] {
        if !value.is_empty() {
            // A list has one line for each of its words.
            let lines: Vec<&str> = if label == "mend" { value.lines().collect() } else { vec![value] };
            for (i, line) in lines.into_iter().enumerate() {
                let _ = writeln!(out, "  {:<9}{}", if i == 0 { label } else { "" }, harmless(line));
            }
        }
    }
}
