//! What goes in and what comes out.

use leverarm_metrology::reading::{Direction, Recorded, Series};
use leverarm_pull::detector::Mode;
use thiserror::Error;

use crate::entry::Entry;
use crate::plan::PlanError;
use crate::record::RecordError;

/// What comes in.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// a key
    Key(Key),
    /// a sample of the instrument
    Sample {
        /// seconds on the clock of the samples
        time_s: f64,
        /// the torque with its digits
        recorded: Recorded,
    },
    /// how the instrument is
    News(News),
    /// the entry with this number, and its trace before it, are on disk
    Written(u64),
    /// the disk did not take the entry
    Refused {
        /// what it said
        message: String,
    },
}

/// A key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// a character
    Char(char),
    /// Enter
    Enter,
    /// Escape
    Escape,
    /// Backspace
    Backspace,
}

/// News of the instrument.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum News {
    /// It is there; its clock may have begun anew.
    Connected,
    /// It is gone, or cannot be opened.
    Lost {
        /// what happened
        message: String,
        /// how to mend it
        remedy: String,
    },
    /// It says nothing.
    Silent {
        /// for how many seconds
        seconds: u64,
    },
    /// A line of it was not understood.
    Misread {
        /// why
        message: String,
    },
}

/// What is to be done.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Write the trace, if there is one, and sync it; then append the entry to the journal and sync
    /// it; then answer with [`Input::Written`], or with [`Input::Refused`].
    Write(Box<Entry>, Option<TraceFile>),
    /// Make a sound.
    Sound(Cue),
    /// A pull is awaited; said anew for each.
    Arm(Aim),
    /// No pull is awaited.
    Disarm,
    /// The display is to be set to zero now: by its key, or by whoever can do it for the technician.
    SetZero,
    /// All is done and on disk: make the run folder.
    Finish,
    /// Stop here; the session goes on from its journal another time.
    Leave,
}

/// A trace to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TraceFile {
    /// its path within the run folder, such as `traces/0007.ltrc`
    pub file: String,
    /// its bytes
    pub bytes: Vec<u8>,
}

/// What a sound says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cue {
    /// a reading counts
    Taken,
    /// a pull does not count
    Voided,
    /// 80 % of the target are passed
    Slowly,
    /// the torque is beyond the limit: let go
    Stop,
    /// the instrument or the disk needs somebody
    Trouble,
    /// all is done
    Done,
}

/// What the next pull is.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// number that its reading will have in the record
    pub reading: u32,
    /// the series
    pub series: Series,
    /// the position within it
    pub position: String,
    /// the sense of rotation
    pub direction: Direction,
    /// the target
    pub target: Recorded,
    /// what of the pull is the reading
    pub mode: Mode,
}

/// Why a session cannot be taken up again.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ResumeError {
    /// The plan is none.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The journal does not suit it.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The journal is empty.
    #[error("the journal is empty")]
    Empty,
}

impl ResumeError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            ResumeError::Plan(error) => error.remedy(),
            ResumeError::Record(error) => error.remedy(),
            ResumeError::Empty => "begin the session",
        }
    }
}
