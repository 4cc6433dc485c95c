//! The edge in: a run folder becomes a run, a reference and a rulebook, with the place of
//! everything in its files.
//!
//! Whatever is wrong is found in one pass over all files: a bad `run.toml` hides neither a bad
//! `readings.csv` nor a bad reference. A value that cannot be read is reported once, and nothing
//! later calls it missing ([`SourceMap::admit`]).

mod bench;
pub mod checks;
mod encoding;
pub mod keys;
mod laboratory;
mod loader;
mod nesting;
mod page;
pub(crate) mod printable;
mod prior;
mod range;
pub mod readings;
mod reference;
pub(crate) mod rulebook;
mod run;
mod source;
pub mod store;
pub mod stored;
mod study;
mod syntax;
mod table;
#[cfg(test)]
mod tests;
mod tool;
mod traces;
mod value;
pub(crate) mod words;

use std::path::Path;
use std::sync::Arc;

use leverarm_metrology::finding::{Document, Finding, Severity};
use leverarm_metrology::reference::Reference;
use leverarm_metrology::rulebook::Rulebook;
use leverarm_metrology::run::Run;
use sha2::{Digest, Sha256};

pub use source::{KeySpan, Location, Source, SourceMap};

use store::{Folder, Store};

/// SHA-256 in lower-case hexadecimal digits.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A file that took part, as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// what it is
    pub document: Document,
    /// its name relative to the run folder, as `run.toml` writes it; for a built-in rulebook its name
    pub path: String,
    /// SHA-256 of its bytes, in lower-case hexadecimal digits
    pub sha256: String,
    /// its content
    pub bytes: Arc<Vec<u8>>,
}

/// What a run folder holds.
#[derive(Debug, Clone, Default)]
pub struct Loaded {
    /// the run; `None` where a value is missing or unreadable without which there is none
    pub run: Option<Run>,
    /// the reference; `None` where anything in its file is wrong
    pub reference: Option<Reference>,
    /// the rulebook; `None` where it is unknown or wrong
    pub rulebook: Option<Rulebook>,
    /// country of the laboratory (ISO 3166-1, two capitals), for the Digital Calibration Certificate
    pub country: Option<String>,
    /// from places to file, line and column
    pub sources: SourceMap,
    /// what is wrong, in the order of reading
    pub findings: Vec<Finding>,
    /// every file that was read, in the order of reading
    pub inputs: Vec<Input>,
}

impl Loaded {
    /// Whether something is wrong that stops the evaluation.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(|finding| finding.severity() == Severity::Error)
    }

    /// Notes that an option of the caller stands for a key of `run.toml`, and looks at its text.
    pub fn override_text(&mut self, path: &'static str, option: &'static str, text: &str) {
        self.sources.override_key(path, option);
        self.findings.extend(printable::of_option(path, text));
    }

    /// Adds what the checks of the core found, without what only follows from values that could
    /// not be read ([`SourceMap::admit`]).
    pub fn admit(&mut self, findings: Vec<Finding>) {
        self.findings.extend(self.sources.admit(findings));
    }
}

/// Reads a run folder from disk.
#[must_use]
pub fn load(run_folder: &Path) -> Loaded {
    parse(&Folder::new(run_folder))
}

/// Reads a run from wherever its files are.
#[must_use]
pub fn parse(store: &dyn Store) -> Loaded {
    loader::load(store)
}
