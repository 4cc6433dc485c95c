//! The finding and its letters as events of the record.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use leverarm_ledger::bytes::Digest;
use leverarm_ledger::event::{self, Event, FileRef, LettersWritten, ReferenceFoundWrong};
use leverarm_ledger::text::{Decimal, Id, Text, TextError};
use leverarm_metrology::rounding::{RoundingError, round_decimals};
use thiserror::Error;

use super::letter::Letter;
use super::record::Report;

/// Why there is no event.
#[derive(Debug, Error)]
pub enum EntryError {
    /// A text that the record does not take.
    #[error("{what}: {error}")]
    Text {
        /// which
        what: &'static str,
        /// why
        #[source]
        error: TextError,
    },
    /// A deviation without digits.
    #[error("the change of the reference has no digits: {0}")]
    Rounding(#[from] RoundingError),
    /// There is nothing to compare with.
    #[error("no run could be computed again, so that the change of the reference is not known")]
    NothingKnown,
    /// A letter to somebody whom the record does not know.
    #[error("the customer '{name}' is not one of the record")]
    Customer {
        /// the name
        name: String,
    },
}

impl EntryError {
    /// What can be done.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            EntryError::Text { error, .. } => match error {
                TextError::Empty => "give a text",
                _ => "give a shorter text without control characters",
            },
            EntryError::Rounding(_) | EntryError::NothingKnown => {
                "see in the report why no run was computed again"
            }
            EntryError::Customer { .. } => "register the customer first",
        }
    }
}

/// What is to be recorded: events in their order, and the files that they name.
#[derive(Debug, Default)]
pub struct Entries {
    /// events
    pub events: Vec<Event>,
    /// bytes of every file
    pub files: Vec<Vec<u8>>,
}

/// What the author says of it.
#[derive(Debug, Clone)]
pub struct Said<'a> {
    /// the laboratory's number of the exposure
    pub exposure: &'a str,
    /// how it was found
    pub why: &'a str,
    /// from which day on the reference may have been wrong
    pub since: NaiveDate,
}

/// The events: the reference was found wrong, with the new reference file and the report; then the
/// letters, where there are any.
///
/// # Errors
/// [`EntryError`].
pub fn entries(
    report: &Report,
    said: &Said<'_>,
    found_file: &[u8],
    report_json: &[u8],
    letters: &[Letter],
) -> Result<Entries, EntryError> {
    let change = report.largest_change_percent.ok_or(EntryError::NothingKnown)?;
    let deviation = round_decimals(change, 4)?.decimal().normalize().to_string();
    let exposure = id("the number of the exposure", said.exposure)?;
    let files: BTreeMap<&str, &[u8]> =
        BTreeMap::from([("exposure.json", report_json), ("reference-as-found.toml", found_file)]);
    let mut out = Entries::default();
    let mut keep = |path: &str, bytes: &[u8]| {
        out.files.push(bytes.to_vec());
        Ok::<FileRef, EntryError>(FileRef { path: id("a file's name", path)?, sha256: Digest::of(bytes) })
    };
    let kept = files.iter().map(|(path, bytes)| keep(path, bytes)).collect::<Result<Vec<_>, _>>()?;
    let written = letters
        .iter()
        .map(|letter| {
            let unknown = || EntryError::Customer { name: letter.to.name.clone() };
            let customer = id("the customer", letter.to.id.as_deref().ok_or_else(unknown)?)?;
            Ok(event::Letter { customer, file: keep(&letter.file, &letter.pdf)? })
        })
        .collect::<Result<Vec<_>, EntryError>>()?;
    let text_error = |what| move |error| EntryError::Text { what, error };
    out.events.push(Event::ReferenceFoundWrong(ReferenceFoundWrong {
        exposure: exposure.clone(),
        reference: id("the reference", &report.found.id)?,
        since: said.since,
        deviation: Decimal::new(deviation).map_err(text_error("the deviation"))?,
        why: Text::new(said.why).map_err(text_error("why"))?,
        files: kept,
    }));
    if !written.is_empty() {
        out.events.push(Event::LettersWritten(LettersWritten { exposure, letters: written }));
    }
    Ok(out)
}

fn id(what: &'static str, text: &str) -> Result<Id, EntryError> {
    Id::new(text).map_err(|error| EntryError::Text { what, error })
}
