//! What the server says, in the words of the store.

use std::error::Error as _;
use std::fmt::Write as _;

use postgres::Error;
use postgres::error::{Severity, SqlState};

use crate::store::StoreError;

/// How long a writer waits for another one, in seconds.
pub(super) const WAIT_S: u64 = 60;

/// Which database and schema; without password.
#[derive(Debug, Clone)]
pub(super) struct Place(pub String);

impl Place {
    pub fn shown(&self) -> String {
        self.0.clone()
    }

    /// An error of the server, or of the way to it.
    pub fn error(&self, error: &Error) -> StoreError {
        let (place, reason) = (self.shown(), reason(error));
        match error.code() {
            Some(code) if [SqlState::LOCK_NOT_AVAILABLE, SqlState::T_R_DEADLOCK_DETECTED].contains(code) => {
                StoreError::Busy { place, seconds: WAIT_S }
            }
            // Classes 23 and XX: a constraint or the data themselves; P0: one of the triggers.
            Some(code) if ["23", "XX", "P0"].iter().any(|class| code.code().starts_with(class)) => {
                StoreError::Damaged { place, reason }
            }
            _ => StoreError::Failed { place, reason },
        }
    }

    pub fn failed(&self, reason: impl Into<String>) -> StoreError {
        StoreError::Failed { place: self.shown(), reason: reason.into() }
    }

    pub fn not_a_ledger(&self, reason: impl Into<String>) -> StoreError {
        StoreError::NotALedger { place: self.shown(), reason: reason.into() }
    }

    pub fn damaged(&self, reason: impl Into<String>) -> StoreError {
        StoreError::Damaged { place: self.shown(), reason: reason.into() }
    }
}

/// The server's own message where it is one; otherwise the chain of what went wrong.
fn reason(error: &Error) -> String {
    if let Some(said) = error.as_db_error() {
        return format!("{} ({})", said.message(), said.code().code());
    }
    let mut reason = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        // Writing to a string does not fail.
        let _ = write!(reason, ": {cause}");
        source = cause.source();
    }
    reason
}

/// Whether the connection is gone with this error.
pub(super) fn is_lost(error: &Error) -> bool {
    match error.as_db_error() {
        Some(said) => matches!(said.parsed_severity(), Some(Severity::Fatal | Severity::Panic)),
        None => error.is_closed() || error.source().is_some_and(|source| source.is::<std::io::Error>()),
    }
}

/// Whether a server that refuses this connection may take the next one: it starts, or is not there yet.
pub(super) fn may_come_back(error: &Error) -> bool {
    match error.code() {
        Some(code) => [
            SqlState::CANNOT_CONNECT_NOW,
            SqlState::ADMIN_SHUTDOWN,
            SqlState::CRASH_SHUTDOWN,
            SqlState::TOO_MANY_CONNECTIONS,
        ]
        .contains(code),
        None => true,
    }
}
