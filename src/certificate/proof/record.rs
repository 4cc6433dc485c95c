//! `issue.json`: how the certificate was made, and which attachment is which file of which run.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::certificate::Paper;

/// Name of the attachment that says how the certificate was made.
pub const ISSUE: &str = "issue.json";
/// Name of the attachment with every number.
pub const RESULT: &str = "result.json";
/// Name of the page that the customer sees first, beside the PDF.
pub const PAGE: &str = "certificate.html";
/// Name of the attachment that is the Digital Calibration Certificate.
pub const XML: &str = "certificate.xml";
/// Name of the attachment that lists the SHA-256 of every other one.
pub const MANIFEST: &str = "manifest.sha256";
/// Name of the detached signature of the manifest.
pub const SIGNATURE: &str = "manifest.p7s";

/// What the file says that it is.
pub const FORMAT: &str = "leverarm issue";
/// Version of its shape.
pub const VERSION: u32 = 1;
/// Largest file that is read, bytes: ten thousand traces take about a million and a half.
const BYTES_MAX: usize = 4 << 20;
/// Files of one run.
const FILES_MAX: usize = 10_100;

/// How a certificate was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IssueRecord {
    /// always [`FORMAT`]
    pub format: String,
    /// version of this shape
    pub version: u32,
    /// version of the program that made it
    pub program: String,
    /// the certificate's number
    pub number: String,
    /// date of issue
    pub issued: NaiveDate,
    /// the paper, `a4` or `us-letter`
    #[serde(with = "paper")]
    pub paper: Paper,
    /// whether the deviation curve was drawn
    pub curve: bool,
    /// the number, where it was given beside `run.toml`
    pub given_number: Option<String>,
    /// who answers for it, where he was named beside `run.toml`
    pub given_approver: Option<String>,
    /// seed of the Monte Carlo trials; absent where there were none
    pub seed: Option<u64>,
    /// the runs: as found, then as left
    pub runs: Vec<RunFiles>,
}

mod paper {
    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use crate::certificate::Paper;

    pub(super) fn serialize<S: Serializer>(paper: &Paper, out: S) -> Result<S::Ok, S::Error> {
        paper.serialize(out)
    }

    pub(super) fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<Paper, D::Error> {
        match String::deserialize(from)?.as_str() {
            "a4" => Ok(Paper::A4),
            "us-letter" => Ok(Paper::UsLetter),
            _ => Err(D::Error::custom("the paper is neither a4 nor us-letter")),
        }
    }
}

/// The files of a run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunFiles {
    /// state of the tool in words
    pub condition: String,
    /// those inside the PDF
    pub files: Vec<FileRecord>,
    /// those too large for it
    pub left_out: Vec<LeftOut>,
}

/// A file of a run, and the attachment that holds it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileRecord {
    /// its path as the run names it; for a built-in rulebook its name
    pub path: String,
    /// name of the attachment
    pub attachment: String,
}

/// A file that did not go into the PDF.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// its path as the run names it
    pub path: String,
    /// its SHA-256, in lower-case hexadecimal digits
    pub sha256: String,
    /// its size, bytes
    pub bytes: u64,
}

/// Why `issue.json` cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RecordError {
    /// Too large.
    #[error("{ISSUE} has {bytes} bytes, more than the {BYTES_MAX} that are read")]
    TooLarge {
        /// its size
        bytes: usize,
    },
    /// Not the JSON that it should be.
    #[error("{ISSUE} cannot be read: {reason}")]
    Unreadable {
        /// why
        reason: String,
    },
    /// Of another form or version.
    #[error("{ISSUE} is '{format}' version {version}, wanted '{FORMAT}' version {VERSION}")]
    Version {
        /// what it says that it is
        format: String,
        /// its version
        version: u32,
    },
    /// No run, or more than as found and as left, or too many files.
    #[error("{ISSUE} names {runs} runs with at most {files} files, wanted 1 or 2 with at most {FILES_MAX}")]
    Runs {
        /// how many runs
        runs: usize,
        /// files of the largest
        files: usize,
    },
}

impl IssueRecord {
    /// As bytes: indented, with a newline at its end.
    ///
    /// # Errors
    /// [`serde_json::Error`], which cannot happen with such a record.
    pub fn to_bytes(&self) -> Result<Vec<u8>, serde_json::Error> {
        let mut bytes = serde_json::to_vec_pretty(self)?;
        bytes.push(b'\n');
        Ok(bytes)
    }

    /// From hostile bytes.
    ///
    /// # Errors
    /// [`RecordError`] for anything but such a record.
    pub fn parse(bytes: &[u8]) -> Result<IssueRecord, RecordError> {
        if bytes.len() > BYTES_MAX {
            return Err(RecordError::TooLarge { bytes: bytes.len() });
        }
        let record: IssueRecord = serde_json::from_slice(bytes)
            .map_err(|error| RecordError::Unreadable { reason: error.to_string() })?;
        if record.format != FORMAT || record.version != VERSION {
            let format = record.format.chars().take(64).collect();
            return Err(RecordError::Version { format, version: record.version });
        }
        let files = record.runs.iter().map(|run| run.files.len() + run.left_out.len()).max().unwrap_or(0);
        if record.runs.is_empty() || record.runs.len() > 2 || files > FILES_MAX {
            return Err(RecordError::Runs { runs: record.runs.len(), files });
        }
        Ok(record)
    }

    /// How many files did not go into the PDF.
    #[must_use]
    pub fn left_out(&self) -> usize {
        self.runs.iter().map(|run| run.left_out.len()).sum()
    }
}
