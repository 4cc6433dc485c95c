//! Why a file cannot be read as a PDF.

use thiserror::Error;

/// Why a PDF cannot be read; places are byte offsets from the start of the file or, where a
/// packed stream was being read, from its start.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum PdfError {
    /// The file is larger than it may be.
    #[error("the file has {bytes} bytes, more than the {limit} that are read")]
    FileTooLarge {
        /// Its size.
        bytes: usize,
        /// The limit.
        limit: usize,
    },
    /// The first bytes are not those of a PDF.
    #[error("the file does not start with %PDF-")]
    NotPdf,
    /// The syntax is broken.
    #[error("broken syntax at byte {at}: wanted {wanted}")]
    Syntax {
        /// Where.
        at: usize,
        /// What should stand there.
        wanted: &'static str,
    },
    /// A dictionary says the same thing twice, so that two readers may see two different files.
    #[error("the dictionary that ends at byte {at} has the key /{key} twice")]
    KeyTwice {
        /// Where the dictionary ends.
        at: usize,
        /// The key.
        key: String,
    },
    /// Objects are nested too deeply.
    #[error("objects nested deeper than {limit} at byte {at}")]
    TooDeep {
        /// Where.
        at: usize,
        /// The limit.
        limit: usize,
    },
    /// There is more of something than a certificate can need.
    #[error("more than {limit} {what}")]
    TooMany {
        /// Of what.
        what: &'static str,
        /// The limit.
        limit: usize,
    },
    /// A chain of references comes back to where it has been.
    #[error("the chain of {what} runs in a circle")]
    Circle {
        /// Of what.
        what: &'static str,
    },
    /// Something that must be there is not.
    #[error("{what} is missing or of the wrong type")]
    Missing {
        /// What.
        what: &'static str,
    },
    /// The table of objects points to a place where another object stands.
    #[error("object {number} is not at byte {at}, where the table has it")]
    Misplaced {
        /// The object's number.
        number: u32,
        /// Where it should be.
        at: usize,
    },
    /// Something legal that this reader does not know and no file of ours needs.
    #[error("not supported here: {what}")]
    Unsupported {
        /// What.
        what: String,
    },
    /// A packed stream is damaged.
    #[error("a packed stream is damaged")]
    Damaged,
    /// A packed stream gives more than it may.
    #[error("a packed stream gives more than {limit} bytes")]
    Bomb {
        /// The limit, bytes.
        limit: usize,
    },
}
