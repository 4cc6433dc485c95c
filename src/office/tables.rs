//! The record as tables for other programs: every entry, and the derived tables, as CSV, JSON and
//! Parquet. The entries' canonical bytes stand in full, so that hash and signature can be checked
//! without this program.

use std::sync::Arc;

use leverarm_ledger::derived::{Cell, ColumnType, Line, Table};
use leverarm_ledger::entry::{Body, EntryError, Row};
use leverarm_ledger::store::{Reading, StoreError};
use parquet::basic::{LogicalType, Repetition, Type as Physical};
use parquet::column::writer::ColumnWriter;
use parquet::data_type::ByteArray;
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;
use serde_json::{Map, Value};
use thiserror::Error;

/// So many entries are read at a time.
const BATCH: usize = 5_000;
/// So many rows make a row group of a Parquet file.
const GROUP: usize = 100_000;

/// A table with its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// its name, which is that of the file too
    pub name: &'static str,
    /// name and type of each column
    pub columns: Vec<(&'static str, ColumnType)>,
    /// one cell a column
    pub rows: Vec<Vec<Cell>>,
}

/// Why there is no table.
#[derive(Debug, Error)]
pub enum TablesError {
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// An entry cannot be read.
    #[error("entry {sequence}: {error}")]
    Entry {
        /// which
        sequence: u64,
        /// why
        #[source]
        error: EntryError,
    },
    /// CSV cannot be written.
    #[error("CSV cannot be made: {0}")]
    Csv(String),
    /// JSON cannot be written.
    #[error("JSON cannot be made: {0}")]
    Json(#[from] serde_json::Error),
    /// Parquet cannot be written.
    #[error("Parquet cannot be made: {0}")]
    Parquet(#[from] ParquetError),
}

use ColumnType::{Integer, Text};

/// Every entry, and every derived table.
///
/// # Errors
/// [`TablesError::Store`], [`TablesError::Entry`].
pub fn sheets(reading: &mut dyn Reading) -> Result<Vec<Sheet>, TablesError> {
    let mut sheets = vec![entries(reading)?];
    for table in Table::ALL {
        let lines: Vec<Line> = reading.lines(table)?;
        let rows = lines.into_iter().map(|line| line.cells).collect();
        sheets.push(Sheet { name: table.name(), columns: table.columns().to_vec(), rows });
    }
    Ok(sheets)
}

fn entries(reading: &mut dyn Reading) -> Result<Sheet, TablesError> {
    let columns = vec![
        ("sequence", Integer),
        ("time", Text),
        ("author", Text),
        ("kind", Text),
        ("hash", Text),
        ("signature", Text),
        ("body", Text),
    ];
    let mut rows = Vec::new();
    let mut from = 1;
    loop {
        let batch = reading.rows(from, BATCH)?;
        let Some(last) = batch.last() else { return Ok(Sheet { name: "entries", columns, rows }) };
        from = last.sequence + 1;
        for row in &batch {
            rows.push(entry(row)?);
        }
    }
}

fn entry(row: &Row) -> Result<Vec<Cell>, TablesError> {
    let body = Body::read(&row.body).map_err(|error| TablesError::Entry { sequence: row.sequence, error })?;
    Ok(vec![
        Cell::Integer(i64::try_from(row.sequence).unwrap_or(i64::MAX)),
        Cell::Text(body.time.to_rfc3339()),
        Cell::Text(body.author.to_string()),
        Cell::Text(body.event.kind().to_owned()),
        Cell::Text(row.hash.to_string()),
        Cell::Text(row.signature.to_string()),
        Cell::Text(String::from_utf8_lossy(&row.body).into_owned()),
    ])
}

impl Sheet {
    /// As CSV (RFC 4180) with a header; nothing stands where there is nothing.
    ///
    /// # Errors
    /// [`TablesError::Csv`], which cannot happen in memory.
    pub fn csv(&self) -> Result<Vec<u8>, TablesError> {
        let fail = |error: &dyn std::fmt::Display| TablesError::Csv(error.to_string());
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(self.columns.iter().map(|(name, _)| name)).map_err(|error| fail(&error))?;
        for row in &self.rows {
            let cells = row.iter().map(|cell| match cell {
                Cell::Null => String::new(),
                Cell::Integer(number) => number.to_string(),
                Cell::Text(text) => text.clone(),
            });
            writer.write_record(cells).map_err(|error| fail(&error))?;
        }
        writer.into_inner().map_err(|error| fail(&error))
    }

    /// As a JSON array of objects; the body of an entry is an object of its own.
    ///
    /// # Errors
    /// [`TablesError::Json`].
    pub fn json(&self) -> Result<Vec<u8>, TablesError> {
        let mut list = Vec::with_capacity(self.rows.len());
        for row in &self.rows {
            let mut object = Map::new();
            for ((name, _), cell) in self.columns.iter().zip(row) {
                let value = match cell {
                    Cell::Null => Value::Null,
                    Cell::Integer(number) => (*number).into(),
                    Cell::Text(text) if *name == "body" => serde_json::from_str(text)?,
                    Cell::Text(text) => text.as_str().into(),
                };
                object.insert((*name).to_owned(), value);
            }
            list.push(Value::Object(object));
        }
        let mut bytes = serde_json::to_vec_pretty(&list)?;
        bytes.push(b'\n');
        Ok(bytes)
    }

    /// As a Parquet file: text as UTF-8, whole numbers as 64-bit, every column may be empty.
    ///
    /// # Errors
    /// [`TablesError::Parquet`].
    pub fn parquet(&self) -> Result<Vec<u8>, TablesError> {
        let mut fields = Vec::new();
        for (name, kind) in &self.columns {
            let (physical, logical) = match kind {
                Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
                Integer => (Physical::INT64, None),
            };
            let field = Type::primitive_type_builder(name, physical)
                .with_repetition(Repetition::OPTIONAL)
                .with_logical_type(logical)
                .build()?;
            fields.push(Arc::new(field));
        }
        let schema = Arc::new(Type::group_type_builder(self.name).with_fields(fields).build()?);
        let mut bytes = Vec::new();
        let mut writer =
            SerializedFileWriter::new(&mut bytes, schema, Arc::new(WriterProperties::builder().build()))?;
        for rows in self.rows.chunks(GROUP) {
            let mut group = writer.next_row_group()?;
            let mut index = 0;
            while let Some(mut column) = group.next_column()? {
                let cells: Vec<&Cell> = rows.iter().filter_map(|row| row.get(index)).collect();
                let levels: Vec<i16> = cells.iter().map(|cell| i16::from(**cell != Cell::Null)).collect();
                match column.untyped() {
                    ColumnWriter::Int64ColumnWriter(typed) => {
                        let number = |cell: &&Cell| if let Cell::Integer(n) = cell { Some(*n) } else { None };
                        let values: Vec<i64> = cells.iter().filter_map(number).collect();
                        typed.write_batch(&values, Some(&levels), None)?;
                    }
                    ColumnWriter::ByteArrayColumnWriter(typed) => {
                        let text = |cell: &&Cell| {
                            if let Cell::Text(text) = cell {
                                Some(ByteArray::from(text.as_str()))
                            } else {
                                None
                            }
                        };
                        let values: Vec<ByteArray> = cells.iter().filter_map(text).collect();
                        typed.write_batch(&values, Some(&levels), None)?;
                    }
                    _ => return Err(ParquetError::General("a column of another type".to_owned()).into()),
                }
                column.close()?;
                index += 1;
            }
            group.close()?;
        }
        writer.close()?;
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use parquet::file::reader::{FileReader, SerializedFileReader};
    use parquet::record::RowAccessor;

    use super::*;

    fn sheet() -> Sheet {
        Sheet {
            name: "jobs",
            columns: vec![("id", Text), ("runs", Integer), ("verdict", Text)],
            rows: vec![
                vec![Cell::Text("J,\"1\"".into()), Cell::Integer(2), Cell::Null],
                vec![Cell::Text("Jø'; DROP TABLE".into()), Cell::Integer(-1), Cell::Text("conforms".into())],
            ],
        }
    }

    #[test]
    fn csv_quotes_what_must_be_quoted() {
        let csv = String::from_utf8(sheet().csv().unwrap()).unwrap();
        assert_eq!(csv, "id,runs,verdict\n\"J,\"\"1\"\"\",2,\nJø'; DROP TABLE,-1,conforms\n");
    }

    #[test]
    fn a_parquet_file_gives_back_what_was_written() {
        let mut file = tempfile::tempfile().unwrap();
        std::io::Write::write_all(&mut file, &sheet().parquet().unwrap()).unwrap();
        let reader = SerializedFileReader::new(file).unwrap();
        let rows: Vec<_> = reader.get_row_iter(None).unwrap().map(Result::unwrap).collect();
        assert_eq!(rows.len(), 2);
        assert_eq!(rows[0].get_string(0).unwrap(), "J,\"1\"");
        assert!(rows[0].get_string(2).is_err());
        assert_eq!(rows[1].get_long(1).unwrap(), -1);
        assert_eq!(rows[1].get_string(2).unwrap(), "conforms");
    }
}
