//! Rows, files and lines as SQL. Every value is a parameter; every name is a constant of ours.

use std::fmt::Write as _;

use postgres::types::ToSql;
use postgres::{Error, Row as SqlRow};

use super::fault::Place;
use super::link::{Link, Values};
use super::schema;
use crate::bytes::{Digest, Signature};
use crate::derived::{Cell, ColumnType, Line, Table};
use crate::entry::{Head, Row};
use crate::store::{Reading, Section, StorageFault, StoreError, checked};

/// A connection and the schema it is for.
pub(super) struct Tables<'a> {
    pub link: &'a mut Link,
    pub schema: &'a str,
    pub place: &'a Place,
    /// The end of the chain as this section left it.
    pub appended: Option<Head>,
    /// Whether something went wrong here: the server then drops the whole section, whatever the
    /// work makes of the error, and says so only in passing.
    pub has_failed: bool,
}

impl<'a> Tables<'a> {
    pub fn new(link: &'a mut Link, schema: &'a str, place: &'a Place) -> Tables<'a> {
        Tables { link, schema, place, appended: None, has_failed: false }
    }

    fn noted<T>(&mut self, outcome: Result<T, Error>) -> Result<T, StoreError> {
        self.has_failed |= outcome.is_err();
        outcome.map_err(|error| self.place.error(&error))
    }

    fn query(&mut self, sql: &str, values: Values<'_>) -> Result<Vec<SqlRow>, StoreError> {
        let rows = self.link.query(sql, values);
        self.noted(rows)
    }

    fn execute(&mut self, sql: &str, values: Values<'_>) -> Result<(), StoreError> {
        let count = self.link.execute(sql, values);
        self.noted(count).map(drop)
    }

    pub fn batch(&mut self, sql: &str) -> Result<(), StoreError> {
        let done = self.link.batch(sql);
        self.noted(done)
    }

    fn named(&self, what: &str, bytes: &[u8]) -> StoreError {
        self.place.damaged(format!("{what} has {} bytes", bytes.len()))
    }

    fn read_row(&self, row: &SqlRow) -> Result<Row, StoreError> {
        let get = |index| row.try_get::<_, Vec<u8>>(index).map_err(|error| self.place.error(&error));
        let sequence = row.try_get::<_, i64>(0).map_err(|error| self.place.error(&error))?;
        let sequence = u64::try_from(sequence)
            .map_err(|_| self.place.damaged(format!("an entry has number {sequence}")))?;
        let (body, hash, signature) = (get(1)?, get(2)?, get(3)?);
        let hash = Digest::from_slice(&hash).ok_or_else(|| self.named("a hash", &hash))?;
        let signature =
            Signature::from_slice(&signature).ok_or_else(|| self.named("a signature", &signature))?;
        Ok(Row { sequence, body, hash, signature })
    }
}

/// A number for SQL, which knows only signed ones.
fn signed(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

fn columns(table: Table) -> String {
    table.columns().iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ")
}

fn key(table: Table) -> String {
    let key = table.columns().iter().take(table.key_columns());
    key.map(|(name, _)| *name).collect::<Vec<_>>().join(", ")
}

/// Puts a line in the place of the one with the same key.
fn upsert(table: Table) -> String {
    let (mut marks, mut sets) = (String::new(), String::new());
    for (index, (name, _)) in table.columns().iter().enumerate() {
        let comma = if index == 0 { "" } else { ", " };
        // Writing to a string does not fail.
        let _ = write!(marks, "{comma}${}", index + 1);
        if index >= table.key_columns() {
            let comma = if index == table.key_columns() { "" } else { ", " };
            let _ = write!(sets, "{comma}{name} = excluded.{name}");
        }
    }
    let (name, columns, key) = (table.name(), columns(table), key(table));
    format!("INSERT INTO {name} ({columns}) VALUES ({marks}) ON CONFLICT ({key}) DO UPDATE SET {sets}")
}

fn value(cell: &Cell, of: ColumnType) -> Box<dyn ToSql + Sync + '_> {
    match (cell, of) {
        (Cell::Integer(value), _) => Box::new(*value),
        (Cell::Text(value), _) => Box::new(value.as_str()),
        (Cell::Null, ColumnType::Integer) => Box::new(None::<i64>),
        (Cell::Null, ColumnType::Text) => Box::new(None::<&str>),
    }
}

fn cell(row: &SqlRow, index: usize, of: ColumnType) -> Result<Cell, Error> {
    Ok(match of {
        ColumnType::Integer => row.try_get::<_, Option<i64>>(index)?.map_or(Cell::Null, Cell::Integer),
        ColumnType::Text => row.try_get::<_, Option<String>>(index)?.map_or(Cell::Null, Cell::Text),
    })
}

impl Reading for Tables<'_> {
    fn head(&mut self) -> Result<Head, StoreError> {
        let sql = "SELECT sequence, body, hash, signature FROM entry ORDER BY sequence DESC LIMIT 1";
        let rows = self.query(sql, &[])?;
        rows.first().map_or(Ok(Head::NONE), |row| Ok(self.read_row(row)?.head()))
    }

    fn rows(&mut self, from: u64, most: usize) -> Result<Vec<Row>, StoreError> {
        let sql = "SELECT sequence, body, hash, signature FROM entry WHERE sequence >= $1 ORDER BY sequence LIMIT $2";
        let rows = self.query(sql, &[&signed(from), &signed(most as u64)])?;
        rows.iter().map(|row| self.read_row(row)).collect()
    }

    fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError> {
        let rows = self.query("SELECT bytes FROM file WHERE digest = $1", &[&&digest.as_bytes()[..]])?;
        let bytes = rows.first().map(|row| row.try_get(0)).transpose();
        bytes.map_err(|error| self.place.error(&error))?.map(|bytes| checked(digest, bytes)).transpose()
    }

    fn has_file(&mut self, digest: &Digest) -> Result<bool, StoreError> {
        Ok(!self.query("SELECT 1 FROM file WHERE digest = $1", &[&&digest.as_bytes()[..]])?.is_empty())
    }

    fn files(&mut self, skip: u64, most: usize) -> Result<Vec<Digest>, StoreError> {
        // The numbers of files have no gap: the triggers see to it.
        let sql = "SELECT digest FROM file WHERE number > $1 ORDER BY number LIMIT $2";
        let rows = self.query(sql, &[&signed(skip), &signed(most as u64)])?;
        let read = |row: &SqlRow| {
            let bytes: Vec<u8> = row.try_get(0).map_err(|error| self.place.error(&error))?;
            Digest::from_slice(&bytes).ok_or_else(|| self.named("a file's name", &bytes))
        };
        rows.iter().map(read).collect()
    }

    fn lines(&mut self, table: Table) -> Result<Vec<Line>, StoreError> {
        let sql = format!("SELECT {} FROM {} ORDER BY {}", columns(table), table.name(), key(table));
        let rows = self.query(&sql, &[])?;
        let read = |row: &SqlRow| {
            let of = table.columns().iter().enumerate();
            let cells: Result<_, Error> = of.map(|(index, (_, of))| cell(row, index, *of)).collect();
            Ok(Line { table, cells: cells.map_err(|error| self.place.error(&error))? })
        };
        rows.iter().map(read).collect()
    }

    /// Tables and triggers; whether the server writes to the disk what it says it wrote; whether
    /// numbers are gapless by counting, without the help of an index. Damaged pages are found by the
    /// server itself where the cluster has checksums, and by `pg_amcheck`.
    fn faults(&mut self) -> Result<Vec<StorageFault>, StoreError> {
        let mut faults = Vec::new();
        let mut fault = |place: &str, what: String| faults.push(StorageFault { place: place.into(), what });
        let found = schema::objects(self.link, self.schema);
        let found = self.noted(found)?;
        let wanted = schema::objects_of(schema::VERSION).unwrap_or_default();
        if let Some(what) = schema::difference(&found, wanted) {
            fault("tables and triggers", what);
        }
        for name in ["fsync", "full_page_writes", "synchronous_commit"] {
            let set = self.link.one::<String>("SELECT current_setting($1)", &[&name]);
            if self.noted(set)? == "off" {
                fault("the server", format!("{name} is off: what it has written is not safe on its disk"));
            }
        }
        for (table, number) in [("entry", "sequence"), ("file", "number")] {
            let sql = format!("SELECT count(*) = coalesce(max({number}), 0) FROM {table}");
            let is_whole = self.link.one::<bool>(&sql, &[]);
            if !self.noted(is_whole)? {
                fault(table, format!("{number} has gaps"));
            }
        }
        Ok(faults)
    }
}

impl Section for Tables<'_> {
    fn append(&mut self, row: &Row) -> Result<(), StoreError> {
        let last = match self.appended {
            Some(head) => head.sequence,
            None => {
                let last = self.link.one::<i64>("SELECT coalesce(max(sequence), 0) FROM entry", &[]);
                u64::try_from(self.noted(last)?).unwrap_or(0)
            }
        };
        if row.sequence != last + 1 {
            self.has_failed = true;
            return Err(StoreError::NotNext { given: row.sequence, last });
        }
        let sql = "INSERT INTO entry (sequence, body, hash, signature) VALUES ($1, $2, $3, $4)";
        let (hash, signature) = (&row.hash.as_bytes()[..], &row.signature.as_bytes()[..]);
        self.execute(sql, &[&signed(row.sequence), &row.body, &hash, &signature])?;
        self.appended = Some(row.head());
        Ok(())
    }

    fn put(&mut self, digest: &Digest, bytes: &[u8]) -> Result<(), StoreError> {
        if self.has_file(digest)? {
            return Ok(());
        }
        let sql =
            "INSERT INTO file (number, digest, bytes) SELECT coalesce(max(number), 0) + 1, $1, $2 FROM file";
        self.execute(sql, &[&&digest.as_bytes()[..], &bytes])
    }

    fn derive(&mut self, lines: &[Line]) -> Result<(), StoreError> {
        for line in lines {
            let of = line.table.columns();
            let values: Vec<_> = line.cells.iter().zip(of).map(|(cell, (_, of))| value(cell, *of)).collect();
            let values: Vec<&(dyn ToSql + Sync)> = values.iter().map(Box::as_ref).collect();
            self.execute(&upsert(line.table), &values)?;
        }
        Ok(())
    }

    fn clear_derived(&mut self) -> Result<(), StoreError> {
        for table in Table::ALL {
            self.execute(&format!("DELETE FROM {}", table.name()), &[])?;
        }
        Ok(())
    }
}
