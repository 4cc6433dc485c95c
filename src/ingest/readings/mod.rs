//! `readings.csv`: one row a reading.
//!
//! Delimiter and decimal sign are found from the file itself, and where two countries would read
//! it differently it is refused. Cells are read in place; a row keeps only its first byte, from
//! which the place of a cell is found when a finding needs it.

mod cells;
mod decimal;
mod dialect;
mod header;
mod note;
mod number;
mod rows;
#[cfg(test)]
mod tests;
mod time;

use leverarm_metrology::finding::{Document, Finding, Place};
use leverarm_metrology::reading::{Direction, Reading};

pub use cells::ReadingsSource;
pub use decimal::DecimalSign;
pub use header::NAMES as COLUMNS;

use super::checks;
use super::encoding::{decode, mark_length};
use header::Columns;
use note::Notes;

/// What `run.toml` says that the readings need.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Context {
    /// the directions of the tool; `None` where they could not be read
    pub directions: Option<Vec<Direction>>,
    /// the decimal sign, where `[readings] decimal` gives it
    pub decimal: Option<DecimalSign>,
}

/// Reads the bytes of `readings.csv`.
#[must_use]
pub fn parse(bytes: &[u8], context: &Context) -> (Vec<Reading>, ReadingsSource, Vec<Finding>) {
    let mut source = ReadingsSource::default();
    let text = match decode(Document::Readings, bytes) {
        Ok(text) => text,
        Err(finding) => return (Vec::new(), source, vec![*finding]),
    };
    let start = mark_length(bytes);
    let mut notes = Notes::default();
    let Some(header_start) =
        text.bytes().skip(start).position(|b| !b.is_ascii_whitespace()).map(|at| at + start)
    else {
        let finding = Finding::new(&checks::READINGS_EMPTY, Place::Whole(Document::Readings), "there are no readings: the file is empty")
            .given("an empty file")
            .wanted("a header and rows")
            .remedy("write the header series,position,target,indicated,reference,unit,time,status,note and one row a reading");
        return (Vec::new(), source, vec![finding]);
    };
    let header_start = dialect::line_start(bytes, start, header_start);
    let header_start = dialect::behind_separator_line(text, header_start);
    source.delimiter = match dialect::delimiter(text, header_start) {
        Ok(delimiter) => delimiter,
        Err(finding) => return (Vec::new(), source, vec![*finding]),
    };
    let (columns, first_row) = Columns::read(text, header_start, source.delimiter, context, &mut notes);
    source.columns = columns.places();
    let sign = decimal::find(text, first_row, source.delimiter, &columns, context.decimal, &mut notes);
    let readings = rows::read(text, first_row, &mut source, &columns, sign, context, &mut notes);
    (readings, source, notes.finish())
}
