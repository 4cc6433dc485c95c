//! Why a session cannot be led.

use std::io;
use std::path::PathBuf;

use leverarm_screen::fault::ScreenError;
use leverarm_session::ResumeError;
use leverarm_session::journal::JournalError;
use leverarm_session::plan::PlanError;
use thiserror::Error;

use super::complete::CompleteError;
use super::disk::DiskFault;

/// Why a session cannot be led.
#[derive(Debug, Error)]
pub enum LiveFault {
    /// There are readings that no session took.
    #[error("{} holds readings that were not taken in a session", path.display())]
    HasReadings {
        /// the file
        path: PathBuf,
    },
    /// A file cannot be read.
    #[error("{} cannot be read: {error}", path.display())]
    Unreadable {
        /// the file
        path: PathBuf,
        /// why
        #[source]
        error: io::Error,
    },
    /// The description states no sample rate.
    #[error("the description of {name} states no sample rate")]
    NoRate {
        /// the instrument
        name: String,
    },
    /// No session can be led by the plan.
    #[error(transparent)]
    Plan(Box<PlanError>),
    /// The journal is damaged.
    #[error("the journal of the session is damaged: {0}")]
    Journal(#[from] JournalError),
    /// The journal belongs to another plan.
    #[error("the session cannot go on: {0}")]
    Resume(Box<ResumeError>),
    /// The record cannot be kept.
    #[error(transparent)]
    Disk(#[from] DiskFault),
    /// The thread that writes is gone.
    #[error("the part that writes the journal has stopped")]
    KeeperGone,
    /// The terminal.
    #[error(transparent)]
    Screen(#[from] ScreenError),
    /// `run.toml` cannot be completed.
    #[error(transparent)]
    Complete(#[from] CompleteError),
    /// The rows cannot be written.
    #[error("readings.csv cannot be made: {0}")]
    Rows(String),
}

impl LiveFault {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> String {
        let words = match self {
            LiveFault::HasReadings { .. } => {
                "begin in a run folder without readings; what was measured is never replaced"
            }
            LiveFault::Unreadable { .. } => "give yourself permission to read it",
            LiveFault::NoRate { .. } => "write rate = \"100 Hz\", as its manual says, in the description",
            LiveFault::Plan(error) => error.remedy(),
            LiveFault::Journal(error) => error.remedy(),
            LiveFault::Resume(error) => error.remedy(),
            LiveFault::Disk(fault) => fault.remedy(),
            LiveFault::KeeperGone => "run the same command again: it goes on from the journal",
            LiveFault::Screen(error) => return error.remedy().to_string(),
            LiveFault::Complete(_) => "mend run.toml and run the same command again: nothing is lost",
            LiveFault::Rows(_) => "run the same command again: it goes on from the journal",
        };
        words.to_owned()
    }

    /// Whether the machine is to blame, not what was given.
    #[must_use]
    pub fn is_ours(&self) -> bool {
        matches!(self, LiveFault::KeeperGone | LiveFault::Rows(_) | LiveFault::Disk(DiskFault::Io { .. }))
    }
}
