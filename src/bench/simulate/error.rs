//! Why there is no simulated bench, or why it does not do what it is told.

use leverarm_rig::{CommandError, SettingsError};
use thiserror::Error;

/// Why there is no simulated bench.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StartError {
    /// The settings cannot be.
    #[error(transparent)]
    Settings(#[from] SettingsError),
    /// The pace cannot be.
    #[error("a pace of {given} times real time cannot be; it is above 0 and at most a million")]
    Pace {
        /// what was given
        given: f64,
    },
    /// The system opens no port of the loopback.
    #[error("no port of 127.0.0.1 can be opened: {said}")]
    NoPort {
        /// what the system said
        said: String,
    },
    /// The system gives no pseudo-terminal.
    #[error("there is no pseudo-terminal: {said}")]
    NoPty {
        /// what the system said
        said: String,
    },
    /// The system gives no thread.
    #[error("the simulated bench cannot run: {said}")]
    Thread {
        /// what the system said
        said: String,
    },
}

impl StartError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            StartError::Settings(error) => error.remedy(),
            StartError::Pace { .. } => "give a number such as 10, or run it at speed",
            StartError::NoPort { .. } => "let this user open ports of the loopback, or use a pseudo-terminal",
            StartError::NoPty { .. } => "use the TCP door",
            StartError::Thread { .. } => "close other programs and try again",
        }
    }
}

/// Why the bench does not do what it is told.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum OrderError {
    /// It cannot be done.
    #[error(transparent)]
    Command(#[from] CommandError),
    /// The reader is so slow, or away for so long, that commands have piled up.
    #[error("{waiting} commands wait already: nobody reads what the bench says")]
    Busy {
        /// how many
        waiting: usize,
    },
    /// Its thread has ended.
    #[error("the simulated bench has stopped")]
    Stopped,
}

impl OrderError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            OrderError::Command(error) => error.remedy(),
            OrderError::Busy { .. } => "connect to the bench, and go on reading",
            OrderError::Stopped => "start it again",
        }
    }
}
