//! Why something may not be recorded.

use std::fmt;

use chrono::NaiveDate;
use thiserror::Error;

use crate::bytes::{Digest, PublicKey};
use crate::entry::Time;
use crate::event::{Authority, CertificateNumber};
use crate::state::JobState;
use crate::text::Id;

/// A kind of thing that has a name in the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // the names say it
pub enum Kind {
    Person,
    Customer,
    Tool,
    Reference,
    Calibration,
    CheckStandard,
    Job,
    Run,
    Exposure,
    Authorisation,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Kind::Person => "person",
            Kind::Customer => "customer",
            Kind::Tool => "tool",
            Kind::Reference => "reference",
            Kind::Calibration => "calibration",
            Kind::CheckStandard => "check standard",
            Kind::Job => "job",
            Kind::Run => "run",
            Kind::Exposure => "exposure",
            Kind::Authorisation => "authorisation",
        })
    }
}

/// Why something may not be recorded.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Refusal {
    /// The first entry must found the laboratory.
    #[error("the ledger is empty: nothing but its foundation can be recorded")]
    NotFounded,
    /// There is one foundation.
    #[error("the ledger was founded already")]
    AlreadyFounded,
    /// The founder signs the foundation.
    #[error("the foundation names '{administrator}' and was written by '{author}'")]
    FounderIsAnother {
        /// who wrote it
        author: Id,
        /// whom it names
        administrator: Id,
    },
    /// Nobody of this name is enrolled.
    #[error("nobody is enrolled as '{author}'")]
    UnknownAuthor {
        /// who wants to write
        author: Id,
    },
    /// The key that would sign is not the author's.
    #[error("'{author}' is enrolled with another key")]
    OtherKey {
        /// who wants to write
        author: Id,
    },
    /// The author's key was revoked.
    #[error("the key of '{author}' was revoked")]
    KeyRevoked {
        /// who wants to write
        author: Id,
    },
    /// The author lacks the authorisation, or not on this day, or not for this rulebook.
    #[error("'{author}' is not authorised on {day} as {}{}", names(wanted), for_rulebook(rulebook.as_ref()))]
    NotAuthorised {
        /// who wants to write
        author: Id,
        /// any of these would do
        wanted: Vec<Authority>,
        /// for which rulebook
        rulebook: Option<Id>,
        /// on which day
        day: NaiveDate,
    },
    /// Nobody approves what he measured.
    #[error("'{author}' measured in job '{job}' and cannot answer for it as well")]
    MeasuredIt {
        /// who wants to approve, issue or amend
        author: Id,
        /// which job
        job: Id,
    },
    /// Only the one who measured adds the run.
    #[error("the run names '{technician}' as technician and was written by '{author}'")]
    TechnicianIsAnother {
        /// who wrote it
        author: Id,
        /// whom it names
        technician: Id,
    },
    /// No such thing.
    #[error("there is no {kind} '{id}'")]
    Unknown {
        /// kind of thing
        kind: Kind,
        /// its name
        id: String,
    },
    /// The name is taken.
    #[error("there is a {kind} '{id}' already")]
    Exists {
        /// kind of thing
        kind: Kind,
        /// its name
        id: Id,
    },
    /// There is no such certificate.
    #[error("there is no certificate {certificate}")]
    UnknownCertificate {
        /// its number
        certificate: CertificateNumber,
    },
    /// Another tool of this maker, model and serial number is registered.
    #[error("this maker, model and serial number are those of tool '{tool}'")]
    SameTool {
        /// the other one
        tool: Id,
    },
    /// The tool belongs to another customer.
    #[error("tool '{tool}' belongs to '{owner}'")]
    OtherCustomer {
        /// the tool
        tool: Id,
        /// whose it is
        owner: Id,
    },
    /// A job in this state does not go that way.
    #[error("job '{job}' is {state}; for this it must be {}", states(wanted))]
    WrongState {
        /// which job
        job: Id,
        /// how it stands
        state: JobState,
        /// how it should stand
        wanted: &'static [JobState],
    },
    /// A run of the job has no evaluation.
    #[error("run '{run}' of job '{job}' is not evaluated")]
    NotEvaluated {
        /// which job
        job: Id,
        /// which run
        run: Id,
    },
    /// The certificate holds no more.
    #[error("certificate {certificate} was {how} already")]
    NotCurrent {
        /// which
        certificate: CertificateNumber,
        /// replaced or withdrawn
        how: &'static str,
    },
    /// The number is not the next of its series.
    #[error("the next number of series '{series}' is {wanted}, not {given}")]
    WrongNumber {
        /// the series
        series: Id,
        /// the number given
        given: u64,
        /// the next one
        wanted: u64,
    },
    /// The reference was not under this calibration on the day of the work.
    #[error("calibration '{certificate}' of '{reference}' holds from {from} to {to}, the work was on {day}")]
    OutsideCalibration {
        /// which reference
        reference: Id,
        /// which certificate
        certificate: Id,
        /// first day
        from: NaiveDate,
        /// last day
        to: NaiveDate,
        /// day of the work
        day: NaiveDate,
    },
    /// Days that lie the wrong way round, or in the future.
    #[error("{what}: {given} lies after {latest}")]
    DayTooLate {
        /// which day
        what: &'static str,
        /// the day
        given: NaiveDate,
        /// the latest that can be
        latest: NaiveDate,
    },
    /// Time ran backwards.
    #[error("the clock says {given}, the last entry was written at {last}")]
    TimeBackwards {
        /// the time given
        given: Time,
        /// that of the last entry
        last: Time,
    },
    /// No laboratory lies there.
    #[error("an offset of {seconds} s from UTC is that of no place")]
    NoSuchOffset {
        /// the offset
        seconds: i32,
    },
    /// Somebody has this key already, or had it.
    #[error("the key {key} is or was that of '{person}'")]
    KeyInUse {
        /// the key
        key: PublicKey,
        /// whose
        person: Id,
    },
    /// Bytes that are no key of Ed25519.
    #[error("{key} is no key that can sign")]
    NotAKey {
        /// the bytes
        key: PublicKey,
    },
    /// The ledger would be left without anyone who can enrol and authorise.
    #[error("'{person}' is the last administrator")]
    LastAdministrator {
        /// who
        person: Id,
    },
    /// The authorisation has ended.
    #[error("authorisation {authorisation} of '{person}' ends on {last} already")]
    EndedAlready {
        /// whose
        person: Id,
        /// entry that granted it
        authorisation: u64,
        /// its last day
        last: NaiveDate,
    },
    /// The event must name files.
    #[error("no file is named")]
    NoFiles,
    /// One path twice.
    #[error("the path '{path}' stands twice in the list of files")]
    SamePath {
        /// which
        path: Id,
    },
    /// A path that leads out of its folder.
    #[error("the path '{path}' is not one inside a folder")]
    BadPath {
        /// which
        path: Id,
    },
    /// A file that is named is not in the record.
    #[error("the file {digest} is neither in the record nor given")]
    MissingFile {
        /// its name
        digest: Digest,
    },
}

impl Refusal {
    /// What can be done.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Refusal::NotFounded => "found the ledger first",
            Refusal::AlreadyFounded => "make a new ledger file for another laboratory",
            Refusal::FounderIsAnother { .. } => "found it in the name of the one who signs",
            Refusal::UnknownAuthor { .. } => "have an administrator enrol the person",
            Refusal::OtherKey { .. } => "use the key that was enrolled last, or have it replaced",
            Refusal::KeyRevoked { .. } => "have an administrator enter a new key",
            Refusal::NotAuthorised { .. } => {
                "have someone do it who is authorised, or have an administrator record the authorisation"
            }
            Refusal::MeasuredIt { .. } => "have another approver do it",
            Refusal::TechnicianIsAnother { .. } => "have the one who measured add the run",
            Refusal::Unknown { .. } | Refusal::UnknownCertificate { .. } => {
                "look for the name in the lists; register it first when it is new"
            }
            Refusal::Exists { .. } => "choose another name, or supersede what is known of it",
            Refusal::SameTool { .. } => "use that tool, or supersede what is known of it",
            Refusal::OtherCustomer { .. } => "name the owner, or supersede the tool with its new owner",
            Refusal::WrongState { .. } => "take the steps in their order",
            Refusal::NotEvaluated { .. } => "evaluate it first",
            Refusal::NotCurrent { .. } => "go on from the certificate that holds now",
            Refusal::WrongNumber { .. } => "let the ledger draw the number",
            Refusal::OutsideCalibration { .. } => "name the calibration that held on that day",
            Refusal::DayTooLate { .. } => "correct the day",
            Refusal::TimeBackwards { .. } | Refusal::NoSuchOffset { .. } => "set the clock of this computer",
            Refusal::KeyInUse { .. } | Refusal::NotAKey { .. } => "make a new key",
            Refusal::LastAdministrator { .. } => "authorise another administrator first",
            Refusal::EndedAlready { .. } => "nothing is to be done",
            Refusal::NoFiles => "name the files",
            Refusal::SamePath { .. } => "name each file once",
            Refusal::BadPath { .. } => "write it relative to the folder, with /, without . and ..",
            Refusal::MissingFile { .. } => "give the file with the event",
        }
    }
}

fn names(wanted: &[Authority]) -> String {
    wanted.iter().map(Authority::to_string).collect::<Vec<_>>().join(" or ")
}

fn for_rulebook(rulebook: Option<&Id>) -> String {
    rulebook.map(|rulebook| format!(" for rulebook '{rulebook}'")).unwrap_or_default()
}

fn states(wanted: &[JobState]) -> String {
    wanted.iter().map(|state| state.as_str()).collect::<Vec<_>>().join(" or ")
}
