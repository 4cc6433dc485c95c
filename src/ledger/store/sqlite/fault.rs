//! What SQLite says, in the words of the store.

use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use crate::store::StoreError;

/// How long a writer waits for another one, in seconds.
pub(super) const WAIT_S: u64 = 60;

/// Which file.
#[derive(Debug, Clone)]
pub(super) struct Place(pub PathBuf);

impl Place {
    pub fn of(path: &Path) -> Place {
        Place(path.to_owned())
    }

    pub fn shown(&self) -> String {
        self.0.display().to_string()
    }

    /// An error of SQLite.
    pub fn error(&self, error: rusqlite::Error) -> StoreError {
        let (place, reason) = (self.shown(), error.to_string());
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                StoreError::Busy { place, seconds: WAIT_S }
            }
            Some(ErrorCode::NotADatabase) => StoreError::NotALedger { place, reason },
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::TypeMismatch | ErrorCode::ConstraintViolation) => {
                StoreError::Damaged { place, reason }
            }
            Some(_) => StoreError::Failed { place, reason },
            // No code: a value of the file is not of the type that its column has.
            None => StoreError::Damaged { place, reason },
        }
    }

    /// An error of the file system.
    pub fn io(&self, error: &std::io::Error) -> StoreError {
        StoreError::Failed { place: self.shown(), reason: error.to_string() }
    }

    pub fn not_a_ledger(&self, reason: impl Into<String>) -> StoreError {
        StoreError::NotALedger { place: self.shown(), reason: reason.into() }
    }

    pub fn damaged(&self, reason: impl Into<String>) -> StoreError {
        StoreError::Damaged { place: self.shown(), reason: reason.into() }
    }
}
