//! What is wrong with a description, and where.

use std::fmt;

use leverarm_metrology::quantity::UnitError;
use thiserror::Error;

use super::super::shown;

/// Every fault of a description, in the order of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// A fault and its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// its line, from 1
    pub line: usize,
    /// its character in the line, from 1
    pub column: usize,
    /// the line
    pub excerpt: String,
    /// what is wrong
    pub kind: FaultKind,
}

impl Fault {
    pub(super) fn at(text: &str, byte: usize, kind: FaultKind) -> Fault {
        let before = text.get(..byte).unwrap_or(text);
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        let line = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
        let column = before[start..].chars().count() + 1;
        let excerpt = shown(text[start..].lines().next().unwrap_or("").as_bytes());
        Fault { line, column, excerpt, kind }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}:{}: {}", self.line, self.column, self.kind)?;
        if !self.excerpt.is_empty() {
            writeln!(f, "  | {}", self.excerpt)?;
        }
        write!(f, "  mend: {}", self.kind.remedy())
    }
}

/// What is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FaultKind {
    /// The text breaks the rules of TOML.
    #[error("this is not TOML: {said}")]
    Syntax {
        /// what the parser said
        said: String,
    },
    /// A key that there is not.
    #[error("the key `{key}` is not known here")]
    UnknownKey {
        /// the key with its table
        key: String,
        /// those that there are
        known: Vec<&'static str>,
        /// the one that was probably meant
        meant: Option<&'static str>,
    },
    /// A key that must be there and is not.
    #[error("the key `{key}` is missing")]
    Missing {
        /// the key with its table
        key: String,
        /// a line that would do
        example: &'static str,
    },
    /// A value of another kind.
    #[error("`{key}` must be {wanted}")]
    WrongType {
        /// the key with its table
        key: String,
        /// what it must be
        wanted: &'static str,
    },
    /// A word that is none of a list.
    #[error("'{given}' is not a word for `{key}`")]
    UnknownWord {
        /// the key with its table
        key: String,
        /// the word
        given: String,
        /// those that there are
        known: Vec<&'static str>,
    },
    /// A number that cannot be.
    #[error("`{key}` must be from {least} to {most}")]
    OutOfRange {
        /// the key with its table
        key: String,
        /// the least that is taken
        least: u64,
        /// the most that is taken
        most: u64,
    },
    /// Not a number with a unit of time or frequency.
    #[error("`{key}` must be a number above 0 with a unit, such as \"{example}\"")]
    NotAMeasure {
        /// the key with its table
        key: String,
        /// what would do
        example: &'static str,
    },
    /// Not a unit of torque.
    #[error("`{key}`: {error}")]
    Unit {
        /// the key with its table
        key: String,
        /// why it is none
        error: UnitError,
    },
    /// Not a regular expression.
    #[error("`{key}` is not a regular expression: {said}")]
    Regex {
        /// the key with its table
        key: String,
        /// what its parser said
        said: String,
    },
    /// The pattern has a part that means nothing.
    #[error("the pattern has a part `{part}`, which means nothing to leverarm")]
    UnknownPart {
        /// its name
        part: String,
    },
    /// The pattern lacks a part that is needed.
    #[error("the pattern has no part `{part}`: {why}")]
    PartMissing {
        /// its name
        part: &'static str,
        /// what needs it
        why: &'static str,
    },
    /// The pattern has a part that needs a key.
    #[error("the pattern has a part `{part}` and `{key}` does not say how to read it")]
    PartUnexplained {
        /// its name
        part: &'static str,
        /// the key
        key: &'static str,
    },
}

impl FaultKind {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            FaultKind::Syntax { .. } => {
                "write key = \"value\"; put patterns into single quotation marks, where a backslash is only a backslash".into()
            }
            FaultKind::UnknownKey { meant: Some(meant), .. } => format!("did you mean `{meant}`?"),
            FaultKind::UnknownKey { known, .. } => format!("remove it; known here are {}", known.join(", ")),
            FaultKind::Missing { example, .. } => format!("add {example}"),
            FaultKind::WrongType { wanted, .. } => format!("write {wanted}"),
            FaultKind::UnknownWord { known, .. } => format!("write one of \"{}\"", known.join("\", \"")),
            FaultKind::OutOfRange { .. } => "see the manual of the instrument".into(),
            FaultKind::NotAMeasure { example, .. } => format!("write it such as \"{example}\""),
            FaultKind::Unit { error, .. } => error.remedy().into(),
            FaultKind::Regex { .. } => "see the page on descriptions for patterns that work".into(),
            FaultKind::UnknownPart { .. } => {
                "name it value, unit, sign, status, time, checksum or checked, or group without a name: (?:…)"
                    .into()
            }
            FaultKind::PartMissing { part, .. } => format!("put (?<{part}>…) around it"),
            FaultKind::PartUnexplained { key, .. } => format!("add `{key}`"),
        }
    }
}
