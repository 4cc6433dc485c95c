//! Why a certificate gives no reference file.

use std::fmt;

use thiserror::Error;

use crate::read::{Place, ReadError};

/// What a quantity is in a calibration.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// the torque that was applied
    Applied,
    /// what the reference showed
    Indicated,
    /// what it showed less what was applied
    Deviation,
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Role::Applied => "applied torque",
            Role::Indicated => "indication",
            Role::Deviation => "deviation",
        })
    }
}

/// Why a certificate gives no reference file.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReferenceError {
    /// An element cannot be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// Not one item, but several or none.
    #[error("the certificate is about {}: {}; say which item, by its number from 1", .names.len(), .names.join("; "))]
    Items {
        /// their names
        names: Vec<String>,
    },
    /// The serial number is not plain.
    #[error("which is the serial number: {}", .numbers.join(", "))]
    Serial {
        /// the numbers of the item
        numbers: Vec<String>,
    },
    /// No table says what it is.
    #[error("no table of the certificate says by its terms which torque was applied and what was shown: {}", .tables.join("; "))]
    NoTable {
        /// the tables and their quantities
        tables: Vec<String>,
    },
    /// A table that does not exist.
    #[error("there is no table {given}; the certificate has {count}")]
    TableNumber {
        /// its number, from 1
        given: usize,
        /// how many there are
        count: usize,
    },
    /// Several tables may be meant.
    #[error("tables {tables:?} could all be the calibration {direction}")]
    Tables {
        /// in which direction
        direction: &'static str,
        /// their numbers, from 1
        tables: Vec<usize>,
    },
    /// Nothing says in which direction the torque was applied.
    #[error("{place}: table {table} does not say in which direction torque was applied")]
    Direction {
        /// the table
        place: Place,
        /// its number, from 1
        table: usize,
    },
    /// No quantity has the role, or the one that was named is not there.
    #[error("{place}: table {table} has no quantity that is the {role}; it has {}", .columns.join(", "))]
    NoColumn {
        /// the table
        place: Place,
        /// its number, from 1
        table: usize,
        /// the role
        role: Role,
        /// its quantities
        columns: Vec<String>,
    },
    /// Several quantities have the role.
    #[error("{place}: in table {table} each of {} could be the {role}", .columns.join(", "))]
    Columns {
        /// the table
        place: Place,
        /// its number, from 1
        table: usize,
        /// the role
        role: Role,
        /// the quantities
        columns: Vec<String>,
    },
    /// A unit that does not fit.
    #[error("{place}: the unit is '{given}', where {wanted} is expected")]
    Unit {
        /// the element
        place: Place,
        /// the unit
        given: String,
        /// what would fit
        wanted: &'static str,
    },
    /// Lists of a table that belong together and differ in length.
    #[error("{place}: {given} values, where the applied torque has {wanted}")]
    Rows {
        /// the quantity
        place: Place,
        /// its values
        given: usize,
        /// the rows
        wanted: usize,
    },
    /// A number that cannot be written out.
    #[error("{place}: {given} is too large or too small to be written out")]
    Number {
        /// the element
        place: Place,
        /// the number
        given: String,
    },
    /// No expanded uncertainty.
    #[error("{place}: no expanded uncertainty with k stands with the calibration{}", .other.as_ref().map(|name| format!(" ({name} is not read)")).unwrap_or_default())]
    NoUncertainty {
        /// the quantity
        place: Place,
        /// what stands there instead
        other: Option<String>,
    },
    /// Several expanded uncertainties that differ.
    #[error("{place}: {} carry different expanded uncertainties", .columns.join(" and "))]
    Uncertainties {
        /// the table
        place: Place,
        /// the quantities
        columns: Vec<String>,
    },
    /// An expanded uncertainty of zero.
    #[error("{place}: the expanded uncertainty of row {row} is zero")]
    ZeroUncertainty {
        /// the uncertainty
        place: Place,
        /// the row, from 1
        row: usize,
    },
    /// Indication and deviation contradict each other.
    #[error(
        "{place}: in row {row} the indication less the applied torque is not the deviation ({deviation})"
    )]
    Contradiction {
        /// the deviation
        place: Place,
        /// the row, from 1
        row: usize,
        /// the deviation that stands there
        deviation: String,
    },
    /// The points do not rise.
    #[error("{place}: row {row} does not rise over the row before it")]
    NotRising {
        /// the quantity
        place: Place,
        /// the row, from 1
        row: usize,
    },
    /// Torques below zero.
    #[error("{place}: row {row} is below zero in a calibration {direction}")]
    Negative {
        /// the quantity
        place: Place,
        /// the row, from 1
        row: usize,
        /// the direction
        direction: &'static str,
    },
    /// Fewer than two points.
    #[error("{place}: {given} points above zero, and a curve needs two")]
    TooFew {
        /// the table
        place: Place,
        /// how many
        given: usize,
    },
}

impl ReferenceError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            ReferenceError::Read(error) => error.fault.remedy(),
            ReferenceError::Items { .. } => "say the number of the item in the selection",
            ReferenceError::Serial { .. } => "say the serial number in the selection",
            ReferenceError::NoTable { .. } => {
                "say in the selection, for each direction, the number of the table and which of its quantities (by name, id or term) is the applied torque and which the indication or the deviation"
            }
            ReferenceError::TableNumber { .. } => "say the number of a table of the certificate",
            ReferenceError::Tables { .. } => "say in the selection which table is meant",
            ReferenceError::Direction { .. } => {
                "compare with the printed certificate and say the direction in the selection"
            }
            ReferenceError::NoColumn { .. } | ReferenceError::Columns { .. } => {
                "say in the selection, by name, id or term, which quantity is meant"
            }
            ReferenceError::Uncertainties { .. } => {
                "say in the selection which quantity's uncertainty is that of the calibration"
            }
            ReferenceError::NotRising { .. } => {
                "a table with rising and falling torque, or with several series, is no curve: write the points of the certificate that hold for rising torque by hand"
            }
            ReferenceError::Unit { .. }
            | ReferenceError::Rows { .. }
            | ReferenceError::Number { .. }
            | ReferenceError::NoUncertainty { .. }
            | ReferenceError::ZeroUncertainty { .. }
            | ReferenceError::Contradiction { .. }
            | ReferenceError::Negative { .. }
            | ReferenceError::TooFew { .. } => {
                "compare with the printed certificate, and tell the laboratory which element is wrong; until then write the reference file by hand"
            }
        }
    }
}
