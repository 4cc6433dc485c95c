//! The list of attachments with the SHA-256 of each: what the detached signature signs.
//!
//! Its lines are those of `sha256sum`, so that `sha256sum --check` verifies the files without any
//! program of ours; lines with `#` are skipped by it.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};
use thiserror::Error;

use crate::certificate::Fingerprint;

/// Largest text, bytes.
const TEXT_LIMIT: usize = 1 << 20;
/// Most entries.
const ENTRY_LIMIT: usize = 4_096;
const FIRST_LINE: &str = "# leverarm attachments 1";
const OF: &str = "# certificate ";

/// A file and its hash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ManifestEntry {
    /// Its name.
    pub name: String,
    /// Its SHA-256.
    pub sha256: Fingerprint,
}

/// The list of the attachments of one certificate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Manifest {
    certificate: String,
    entries: Vec<ManifestEntry>,
}

/// A difference between the list and the files.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ManifestDifference {
    /// A file has other bytes than those listed.
    #[error("{name} was changed: its SHA-256 is {found}, listed is {listed}")]
    Changed {
        /// Its name.
        name: String,
        /// The hash in the list.
        listed: Fingerprint,
        /// The hash of the file.
        found: Fingerprint,
    },
    /// A listed file is not there.
    #[error("{name} is listed and not there")]
    Absent {
        /// Its name.
        name: String,
    },
    /// A file is not listed.
    #[error("{name} is there and not listed")]
    Unlisted {
        /// Its name.
        name: String,
    },
    /// Two files have one name.
    #[error("{name} is there more than once")]
    Twice {
        /// Its name.
        name: String,
    },
}

/// Why a list cannot be made or read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ManifestError {
    /// The text is too large.
    #[error("the list has {bytes} bytes or more than {ENTRY_LIMIT} entries; too large")]
    TooLarge {
        /// Its size.
        bytes: usize,
    },
    /// A name that a line cannot hold.
    #[error("the name {name:?} cannot stand in a list")]
    Name {
        /// The name.
        name: String,
    },
    /// A name occurs twice.
    #[error("the name {name:?} is listed twice")]
    Twice {
        /// The name.
        name: String,
    },
    /// A line is not of the form.
    #[error("line {line} of the list is not as it should be")]
    Line {
        /// Its number, from one.
        line: usize,
    },
}

impl Manifest {
    /// Of a certificate's number and its attachments (names and bytes), sorted by name.
    ///
    /// # Errors
    /// If a name is empty, holds a line end, a control character or a backslash, or occurs twice.
    pub fn of<'a>(
        certificate: &str,
        files: impl IntoIterator<Item = (&'a str, &'a [u8])>,
    ) -> Result<Self, ManifestError> {
        check_name(certificate)?;
        let mut sorted = BTreeMap::new();
        for (name, bytes) in files {
            check_name(name)?;
            if sorted.insert(name.to_owned(), Fingerprint::of(bytes)).is_some() {
                return Err(ManifestError::Twice { name: name.to_owned() });
            }
        }
        if sorted.len() > ENTRY_LIMIT {
            return Err(ManifestError::TooLarge { bytes: 0 });
        }
        let entries = sorted.into_iter().map(|(name, sha256)| ManifestEntry { name, sha256 }).collect();
        Ok(Self { certificate: certificate.to_owned(), entries })
    }

    /// The certificate's number.
    #[must_use]
    pub fn certificate(&self) -> &str {
        &self.certificate
    }

    /// The entries by name.
    #[must_use]
    pub fn entries(&self) -> &[ManifestEntry] {
        &self.entries
    }

    /// As text.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut text = format!("{FIRST_LINE}\n{OF}{}\n", self.certificate);
        for entry in &self.entries {
            text.push_str(&format!("{}  {}\n", entry.sha256, entry.name));
        }
        text
    }

    /// Reads a text of exactly the form that [`Manifest::to_text`] gives.
    ///
    /// # Errors
    /// If it is of any other form.
    pub fn parse(text: &str) -> Result<Self, ManifestError> {
        if text.len() > TEXT_LIMIT {
            return Err(ManifestError::TooLarge { bytes: text.len() });
        }
        let mut lines = text.lines();
        if lines.next() != Some(FIRST_LINE) {
            return Err(ManifestError::Line { line: 1 });
        }
        let certificate = lines.next().and_then(|line| line.strip_prefix(OF));
        let certificate = certificate.ok_or(ManifestError::Line { line: 2 })?.to_owned();
        let mut entries: Vec<ManifestEntry> = Vec::new();
        for (place, line) in lines.enumerate() {
            if place >= ENTRY_LIMIT {
                return Err(ManifestError::TooLarge { bytes: text.len() });
            }
            let broken = ManifestError::Line { line: place + 3 };
            let (hash, name) = line.split_once("  ").ok_or(broken.clone())?;
            let sha256 = Fingerprint::parse(hash).ok_or(broken)?;
            check_name(name)?;
            if entries.last().is_some_and(|last| last.name.as_str() >= name) {
                return Err(ManifestError::Twice { name: name.to_owned() });
            }
            entries.push(ManifestEntry { name: name.to_owned(), sha256 });
        }
        let manifest = Self { certificate, entries };
        // Capitals, another line end or a missing one: the text has one form.
        if manifest.to_text() == text { Ok(manifest) } else { Err(ManifestError::Line { line: 1 }) }
    }

    /// Compares the list with files; empty when they agree.
    #[must_use]
    pub fn compare<'a>(
        &self,
        files: impl IntoIterator<Item = (&'a str, &'a [u8])>,
    ) -> Vec<ManifestDifference> {
        let mut differences = Vec::new();
        let mut found = BTreeMap::new();
        for (name, bytes) in files {
            let hash: [u8; 32] = Sha256::digest(bytes).into();
            if found.insert(name, Fingerprint::from_bytes(hash)).is_some() {
                differences.push(ManifestDifference::Twice { name: name.to_owned() });
            }
        }
        for entry in &self.entries {
            let name = entry.name.clone();
            match found.remove(entry.name.as_str()) {
                None => differences.push(ManifestDifference::Absent { name }),
                Some(hash) if hash != entry.sha256 => {
                    let listed = entry.sha256;
                    differences.push(ManifestDifference::Changed { name, listed, found: hash });
                }
                Some(_) => {}
            }
        }
        let unlisted = found.into_keys().map(|name| ManifestDifference::Unlisted { name: name.to_owned() });
        differences.extend(unlisted);
        differences
    }
}

fn check_name(name: &str) -> Result<(), ManifestError> {
    let strange = name.chars().any(|c| c.is_control() || c == '\\' || c == '\u{2028}' || c == '\u{2029}');
    if name.is_empty() || name.len() > 1_024 || strange {
        return Err(ManifestError::Name { name: name.chars().take(64).collect() });
    }
    Ok(())
}
