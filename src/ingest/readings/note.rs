//! Findings of the readings. A million bad rows do not make a million findings: after some of one
//! check the rest is counted.

use std::collections::BTreeMap;

use leverarm_metrology::finding::{Check, Document, Finding, Place};

use crate::ingest::value::{Fault, shorten};

/// So many findings of one check are listed.
const LISTED_MAX: usize = 50;

/// What reading the readings found.
#[derive(Debug, Default)]
pub(super) struct Notes {
    findings: Vec<Finding>,
    counts: BTreeMap<&'static str, (usize, Option<Finding>)>,
}

impl Notes {
    /// Notes a finding.
    pub(super) fn add(&mut self, finding: Finding) {
        let entry = self.counts.entry(finding.check.name).or_insert((0, None));
        entry.0 += 1;
        if entry.0 <= LISTED_MAX {
            self.findings.push(finding);
        } else {
            entry.1 = Some(finding);
        }
    }

    /// Whether a further finding of a check would only be counted.
    pub(super) fn is_full(&self, check: &'static Check) -> bool {
        self.counts.get(check.name).is_some_and(|(count, _)| *count > LISTED_MAX)
    }

    /// Counts a finding that is not worth writing out.
    pub(super) fn count(&mut self, check: &'static Check) {
        self.counts.entry(check.name).or_insert((0, None)).0 += 1;
    }

    /// Notes what is wrong with a cell.
    pub(super) fn cell(&mut self, row: u32, column: &'static str, given: &str, fault: Fault) {
        self.add(
            Finding::new(fault.check, Place::row(row, column), fault.message)
                .given(shorten(given))
                .wanted(fault.wanted)
                .remedy(fault.remedy),
        );
    }

    /// Notes what is wrong with some bytes.
    pub(super) fn bytes(&mut self, start: usize, end: usize, given: &str, fault: Fault) {
        let place = Place::Bytes { document: Document::Readings, start, end };
        self.add(
            Finding::new(fault.check, place, fault.message)
                .given(shorten(given))
                .wanted(fault.wanted)
                .remedy(fault.remedy),
        );
    }

    /// Every finding; where some were only counted, the last one says how many.
    pub(super) fn finish(self) -> Vec<Finding> {
        let mut findings = self.findings;
        for (count, last) in self.counts.into_values() {
            let (true, Some(mut last)) = (count > LISTED_MAX, last) else { continue };
            let unlisted = count - LISTED_MAX - 1;
            if unlisted > 0 {
                last.message =
                    format!("{} {unlisted} more findings of this check are not listed", last.message);
            }
            findings.push(last);
        }
        findings
    }
}
