//! The way of a job, from the tool at the door to the withdrawn certificate.

use std::fmt;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::FileRef;
use crate::bytes::Digest;
use crate::text::{Decimal, Id, Text};

/// A tool came in with an order (ISO/IEC 17025:2017, 7.1 and 7.4).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobReceived {
    /// the laboratory's number of the job
    pub job: Id,
    /// who ordered
    pub customer: Id,
    /// which tool
    pub tool: Id,
    /// day of receipt
    pub received: NaiveDate,
    /// in what state it came
    pub condition: Text,
    /// what came with it
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub accessories: Vec<Text>,
    /// photos of it
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<FileRef>,
    /// the procedure agreed
    pub rulebook: Id,
    /// the decision rule agreed
    pub decision: Id,
}

/// In which state the tool was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// before anything was done to it
    AsFound,
    /// after adjustment or repair
    AsLeft,
    /// never used
    New,
}

/// A run was measured: its folder, file by file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunAdded {
    /// for which job
    pub job: Id,
    /// name of the run, unique within its job
    pub run: Id,
    /// in which state
    pub condition: Condition,
    /// day of the work
    pub performed: NaiveDate,
    /// who measured; the author of the entry
    pub technician: Id,
    /// with which reference
    pub reference: Id,
    /// under which calibration of it
    pub certificate: Id,
    /// how often the reference was loaded
    pub uses: u64,
    /// the run folder
    pub files: Vec<FileRef>,
}

/// What a calibration says of a tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// it conforms
    Conforms,
    /// it conforms, within the guard band
    ConditionallyConforms,
    /// it does not conform, within the guard band
    ConditionallyFails,
    /// it does not conform
    DoesNotConform,
    /// no statement of conformity was asked for or can be made
    NoStatement,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Verdict::Conforms => "conforms",
            Verdict::ConditionallyConforms => "conditionally-conforms",
            Verdict::ConditionallyFails => "conditionally-fails",
            Verdict::DoesNotConform => "does-not-conform",
            Verdict::NoStatement => "no-statement",
        })
    }
}

/// A run was evaluated. A later evaluation of the same run supersedes it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evaluated {
    /// of which job
    pub job: Id,
    /// which run
    pub run: Id,
    /// SHA-256 of its `result.json`
    pub result: Digest,
    /// what it says
    pub verdict: Verdict,
    /// version of the software
    pub software: Id,
}

/// A job was handed to the approvers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Submitted {
    /// which
    pub job: Id,
}

/// An approver gave a job back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Returned {
    /// which
    pub job: Id,
    /// what is to be mended
    pub remarks: Text,
}

/// An approver answers for a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Approved {
    /// which
    pub job: Id,
}

/// The number of a certificate: the next one of its series.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CertificateNumber {
    /// name of the series
    pub series: Id,
    /// from 1, without gap
    pub number: u64,
}

impl fmt::Display for CertificateNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{:04}", self.series, self.number)
    }
}

/// A certificate was issued.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Issued {
    /// for which job
    pub job: Id,
    /// its number
    pub certificate: CertificateNumber,
    /// the certificate and what belongs to it
    pub files: Vec<FileRef>,
}

/// A certificate takes the place of another one (ISO/IEC 17025:2017, 7.8.8).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Amended {
    /// the one that holds no more
    pub replaces: CertificateNumber,
    /// the number of the new one
    pub certificate: CertificateNumber,
    /// what changed, and why
    pub changed: Text,
    /// the certificate and what belongs to it
    pub files: Vec<FileRef>,
}

/// A certificate holds no more and nothing takes its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Withdrawn {
    /// which
    pub certificate: CertificateNumber,
    /// why
    pub why: Text,
}

/// A job ended without a certificate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobClosed {
    /// which
    pub job: Id,
    /// why
    pub why: Text,
}

/// A reference came back from its own calibration out of limits: an exposure is opened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReferenceFoundWrong {
    /// the laboratory's number of the exposure
    pub exposure: Id,
    /// which reference
    pub reference: Id,
    /// from which day on it may have been wrong
    pub since: NaiveDate,
    /// the deviation now known, in percent, the largest
    pub deviation: Decimal,
    /// how it was found
    pub why: Text,
    /// the new calibration data
    pub files: Vec<FileRef>,
}

/// A letter to a customer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Letter {
    /// to whom
    pub customer: Id,
    /// the letter
    pub file: FileRef,
}

/// The letters of an exposure were written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LettersWritten {
    /// of which exposure
    pub exposure: Id,
    /// one a customer
    pub letters: Vec<Letter>,
}
