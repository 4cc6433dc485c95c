//! The traces that a run keeps: each is read once, hashed, and held against its row. A trace proves
//! its reading only where it shows it, so the detector of pulls goes over every valid one anew.

mod shows;

use std::collections::BTreeMap;

use leverarm_metrology::finding::{Check, Finding, Place};
use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::{Reading, Series};
use leverarm_metrology::run::Run;
use leverarm_pull::codec;
use leverarm_pull::trace::Trace;

use super::checks;
use super::store::{Store, StoreError, TRACE_BYTES_MAX, TRACE_BYTES_OF_RUN_MAX, TRACES_MAX};
use super::value::{Fault, shorten};
use shows::Expected;

/// So many findings of one check are listed; the rest are counted.
const LISTED_MAX: usize = 10;

/// Reads every trace of a run and writes its hash to its reading. `step` is one step of the display
/// of the reference, where the reference is known.
pub(super) fn read(store: &dyn Store, run: &mut Run, step: Option<Torque>) -> Vec<Finding> {
    let mut notes = Notes::default();
    let mut seen: BTreeMap<String, u32> = BTreeMap::new();
    let mut bytes_read = 0_u64;
    let class = run.tool.class;
    let filter = run.chain.as_ref().and_then(|chain| chain.filter);
    for reading in &mut run.readings {
        let (row, Some(kept)) = (reading.row, &mut reading.trace) else { continue };
        let file = kept.file.clone();
        if let Some(first) = seen.get(&file) {
            notes.add(row, &file, shared(&file, *first));
            continue;
        }
        if seen.len() >= TRACES_MAX || bytes_read > TRACE_BYTES_OF_RUN_MAX {
            notes.add(row, &file, too_many(seen.len(), bytes_read));
            break;
        }
        seen.insert(file.clone(), row);
        let bytes = match inside(store, &file) {
            Ok(bytes) => bytes,
            Err(fault) => {
                notes.add(row, &file, fault);
                continue;
            }
        };
        bytes_read = bytes_read.saturating_add(bytes.len() as u64);
        kept.sha256 = Some(super::sha256(&bytes));
        let looked = codec::decode(&bytes).map_err(|error| unreadable(&file, &error.to_string()));
        let expected = Expected { class, filter, step };
        if let Err(fault) = looked.and_then(|trace| look(&trace, reading, &file, &expected)) {
            notes.add(row, &file, fault);
        }
    }
    notes.finish()
}

/// The bytes of a trace, which must lie inside the run folder: a run that is sent on takes its
/// traces with it.
fn inside(store: &dyn Store, file: &str) -> Result<Vec<u8>, Fault> {
    let leaves = |part: &str| part.is_empty() || part == "." || part == "..";
    if file.split('/').any(leaves) || file.contains(['\\', ':', '\0']) {
        return Err(Fault::new(
            &checks::TRACE_MISSING,
            format!("'{}' is no path inside the run folder", shorten(file)),
            "a path inside the run folder, with / between folders",
            "put the trace into the run folder and write its path such as traces/0007.ltrc",
        ));
    }
    store.read(file, TRACE_BYTES_MAX).map_err(|error| match error {
        StoreError::Missing { .. } | StoreError::NotAFile { .. } => Fault::new(
            &checks::TRACE_MISSING,
            error.to_string(),
            "the trace of the reading",
            "put the trace there; where it is lost, take the reading again, or empty the cell and say so in the row's note",
        ),
        other => unreadable(file, &other.to_string()),
    })
}

/// Whether the trace is of this reading.
fn look(trace: &Trace, reading: &Reading, file: &str, expected: &Expected) -> Result<(), Fault> {
    let unit = reading.reference.unit();
    if trace.unit() != unit {
        return Err(Fault::new(
            &checks::TRACE_UNIT,
            format!("the trace '{}' is in {}, and the reading in {unit}", shorten(file), trace.unit()),
            format!("a trace in {unit}"),
            "see whether the trace is of another reading; a reading keeps the unit in which the display spoke",
        ));
    }
    // What was struck out need not be a pull at all, and a zero is none.
    if !reading.is_valid() || reading.series == Series::Zero {
        return Ok(());
    }
    expected.hold(trace, reading).map_err(|differs| {
        Fault::new(
            &checks::TRACE_DIFFERS,
            format!("the trace '{}' {}", shorten(file), differs.said),
            differs.wanted,
            "see whether the trace is of another reading, and whether the row was changed after the pull; a record is voided with a reason and never edited",
        )
    })
}

fn unreadable(file: &str, why: &str) -> Fault {
    Fault::new(
        &checks::TRACE_UNREADABLE,
        format!("the trace '{}' cannot be read: {why}", shorten(file)),
        "a trace as the bench writes it, of a few thousand bytes",
        "put the trace there as the bench wrote it; where it is lost, empty the cell and say so in the row's note",
    )
}

fn shared(file: &str, first: u32) -> Fault {
    Fault::new(
        &checks::TRACE_SHARED,
        format!("reading {first} names the trace '{}', too", shorten(file)),
        "a trace of its own for each reading",
        "see which of the readings the trace is of, and empty the cell of the other",
    )
}

fn too_many(count: usize, bytes: u64) -> Fault {
    Fault::new(
        &checks::TRACE_UNREADABLE,
        format!("{count} traces with {bytes} bytes were read, and the run names more"),
        format!("at most {TRACES_MAX} traces with {TRACE_BYTES_OF_RUN_MAX} bytes"),
        "split the run",
    )
}

/// Findings, so many of a check.
#[derive(Default)]
struct Notes {
    findings: Vec<Finding>,
    counts: BTreeMap<&'static str, (&'static Check, usize)>,
}

impl Notes {
    fn add(&mut self, row: u32, file: &str, fault: Fault) {
        let (_, count) = self.counts.entry(fault.check.name).or_insert((fault.check, 0));
        *count += 1;
        if *count <= LISTED_MAX {
            self.findings.push(
                Finding::new(fault.check, Place::row(row, "trace"), fault.message)
                    .given(shorten(file))
                    .wanted(fault.wanted)
                    .remedy(fault.remedy),
            );
        }
    }

    fn finish(mut self) -> Vec<Finding> {
        for (check, count) in self.counts.into_values().filter(|(_, count)| *count > LISTED_MAX) {
            let last = self.findings.iter_mut().rev().find(|finding| finding.check.name == check.name);
            if let Some(last) = last {
                last.message = format!("{}; and so {} more traces", last.message, count - LISTED_MAX);
            }
        }
        self.findings
    }
}
