//! The order in which findings are shown: the gravest first, then file by file, from top to bottom.

use std::fmt;

use leverarm_metrology::finding::{Finding, Severity};

use crate::ingest::{Location, SourceMap};

/// A finding and where it points.
#[derive(Debug, Clone)]
pub struct Located<'f> {
    /// the finding
    pub finding: &'f Finding,
    /// file, line and column
    pub location: Location,
}

/// The findings in the order in which they are shown.
#[must_use]
pub fn arranged<'f>(findings: &'f [Finding], sources: &SourceMap) -> Vec<Located<'f>> {
    let mut located: Vec<Located<'f>> = findings
        .iter()
        .map(|finding| Located { finding, location: sources.locate(&finding.place) })
        .collect();
    located.sort_by(|a, b| {
        let key = |l: &Located<'_>| (l.finding.severity(), l.location.document, l.location.position);
        key(a).cmp(&key(b))
    });
    located
}

/// How many findings there are of each severity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// errors
    pub errors: usize,
    /// gaps
    pub gaps: usize,
    /// warnings
    pub warnings: usize,
}

impl Counts {
    /// Counts findings.
    #[must_use]
    pub fn of(findings: &[Finding]) -> Counts {
        let count = |severity| findings.iter().filter(|finding| finding.severity() == severity).count();
        Counts {
            errors: count(Severity::Error),
            gaps: count(Severity::Gap),
            warnings: count(Severity::Warning),
        }
    }
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts: Vec<String> = [(self.errors, "error"), (self.gaps, "gap"), (self.warnings, "warning")]
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, word)| format!("{count} {word}{}", if count == 1 { "" } else { "s" }))
            .collect();
        if parts.is_empty() { f.write_str("no findings") } else { f.write_str(&parts.join(", ")) }
    }
}
