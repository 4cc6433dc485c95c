//! A reading as it was recorded: its digits, its unit, its place in the order of the work, and
//! whether it was struck out. A reading is never only a floating-point number.

mod loading;

use std::borrow::Cow;
use std::fmt;

use chrono::{DateTime, FixedOffset};
use rust_decimal::Decimal;
use thiserror::Error;

use crate::quantity::{Torque, TorqueUnit, UnitError};

pub use loading::{KeptTrace, LoadingTime, LoadingTimeError, shortest_loading};

/// A torque with the digits and the unit in which somebody wrote it down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recorded {
    decimal: Decimal,
    value: f64,
    unit: TorqueUnit,
}

impl Recorded {
    /// From the digits of a number (decimal point, no grouping) and its unit.
    ///
    /// # Errors
    /// [`RecordedError::NotANumber`] when the digits are not a plain decimal number.
    pub fn new(digits: &str, unit: TorqueUnit) -> Result<Recorded, RecordedError> {
        let digits = digits.trim();
        let wrong = || RecordedError::NotANumber { given: digits.to_owned() };
        let plain = digits.trim_start_matches(['+', '-']).trim_start_matches('\u{2212}');
        if plain.is_empty() || !plain.bytes().all(|b| b.is_ascii_digit() || b == b'.') {
            return Err(wrong());
        }
        // Only a true minus needs a text of its own; a million readings have none.
        let ascii = match digits.strip_prefix('\u{2212}') {
            Some(rest) => Cow::Owned(format!("-{rest}")),
            None => Cow::Borrowed(digits),
        };
        let decimal = Decimal::from_str_exact(&ascii).map_err(|_| wrong())?;
        let value: f64 = ascii.parse().map_err(|_| wrong())?;
        Ok(Recorded { decimal, value, unit })
    }

    /// From text such as `12.5 lbf·ft`: number, then unit.
    ///
    /// # Errors
    /// [`RecordedError`] when number or unit is missing or not understood.
    pub fn parse(text: &str) -> Result<Recorded, RecordedError> {
        let text = text.trim();
        let split = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '\u{2212}' | '.' | ',')))
            .unwrap_or(text.len());
        let (number, unit) = text.split_at(split);
        if number.contains(',') {
            return Err(RecordedError::Comma { given: number.to_owned() });
        }
        if number.is_empty() {
            return Err(RecordedError::NotANumber { given: text.to_owned() });
        }
        let unit = TorqueUnit::parse(unit)?;
        Recorded::new(number, unit)
    }

    /// The digits as written.
    #[must_use]
    pub fn digits(&self) -> Decimal {
        self.decimal
    }

    /// How many digits stand after the decimal point.
    #[must_use]
    pub fn decimals(&self) -> u32 {
        self.decimal.scale()
    }

    /// The number in its own unit.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.value
    }

    /// The unit in which it was written.
    #[must_use]
    pub fn unit(&self) -> TorqueUnit {
        self.unit
    }

    /// As a torque.
    #[must_use]
    pub fn torque(&self) -> Torque {
        Torque::new(self.value, self.unit)
    }
}

impl fmt::Display for Recorded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.decimal, self.unit)
    }
}

/// Why a text is not a recorded torque.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RecordedError {
    /// The digits cannot be read.
    #[error("'{given}' is not a plain decimal number")]
    NotANumber {
        /// the text as it was written
        given: String,
    },
    /// A comma, which one country reads as a decimal sign and another as a separator of thousands.
    #[error("'{given}' has a comma, which may be a decimal sign or a separator of thousands")]
    Comma {
        /// the text as it was written
        given: String,
    },
    /// The unit is missing or not understood.
    #[error(transparent)]
    Unit(#[from] UnitError),
}

impl RecordedError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            RecordedError::NotANumber { .. } => "write a number and its unit, such as 12.5 N·m",
            RecordedError::Comma { .. } => {
                "write a decimal point and no separator of thousands, such as 12.5 N·m"
            }
            RecordedError::Unit(unit) => unit.remedy(),
        }
    }
}

/// In which part of the work a reading was taken.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Series {
    /// loading before the readings, to settle tool and reference
    Preload,
    /// the reference unloaded
    Zero,
    /// the readings at the test points
    Points,
    /// the same point again after the tool was taken off and put back (b_rep)
    Reproducibility,
    /// the same point with the output drive turned in the device (b_od)
    Drive,
    /// the same point with the adaptor between tool and device turned (b_int)
    Interface,
    /// the same point with the hand before and behind the mark on the grip (b_l)
    Grip,
}

impl Series {
    /// Every series.
    pub const ALL: [Series; 7] = [
        Series::Preload,
        Series::Zero,
        Series::Points,
        Series::Reproducibility,
        Series::Drive,
        Series::Interface,
        Series::Grip,
    ];

    /// The word that names it in `readings.csv`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Series::Preload => "preload",
            Series::Zero => "zero",
            Series::Points => "points",
            Series::Reproducibility => "reproducibility",
            Series::Drive => "drive",
            Series::Interface => "interface",
            Series::Grip => "grip",
        }
    }

    /// The series that a word names.
    #[must_use]
    pub fn parse(word: &str) -> Option<Series> {
        Series::ALL.into_iter().find(|series| series.word().eq_ignore_ascii_case(word.trim()))
    }
}

impl fmt::Display for Series {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// The sense of rotation of a torque, seen by the hand that pulls.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    serde::Serialize,
    serde::Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Direction {
    /// tightening a right-hand thread
    Clockwise,
    /// loosening a right-hand thread
    #[serde(rename = "counter-clockwise")]
    CounterClockwise,
}

impl Direction {
    /// The word that is printed.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Direction::Clockwise => "clockwise",
            Direction::CounterClockwise => "counter-clockwise",
        }
    }

    /// Reads `clockwise`, `cw`, `right`, `counter-clockwise`, `anticlockwise`, `ccw`, `left`.
    #[must_use]
    pub fn parse(word: &str) -> Option<Direction> {
        match word.trim().to_ascii_lowercase().as_str() {
            "clockwise" | "cw" | "right" => Some(Direction::Clockwise),
            "counter-clockwise" | "counterclockwise" | "anticlockwise" | "anti-clockwise" | "ccw"
            | "left" => Some(Direction::CounterClockwise),
            _ => None,
        }
    }
}

impl fmt::Display for Direction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// Whether a reading counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Status {
    /// It counts.
    Valid,
    /// It was struck out; it stays in the record with its reason (empty when none was given, which
    /// a check refuses).
    Void {
        /// why it does not count
        reason: String,
    },
}

/// One row of `readings.csv`.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// number of the row among the readings, from 1, in the order of recording
    pub row: u32,
    /// the part of the work
    pub series: Series,
    /// which sequence, angle or place of the hand within the series; empty where there is one only
    pub position: String,
    /// the sense of rotation
    pub direction: Direction,
    /// the test point
    pub target: Recorded,
    /// what the tool said, or was set to
    pub indicated: Recorded,
    /// what the reference showed, before correction
    pub reference: Recorded,
    /// when it was taken, where that is on record; a time without an offset is kept as UTC
    pub time: Option<DateTime<FixedOffset>>,
    /// whether it counts
    pub status: Status,
    /// the remark of the row
    pub note: String,
    /// how long the pull took from 80 % to 100 % of the target, where it was measured
    pub loading_time: Option<LoadingTime>,
    /// the trace of the pull, where one was kept
    pub trace: Option<KeptTrace>,
}

impl Reading {
    /// Whether it counts.
    #[must_use]
    pub fn is_valid(&self) -> bool {
        self.status == Status::Valid
    }
}
