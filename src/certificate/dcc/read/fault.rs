//! Why a certificate is not read.

use std::fmt;

use thiserror::Error;

use crate::digits::DigitsError;

/// Where in a file: `/dcc:digitalCalibrationCertificate/…/si:unit, line 214`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// the elements from the root; `[2]` is the second of its name
    pub path: String,
    /// the line, from 1
    pub line: usize,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, line {}", self.path, self.line)
    }
}

/// What is wrong, and where.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{place}: {fault}")]
pub struct ReadError {
    /// the element
    pub place: Place,
    /// what is wrong with it
    pub fault: ReadFault,
}

/// What is wrong with an element.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReadFault {
    /// More of something than a certificate has.
    #[error("{what}: {given}, where at most {limit} are read")]
    Limit {
        /// of what
        what: &'static str,
        /// how many
        given: usize,
        /// how many are read
        limit: usize,
    },
    /// The bytes are not UTF-8.
    #[error("byte {at} is not UTF-8")]
    NotUtf8 {
        /// which byte, from 0
        at: usize,
    },
    /// Another encoding is declared.
    #[error("the encoding '{given}' is declared, and UTF-8 is read")]
    Encoding {
        /// the encoding
        given: String,
    },
    /// It is not XML.
    #[error("this is not well-formed XML: {message}")]
    Xml {
        /// what the parser says
        message: String,
    },
    /// A document type declaration, which no DCC has and an attack needs.
    #[error("a document type declaration (DTD) is refused")]
    Dtd,
    /// An entity that XML itself does not know.
    #[error("the entity '&{given};' is unknown, and none is expanded")]
    Entity {
        /// its name
        given: String,
    },
    /// The root is another one.
    #[error(
        "the root is '{given}', where dcc:digitalCalibrationCertificate of https://ptb.de/dcc is expected"
    )]
    Root {
        /// its name and namespace
        given: String,
    },
    /// A version of the schema that is not known.
    #[error("schema version '{given}', where 3.2 and 3.3 are read")]
    Version {
        /// the version
        given: String,
    },
    /// An element lacks a child.
    #[error("it has no {wanted}")]
    Missing {
        /// the child
        wanted: &'static str,
    },
    /// A text that is not what it must be.
    #[error("'{given}' is not {wanted}")]
    Text {
        /// the text, cut after 64 characters
        given: String,
        /// what it must be
        wanted: &'static str,
    },
    /// A number that is none.
    #[error("{error}; a finite decimal number is expected")]
    Number {
        /// why
        error: DigitsError,
    },
    /// A list of another length than its values.
    #[error("{given} entries, where there are {values} values: one for all, or one for each, is expected")]
    Length {
        /// entries
        given: usize,
        /// values
        values: usize,
    },
    /// A hybrid without a quantity in SI units.
    #[error("no quantity of the hybrid is in SI units, and one is expected")]
    NoSi,
}

impl ReadFault {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            ReadFault::Limit { .. } => {
                "ask the laboratory whether the file is whole; if it truly is that large, take the values from the printed certificate"
            }
            ReadFault::NotUtf8 { .. } | ReadFault::Encoding { .. } => {
                "save the file as UTF-8, and ask the laboratory for a file whose signature still holds"
            }
            ReadFault::Xml { .. } => "fetch the file again: it is probably cut off or not a DCC",
            ReadFault::Dtd | ReadFault::Entity { .. } => {
                "do not use the file; ask the laboratory for one without a document type declaration"
            }
            ReadFault::Root { .. } => "give the XML file of the DCC, not another one",
            ReadFault::Version { .. } => {
                "ask the laboratory for the certificate in version 3.3.0 of the schema"
            }
            ReadFault::Missing { .. }
            | ReadFault::Text { .. }
            | ReadFault::Number { .. }
            | ReadFault::Length { .. }
            | ReadFault::NoSi => {
                "compare with the printed certificate, and tell the laboratory which element is wrong; until then write the reference file by hand"
            }
        }
    }
}
