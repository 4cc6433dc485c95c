//! An entry of the chain and its canonical bytes.
//!
//! The canonical bytes are the JSON of [`Body`] without blanks, keys in the order of the fields,
//! absent options left out. They are what is kept, hashed and signed; reading takes only bytes that
//! writing gives back bit by bit, so an entry has one spelling.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::bytes::{Digest, PublicKey, Signature};
use crate::event::Event;
use crate::keys::{self, Signer};
use crate::text::Id;

/// A moment, with the offset of the laboratory's clock from UTC: its day is the laboratory's day.
pub type Time = DateTime<FixedOffset>;

/// The format of entries that this version writes.
pub const FORMAT: u32 = 1;

/// The longest canonical bytes that are taken.
pub const BODY_BYTES_MAX: usize = 1 << 20;

/// So that a hash of the chain is the hash of nothing else.
const DOMAIN: &[u8] = b"leverarm ledger entry 1\n";

/// The content of an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Body {
    /// format of the entry
    pub format: u32,
    /// from 1, without gap
    pub sequence: u64,
    /// hash of the entry before; zeros before the first one
    pub previous: Digest,
    /// when it was written
    pub time: Time,
    /// who signed it
    pub author: Id,
    /// what happened
    pub event: Event,
}

/// The end of the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// sequence number of the last entry
    pub sequence: u64,
    /// its hash
    pub hash: Digest,
}

impl Head {
    /// Before the first entry.
    pub const NONE: Head = Head { sequence: 0, hash: Digest([0; 32]) };
}

/// An entry as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// its number; stands in the body too
    pub sequence: u64,
    /// canonical bytes of the [`Body`]
    pub body: Vec<u8>,
    /// hash over them
    pub hash: Digest,
    /// signature of the author over the hash
    pub signature: Signature,
}

/// Why bytes are no entry, or not the next one of the chain.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EntryError {
    /// More bytes than an entry may have.
    #[error("the entry has {given} bytes, at most {BODY_BYTES_MAX} are taken")]
    TooLong {
        /// how many there are
        given: usize,
    },
    /// The bytes are no entry of a format that this version knows.
    #[error("the entry cannot be read: {reason}")]
    Unreadable {
        /// what the reader said
        reason: String,
    },
    /// The bytes say what they say in other bytes than the canonical ones.
    #[error("the bytes of the entry are not canonical from byte {at}")]
    NotCanonical {
        /// the first byte that differs, from 0
        at: usize,
    },
    /// An entry of another format.
    #[error("the entry has format {given}, this version knows {FORMAT}")]
    Format {
        /// which it says
        given: u32,
    },
    /// The number is not the next one.
    #[error("the entry is number {given}, the chain goes on with {wanted}")]
    Sequence {
        /// the number given
        given: u64,
        /// the next one
        wanted: u64,
    },
    /// The number kept beside the body is another one.
    #[error("the entry is kept as number {kept} and says {says}")]
    Misplaced {
        /// the number it is kept under
        kept: u64,
        /// the number in the body
        says: u64,
    },
    /// It does not follow on the last entry.
    #[error("the entry follows on {given}, the chain ends with {wanted}")]
    Previous {
        /// the hash in the entry
        given: Digest,
        /// the hash of the last entry
        wanted: Digest,
    },
    /// The hash kept is not that of the bytes.
    #[error("the hash kept is {given}, the bytes give {wanted}")]
    Hash {
        /// the one kept
        given: Digest,
        /// that of the bytes
        wanted: Digest,
    },
    /// Nobody signed it, or somebody else.
    #[error("the signature is not that of '{author}' with key {key}")]
    Signature {
        /// who should have signed
        author: Id,
        /// with which key
        key: PublicKey,
    },
}

impl Body {
    /// The canonical bytes.
    ///
    /// # Errors
    /// [`EntryError`] where they are more than an entry may have.
    pub fn canonical(&self) -> Result<Vec<u8>, EntryError> {
        let bytes =
            serde_json::to_vec(self).map_err(|error| EntryError::Unreadable { reason: error.to_string() })?;
        if bytes.len() > BODY_BYTES_MAX {
            return Err(EntryError::TooLong { given: bytes.len() });
        }
        Ok(bytes)
    }

    /// Reads canonical bytes, and no others.
    ///
    /// # Errors
    /// [`EntryError`] where the bytes are not the canonical ones of an entry.
    pub fn read(bytes: &[u8]) -> Result<Body, EntryError> {
        if bytes.len() > BODY_BYTES_MAX {
            return Err(EntryError::TooLong { given: bytes.len() });
        }
        let body: Body = serde_json::from_slice(bytes)
            .map_err(|error| EntryError::Unreadable { reason: error.to_string() })?;
        if body.format != FORMAT {
            return Err(EntryError::Format { given: body.format });
        }
        let canonical = body.canonical()?;
        if canonical != bytes {
            let at = canonical.iter().zip(bytes).take_while(|(a, b)| a == b).count();
            return Err(EntryError::NotCanonical { at });
        }
        Ok(body)
    }

    /// Hashes and signs it.
    ///
    /// # Errors
    /// [`EntryError`] where it is too long.
    pub fn sign(&self, signer: &Signer) -> Result<Row, EntryError> {
        let body = self.canonical()?;
        let hash = hash(&body);
        Ok(Row { sequence: self.sequence, body, hash, signature: signer.sign(hash.as_bytes()) })
    }
}

/// The hash of an entry.
#[must_use]
pub fn hash(canonical: &[u8]) -> Digest {
    Digest::of_parts(&[DOMAIN, canonical])
}

impl Row {
    /// Reads the body and holds it against number, chain and hash; the signature is not looked at.
    ///
    /// # Errors
    /// [`EntryError`] with what does not fit.
    pub fn read_after(&self, head: &Head) -> Result<Body, EntryError> {
        let wanted = hash(&self.body);
        if self.hash != wanted {
            return Err(EntryError::Hash { given: self.hash, wanted });
        }
        let body = Body::read(&self.body)?;
        if body.sequence != self.sequence {
            return Err(EntryError::Misplaced { kept: self.sequence, says: body.sequence });
        }
        if body.sequence != head.sequence + 1 {
            return Err(EntryError::Sequence { given: body.sequence, wanted: head.sequence + 1 });
        }
        if body.previous != head.hash {
            return Err(EntryError::Previous { given: body.previous, wanted: head.hash });
        }
        Ok(body)
    }

    /// Holds the signature against a key.
    ///
    /// # Errors
    /// [`EntryError::Signature`].
    pub fn check_signature(&self, author: &Id, key: &PublicKey) -> Result<(), EntryError> {
        if keys::is_signed(key, self.hash.as_bytes(), &self.signature) {
            Ok(())
        } else {
            Err(EntryError::Signature { author: author.clone(), key: *key })
        }
    }

    /// Its place in the chain.
    #[must_use]
    pub fn head(&self) -> Head {
        Head { sequence: self.sequence, hash: self.hash }
    }
}
