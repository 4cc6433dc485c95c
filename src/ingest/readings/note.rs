//! Findings of the readings. A column that is wrong throughout is one mistake and not one for each
//! reading: where a fault repeats, it is said once, with the readings that have it.

use leverarm_metrology::finding::{Document, Finding, Place};

use crate::ingest::value::{Fault, shorten};

/// So many findings of one fault are listed each by itself.
const LISTED_MAX: usize = 3;
/// So many findings of a header are listed.
const HEADER_MAX: usize = 50;
/// So many stretches of readings with one fault are named.
const STRETCHES_MAX: usize = 8;

/// The same fault of the same column.
#[derive(Debug)]
struct Group {
    check: &'static str,
    column: &'static str,
    remedy: String,
    findings: Vec<Finding>,
    count: usize,
    stretches: Vec<(u32, u32)>,
    last_row: u32,
}

/// What reading the readings found.
#[derive(Debug, Default)]
pub(super) struct Notes {
    /// what is wrong with the header
    header: Vec<Finding>,
    groups: Vec<Group>,
}

impl Notes {
    fn add(&mut self, row: u32, column: &'static str, finding: Finding) {
        let known = self.groups.iter_mut().find(|group| {
            group.check == finding.check.name && group.column == column && group.remedy == finding.remedy
        });
        match known {
            Some(group) => group.add(row, finding),
            None => self.groups.push(Group {
                check: finding.check.name,
                column,
                remedy: finding.remedy.clone(),
                findings: vec![finding],
                count: 1,
                stretches: vec![(row, row)],
                last_row: row,
            }),
        }
    }

    /// Notes what is wrong with a cell.
    pub(super) fn cell(&mut self, row: u32, column: &'static str, given: &str, fault: Fault) {
        self.add(row, column, finding(Place::row(row, column), given, fault));
    }

    /// Notes what is wrong with some bytes of a row, and in which column, where it is of one.
    pub(super) fn within(
        &mut self,
        row: u32,
        column: &'static str,
        (start, end): (usize, usize),
        given: &str,
        fault: Fault,
    ) {
        let place = Place::Bytes { document: Document::Readings, start, end };
        self.add(row, column, finding(place, given, fault));
    }

    /// Notes what is wrong with some bytes of the header.
    pub(super) fn bytes(&mut self, start: usize, end: usize, given: &str, fault: Fault) {
        if self.header.len() < HEADER_MAX {
            let place = Place::Bytes { document: Document::Readings, start, end };
            self.header.push(finding(place, given, fault));
        }
    }

    /// Every finding.
    pub(super) fn finish(self) -> Vec<Finding> {
        self.header.into_iter().chain(self.groups.into_iter().flat_map(Group::finish)).collect()
    }
}

fn finding(place: Place, given: &str, fault: Fault) -> Finding {
    Finding::new(fault.check, place, fault.message)
        .given(shorten(given))
        .wanted(fault.wanted)
        .remedy(fault.remedy)
}

impl Group {
    fn add(&mut self, row: u32, finding: Finding) {
        self.count += 1;
        if self.count <= LISTED_MAX {
            self.findings.push(finding);
        }
        let has_room = self.stretches.len() < STRETCHES_MAX;
        match self.stretches.last_mut() {
            Some((_, last)) if *last == row || last.checked_add(1) == Some(row) => *last = row,
            _ if has_room => self.stretches.push((row, row)),
            _ => {}
        }
        self.last_row = row;
    }

    fn finish(self) -> Vec<Finding> {
        if self.count <= LISTED_MAX {
            return self.findings;
        }
        let mut words: Vec<String> = self
            .stretches
            .iter()
            .map(|(first, last)| if first == last { first.to_string() } else { format!("{first} to {last}") })
            .collect();
        if self.stretches.last().is_some_and(|(_, last)| *last < self.last_row) {
            words.push(format!("so on to {}", self.last_row));
        }
        let tail = words.pop().unwrap_or_default();
        let which = if words.is_empty() { tail } else { format!("{} and {tail}", words.join(", ")) };
        let mut first = self.findings;
        first.truncate(1);
        for finding in &mut first {
            let stop = if finding.message.ends_with('.') { "" } else { "." };
            finding.message =
                format!("{}{stop} So it is in {} places: readings {which}", finding.message, self.count);
        }
        first
    }
}
