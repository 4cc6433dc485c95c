//! Why a certificate is not written.

use chrono::NaiveDate;
use thiserror::Error;

/// What is wrong, and where in the certificate that would have been written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{path}: {fault}")]
pub struct Problem {
    /// the element, by its path
    pub path: String,
    /// what is wrong with it
    pub fault: Fault,
}

/// All that is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the certificate cannot be written: {}", .problems.iter().map(Problem::to_string).collect::<Vec<_>>().join("; "))]
pub struct Refused {
    /// every problem, in the order of the file; one or more
    pub problems: Vec<Problem>,
}

/// What is wrong with an element.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Fault {
    /// Nothing, or only space, or space at an end.
    #[error("'{given}' is empty, or has space at its beginning or end")]
    NotAWord {
        /// the text
        given: String,
    },
    /// A character that XML 1.0 cannot hold.
    #[error("character U+{:04X} cannot stand in XML", u32::from(*.given))]
    Character {
        /// the character
        given: char,
    },
    /// A list without entries, where one is needed.
    #[error("there is no {what}, and one is needed")]
    Nothing {
        /// of what
        what: &'static str,
    },
    /// A list of another length than it must have.
    #[error("{given} {what}, where there must be {wanted}")]
    Length {
        /// of what
        what: &'static str,
        /// how many
        given: usize,
        /// how many there must be
        wanted: usize,
    },
    /// A number that cannot be what it stands for.
    #[error("{given} cannot be {what}")]
    Number {
        /// the number
        given: String,
        /// what it stands for
        what: &'static str,
    },
    /// A unit that does not fit the quantity.
    #[error("the unit {given} does not fit: {wanted}")]
    Unit {
        /// the unit
        given: &'static str,
        /// what would
        wanted: &'static str,
    },
    /// A text does not stand in exactly the languages of the certificate.
    #[error("the text is in [{given}], the certificate in [{wanted}]")]
    Languages {
        /// its languages
        given: String,
        /// those of the certificate
        wanted: String,
    },
    /// A code of a language or country that is none.
    #[error("'{given}' is no {what}")]
    Code {
        /// the code
        given: String,
        /// what it should be
        what: &'static str,
    },
    /// Dates out of order.
    #[error("{later} lies before {earlier}")]
    Order {
        /// the date that must not be later
        earlier: NaiveDate,
        /// the other one
        later: NaiveDate,
    },
    /// A year that the schema's dates, with four digits, cannot hold.
    #[error("{given} cannot be written as a date with a year of four digits")]
    Date {
        /// the date
        given: NaiveDate,
    },
    /// An index that points nowhere.
    #[error("{what} {given} does not exist, there are {count}")]
    Index {
        /// to what
        what: &'static str,
        /// the index, from 0
        given: usize,
        /// how many there are
        count: usize,
    },
    /// Something that must be said once is said more or less often.
    #[error("{what}: {given}, where there must be one")]
    Once {
        /// what
        what: &'static str,
        /// how often
        given: usize,
    },
}

impl Fault {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Fault::NotAWord { .. } => "say it, or leave the whole field out where it is optional",
            Fault::Character { .. } => "take the character out of the text",
            Fault::Nothing { .. } => "add it",
            Fault::Length { .. } => "give one value a test point, or one for all where that is allowed",
            Fault::Number { .. } => "compare the number with the printed certificate",
            Fault::Unit { .. } => "state the quantity in a unit of its kind",
            Fault::Languages { .. } => "give the text once in each language of the certificate",
            Fault::Code { .. } => {
                "write language as two small letters (ISO 639-1), country as two capitals (ISO 3166-1), version as v1.2.3, SHA-256 as 64 hexadecimal digits"
            }
            Fault::Order { .. } => "compare the dates of receipt, work and issue",
            Fault::Date { .. } => "write a year from 1000 to 9999",
            Fault::Index { .. } => "count from 0",
            Fault::Once { .. } => "say it exactly once",
        }
    }
}
