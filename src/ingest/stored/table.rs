//! A table as somebody else's program wrote it: cells by row and column, each with its place.

use std::collections::BTreeMap;
use std::fmt;

use serde::Serialize;

/// Largest file of stored values that is read, in bytes.
pub const STORED_BYTES_MAX: u64 = 8 << 20;
/// Most rows with content.
pub const ROWS_MAX: usize = 20_000;
/// Most columns.
pub const COLUMNS_MAX: u32 = 512;

/// What a cell holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// a text; every cell of a CSV file is one
    Text(String),
    /// a number of a spreadsheet, in the digits of the file
    Number {
        /// the digits
        digits: String,
        /// whether the spreadsheet shows it as a date or a time
        is_date: bool,
    },
    /// a fault that the spreadsheet shows instead of a value
    Fault(String),
}

impl Cell {
    /// The cell as it stands in the file.
    #[must_use]
    pub fn text(&self) -> &str {
        match self {
            Cell::Text(text) | Cell::Fault(text) => text.trim(),
            Cell::Number { digits, .. } => digits,
        }
    }
}

/// Where a cell stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CellPlace {
    /// the file
    pub file: String,
    /// the sheet of a spreadsheet
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// the row from 1; for CSV the line
    pub row: u32,
    /// the column from 1, where one cell is meant
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<u32>,
}

impl fmt::Display for CellPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.sheet, self.column) {
            (Some(sheet), Some(column)) => {
                write!(f, "{}, sheet '{sheet}', cell {}{}", self.file, letters(column), self.row)
            }
            (Some(sheet), None) => write!(f, "{}, sheet '{sheet}', row {}", self.file, self.row),
            (None, Some(column)) => write!(f, "{}, line {}, column {column}", self.file, self.row),
            (None, None) => write!(f, "{}, line {}", self.file, self.row),
        }
    }
}

/// The letters of a column, from 1.
#[must_use]
pub fn letters(column: u32) -> String {
    let mut rest = column;
    let mut letters = Vec::new();
    while rest > 0 {
        let digit = u8::try_from((rest - 1) % 26).unwrap_or(0);
        letters.push(char::from(b'A' + digit));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

/// Row and column of a reference such as `B12`; `None` where it is none or beyond what is read.
#[must_use]
pub fn reference(text: &str) -> Option<(u32, u32)> {
    let cut = text.find(|c: char| c.is_ascii_digit())?;
    let (letters, digits) = text.split_at(cut);
    let mut column = 0_u32;
    for letter in letters.bytes() {
        if !letter.is_ascii_alphabetic() {
            return None;
        }
        column = column.checked_mul(26)?.checked_add(u32::from(letter.to_ascii_uppercase() - b'A') + 1)?;
    }
    let row: u32 = digits.parse().ok()?;
    if column == 0 || row == 0 { None } else { Some((row, column)) }
}

/// A table: only cells with content are kept.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// the name of its file
    pub file: String,
    /// the sheet, for a spreadsheet
    pub sheet: Option<String>,
    /// whether days are counted from 1904
    pub from_1904: bool,
    /// the sign between the cells, for CSV
    pub delimiter: Option<u8>,
    /// the cells by row and column, both from 1
    pub rows: BTreeMap<u32, BTreeMap<u32, Cell>>,
}

impl Table {
    /// A cell.
    #[must_use]
    pub fn cell(&self, row: u32, column: u32) -> Option<&Cell> {
        self.rows.get(&row)?.get(&column)
    }

    /// The place of a cell or of a row.
    #[must_use]
    pub fn place(&self, row: u32, column: Option<u32>) -> CellPlace {
        CellPlace { file: self.file.clone(), sheet: self.sheet.clone(), row, column }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn references_and_letters_agree() {
        for (text, row, column) in
            [("A1", 1, 1), ("Z9", 9, 26), ("AA10", 10, 27), ("XFD1048576", 1_048_576, 16_384)]
        {
            assert_eq!(reference(text), Some((row, column)));
            assert_eq!(format!("{}{row}", letters(column)), text);
        }
        for text in ["", "A", "1", "A0", "ZZZZZZZZZZZZ1", "A99999999999", "Ä1", "A-1", "A1B"] {
            assert_eq!(reference(text), None, "{text}");
        }
    }
}
