//! Why stored values cannot be used. Each error has a name, a place, the numbers of both sides and
//! a way to mend it.

use thiserror::Error;

use super::doubt::Doubt;
use super::table::CellPlace;
use crate::ingest::store::StoreError;

/// What is wrong with the container of a spreadsheet.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WorkbookFault {
    /// Not a ZIP archive, or one that was cut off.
    #[error("it is not a whole spreadsheet file")]
    NotAnArchive,
    /// Protected by a password.
    #[error("it is protected by a password")]
    Encrypted,
    /// More parts than any honest one has.
    #[error("it has {found} parts, at most {limit} are read")]
    TooManyParts {
        /// the parts
        found: usize,
        /// the most that are read
        limit: usize,
    },
    /// A part that must be there.
    #[error("{part} is missing in it")]
    Missing {
        /// the part
        part: String,
    },
    /// A part whose content does not fit what the archive says of it.
    #[error("{part} is damaged in it")]
    Damaged {
        /// the part
        part: String,
    },
    /// A part that unpacks to more than any honest one.
    #[error("{part} unpacks to more than {limit} bytes")]
    TooLarge {
        /// the part
        part: String,
        /// the most that is unpacked
        limit: usize,
    },
    /// More texts than any honest one has.
    #[error("its cells share more than {limit} texts")]
    TooManyTexts {
        /// the most that are read
        limit: usize,
    },
    /// Packed in a way that spreadsheets do not use.
    #[error("{part} is packed by method {method}, which spreadsheets do not use")]
    Method {
        /// the part
        part: String,
        /// the number of the method
        method: u16,
    },
    /// A part that is not XML.
    #[error("{part} breaks the rules of XML at byte {byte}")]
    Xml {
        /// the part
        part: String,
        /// where
        byte: u64,
    },
}

/// What is wrong with a cell.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CellFault {
    /// Nothing in it.
    #[error("the row has no {what}")]
    Empty {
        /// what should be there
        what: &'static str,
    },
    /// Not a number.
    #[error("'{given}' is not a plain decimal number")]
    NotANumber {
        /// the cell
        given: String,
    },
    /// Both decimal signs in one column.
    #[error("'{given}' has another decimal sign than '{other}'")]
    DecimalMixed {
        /// the cell
        given: String,
        /// a number with the other sign
        other: String,
    },
    /// A number that two countries read differently.
    #[error("'{given}' may have a decimal sign or a separator of thousands")]
    DecimalAmbiguous {
        /// the cell
        given: String,
    },
    /// More digits than the tool shows.
    #[error("'{given}' is finer than the step of the tool, which shows {decimals} decimals")]
    TooFine {
        /// the cell
        given: String,
        /// the decimals of its resolution
        decimals: u32,
    },
    /// Not a unit of torque.
    #[error("'{given}' is not a unit of torque that leverarm knows")]
    Unit {
        /// the cell
        given: String,
    },
    /// Not a time of the format.
    #[error("'{given}' is not a time written as {format}")]
    Time {
        /// the cell
        given: String,
        /// the format of the mapping
        format: String,
    },
    /// Not a word for a direction.
    #[error("'{given}' is none of the words that the mapping gives to a direction")]
    Direction {
        /// the cell
        given: String,
    },
    /// Not a number to count by.
    #[error("'{given}' is not a whole number to count by")]
    Index {
        /// the cell
        given: String,
    },
    /// A fault of the spreadsheet itself.
    #[error("the spreadsheet shows {given} instead of a value")]
    Fault {
        /// the cell
        given: String,
    },
}

/// Why the values that a tool stored cannot be had or paired.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StoredError {
    /// A file that cannot be read.
    #[error("{0}")]
    File(#[from] StoreError),
    /// A spreadsheet that is none.
    #[error("{file} cannot be read as a spreadsheet: {fault}")]
    Workbook {
        /// the file
        file: String,
        /// what is wrong
        fault: WorkbookFault,
    },
    /// A text file of another encoding.
    #[error("{file} is not UTF-8: {message}")]
    Encoding {
        /// the file
        file: String,
        /// where and what
        message: String,
    },
    /// More rows than are read.
    #[error("{file} has more than {limit} rows")]
    TooLong {
        /// the file
        file: String,
        /// the most that are read
        limit: usize,
    },
    /// More columns than are read.
    #[error("{file} has more than {limit} columns in row {row}")]
    TooWide {
        /// the file
        file: String,
        /// the row
        row: u32,
        /// the most that are read
        limit: u32,
    },
    /// The named sheet is not there, or none is named where there are several.
    #[error("{file} has the sheets {}; {}", quoted(found), match wanted {
        Some(name) => format!("'{name}' is none of them"),
        None => "the mapping names none of them".to_owned(),
    })]
    Sheet {
        /// the file
        file: String,
        /// the sheet of the mapping
        wanted: Option<String>,
        /// the sheets
        found: Vec<String>,
    },
    /// Cells that may be cut in two ways.
    #[error("{file}: line {line} can be cut into cells by more than one sign")]
    Delimiter {
        /// the file
        file: String,
        /// the line of the header
        line: u32,
    },
    /// A mapping that cannot be read.
    #[error("{file}:{line}:{column} {message}")]
    Mapping {
        /// the file
        file: String,
        /// the line from 1
        line: usize,
        /// the column from 1
        column: usize,
        /// what is wrong
        message: String,
    },
    /// A mapping that is for tools of another model.
    #[error("the mapping is for the model '{mapped}', the tool of the run is a '{model}'")]
    Model {
        /// the model of the mapping
        mapped: String,
        /// the model of the run
        model: String,
    },
    /// A column that the mapping names and the table does not have.
    #[error("{at}: there is no column '{wanted}'; the row has {}", quoted(found))]
    Column {
        /// the row of the header
        at: Box<CellPlace>,
        /// the column of the mapping
        wanted: String,
        /// the columns of the table
        found: Vec<String>,
    },
    /// A column that is there twice.
    #[error("{at}: the column '{wanted}' is there twice")]
    ColumnTwice {
        /// the second one
        at: Box<CellPlace>,
        /// the column
        wanted: String,
    },
    /// No values at all.
    #[error("{file} holds no stored values below its header")]
    NoValues {
        /// the file
        file: String,
    },
    /// A cell that cannot be used.
    #[error("{at}: {fault}")]
    Cell {
        /// where
        at: Box<CellPlace>,
        /// what is wrong
        fault: CellFault,
    },
    /// Values of another tool.
    #[error("{at}: the values are of the tool '{found}', the run is of '{serial}'")]
    Serial {
        /// where
        at: Box<CellPlace>,
        /// the serial number of the file
        found: String,
        /// the serial number of the run
        serial: String,
    },
    /// Stored values that do not run in one order.
    #[error("{at}: the {what} '{this}' does not follow '{before}' in the order of the rows before")]
    Order {
        /// where
        at: Box<CellPlace>,
        /// number or time
        what: &'static str,
        /// the one of the row before
        before: String,
        /// this one
        this: String,
    },
    /// A run without a cell to fill.
    #[error("every reading of the run has its indicated value already")]
    NothingToFill,
    /// A pairing that is not certain.
    #[error("{0}")]
    Doubt(#[from] Box<Doubt>),
}

fn quoted(names: &[String]) -> String {
    const SHOWN: usize = 12;
    let mut words: Vec<String> = names.iter().take(SHOWN).map(|name| format!("'{name}'")).collect();
    if names.len() > SHOWN {
        words.push(format!("{} more", names.len() - SHOWN));
    }
    if words.is_empty() { "none".to_owned() } else { words.join(", ") }
}

impl StoredError {
    /// Its name, in lower case with hyphens.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            StoredError::File(_) => "stored-file",
            StoredError::Workbook { .. } => "stored-workbook",
            StoredError::Encoding { .. } => "stored-encoding",
            StoredError::TooLong { .. } | StoredError::TooWide { .. } => "stored-size",
            StoredError::Sheet { .. } => "stored-sheet",
            StoredError::Delimiter { .. } => "stored-delimiter",
            StoredError::Mapping { .. } => "stored-mapping",
            StoredError::Model { .. } => "stored-model",
            StoredError::Column { .. } | StoredError::ColumnTwice { .. } => "stored-column",
            StoredError::NoValues { .. } => "stored-empty",
            StoredError::Cell { .. } => "stored-cell",
            StoredError::Serial { .. } => "stored-serial",
            StoredError::Order { .. } => "stored-order",
            StoredError::NothingToFill => "stored-nothing-to-fill",
            StoredError::Doubt(doubt) => doubt.name(),
        }
    }

    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            StoredError::File(_) => "see whether the name is spelled right and the file may be read",
            StoredError::Workbook { .. } => {
                "let the tool's program write the file anew, without a password, or save it as CSV UTF-8"
            }
            StoredError::Encoding { .. } => "save it as UTF-8 (in spreadsheets: 'CSV UTF-8')",
            StoredError::TooLong { .. } | StoredError::TooWide { .. } => {
                "see whether this is the right file; give out only the values of this run"
            }
            StoredError::Sheet { .. } => "name the sheet in [table] sheet of the mapping",
            StoredError::Delimiter { .. } => "save the file with one sign between its cells",
            StoredError::Mapping { .. } => "mend the mapping there",
            StoredError::Model { .. } => "take the mapping of this model, or make one",
            StoredError::Column { .. } => {
                "see [table] header, the row of the names; name the columns as the table does"
            }
            StoredError::ColumnTwice { .. } => "rename one of the two",
            StoredError::NoValues { .. } => "see whether the tool's memory was given out",
            StoredError::Cell { fault, .. } => fault.remedy(),
            StoredError::Serial { .. } => "give out the memory of the tool that was measured",
            StoredError::Order { .. } => {
                "give the values out in the order of storing, oldest or newest first; never sort them by value"
            }
            StoredError::NothingToFill => {
                "leave the cells of indicated empty where the tool's own values shall stand; what was typed stays"
            }
            StoredError::Doubt(doubt) => doubt.remedy(),
        }
    }
}

impl CellFault {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            CellFault::Empty { .. } => {
                "give the values out anew; a row without a value is not left out in silence"
            }
            CellFault::NotANumber { .. } => "see whether this is the column of the values",
            CellFault::DecimalMixed { .. } | CellFault::DecimalAmbiguous { .. } => {
                "write decimal = \"point\" or decimal = \"comma\" into [table] of the mapping"
            }
            CellFault::TooFine { .. } => {
                "see the resolution of the tool in run.toml and the unit of the values: nothing is rounded here"
            }
            CellFault::Unit { .. } => "map the column of the unit, or write [value] unit in the mapping",
            CellFault::Time { .. } => "write [time] format in the mapping, such as \"%d.%m.%Y %H:%M:%S\"",
            CellFault::Direction { .. } => "list the word in [direction] of the mapping",
            CellFault::Index { .. } => "see whether this is the column of the numbers",
            CellFault::Fault { .. } => "give the values out anew",
        }
    }
}
