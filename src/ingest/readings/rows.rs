//! The rows: each becomes a reading, or a finding for every cell that cannot be read.

use std::ops::Range;

use csv::StringRecord;
use leverarm_metrology::finding::{Document, Place};
use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::reading::{
    Direction, KeptTrace, LoadingTime, Reading, Recorded, RecordedError, Series, Status,
};

use super::Context;
use super::cells::{QuoteFault, ReadingsSource, Scan};
use super::decimal::Settled;
use super::header::{Column, Columns, direction_missing};
use super::note::Notes;
use super::number::{NumberFault, Numbers, Remembered, empty};
use super::time::{self, Stamp};
use crate::ingest::checks;
use crate::ingest::printable::unprintable;
use crate::ingest::value::{Fault, torque_fault};
use crate::ingest::words::one_of;

/// A CSV reader of the rows from a byte on.
pub(super) fn reader(text: &str, first_row: usize, delimiter: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes().get(first_row..).unwrap_or_default())
}

/// A row without anything in it, as spreadsheets leave them at the end.
pub(super) fn is_blank(record: &StringRecord) -> bool {
    record.as_slice().bytes().all(|byte| byte.is_ascii_whitespace())
}

/// Reads every row.
pub(super) fn read(
    text: &str,
    first_row: usize,
    source: &mut ReadingsSource,
    columns: &Columns,
    settled: Settled,
    context: &Context,
    notes: &mut Notes,
) -> Vec<Reading> {
    let bytes = text.as_bytes();
    // No row with all that it needs is shorter: a file of empty lines must not reserve the memory.
    const ROW_BYTES_MIN: usize = 16;
    let line_ends = bytes.iter().skip(first_row).filter(|byte| **byte == b'\n').count();
    let rows_expected = (line_ends + 1).min(bytes.len() / ROW_BYTES_MIN);
    let mut readings = Vec::with_capacity(rows_expected);
    source.row_starts.reserve_exact(rows_expected);
    let usual = Columns::usual_direction(context);
    let mut rows = Rows {
        columns,
        settled: &settled,
        usual,
        numbers: Numbers::new(settled.sign),
        directions: Remembered::new(),
        units: Remembered::new(),
        offsets: None,
        notes,
    };
    let mut reader = reader(text, first_row, source.delimiter);
    let mut record = StringRecord::new();
    let mut row = 0_u32;
    loop {
        let before = byte_at(first_row, reader.position());
        if !reader.read_record(&mut record).unwrap_or(false) {
            break;
        }
        if is_blank(&record) {
            continue;
        }
        let after = byte_at(first_row, reader.position());
        row = row.saturating_add(1);
        let start = skip_line_ends(bytes, before);
        source.row_starts.push(start);
        if !rows.is_whole(&record, bytes, row, start..after, source.delimiter) {
            continue;
        }
        rows.printable(&record, text, row, start, source.delimiter);
        readings.extend(rows.reading(&record, row));
    }
    readings
}

fn byte_at(first_row: usize, position: &csv::Position) -> usize {
    first_row.saturating_add(usize::try_from(position.byte()).unwrap_or(usize::MAX))
}

fn skip_line_ends(bytes: &[u8], from: usize) -> usize {
    let rest = bytes.get(from..).unwrap_or_default();
    from + rest.iter().take_while(|byte| matches!(byte, b'\n' | b'\r')).count()
}

/// The fault of a quotation mark.
pub(super) fn quote_fault(fault: QuoteFault) -> Fault {
    let message = match fault {
        QuoteFault::Open { .. } => "the quotation mark is never closed",
        QuoteFault::After { .. } => "something stands behind the closing quotation mark of the cell",
        QuoteFault::Within { .. } => "a quotation mark stands within a cell that does not begin with one",
    };
    Fault::new(
        &checks::CSV_QUOTES,
        message,
        "cells that are quoted as a whole",
        "close the mark, or put the whole cell into marks and write each mark within it twice",
    )
}

struct Rows<'a> {
    columns: &'a Columns,
    settled: &'a Settled,
    usual: Option<Direction>,
    numbers: Numbers,
    directions: Remembered<Direction>,
    units: Remembered<TorqueUnit>,
    /// whether times have offsets, as the first one says
    offsets: Option<bool>,
    notes: &'a mut Notes,
}

impl Rows<'_> {
    /// Whether quotation marks pair and every cell is there.
    fn is_whole(
        &mut self,
        record: &StringRecord,
        bytes: &[u8],
        row: u32,
        Range { start, end }: Range<usize>,
        delimiter: u8,
    ) -> bool {
        let raw = bytes.get(start..end).unwrap_or_default();
        if raw.contains(&b'"') {
            let scan = Scan::of(bytes, start, delimiter);
            if let Some(
                fault @ (QuoteFault::Open { at } | QuoteFault::After { at } | QuoteFault::Within { at }),
            ) = scan.fault
            {
                self.notes.within(row, "", (at, at + 1), "\"", quote_fault(fault));
                return false;
            }
        }
        if record.len() == self.columns.width {
            return true;
        }
        let (found, wanted) = (record.len(), self.columns.width);
        let remedy = if delimiter == b',' && found > wanted {
            "a decimal comma in a file with commas between its cells needs quotation marks, or semicolons between the cells"
        } else {
            "give every row one cell for each column, empty ones too"
        };
        let fault = Fault::new(
            &checks::CSV_FIELDS,
            format!("the row has {found} cells, the header has {wanted}"),
            format!("{wanted} cells"),
            remedy,
        );
        let line_end = raw.iter().position(|byte| matches!(byte, b'\n' | b'\r')).map_or(end, |at| start + at);
        self.notes.within(row, "", (start, line_end), &format!("{found} cells"), fault);
        false
    }

    /// Notes what stands in a text and cannot be printed.
    fn printable(&mut self, record: &StringRecord, text: &str, row: u32, start: usize, delimiter: u8) {
        for column in [Column::Position, Column::Note, Column::Trace] {
            let Some(found) = self.cell(record, column).and_then(unprintable) else { continue };
            let cell = self
                .columns
                .at(column)
                .and_then(|at| Scan::of(text.as_bytes(), start, delimiter).cells.get(at).cloned());
            let Some(cell) = cell else { continue };
            let given = self.cell(record, column).unwrap_or_default();
            if let Place::Bytes { start, end, .. } =
                found.place(Document::Readings, text, cell.start, cell.end)
            {
                self.notes.within(row, column.name(), (start, end), given, found.fault());
            }
        }
    }

    fn cell<'r>(&self, record: &'r StringRecord, column: Column) -> Option<&'r str> {
        self.columns.at(column).and_then(|at| record.get(at)).map(str::trim)
    }

    /// A row as a reading; `None` where a cell cannot be read.
    fn reading(&mut self, record: &StringRecord, row: u32) -> Option<Reading> {
        let series = self.series(record, row);
        let direction = self.direction(record, row);
        let unit = self.unit(record, row);
        let target = self.number(record, row, Column::Target, unit);
        let indicated = self.number(record, row, Column::Indicated, unit);
        let reference = self.number(record, row, Column::Reference, unit);
        let time = self.time(record, row);
        let note = self.cell(record, Column::Note).unwrap_or_default();
        let status = self.status(record, row, note);
        let loading_time = self.loading_time(record, row);
        let trace = self.cell(record, Column::Trace).filter(|file| !file.is_empty());
        Some(Reading {
            row,
            series: series?,
            position: self.cell(record, Column::Position).unwrap_or_default().to_owned(),
            direction: direction?,
            target: target?,
            indicated: indicated?,
            reference: reference?,
            time: time?,
            status: status?,
            note: note.to_owned(),
            loading_time: loading_time?,
            trace: trace.map(|file| KeptTrace { file: file.to_owned(), sha256: None }),
        })
    }

    fn series(&mut self, record: &StringRecord, row: u32) -> Option<Series> {
        let cell = self.cell(record, Column::Series)?;
        if cell.is_empty() {
            self.notes.cell(row, Column::Series.name(), "", empty("series"));
            return None;
        }
        let found = Series::parse(cell);
        if found.is_none() {
            let words: Vec<&str> = Series::ALL.iter().map(|series| series.word()).collect();
            self.word(row, Column::Series, cell, &checks::SERIES_UNKNOWN, &words);
        }
        found
    }

    fn word(
        &mut self,
        row: u32,
        column: Column,
        cell: &str,
        check: &'static leverarm_metrology::finding::Check,
        words: &[&str],
    ) {
        if let Err(fault) = one_of::<()>(cell, check, words, |_| None) {
            self.notes.cell(row, column.name(), cell, fault);
        }
    }

    fn direction(&mut self, record: &StringRecord, row: u32) -> Option<Direction> {
        match self.cell(record, Column::Direction) {
            // Without the column the header has the finding.
            None => Some(self.usual.unwrap_or(Direction::Clockwise)),
            Some("") => {
                if self.usual.is_none() {
                    let fault = direction_missing(
                        "the tool is calibrated in both directions and the row does not say which it is of",
                    );
                    self.notes.cell(row, Column::Direction.name(), "", fault);
                }
                self.usual
            }
            Some(cell) => match self.directions.read(cell, |word| Direction::parse(word).ok_or(())) {
                Ok(direction) => Some(direction),
                Err(()) => {
                    self.word(
                        row,
                        Column::Direction,
                        cell,
                        &checks::DIRECTION_UNKNOWN,
                        &["clockwise", "counter-clockwise"],
                    );
                    None
                }
            },
        }
    }

    /// The unit of the row; the outer `None` where it cannot be read, the inner where there is none.
    fn unit(&mut self, record: &StringRecord, row: u32) -> Option<Option<TorqueUnit>> {
        let cell = self.cell(record, Column::Unit).unwrap_or_default();
        if cell.is_empty() {
            return Some(None);
        }
        match self.units.read(cell, TorqueUnit::parse) {
            Ok(unit) => Some(Some(unit)),
            Err(error) => {
                self.notes.cell(row, Column::Unit.name(), cell, torque_fault(&RecordedError::Unit(error)));
                None
            }
        }
    }

    fn number(
        &mut self,
        record: &StringRecord,
        row: u32,
        column: Column,
        unit: Option<Option<TorqueUnit>>,
    ) -> Option<Recorded> {
        let cell = self.cell(record, column)?;
        // A unit that cannot be read has its finding; the digits are still looked at.
        let (known, row_unit) = match unit {
            Some(unit) => (true, unit),
            None => (false, Some(TorqueUnit::NewtonMetre)),
        };
        let fault = match self.numbers.read(cell, row_unit) {
            Ok(recorded) => return if known { Some(recorded) } else { None },
            Err(fault) => fault,
        };
        let sign_unknown =
            !self.settled.certain && matches!(fault, NumberFault::OtherSign | NumberFault::Grouping);
        if !sign_unknown {
            let explained = fault.explain(column.name(), cell, self.settled);
            self.notes.cell(row, column.name(), cell, explained);
        }
        None
    }

    /// The time; the outer `None` where it cannot be read, the inner where there is none.
    #[allow(clippy::option_option)]
    fn time(
        &mut self,
        record: &StringRecord,
        row: u32,
    ) -> Option<Option<chrono::DateTime<chrono::FixedOffset>>> {
        let cell = self.cell(record, Column::Time).unwrap_or_default();
        if cell.is_empty() {
            return Some(None);
        }
        let Some(Stamp { time, has_offset }) = time::read(cell) else {
            self.notes.cell(row, Column::Time.name(), cell, time::fault(cell));
            return None;
        };
        if *self.offsets.get_or_insert(has_offset) == has_offset {
            return Some(Some(time));
        }
        let (this, others) = if has_offset {
            ("has an offset from UTC", "have none")
        } else {
            ("has no offset from UTC", "have one")
        };
        let fault = Fault::new(
            &checks::TIME_OFFSET_MIXED,
            format!("this time {this}, those before it {others}: their order is not certain"),
            "all times with their offset, or all without",
            "write all times of the file in one way",
        );
        self.notes.cell(row, Column::Time.name(), cell, fault);
        None
    }

    /// The loading time; the outer `None` where it cannot be read, the inner where there is none.
    #[allow(clippy::option_option)]
    fn loading_time(&mut self, record: &StringRecord, row: u32) -> Option<Option<LoadingTime>> {
        let cell = self.cell(record, Column::Seconds).unwrap_or_default();
        match self.numbers.seconds(cell) {
            Ok(time) => Some(time),
            Err(fault) => {
                if self.settled.certain || !matches!(fault, NumberFault::OtherSign | NumberFault::Grouping) {
                    let explained = fault.explain(Column::Seconds.name(), cell, self.settled);
                    self.notes.cell(row, Column::Seconds.name(), cell, explained);
                }
                None
            }
        }
    }

    fn status(&mut self, record: &StringRecord, row: u32, note: &str) -> Option<Status> {
        let cell = self.cell(record, Column::Status)?;
        if cell.eq_ignore_ascii_case("ok") {
            Some(Status::Valid)
        } else if cell.eq_ignore_ascii_case("void") {
            Some(Status::Void { reason: note.to_owned() })
        } else if cell.is_empty() {
            self.notes.cell(row, Column::Status.name(), "", empty("status"));
            None
        } else {
            self.word(row, Column::Status, cell, &checks::STATUS_UNKNOWN, &["ok", "void"]);
            None
        }
    }
}
