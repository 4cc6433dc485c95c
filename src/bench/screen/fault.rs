//! What can go wrong between the screen and the terminal.

use std::io;

use thiserror::Error;

/// Why the terminal could not be used.
#[derive(Debug, Error)]
pub enum ScreenError {
    /// Input or output is a file or a pipe.
    #[error("the guided session needs a terminal, but {stream} is not one")]
    NotATerminal {
        /// `standard input` or `standard output`
        stream: &'static str,
    },
    /// The terminal was closed.
    #[error("the terminal was closed")]
    HungUp,
    /// The system refused.
    #[error("could not {doing}: {source}")]
    Io {
        /// what was tried
        doing: &'static str,
        /// what the system said
        source: io::Error,
    },
}

impl ScreenError {
    /// What the user can do about it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            ScreenError::NotATerminal { .. } => {
                "Run the command in a terminal window, without a pipe or a redirection."
            }
            ScreenError::HungUp => "Run the same command in a new terminal: it goes on from the journal.",
            ScreenError::Io { .. } => {
                "Close this terminal and open a new one; what was taken so far is in the journal."
            }
        }
    }

    pub(crate) fn io(doing: &'static str) -> impl FnOnce(io::Error) -> ScreenError {
        move |source| ScreenError::Io { doing, source }
    }
}
