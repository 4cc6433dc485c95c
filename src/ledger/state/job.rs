//! Jobs and certificates as they stand.

use std::collections::BTreeMap;
use std::fmt;

use chrono::NaiveDate;

use crate::bytes::Digest;
use crate::event::{self, CertificateNumber, FileRef, Verdict};
use crate::text::{Id, Text};

/// How far a job has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum JobState {
    /// the tool is in the house
    Received,
    /// a run was added that is not evaluated
    Measured,
    /// every run is evaluated
    Evaluated,
    /// it waits for an approver
    Submitted,
    /// an approver gave it back
    Returned,
    /// an approver answers for it
    Approved,
    /// its certificate holds
    Issued,
    /// its certificate was withdrawn
    Withdrawn,
    /// it ended without certificate
    Closed,
}

impl JobState {
    /// Every one.
    pub const ALL: [JobState; 9] = [
        JobState::Received,
        JobState::Measured,
        JobState::Evaluated,
        JobState::Submitted,
        JobState::Returned,
        JobState::Approved,
        JobState::Issued,
        JobState::Withdrawn,
        JobState::Closed,
    ];

    /// The word, in tables and messages.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            JobState::Received => "received",
            JobState::Measured => "measured",
            JobState::Evaluated => "evaluated",
            JobState::Submitted => "submitted",
            JobState::Returned => "returned",
            JobState::Approved => "approved",
            JobState::Issued => "issued",
            JobState::Withdrawn => "withdrawn",
            JobState::Closed => "closed",
        }
    }
}

impl fmt::Display for JobState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// An evaluation of a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evaluation {
    /// the entry that recorded it
    pub sequence: u64,
    /// SHA-256 of its `result.json`
    pub result: Digest,
    /// what it says
    pub verdict: Verdict,
    /// version of the software
    pub software: Id,
}

/// A run of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunRecord {
    /// as added
    pub run: event::RunAdded,
    /// every evaluation; the last one counts
    pub evaluations: Vec<Evaluation>,
}

/// A job as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// as received
    pub received: event::JobReceived,
    /// how far it has come
    pub state: JobState,
    /// its runs, in the order in which they were added
    pub runs: Vec<RunRecord>,
    /// what approvers said when they gave it back
    pub remarks: Vec<(Id, Text)>,
    /// who approved it
    pub approver: Option<Id>,
    /// the certificate that was issued or amended last
    pub certificate: Option<CertificateNumber>,
}

impl Job {
    /// The run of a name.
    #[must_use]
    pub fn run(&self, run: &Id) -> Option<&RunRecord> {
        self.runs.iter().find(|record| record.run.run == *run)
    }

    /// Whether a person measured in it.
    #[must_use]
    pub fn was_measured_by(&self, person: &Id) -> bool {
        self.runs.iter().any(|record| record.run.technician == *person)
    }

    /// What the last run's last evaluation says.
    #[must_use]
    pub fn verdict(&self) -> Option<Verdict> {
        self.runs.last().and_then(|record| record.evaluations.last()).map(|evaluation| evaluation.verdict)
    }

    /// The last day on which it was worked on.
    #[must_use]
    pub fn performed(&self) -> Option<NaiveDate> {
        self.runs.iter().map(|record| record.run.performed).max()
    }
}

/// Whether a certificate holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CertificateState {
    /// it holds
    Current,
    /// another one took its place
    ReplacedBy(CertificateNumber),
    /// it was withdrawn
    Withdrawn(Text),
}

impl CertificateState {
    /// The word, in tables and messages.
    #[must_use]
    pub fn as_str(&self) -> &'static str {
        match self {
            CertificateState::Current => "current",
            CertificateState::ReplacedBy(_) => "replaced",
            CertificateState::Withdrawn(_) => "withdrawn",
        }
    }
}

/// A certificate as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Certificate {
    /// for which job
    pub job: Id,
    /// whether it holds
    pub state: CertificateState,
    /// day of issue
    pub issued: NaiveDate,
    /// who issued it
    pub author: Id,
    /// the one in whose place it stands
    pub replaces: Option<CertificateNumber>,
    /// the evaluation of each run that it rests on
    pub evaluations: BTreeMap<Id, Digest>,
    /// its files
    pub files: Vec<FileRef>,
}
