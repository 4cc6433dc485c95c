//! Why a ledger does not do what it was asked.

use thiserror::Error;

use crate::entry::EntryError;
use crate::keys::KeyError;
use crate::refusal::Refusal;
use crate::store::StoreError;

/// Why a ledger does not do what it was asked.
#[derive(Debug, Error)]
pub enum LedgerError {
    /// It may not be recorded.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// What is to be written is no entry.
    #[error(transparent)]
    Entry(#[from] EntryError),
    /// What is kept does not hold: the first bad entry.
    #[error("entry {sequence} of the ledger does not hold: {reason}")]
    Damaged {
        /// which one
        sequence: u64,
        /// why
        reason: String,
    },
    /// The key failed.
    #[error(transparent)]
    Key(#[from] KeyError),
    /// The certificate could not be made; no number was used up.
    #[error("the certificate could not be made: {reason}")]
    Render {
        /// what was said
        reason: String,
    },
}

impl LedgerError {
    /// What can be done.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            LedgerError::Refused(refusal) => refusal.remedy(),
            LedgerError::Store(error) => error.remedy(),
            LedgerError::Entry(EntryError::TooLong { .. }) => "add long lists as a file",
            LedgerError::Entry(_) | LedgerError::Damaged { .. } => {
                "keep the damaged ledger, and restore the last backup that verifies"
            }
            LedgerError::Key(error) => error.remedy(),
            LedgerError::Render { .. } => "mend what it says and issue again",
        }
    }
}
