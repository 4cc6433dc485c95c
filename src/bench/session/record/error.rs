//! Why an entry is not taken into the record.

use thiserror::Error;

/// Why an entry does not follow the others, or does not suit the plan.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RecordError {
    /// An entry out of its order.
    #[error("entry {found} stands where {wanted} should")]
    Number {
        /// its number
        found: u64,
        /// the one that should stand there
        wanted: u64,
    },
    /// The clock ran backwards.
    #[error("entry {entry} is of an earlier time than the one before it")]
    Time {
        /// its number
        entry: u64,
    },
    /// The first entry does not begin, or a later one does.
    #[error("entry {entry}: a session begins once, with its first entry")]
    Begin {
        /// its number
        entry: u64,
    },
    /// The plan is another one.
    #[error("the session was begun with {name} {begun}, and now it is {now}")]
    OtherPlan {
        /// what differs
        name: String,
        /// as the journal has it
        begun: String,
        /// as the plan has it
        now: String,
    },
    /// An entry about a step or a reading that is not there, or not in this way.
    #[error("entry {entry} does not suit the work: {why}")]
    Unsuited {
        /// its number
        entry: u64,
        /// why
        why: &'static str,
    },
}

impl RecordError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            RecordError::OtherPlan { .. } => {
                "go on with the same run.toml, rulebook, reference, instrument and options as before, or begin the run in another folder"
            }
            _ => "keep the journal as it is and begin the run in another folder",
        }
    }
}
