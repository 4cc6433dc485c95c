//! A table and its mapping become stored values, in the order in which the tool stored them.

use std::ops::RangeInclusive;

use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::reading::{Direction, Recorded};
use leverarm_metrology::tool::Tool;

use super::csv::same_name;
use super::error::{CellFault, StoredError};
use super::mapping::{Mapping, Sign as DirectionSign};
use super::number::{Sign, decimal_sign, number, time, with_decimals};
use super::table::{Cell, CellPlace, Table, reference};
use crate::ingest::value::shorten;

/// One value of the tool's memory.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredValue {
    /// where it stands
    pub place: CellPlace,
    /// the cell as it stands in the file
    pub text: String,
    /// the value without its sign, with the decimals that the tool shows
    pub torque: Recorded,
    /// the direction, where the table says it
    pub direction: Option<Direction>,
    /// the clock of the tool, in milliseconds
    pub time_ms: Option<i64>,
}

/// What a table holds.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredValues {
    /// the values, oldest first
    pub values: Vec<StoredValue>,
    /// whether the table says for which tool
    pub serial_confirmed: bool,
}

/// Reads the values of a table for a tool; `rows` leaves out what is not of this run.
///
/// # Errors
/// [`StoredError`]: the first thing that is wrong, with its place.
pub fn read(
    table: &Table,
    mapping: &Mapping,
    tool: &Tool,
    rows: Option<&RangeInclusive<u32>>,
) -> Result<StoredValues, StoredError> {
    if !same_name(&mapping.model, &tool.model) {
        return Err(StoredError::Model { mapped: mapping.model.clone(), model: tool.model.clone() });
    }
    let reader = Reader::new(table, mapping, tool)?;
    let cell_confirms = reader.serial_cell()?;
    let first = mapping.table.header.saturating_add(1);
    let mut taken: Vec<(StoredValue, Option<u64>)> = Vec::new();
    for row in table.rows.range(first..).map(|(row, _)| *row) {
        if rows.is_none_or(|rows| rows.contains(&row)) {
            taken.push(reader.value(row)?);
        }
    }
    if taken.is_empty() {
        return Err(StoredError::NoValues { file: table.file.clone() });
    }
    let values = in_order(taken)?;
    Ok(StoredValues { values, serial_confirmed: cell_confirms || reader.columns.serial.is_some() })
}

#[derive(Default)]
struct Columns {
    value: u32,
    unit: Option<u32>,
    date: Option<u32>,
    time: Option<u32>,
    serial: Option<u32>,
    direction: Option<u32>,
    index: Option<u32>,
}

struct Reader<'a> {
    table: &'a Table,
    mapping: &'a Mapping,
    tool: &'a Tool,
    columns: Columns,
    sign: Sign,
}

impl<'a> Reader<'a> {
    fn new(table: &'a Table, mapping: &'a Mapping, tool: &'a Tool) -> Result<Reader<'a>, StoredError> {
        let find = |name: &str| column(table, mapping.table.header, name);
        let of = |name: &Option<String>| name.as_deref().map(find).transpose();
        let keys = &mapping.columns;
        let columns = Columns {
            value: find(&keys.value)?,
            unit: of(&keys.unit)?,
            date: of(&keys.date)?,
            time: of(&keys.time)?,
            serial: of(&keys.serial)?,
            direction: of(&keys.direction)?,
            index: of(&keys.index)?,
        };
        let first = mapping.table.header.saturating_add(1);
        let cells = table.rows.range(first..).filter_map(|(_, row)| row.get(&columns.value));
        let sign = decimal_sign(cells, mapping.decimal(), table.delimiter);
        Ok(Reader { table, mapping, tool, columns, sign })
    }

    fn at(&self, row: u32, column: u32, fault: CellFault) -> StoredError {
        StoredError::Cell { at: Box::new(self.table.place(row, Some(column))), fault }
    }

    fn cell(&self, row: u32, column: u32, what: &'static str) -> Result<&'a Cell, StoredError> {
        self.table.cell(row, column).ok_or_else(|| self.at(row, column, CellFault::Empty { what }))
    }

    fn is_own(&self, row: u32, column: u32, cell: &Cell) -> Result<(), StoredError> {
        if same_name(cell.text(), &self.tool.serial) {
            return Ok(());
        }
        Err(StoredError::Serial {
            at: Box::new(self.table.place(row, Some(column))),
            found: shorten(cell.text()),
            serial: self.tool.serial.clone(),
        })
    }

    fn serial_cell(&self) -> Result<bool, StoredError> {
        let Some((row, column)) = self.mapping.table.serial_cell.as_deref().and_then(reference) else {
            return Ok(false);
        };
        let cell = self.cell(row, column, "serial number")?;
        self.is_own(row, column, cell).map(|()| true)
    }

    fn value(&self, row: u32) -> Result<(StoredValue, Option<u64>), StoredError> {
        if let Some(column) = self.columns.serial {
            self.is_own(row, column, self.cell(row, column, "serial number")?)?;
        }
        let column = self.columns.value;
        let cell = self.cell(row, column, "value")?;
        let (signed, own_unit) = number(cell, &self.sign).map_err(|fault| self.at(row, column, fault))?;
        let unit = self.unit(row, own_unit)?;
        let mut decimal = signed.abs().normalize();
        if let Some(resolution) = self.tool.resolution.filter(|resolution| resolution.unit() == unit) {
            decimal = with_decimals(signed.abs(), resolution.decimals(), cell.text())
                .map_err(|fault| self.at(row, column, fault))?;
        }
        let torque = Recorded::new(&decimal.to_string(), unit)
            .map_err(|_| self.at(row, column, CellFault::NotANumber { given: shorten(cell.text()) }))?;
        let value = StoredValue {
            place: self.table.place(row, Some(column)),
            text: cell.text().to_owned(),
            torque,
            direction: self.direction(row, signed.is_sign_negative())?,
            time_ms: self.time(row)?,
        };
        Ok((value, self.index(row)?))
    }

    fn unit(&self, row: u32, own: &str) -> Result<TorqueUnit, StoredError> {
        let (column, word) = match (self.columns.unit, &self.mapping.value.unit) {
            _ if !own.is_empty() => (self.columns.value, own),
            (Some(column), _) => (column, self.cell(row, column, "unit")?.text()),
            (None, Some(word)) => (self.columns.value, word.as_str()),
            (None, None) => (self.columns.value, ""),
        };
        TorqueUnit::parse(word).map_err(|_| self.at(row, column, CellFault::Unit { given: shorten(word) }))
    }

    fn direction(&self, row: u32, is_negative: bool) -> Result<Option<Direction>, StoredError> {
        let clockwise = |yes: bool| if yes { Direction::Clockwise } else { Direction::CounterClockwise };
        match self.mapping.value.sign {
            DirectionSign::ClockwisePositive => return Ok(Some(clockwise(!is_negative))),
            DirectionSign::ClockwiseNegative => return Ok(Some(clockwise(is_negative))),
            DirectionSign::Without => {}
        }
        let Some(column) = self.columns.direction else { return Ok(None) };
        let word = self.cell(row, column, "direction")?.text();
        let words = &self.mapping.direction;
        let is = |words: &[String]| words.iter().any(|known| same_name(known, word));
        match (is(&words.clockwise), is(&words.counter_clockwise)) {
            (true, false) => Ok(Some(Direction::Clockwise)),
            (false, true) => Ok(Some(Direction::CounterClockwise)),
            _ => match Direction::parse(word) {
                Some(direction) => Ok(Some(direction)),
                None => Err(self.at(row, column, CellFault::Direction { given: shorten(word) })),
            },
        }
    }

    fn time(&self, row: u32) -> Result<Option<i64>, StoredError> {
        let Some(column) = self.columns.time else { return Ok(None) };
        let clock = self.cell(row, column, "time")?;
        let day = self.columns.date.map(|column| self.cell(row, column, "day")).transpose()?;
        let format = self.mapping.time.format.as_deref();
        time(self.table, day, clock, format).map(Some).map_err(|fault| self.at(row, column, fault))
    }

    fn index(&self, row: u32) -> Result<Option<u64>, StoredError> {
        let Some(column) = self.columns.index else { return Ok(None) };
        let word = self.cell(row, column, "number")?.text();
        let whole = word.strip_suffix(".0").unwrap_or(word).parse();
        whole.map(Some).map_err(|_| self.at(row, column, CellFault::Index { given: shorten(word) }))
    }
}

fn column(table: &Table, header: u32, name: &str) -> Result<u32, StoredError> {
    let row = table.rows.get(&header);
    let mut found = row.into_iter().flatten().filter(|(_, cell)| same_name(cell.text(), name));
    let Some((column, _)) = found.next() else {
        let names = row.into_iter().flatten().map(|(_, cell)| shorten(cell.text())).collect();
        return Err(StoredError::Column {
            at: Box::new(table.place(header, None)),
            wanted: name.to_owned(),
            found: names,
        });
    };
    match found.next() {
        None => Ok(*column),
        Some((second, _)) => Err(StoredError::ColumnTwice {
            at: Box::new(table.place(header, Some(*second))),
            wanted: name.to_owned(),
        }),
    }
}

/// Oldest first: by the numbers of the tool, by its clock, or as they stand. A table may run from
/// the newest to the oldest as a whole; one that does neither is refused.
fn in_order(taken: Vec<(StoredValue, Option<u64>)>) -> Result<Vec<StoredValue>, StoredError> {
    let numbers: Option<Vec<i128>> = taken.iter().map(|(_, index)| index.map(i128::from)).collect();
    let times: Option<Vec<i128>> = taken.iter().map(|(value, _)| value.time_ms.map(i128::from)).collect();
    let newest_first = |keys: &[i128]| {
        keys.iter().zip(keys.iter().skip(1)).find(|(a, b)| a != b).is_some_and(|(a, b)| a > b)
    };
    let reversed = numbers.as_deref().or(times.as_deref()).is_some_and(newest_first);
    for (what, keys, may_equal) in [("number", &numbers, false), ("time", &times, true)] {
        let Some(keys) = keys else { continue };
        for (pair, (value, _)) in keys.windows(2).zip(taken.iter().skip(1)) {
            let [before, this] = pair else { continue };
            let follows = if reversed { this < before } else { this > before };
            if !(follows || (may_equal && this == before)) {
                let written = |key: &i128| if may_equal { clock(*key) } else { key.to_string() };
                return Err(StoredError::Order {
                    at: Box::new(value.place.clone()),
                    what,
                    before: written(before),
                    this: written(this),
                });
            }
        }
    }
    let mut values: Vec<StoredValue> = taken.into_iter().map(|(value, _)| value).collect();
    if reversed {
        values.reverse();
    }
    Ok(values)
}

fn clock(ms: i128) -> String {
    i64::try_from(ms).map(clock_text).unwrap_or_default()
}

/// A clock in milliseconds as it is written.
#[must_use]
pub fn clock_text(ms: i64) -> String {
    let time = chrono::DateTime::from_timestamp_millis(ms);
    time.map(|time| time.format("%Y-%m-%d %H:%M:%S%.f").to_string()).unwrap_or_default()
}
