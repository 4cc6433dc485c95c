//! The decimal sign of a file, from the numbers in it.
//!
//! One number that can be read in one way only settles it: `99.87`, `99,9`, `0.125`. A file in which
//! every number has exactly three digits behind its only sign (`1.234`) may have separators of
//! thousands. The sign between the cells helps there: a comma between cells goes with decimal
//! points and a semicolon with decimal commas; against that custom, and with tabs, the file is
//! refused until `[readings] decimal` in `run.toml` says it.

use super::header::{Column, Columns};
use super::note::Notes;
use super::number::digits_end;
use crate::ingest::checks;
use crate::ingest::value::Fault;

/// The sign before the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalSign {
    /// `99.87`
    Point,
    /// `99,87`
    Comma,
}

impl DecimalSign {
    /// Reads `point` or `comma`.
    #[must_use]
    pub fn parse(word: &str) -> Option<DecimalSign> {
        match word.trim().to_ascii_lowercase().as_str() {
            "point" | "." => Some(DecimalSign::Point),
            "comma" | "," => Some(DecimalSign::Comma),
            _ => None,
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            DecimalSign::Point => "decimal point",
            DecimalSign::Comma => "decimal comma",
        }
    }

    pub(super) const fn sign(self) -> char {
        match self {
            DecimalSign::Point => '.',
            DecimalSign::Comma => ',',
        }
    }
}

/// Who says which decimal sign it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Settled {
    pub(super) sign: DecimalSign,
    /// the number and its row, or `run.toml`
    pub(super) by: String,
    /// false where nothing settles it: no number of the file can be trusted
    pub(super) certain: bool,
}

/// What a number says about the decimal sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Says {
    Nothing,
    Surely(DecimalSign),
    Perhaps(DecimalSign),
}

fn says(number: &str) -> Says {
    let mut signs = number.char_indices().filter(|(_, c)| matches!(c, '.' | ','));
    let (Some((at, sign)), None) = (signs.next(), signs.next()) else { return Says::Nothing };
    let sign = if sign == '.' { DecimalSign::Point } else { DecimalSign::Comma };
    let before = number[..at].trim_start_matches(['+', '-', '\u{2212}']);
    let after = &number[at + 1..];
    // A group of thousands has three digits, and one to three before it that do not begin with 0.
    let like_thousands = after.len() == 3 && (1..=3).contains(&before.len()) && !before.starts_with('0');
    if like_thousands { Says::Perhaps(sign) } else { Says::Surely(sign) }
}

/// Finds the decimal sign of the rows from a byte on.
pub(super) fn find(
    text: &str,
    first_row: usize,
    delimiter: u8,
    columns: &Columns,
    declared: Option<DecimalSign>,
    notes: &mut Notes,
) -> Settled {
    if let Some(sign) = declared {
        return Settled { sign, by: "run.toml says so".to_owned(), certain: true };
    }
    let mut reader = super::rows::reader(text, first_row, delimiter);
    let mut record = csv::StringRecord::new();
    let mut perhaps: [Option<(u32, Column, String)>; 2] = [None, None];
    let mut row = 0_u32;
    while reader.read_record(&mut record).unwrap_or(false) {
        if super::rows::is_blank(&record) {
            continue;
        }
        row = row.saturating_add(1);
        if record.len() != columns.width {
            continue;
        }
        for column in [Column::Target, Column::Indicated, Column::Reference, Column::Seconds] {
            let cell = columns.at(column).and_then(|at| record.get(at)).unwrap_or_default().trim();
            let number = &cell[..digits_end(cell)];
            match says(number) {
                Says::Nothing => {}
                Says::Surely(sign) => {
                    return Settled { sign, by: format!("'{number}' in reading {row}"), certain: true };
                }
                Says::Perhaps(sign) => {
                    let slot = &mut perhaps[usize::from(sign == DecimalSign::Comma)];
                    slot.get_or_insert_with(|| (row, column, number.to_owned()));
                }
            }
        }
    }
    unsettled(perhaps, delimiter, notes)
}

fn unsettled(perhaps: [Option<(u32, Column, String)>; 2], delimiter: u8, notes: &mut Notes) -> Settled {
    let custom = match delimiter {
        b',' => Some(DecimalSign::Point),
        b';' => Some(DecimalSign::Comma),
        _ => None,
    };
    let (sign, (row, column, number)) = match perhaps {
        [None, None] => return Settled { sign: DecimalSign::Point, by: String::new(), certain: true },
        // Both signs: the rows find the second one.
        [Some(point), Some(comma)] => {
            let (sign, first) =
                if point.0 <= comma.0 { (DecimalSign::Point, point) } else { (DecimalSign::Comma, comma) };
            return Settled { sign, by: format!("'{}' in reading {}", first.2, first.0), certain: true };
        }
        [Some(point), None] => (DecimalSign::Point, point),
        [None, Some(comma)] => (DecimalSign::Comma, comma),
    };
    if custom == Some(sign) {
        return Settled { sign, by: format!("'{number}' in reading {row}"), certain: true };
    }
    let plain: String = number.chars().filter(|c| !matches!(c, '.' | ',')).collect();
    let decimal = number.replace(',', ".");
    let fault = Fault::new(
        &checks::DECIMAL_AMBIGUOUS,
        format!(
            "'{number}' may be {decimal} or {plain}: every number of the file with a sign has exactly three digits behind it"
        ),
        "a decimal sign that is certain",
        "write decimal = \"point\" or decimal = \"comma\" into [readings] of run.toml",
    );
    notes.cell(row, column.name(), &number, fault);
    Settled { sign, by: String::new(), certain: false }
}
