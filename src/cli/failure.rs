//! Why a command could not do what was asked, and which exit code that is.

use std::fmt;
use std::io;

/// Whose fault it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The input is wrong or missing.
    BadInput,
    /// leverarm or the machine failed.
    Fault,
}

impl Kind {
    /// The exit code.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Kind::BadInput => 2,
            Kind::Fault => 3,
        }
    }
}

/// A failure with its message and, where there is one, what to do.
#[derive(Debug)]
pub struct Failure {
    /// whose fault
    pub kind: Kind,
    message: String,
    remedy: Option<String>,
    closed_pipe: bool,
}

impl Failure {
    /// The input is to blame.
    pub fn bad_input(message: impl Into<String>, remedy: impl Into<String>) -> Failure {
        Failure {
            kind: Kind::BadInput,
            message: message.into(),
            remedy: Some(remedy.into()),
            closed_pipe: false,
        }
    }

    /// leverarm or the machine is to blame.
    pub fn fault(message: impl Into<String>) -> Failure {
        Failure { kind: Kind::Fault, message: message.into(), remedy: None, closed_pipe: false }
    }

    /// Whether the reader of our output went away, which is nobody's fault.
    #[must_use]
    pub fn is_closed_pipe(&self) -> bool {
        self.closed_pipe
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        match &self.remedy {
            Some(remedy) => write!(f, "\n  mend: {remedy}"),
            None => Ok(()),
        }
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Failure {
        Failure {
            closed_pipe: error.kind() == io::ErrorKind::BrokenPipe,
            ..Failure::fault(format!("cannot write the output: {error}"))
        }
    }
}

impl From<serde_json::Error> for Failure {
    fn from(error: serde_json::Error) -> Failure {
        if error.is_io() {
            io::Error::from(error).into()
        } else {
            Failure::fault(format!("cannot write JSON: {error}"))
        }
    }
}

impl From<leverarm_metrology::rounding::RoundingError> for Failure {
    fn from(error: leverarm_metrology::rounding::RoundingError) -> Failure {
        Failure::bad_input(
            format!("a result has no printable digits: {error}"),
            "look for a reading or an uncertainty that is absurdly small or large",
        )
    }
}

impl From<crate::assess::AssessError> for Failure {
    fn from(error: crate::assess::AssessError) -> Failure {
        Failure::bad_input(
            error.to_string(),
            "look for a reading or an uncertainty that is absurdly small or large",
        )
    }
}

impl From<crate::export::folder::FolderError> for Failure {
    fn from(error: crate::export::folder::FolderError) -> Failure {
        use crate::export::folder::FolderError;
        match &error {
            FolderError::Occupied { file, .. } => Failure::bad_input(
                format!("{error} (the first difference is {file})"),
                "give the new certificate a number of its own (--number) or another folder (--out)",
            ),
            FolderError::Io { .. } => Failure::fault(error.to_string()),
        }
    }
}
