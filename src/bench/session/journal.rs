//! The journal: a line of JSON an entry. Each line ends with `chain`, the SHA-256 of the chain value of
//! the line before and the bytes of this line without it; so a line that was changed, left out or
//! moved is found, and a line that a crash cut off is told from one that was spoilt.
//!
//! What it does not show: whole lines missing at the end. Only a copy of the last chain value kept
//! elsewhere shows that.

use sha2::{Digest, Sha256};
use thiserror::Error;

use crate::entry::{Did, Entry, VERSION};

/// Bytes of a line at most, its end included.
pub const LINE_BYTES_MAX: usize = 128 * 1024;
/// Bytes of a journal at most: a session of a day has a thousandth of it.
pub const JOURNAL_BYTES_MAX: usize = 256 * 1024 * 1024;

const LABEL: &[u8] = b"leverarm bench journal 1";
const BEFORE: &str = ",\"chain\":\"";
const BEHIND: &str = "\"}";
const HEX: usize = 64;

/// A chain value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Chain([u8; 32]);

impl Chain {
    /// That which stands before the first line.
    #[must_use]
    pub fn start() -> Chain {
        Chain(Sha256::digest(LABEL).into())
    }

    fn after(self, body: &[u8]) -> Chain {
        Chain(Sha256::new().chain_update(self.0).chain_update(body).finalize().into())
    }

    /// As hexadecimal digits.
    #[must_use]
    pub fn hex(&self) -> String {
        hex(&self.0)
    }
}

/// SHA-256 as hexadecimal digits.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut out, byte| {
        for nibble in [byte >> 4, byte & 15] {
            out.push(char::from_digit(u32::from(nibble), 16).unwrap_or('0'));
        }
        out
    })
}

/// What a journal holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Decoded {
    /// the entries
    pub entries: Vec<Entry>,
    /// how many bytes they take: what follows is to be cut off before anything is written
    pub good_bytes: usize,
    /// whether something follows, a line that a crash cut off
    pub torn: bool,
    /// the chain value of the last line: the next one goes on from it
    pub chain: Chain,
}

/// Why the bytes are no journal.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum JournalError {
    /// A line that is too long.
    #[error("line {line} has {bytes} bytes, and {LINE_BYTES_MAX} are the most")]
    TooLong {
        /// which line, from 1
        line: u64,
        /// how many bytes
        bytes: usize,
    },
    /// All of it is too long.
    #[error("the journal has {bytes} bytes, and {JOURNAL_BYTES_MAX} are the most")]
    TooLarge {
        /// how many bytes
        bytes: usize,
    },
    /// A line without a chain value at its end.
    #[error("line {line} does not end with its chain value")]
    NoChain {
        /// which line, from 1
        line: u64,
    },
    /// A line that is not what was written.
    #[error(
        "line {line} has the chain value {found}, and {wanted} is that of its bytes: it was changed, moved, or one before it is missing"
    )]
    Chain {
        /// which line, from 1
        line: u64,
        /// what stands there
        found: String,
        /// what its bytes and the lines before it make
        wanted: String,
    },
    /// A last line whose end was changed.
    #[error("line {line} is whole, and something else stands where it should end")]
    End {
        /// which line, from 1
        line: u64,
    },
    /// A line that this program did not write.
    #[error("line {line} is no entry: {message}")]
    Entry {
        /// which line, from 1
        line: u64,
        /// what the reader says
        message: String,
    },
    /// An entry out of its order.
    #[error("line {line} holds entry {found}")]
    Number {
        /// which line, from 1
        line: u64,
        /// the number that stands there
        found: u64,
    },
    /// The first entry does not begin a session.
    #[error("line 1 does not say what the session is")]
    NotBegun,
    /// A later version wrote it.
    #[error("the journal is of version {found}, and this program writes version {VERSION}")]
    Version {
        /// the version that stands there
        found: u32,
    },
}

impl JournalError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            JournalError::Version { .. } => "go on with the program that began the session",
            _ => "keep the file as it is and begin the run anew; what stands before the line can be read",
        }
    }
}

/// An entry as its line, and the chain value to go on from.
///
/// # Errors
/// [`JournalError::TooLong`] and [`JournalError::Entry`], which an entry of a session does not give.
pub fn encode(previous: &Chain, entry: &Entry) -> Result<(Vec<u8>, Chain), JournalError> {
    let line = entry.number;
    let body = serde_json::to_vec(entry)
        .map_err(|error| JournalError::Entry { line, message: error.to_string() })?;
    let chain = previous.after(&body);
    let mut bytes = body;
    bytes.pop();
    bytes.extend_from_slice(BEFORE.as_bytes());
    bytes.extend_from_slice(chain.hex().as_bytes());
    bytes.extend_from_slice(BEHIND.as_bytes());
    bytes.push(b'\n');
    if bytes.len() > LINE_BYTES_MAX {
        return Err(JournalError::TooLong { line, bytes: bytes.len() });
    }
    Ok((bytes, chain))
}

/// The bytes as entries. A last line that a crash cut off is reported; any other damage is an error.
///
/// # Errors
/// [`JournalError`], at the first line that is not as it was written.
pub fn decode(bytes: &[u8]) -> Result<Decoded, JournalError> {
    if bytes.len() > JOURNAL_BYTES_MAX {
        return Err(JournalError::TooLarge { bytes: bytes.len() });
    }
    let mut decoded = Decoded { entries: Vec::new(), good_bytes: 0, torn: false, chain: Chain::start() };
    let mut number = 0_u64;
    let mut rest = bytes;
    while let Some(end) = rest.iter().take(LINE_BYTES_MAX).position(|byte| *byte == b'\n') {
        number += 1;
        let (line, behind) = rest.split_at(end);
        let (entry, chain) = read(line, number, decoded.chain)?;
        match &entry.did {
            Did::Began { version, .. } if *version != VERSION => {
                return Err(JournalError::Version { found: *version });
            }
            Did::Began { .. } => {}
            _ if number == 1 => return Err(JournalError::NotBegun),
            _ => {}
        }
        decoded.entries.push(entry);
        decoded.chain = chain;
        decoded.good_bytes += end + 1;
        rest = behind.get(1..).unwrap_or_default();
    }
    if rest.is_empty() {
        return Ok(decoded);
    }
    if rest.len() >= LINE_BYTES_MAX {
        return Err(JournalError::TooLong { line: number + 1, bytes: rest.len() });
    }
    // A crash cuts a line off; it does not write a whole one with another end.
    let all_but_last = rest.get(..rest.len() - 1).unwrap_or_default();
    if read(all_but_last, number + 1, decoded.chain).is_ok() {
        return Err(JournalError::End { line: number + 1 });
    }
    decoded.torn = true;
    Ok(decoded)
}

fn read(line: &[u8], number: u64, previous: Chain) -> Result<(Entry, Chain), JournalError> {
    let no_chain = JournalError::NoChain { line: number };
    let tail = BEFORE.len() + HEX + BEHIND.len();
    let at = line.len().checked_sub(tail).ok_or_else(|| no_chain.clone())?;
    let (head, tail) = line.split_at(at);
    let found = tail
        .strip_prefix(BEFORE.as_bytes())
        .and_then(|tail| tail.strip_suffix(BEHIND.as_bytes()))
        .ok_or(no_chain)?;
    let mut body = head.to_vec();
    body.push(b'}');
    let chain = previous.after(&body);
    let wanted = chain.hex();
    if found != wanted.as_bytes() {
        let found = String::from_utf8_lossy(found).into_owned();
        return Err(JournalError::Chain { line: number, found, wanted });
    }
    let fault = |message: String| JournalError::Entry { line: number, message };
    let entry: Entry = serde_json::from_slice(&body).map_err(|error| fault(error.to_string()))?;
    if serde_json::to_vec(&entry).ok().as_deref() != Some(&body) {
        return Err(fault("it is not written as this program writes it".to_owned()));
    }
    if entry.number != number {
        return Err(JournalError::Number { line: number, found: entry.number });
    }
    Ok((entry, chain))
}
