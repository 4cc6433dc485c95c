//! `stored.toml`: which column of a tool's table is what. Written once for a model and remembered.

use serde::{Deserialize, Serialize};

use super::error::StoredError;
use super::table::reference;
use crate::ingest::nesting::too_deep;
use crate::ingest::readings::DecimalSign;

/// The name of a mapping in a run folder.
pub const MAPPING_FILE: &str = "stored.toml";

/// A mapping.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapping {
    /// the version of this format: 1
    pub format: u32,
    /// the model whose tools write such tables
    pub model: String,
    /// where the table is
    #[serde(default)]
    pub table: TableKeys,
    /// the names of the columns
    pub columns: ColumnKeys,
    /// what the values are
    #[serde(default)]
    pub value: ValueKeys,
    /// how times are written
    #[serde(default)]
    pub time: TimeKeys,
    /// the words for the directions
    #[serde(default)]
    pub direction: DirectionKeys,
    /// how close a pair must be
    #[serde(default)]
    pub pairing: PairingKeys,
}

/// Where the table is in its file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TableKeys {
    /// the sheet; needed where a spreadsheet has several
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// the row with the names of the columns, from 1; the values begin below it
    pub header: u32,
    /// `point` or `comma`, where the numbers leave it open
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<String>,
    /// a cell above the table that holds the serial number, such as `B2`
    #[serde(skip_serializing_if = "Option::is_none")]
    pub serial_cell: Option<String>,
}

impl Default for TableKeys {
    fn default() -> TableKeys {
        TableKeys { sheet: None, header: 1, decimal: None, serial_cell: None }
    }
}

/// The names of the columns, as the header of the table writes them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ColumnKeys {
    /// the stored peak
    pub value: String,
    /// its unit
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// the day, where it has a column of its own
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// the time, or day and time
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub time: Option<String>,
    /// the serial number of the tool
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// the direction
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub direction: Option<String>,
    /// the number by which the tool counts its values
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub index: Option<String>,
}

/// How a direction can be told from the sign of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Sign {
    /// the sign says nothing
    #[default]
    #[serde(rename = "none")]
    Without,
    /// clockwise is positive
    #[serde(rename = "clockwise positive")]
    ClockwisePositive,
    /// clockwise is negative
    #[serde(rename = "clockwise negative")]
    ClockwiseNegative,
}

/// What the values are.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ValueKeys {
    /// the unit of every value, where no column says it
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// what a sign says
    pub sign: Sign,
}

/// How times are written.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TimeKeys {
    /// such as `%d.%m.%Y %H:%M:%S`; without it year-month-day hour:minute:second
    #[serde(skip_serializing_if = "Option::is_none")]
    pub format: Option<String>,
}

/// The words for the directions.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct DirectionKeys {
    /// the words for clockwise
    pub clockwise: Vec<String>,
    /// the words for counter-clockwise
    pub counter_clockwise: Vec<String>,
}

/// How close a pair must be. None of it comes from a standard: common practice, no published source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct PairingKeys {
    /// reading noise, in percent of the reading; one step of the tool is added to it
    pub noise_percent: f64,
    /// largest difference of tool and reference that a pair may have, in percent of the reading
    pub deviation_percent_max: f64,
    /// how far the times of a pair may be from the common difference of the two clocks, in seconds
    pub time_tolerance_s: f64,
}

impl Default for PairingKeys {
    fn default() -> PairingKeys {
        PairingKeys { noise_percent: 0.3, deviation_percent_max: 20.0, time_tolerance_s: 10.0 }
    }
}

impl Mapping {
    /// Reads a mapping.
    ///
    /// # Errors
    /// [`StoredError::Mapping`] with line and column.
    pub fn parse(file: &str, text: &str) -> Result<Mapping, StoredError> {
        let at = |byte: usize, message: String| {
            let before = text.get(..byte).unwrap_or(text);
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
            StoredError::Mapping { file: file.to_owned(), line, column, message }
        };
        if let Some(byte) = too_deep(text) {
            return Err(at(byte, "the key has more parts than any that leverarm reads".to_owned()));
        }
        let mapping: Mapping = toml::from_str(text)
            .map_err(|error| at(error.span().map_or(0, |span| span.start), error.message().to_owned()))?;
        match mapping.problem() {
            Some((key, message)) => Err(at(text.find(key).unwrap_or(0), message)),
            None => Ok(mapping),
        }
    }

    /// What is wrong with the values, and by which key.
    fn problem(&self) -> Option<(&'static str, String)> {
        if self.format != 1 {
            return Some(("format", format!("format is {}, this version reads 1", self.format)));
        }
        if self.table.header == 0 {
            return Some(("header", "header is 0, rows are counted from 1".to_owned()));
        }
        if self.table.decimal.as_deref().is_some_and(|word| DecimalSign::parse(word).is_none()) {
            return Some(("decimal", "decimal is neither \"point\" nor \"comma\"".to_owned()));
        }
        if self.table.serial_cell.as_deref().is_some_and(|cell| reference(cell).is_none()) {
            return Some(("serial_cell", "serial_cell is not a cell such as \"B2\"".to_owned()));
        }
        if self.columns.date.is_some() && self.columns.time.is_none() {
            return Some(("date", "a column of days needs a column of times beside it".to_owned()));
        }
        if self.columns.direction.is_some() && self.value.sign != Sign::Without {
            return Some(("sign", "the direction is said twice, by a column and by the sign".to_owned()));
        }
        if self.columns.unit.is_some() == self.value.unit.is_some() {
            let message = "the unit is said once: by [columns] unit or by [value] unit";
            return Some(("[columns]", message.to_owned()));
        }
        let bounds = [
            ("noise_percent", self.pairing.noise_percent, 10.0),
            ("deviation_percent_max", self.pairing.deviation_percent_max, 50.0),
            ("time_tolerance_s", self.pairing.time_tolerance_s, 3600.0),
        ];
        let beyond = bounds.into_iter().find(|(_, value, most)| !(*value > 0.0 && value <= most));
        beyond.map(|(key, value, most)| {
            (key, format!("{key} is {value}, it must be above 0 and at most {most}"))
        })
    }

    /// Every mapped column.
    #[must_use]
    pub fn names(&self) -> Vec<&str> {
        let columns = &self.columns;
        let others = [
            &columns.unit,
            &columns.date,
            &columns.time,
            &columns.serial,
            &columns.direction,
            &columns.index,
        ];
        std::iter::once(columns.value.as_str())
            .chain(others.into_iter().filter_map(Option::as_deref))
            .collect()
    }

    /// The decimal sign, where the mapping says it.
    #[must_use]
    pub fn decimal(&self) -> Option<DecimalSign> {
        self.table.decimal.as_deref().and_then(DecimalSign::parse)
    }
}
