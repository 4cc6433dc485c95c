//! The file of the new calibration: a reference file as a run names one.

use leverarm_metrology::finding::{Document, Finding, Place, Severity};
use leverarm_metrology::reference::Reference;
use thiserror::Error;

use crate::ingest::store::Memory;
use crate::ingest::{self, SourceMap};

const NAME: &str = "found.toml";

/// Why the file gives no reference.
#[derive(Debug, Error)]
#[error("the new calibration cannot be read: {} finding(s)", findings.len())]
pub struct FoundError {
    /// what is wrong
    pub findings: Vec<Finding>,
    /// the file, to point into
    pub sources: SourceMap,
}

/// Reads a reference file by the reader that every run goes through.
///
/// # Errors
/// [`FoundError`] with everything that is wrong in it.
pub fn read(bytes: &[u8]) -> Result<Reference, Box<FoundError>> {
    // The reader starts at a run; this one says nothing but where its reference is.
    let run = format!("format = 1\n[reference]\nfile = \"{NAME}\"\n");
    let store = Memory::new().with("run.toml", run).with(NAME, bytes);
    let loaded = ingest::parse(&store);
    let mut findings = loaded.findings;
    findings.retain(|finding| is_of_reference(&finding.place));
    let has_errors = findings.iter().any(|finding| finding.severity() == Severity::Error);
    match loaded.reference {
        Some(reference) if !has_errors => Ok(reference),
        _ => Err(Box::new(FoundError { findings, sources: loaded.sources })),
    }
}

fn is_of_reference(place: &Place) -> bool {
    match place {
        Place::Key { document, .. } | Place::Whole(document) | Place::Bytes { document, .. } => {
            *document == Document::Reference
        }
        Place::Row { .. } => false,
    }
}
