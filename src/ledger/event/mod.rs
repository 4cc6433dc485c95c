//! What happened, as it stands in the record. The enums are closed: an event that this version
//! does not know is an error, never skipped.
//!
//! Who and when stand in the entry around the event. Nothing is changed: it is superseded by a later
//! event that says why. There are no binary fractions: numbers with a fraction are decimal texts.

mod job;
mod people;
mod things;

use serde::{Deserialize, Serialize};

pub use job::*;
pub use people::*;
pub use things::*;

use crate::bytes::Digest;
use crate::text::Id;

/// A file of the record: its path where it came from and the name of its bytes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileRef {
    /// path inside the run folder, or the file's name; parts are divided by `/`
    pub path: Id,
    /// SHA-256 of its bytes
    pub sha256: Digest,
}

/// One thing that happened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)] // each is documented where its content is
pub enum Event {
    Founded(Founded),
    PersonEnrolled(PersonEnrolled),
    Authorised(Authorised),
    AuthorisationEnded(AuthorisationEnded),
    KeyReplaced(KeyReplaced),
    KeyRevoked(KeyRevoked),
    CustomerRegistered(Customer),
    CustomerSuperseded(Superseded<Customer>),
    ToolRegistered(Tool),
    ToolSuperseded(Superseded<Tool>),
    ReferenceRegistered(Reference),
    ReferenceSuperseded(Superseded<Reference>),
    ReferenceCalibrated(ReferenceCalibrated),
    CheckStandardRegistered(CheckStandard),
    CheckStandardMeasured(CheckStandardMeasured),
    JobReceived(JobReceived),
    RunAdded(RunAdded),
    Evaluated(Evaluated),
    Submitted(Submitted),
    Returned(Returned),
    Approved(Approved),
    Issued(Issued),
    Amended(Amended),
    Withdrawn(Withdrawn),
    JobClosed(JobClosed),
    ReferenceFoundWrong(ReferenceFoundWrong),
    LettersWritten(LettersWritten),
}

impl Event {
    /// The name of its kind, as it stands in the canonical bytes.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Event::Founded(_) => "founded",
            Event::PersonEnrolled(_) => "person-enrolled",
            Event::Authorised(_) => "authorised",
            Event::AuthorisationEnded(_) => "authorisation-ended",
            Event::KeyReplaced(_) => "key-replaced",
            Event::KeyRevoked(_) => "key-revoked",
            Event::CustomerRegistered(_) => "customer-registered",
            Event::CustomerSuperseded(_) => "customer-superseded",
            Event::ToolRegistered(_) => "tool-registered",
            Event::ToolSuperseded(_) => "tool-superseded",
            Event::ReferenceRegistered(_) => "reference-registered",
            Event::ReferenceSuperseded(_) => "reference-superseded",
            Event::ReferenceCalibrated(_) => "reference-calibrated",
            Event::CheckStandardRegistered(_) => "check-standard-registered",
            Event::CheckStandardMeasured(_) => "check-standard-measured",
            Event::JobReceived(_) => "job-received",
            Event::RunAdded(_) => "run-added",
            Event::Evaluated(_) => "evaluated",
            Event::Submitted(_) => "submitted",
            Event::Returned(_) => "returned",
            Event::Approved(_) => "approved",
            Event::Issued(_) => "issued",
            Event::Amended(_) => "amended",
            Event::Withdrawn(_) => "withdrawn",
            Event::JobClosed(_) => "job-closed",
            Event::ReferenceFoundWrong(_) => "reference-found-wrong",
            Event::LettersWritten(_) => "letters-written",
        }
    }

    /// Every file it names.
    #[must_use]
    pub fn digests(&self) -> Vec<Digest> {
        let of = |files: &[FileRef]| files.iter().map(|file| file.sha256).collect::<Vec<_>>();
        match self {
            Event::ReferenceCalibrated(event) => of(&event.files),
            Event::CheckStandardMeasured(event) => of(&event.files),
            Event::JobReceived(event) => of(&event.photos),
            Event::RunAdded(event) => of(&event.files),
            Event::Evaluated(event) => vec![event.result],
            Event::Issued(event) => of(&event.files),
            Event::Amended(event) => of(&event.files),
            Event::ReferenceFoundWrong(event) => of(&event.files),
            Event::LettersWritten(event) => event.letters.iter().map(|letter| letter.file.sha256).collect(),
            _ => Vec::new(),
        }
    }
}
