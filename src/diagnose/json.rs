//! Findings as JSON for other programs.

use leverarm_metrology::finding::{Finding, Severity};
use schemars::JsonSchema;
use serde::Serialize;

use super::order::{Located, arranged};
use super::sentence;
use crate::ingest::SourceMap;

/// A finding as JSON.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Entry {
    /// name of the check
    pub check: String,
    /// how grave it is
    pub severity: Severity,
    /// what asks it: standard and clause, or the format
    pub clause: String,
    /// the file, relative to the run folder
    pub file: String,
    /// line from 1; null where the file as a whole is meant
    pub line: Option<usize>,
    /// column from 1, in characters
    pub column: Option<usize>,
    /// what is wrong
    pub message: String,
    /// what was found
    pub given: String,
    /// what was wanted
    pub wanted: String,
    /// how to mend it
    pub remedy: String,
}

/// The findings as plain records, the gravest first; serialised, an array of objects.
#[must_use]
pub fn entries(findings: &[Finding], sources: &SourceMap) -> Vec<Entry> {
    arranged(findings, sources).iter().map(entry).collect()
}

fn entry(located: &Located<'_>) -> Entry {
    let Located { finding, location } = located;
    Entry {
        check: finding.check.name.to_owned(),
        severity: finding.severity(),
        clause: finding.clause.clone().unwrap_or_else(|| finding.check.source.to_owned()),
        file: location.path.clone(),
        line: location.position.map(|(line, _)| line),
        column: location.position.map(|(_, column)| column),
        message: sentence(&finding.message),
        given: finding.given.clone(),
        wanted: finding.wanted.clone(),
        remedy: finding.remedy.clone(),
    }
}
