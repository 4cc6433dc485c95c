//! A cell with a number, and perhaps its unit, becomes a recorded torque.

use leverarm_metrology::quantity::{TorqueUnit, UnitError};
use leverarm_metrology::reading::{LoadingTime, LoadingTimeError, Recorded, RecordedError};

use super::decimal::{DecimalSign, Settled};
use crate::ingest::checks;
use crate::ingest::value::{Fault, shorten, torque_fault};

/// Why a cell is not a recorded torque. Small, because most are never written out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum NumberFault {
    Empty,
    OtherSign,
    Grouping,
    NotANumber,
    NoUnit,
    Unit(UnitError),
    NoTime(LoadingTimeError),
}

/// Where the number of a cell ends and its unit begins.
pub(super) fn digits_end(cell: &str) -> usize {
    cell.find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',' | '\u{2212}')))
        .unwrap_or(cell.len())
}

/// A word that was just read, and what it means: columns repeat their words.
#[derive(Debug)]
pub(super) struct Remembered<T> {
    word: String,
    meaning: Option<T>,
}

impl<T: Clone> Remembered<T> {
    pub(super) fn new() -> Remembered<T> {
        Remembered { word: String::new(), meaning: None }
    }

    /// What a word means.
    pub(super) fn read<E>(&mut self, word: &str, read: impl FnOnce(&str) -> Result<T, E>) -> Result<T, E> {
        if let (true, Some(meaning)) = (self.word == word, &self.meaning) {
            return Ok(meaning.clone());
        }
        let meaning = read(word)?;
        self.word.clear();
        self.word.push_str(word);
        self.meaning = Some(meaning.clone());
        Ok(meaning)
    }
}

/// Reads numbers by the decimal sign of the file.
pub(super) struct Numbers {
    sign: DecimalSign,
    units: Remembered<TorqueUnit>,
    digits: String,
}

impl Numbers {
    pub(super) fn new(sign: DecimalSign) -> Numbers {
        Numbers { sign, units: Remembered::new(), digits: String::new() }
    }

    /// A cell; `unit` is that of the row, where it has one.
    pub(super) fn read(&mut self, cell: &str, unit: Option<TorqueUnit>) -> Result<Recorded, NumberFault> {
        let cell = cell.trim();
        if cell.is_empty() {
            return Err(NumberFault::Empty);
        }
        let (number, own) = cell.split_at(digits_end(cell));
        if number.is_empty() {
            return Err(NumberFault::NotANumber);
        }
        let own = own.trim_start();
        if own.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '\'' | '’')) {
            return Err(NumberFault::Grouping);
        }
        if own.starts_with(['e', 'E', '_']) {
            return Err(NumberFault::NotANumber);
        }
        let unit = if own.is_empty() {
            unit.ok_or(NumberFault::NoUnit)?
        } else {
            self.units.read(own, TorqueUnit::parse).map_err(NumberFault::Unit)?
        };
        let digits = self.with_point(number)?;
        Recorded::new(digits, unit).map_err(|_| NumberFault::NotANumber)
    }

    /// A cell with a loading time in seconds; nothing in it is nothing measured.
    pub(super) fn seconds(&mut self, cell: &str) -> Result<Option<LoadingTime>, NumberFault> {
        let number = cell.trim();
        if number.is_empty() {
            return Ok(None);
        }
        if digits_end(number) != number.len() {
            return Err(NumberFault::NotANumber);
        }
        let digits = self.with_point(number)?;
        LoadingTime::new(digits).map(Some).map_err(NumberFault::NoTime)
    }

    /// The digits with a decimal point, whatever the sign of the file.
    fn with_point<'n>(&'n mut self, number: &'n str) -> Result<&'n str, NumberFault> {
        let (points, commas) = number.bytes().fold((0, 0), |(points, commas), byte| match byte {
            b'.' => (points + 1, commas),
            b',' => (points, commas + 1),
            _ => (points, commas),
        });
        let signs = match self.sign {
            DecimalSign::Point if commas == 0 => points,
            DecimalSign::Comma if points == 0 => commas,
            _ if points + commas > 1 => return Err(NumberFault::Grouping),
            _ => return Err(NumberFault::OtherSign),
        };
        if signs > 1 {
            return Err(NumberFault::Grouping);
        }
        if commas == 0 {
            return Ok(number);
        }
        self.digits.clear();
        self.digits.extend(number.chars().map(|c| if c == ',' { '.' } else { c }));
        Ok(&self.digits)
    }
}

impl NumberFault {
    /// Written out.
    pub(super) fn explain(&self, column: &str, cell: &str, settled: &Settled) -> Fault {
        let cell = shorten(cell.trim());
        let sign = settled.sign;
        let example = format!("99{}87", sign.sign());
        match self {
            NumberFault::Empty => empty(column),
            NumberFault::OtherSign => Fault::new(
                &checks::DECIMAL_MIXED,
                format!("'{cell}' does not have the {} of this file ({})", sign.words(), settled.by),
                format!("one decimal sign in the whole file, here the {}", sign.words()),
                "write all numbers with one decimal sign; [readings] decimal in run.toml can name it",
            ),
            NumberFault::Grouping => Fault::new(
                &checks::DIGIT_GROUPING,
                format!("'{cell}' has a separator of thousands or more than one decimal sign"),
                "digits and at most one decimal sign",
                format!("write the number without separators, such as {example}"),
            ),
            NumberFault::NotANumber if is_overload(&cell) => Fault::new(
                &checks::NUMBER_UNREADABLE,
                format!("'{cell}' is how a display shows an overload or a fault, and no value"),
                "a plain decimal number",
                "take the reading again, with a reference of larger range where it was overloaded; to keep this one as void, write the last number that was shown and the overload in its note",
            ),
            NumberFault::NotANumber => Fault::new(
                &checks::NUMBER_UNREADABLE,
                format!("'{cell}' is not a plain decimal number"),
                "a plain decimal number",
                format!("write what the display showed, such as {example}"),
            ),
            NumberFault::NoUnit => Fault::new(
                &checks::NUMBER_WITHOUT_UNIT,
                format!("'{cell}' has no unit, and the row has none in the column unit"),
                "a number and its unit of torque",
                "fill the column unit, or write the unit behind the number",
            ),
            NumberFault::NoTime(error) => Fault::new(
                &checks::NUMBER_UNREADABLE,
                error.to_string(),
                "the seconds from 80 % to 100 % of the target",
                error.remedy(),
            ),
            NumberFault::Unit(unit) => torque_fault(&RecordedError::Unit(unit.clone())),
        }
    }
}

/// Whether a display shows this instead of a number.
fn is_overload(cell: &str) -> bool {
    let plain: String = cell.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_lowercase();
    let word = ["ol", "0l", "ovl", "ovld", "over", "overload", "err", "error"].contains(&plain.as_str());
    word || (plain.is_empty() && cell.chars().count() > 1)
}

pub(super) fn empty(column: &str) -> Fault {
    Fault::new(
        &checks::CELL_EMPTY,
        format!("the cell of {column} is empty"),
        format!("a value for {column}"),
        "fill it in; a reading that does not count keeps its values and gets the status void",
    )
}
