//! What keeps the record: one trait, so that a file on a bench and a server of a house of many
//! benches are the same to everything else.

mod copy;
mod memory;
#[cfg(feature = "postgres")]
pub mod postgres;
pub mod sqlite;

use thiserror::Error;

#[cfg(feature = "postgres")]
pub use self::postgres::PostgresStore;
pub use copy::copy_ledger;
pub use memory::MemoryStore;
pub use sqlite::SqliteStore;

use crate::bytes::Digest;
use crate::derived::{Line, Table};
use crate::entry::{Head, Row};
use crate::error::LedgerError;

/// The largest file that the record takes, in bytes.
pub const FILE_BYTES_MAX: usize = 64 << 20;

/// Why a store does not do what it should.
#[derive(Debug, Error)]
pub enum StoreError {
    /// The file is no ledger.
    #[error("{place} is no ledger: {reason}")]
    NotALedger {
        /// which file or server
        place: String,
        /// how that shows
        reason: String,
    },
    /// A ledger of a later version.
    #[error("{place} is a ledger of version {found}, this program knows versions up to {known}")]
    NewerVersion {
        /// which file or server
        place: String,
        /// its version
        found: i64,
        /// the latest that is known
        known: i64,
    },
    /// There is something already.
    #[error("{place} exists")]
    Exists {
        /// which file
        place: String,
    },
    /// What is kept is damaged.
    #[error("{place} is damaged: {reason}")]
    Damaged {
        /// which file or server
        place: String,
        /// how that shows
        reason: String,
    },
    /// Somebody else writes, and does not finish.
    #[error("{place} was locked by another writer for {seconds} s")]
    Busy {
        /// which file or server
        place: String,
        /// how long it was waited
        seconds: u64,
    },
    /// A file larger than the record takes.
    #[error("the file has {given} bytes, at most {FILE_BYTES_MAX} are taken")]
    FileTooLarge {
        /// its size
        given: usize,
    },
    /// The bytes kept are not those of the name.
    #[error("the file {digest} is damaged: its bytes are those of {found}")]
    FileDamaged {
        /// its name
        digest: Digest,
        /// the digest of the bytes that are kept
        found: Digest,
    },
    /// The entry that is to be written does not follow on the last one kept.
    #[error("entry {given} does not follow on entry {last}")]
    NotNext {
        /// its number
        given: u64,
        /// number of the last one kept
        last: u64,
    },
    /// The connection was lost at the commit, and the server did not come back to say how it ended.
    #[error("{place}: whether entry {sequence} was written is not known: the connection was lost")]
    OutcomeUnknown {
        /// which server
        place: String,
        /// number of the last entry that may have been written
        sequence: u64,
    },
    /// The disk, the database or the network failed.
    #[error("{place}: {reason}")]
    Failed {
        /// which file or server
        place: String,
        /// what it said
        reason: String,
    },
}

impl StoreError {
    /// What can be done.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            StoreError::NotALedger { .. } => "give the ledger's file, or make a new ledger elsewhere",
            StoreError::NewerVersion { .. } => "install the newer version of the program",
            StoreError::Exists { .. } => "choose another name; nothing is overwritten",
            StoreError::Damaged { .. } | StoreError::FileDamaged { .. } => {
                "keep the damaged file, and restore the last backup that verifies"
            }
            StoreError::Busy { .. } => "try again; if it stays so, look for a program that hangs",
            StoreError::FileTooLarge { .. } => {
                "keep it elsewhere and add a file that names it with its SHA-256"
            }
            StoreError::NotNext { .. } => "read the ledger anew and try again",
            StoreError::OutcomeUnknown { .. } => {
                "when the server is back, look in the log whether it is there before you try again"
            }
            StoreError::Failed { .. } => "look at disk, rights and connection, then try again",
        }
    }
}

/// What is wrong with what a store keeps, below the entries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StorageFault {
    /// where: a page, a table
    pub place: String,
    /// what
    pub what: String,
}

/// Reading. Within an exclusive section it sees what the section has written.
pub trait Reading {
    /// The end of the chain, as the last row kept says.
    ///
    /// # Errors
    /// [`StoreError`].
    fn head(&mut self) -> Result<Head, StoreError>;

    /// At most `most` rows from a number on, in order; whether they are whole is not looked at.
    ///
    /// # Errors
    /// [`StoreError`].
    fn rows(&mut self, from: u64, most: usize) -> Result<Vec<Row>, StoreError>;

    /// The bytes of a file, held against its name.
    ///
    /// # Errors
    /// [`StoreError`], [`StoreError::FileDamaged`] among them.
    fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError>;

    /// Whether a file is kept.
    ///
    /// # Errors
    /// [`StoreError`].
    fn has_file(&mut self, digest: &Digest) -> Result<bool, StoreError>;

    /// At most `most` names of files, in the order in which they came, after the first `skip`.
    ///
    /// # Errors
    /// [`StoreError`].
    fn files(&mut self, skip: u64, most: usize) -> Result<Vec<Digest>, StoreError>;

    /// A derived table, in the order of its key.
    ///
    /// # Errors
    /// [`StoreError`].
    fn lines(&mut self, table: Table) -> Result<Vec<Line>, StoreError>;

    /// Looks for damage below the entries: pages, indexes, whatever the store is made of.
    ///
    /// # Errors
    /// [`StoreError`] where the look itself fails.
    fn faults(&mut self) -> Result<Vec<StorageFault>, StoreError>;
}

/// What can be done while nobody else writes.
pub trait Section: Reading {
    /// Adds the next row.
    ///
    /// # Errors
    /// [`StoreError::NotNext`] where it is not; what was written in this section is then dropped.
    fn append(&mut self, row: &Row) -> Result<(), StoreError>;

    /// Keeps a file under the name of its bytes; nothing happens where it is kept already.
    ///
    /// # Errors
    /// [`StoreError`].
    fn put(&mut self, digest: &Digest, bytes: &[u8]) -> Result<(), StoreError>;

    /// Puts lines in the place of those with the same key.
    ///
    /// # Errors
    /// [`StoreError`].
    fn derive(&mut self, lines: &[Line]) -> Result<(), StoreError>;

    /// Throws every derived table away.
    ///
    /// # Errors
    /// [`StoreError`].
    fn clear_derived(&mut self) -> Result<(), StoreError>;
}

/// The work of an exclusive section.
pub type Work<'a> = dyn FnMut(&mut dyn Section) -> Result<(), LedgerError> + 'a;

/// A store.
pub trait Store: Reading {
    /// Does work while nobody else writes, in this process or another. When it returns well, all it
    /// wrote is on the disk; otherwise nothing of it is.
    ///
    /// # Errors
    /// [`LedgerError`] of the work, or of the store.
    fn exclusive(&mut self, work: &mut Work<'_>) -> Result<(), LedgerError>;
}

/// The name of bytes that are to be kept, when they are not too many.
///
/// # Errors
/// [`StoreError::FileTooLarge`].
pub fn name_of(bytes: &[u8]) -> Result<Digest, StoreError> {
    if bytes.len() > FILE_BYTES_MAX {
        return Err(StoreError::FileTooLarge { given: bytes.len() });
    }
    Ok(Digest::of(bytes))
}

/// Bytes that were kept under a name, when they are those.
pub(crate) fn checked(digest: &Digest, bytes: Vec<u8>) -> Result<Vec<u8>, StoreError> {
    let found = Digest::of(&bytes);
    if found == *digest { Ok(bytes) } else { Err(StoreError::FileDamaged { digest: *digest, found }) }
}
