//! Rows, files and lines as SQL. Every value is a parameter; every name is a constant of ours.

use std::fmt::Write as _;

use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, Row as SqlRow, params, params_from_iter};

use super::fault::Place;
use super::{pages, schema};
use crate::bytes::{Digest, Signature};
use crate::derived::{Cell, Line, Table};
use crate::entry::{Head, Row};
use crate::store::{Reading, Section, StorageFault, StoreError, checked};

/// A connection and the file it is for.
pub(super) struct Tables<'a> {
    pub connection: &'a Connection,
    pub place: &'a Place,
}

impl Tables<'_> {
    fn named(&self, what: &str, bytes: &[u8]) -> StoreError {
        self.place.damaged(format!("{what} has {} bytes", bytes.len()))
    }

    fn read_row(&self, row: &SqlRow<'_>) -> Result<Row, StoreError> {
        let get = |index| row.get::<_, Vec<u8>>(index).map_err(|error| self.place.error(error));
        let sequence = row.get::<_, i64>(0).map_err(|error| self.place.error(error))?;
        let sequence = u64::try_from(sequence)
            .map_err(|_| self.place.damaged(format!("an entry has number {sequence}")))?;
        let (body, hash, signature) = (get(1)?, get(2)?, get(3)?);
        let hash = Digest::from_slice(&hash).ok_or_else(|| self.named("a hash", &hash))?;
        let signature =
            Signature::from_slice(&signature).ok_or_else(|| self.named("a signature", &signature))?;
        Ok(Row { sequence, body, hash, signature })
    }

    fn rows_of(&self, sql: &str, parameters: impl rusqlite::Params) -> Result<Vec<Row>, StoreError> {
        let fail = |error| self.place.error(error);
        let mut statement = self.connection.prepare_cached(sql).map_err(fail)?;
        let mut rows = statement.query(parameters).map_err(fail)?;
        let mut read = Vec::new();
        while let Some(row) = rows.next().map_err(fail)? {
            read.push(self.read_row(row)?);
        }
        Ok(read)
    }
}

/// A number for SQL, which knows only signed ones.
fn signed(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

impl Reading for Tables<'_> {
    fn head(&mut self) -> Result<Head, StoreError> {
        let sql = "SELECT sequence, body, hash, signature FROM entry ORDER BY sequence DESC LIMIT 1";
        Ok(self.rows_of(sql, [])?.first().map_or(Head::NONE, Row::head))
    }

    fn rows(&mut self, from: u64, most: usize) -> Result<Vec<Row>, StoreError> {
        let sql = "SELECT sequence, body, hash, signature FROM entry WHERE sequence >= ?1 ORDER BY sequence LIMIT ?2";
        self.rows_of(sql, params![signed(from), signed(most as u64)])
    }

    fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError> {
        let fail = |error| self.place.error(error);
        let mut statement =
            self.connection.prepare_cached("SELECT bytes FROM file WHERE digest = ?1").map_err(fail)?;
        let bytes = statement.query_row(params![digest.as_bytes()], |row| row.get::<_, Vec<u8>>(0));
        bytes.optional().map_err(fail)?.map(|bytes| checked(digest, bytes)).transpose()
    }

    fn has_file(&mut self, digest: &Digest) -> Result<bool, StoreError> {
        let fail = |error| self.place.error(error);
        let sql = "SELECT 1 FROM file WHERE digest = ?1";
        let mut statement = self.connection.prepare_cached(sql).map_err(fail)?;
        statement.exists(params![digest.as_bytes()]).map_err(fail)
    }

    fn files(&mut self, skip: u64, most: usize) -> Result<Vec<Digest>, StoreError> {
        let fail = |error| self.place.error(error);
        // The numbers of files have no gap: the triggers see to it.
        let sql = "SELECT digest FROM file WHERE number > ?1 ORDER BY number LIMIT ?2";
        let mut statement = self.connection.prepare_cached(sql).map_err(fail)?;
        let mut rows = statement.query(params![signed(skip), signed(most as u64)]).map_err(fail)?;
        let mut digests = Vec::new();
        while let Some(row) = rows.next().map_err(fail)? {
            let bytes: Vec<u8> = row.get(0).map_err(fail)?;
            digests.push(Digest::from_slice(&bytes).ok_or_else(|| self.named("a file's name", &bytes))?);
        }
        Ok(digests)
    }

    fn lines(&mut self, table: Table) -> Result<Vec<Line>, StoreError> {
        let fail = |error| self.place.error(error);
        let key: Vec<_> = table.columns().iter().take(table.key_columns()).map(|(name, _)| *name).collect();
        let sql = format!("SELECT {} FROM {} ORDER BY {}", columns(table), table.name(), key.join(", "));
        let mut statement = self.connection.prepare_cached(&sql).map_err(fail)?;
        let mut rows = statement.query([]).map_err(fail)?;
        let mut lines = Vec::new();
        while let Some(row) = rows.next().map_err(fail)? {
            let mut cells = Vec::with_capacity(table.columns().len());
            for index in 0..table.columns().len() {
                cells.push(match row.get(index).map_err(fail)? {
                    Value::Null => Cell::Null,
                    Value::Integer(value) => Cell::Integer(value),
                    Value::Text(value) => Cell::Text(value),
                    other => return Err(self.place.damaged(format!("a line holds {other:?}"))),
                });
            }
            lines.push(Line { table, cells });
        }
        Ok(lines)
    }

    fn faults(&mut self) -> Result<Vec<StorageFault>, StoreError> {
        let fail = |error| self.place.error(error);
        let mut faults = integrity(self.connection).map_err(fail)?;
        let wanted = schema::objects_of(schema::VERSION).map_err(fail)?;
        if schema::objects(self.connection).map_err(fail)? != wanted {
            let what = "they are not those of this version".into();
            faults.push(StorageFault { place: "tables and triggers".into(), what });
        }
        faults.extend(pages::faults(self.connection, self.place)?);
        Ok(faults)
    }
}

fn integrity(connection: &Connection) -> rusqlite::Result<Vec<StorageFault>> {
    let mut statement = connection.prepare("PRAGMA integrity_check(20)")?;
    let said: Vec<String> = statement.query_map([], |row| row.get(0))?.collect::<rusqlite::Result<_>>()?;
    let bad = said.into_iter().filter(|line| line != "ok");
    Ok(bad.map(|what| StorageFault { place: "the file's structure".into(), what }).collect())
}

fn columns(table: Table) -> String {
    table.columns().iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ")
}

impl Section for Tables<'_> {
    fn append(&mut self, row: &Row) -> Result<(), StoreError> {
        let fail = |error| self.place.error(error);
        let last: i64 = self
            .connection
            .prepare_cached("SELECT coalesce(max(sequence), 0) FROM entry")
            .and_then(|mut statement| statement.query_row([], |row| row.get(0)))
            .map_err(fail)?;
        let last = u64::try_from(last).unwrap_or(0);
        if row.sequence != last + 1 {
            return Err(StoreError::NotNext { given: row.sequence, last });
        }
        let sql = "INSERT INTO entry (sequence, body, hash, signature) VALUES (?1, ?2, ?3, ?4)";
        let Row { sequence, body, hash, signature } = row;
        self.connection
            .prepare_cached(sql)
            .and_then(|mut statement| {
                statement.execute(params![signed(*sequence), body, hash.as_bytes(), signature.as_bytes()])
            })
            .map(drop)
            .map_err(fail)
    }

    fn put(&mut self, digest: &Digest, bytes: &[u8]) -> Result<(), StoreError> {
        if self.has_file(digest)? {
            return Ok(());
        }
        let sql =
            "INSERT INTO file (number, digest, bytes) SELECT coalesce(max(number), 0) + 1, ?1, ?2 FROM file";
        self.connection
            .prepare_cached(sql)
            .and_then(|mut statement| statement.execute(params![digest.as_bytes(), bytes]))
            .map(drop)
            .map_err(|error| self.place.error(error))
    }

    fn derive(&mut self, lines: &[Line]) -> Result<(), StoreError> {
        for line in lines {
            let mut marks = String::new();
            for index in 1..=line.table.columns().len() {
                let comma = if index == 1 { "" } else { ", " };
                // Writing to a string does not fail.
                let _ = write!(marks, "{comma}?{index}");
            }
            let (name, columns) = (line.table.name(), columns(line.table));
            let sql = format!("INSERT OR REPLACE INTO {name} ({columns}) VALUES ({marks})");
            let values = line.cells.iter().map(|cell| match cell {
                Cell::Null => Value::Null,
                Cell::Integer(value) => Value::Integer(*value),
                Cell::Text(value) => Value::Text(value.clone()),
            });
            self.connection
                .prepare_cached(&sql)
                .and_then(|mut statement| statement.execute(params_from_iter(values)))
                .map_err(|error| self.place.error(error))?;
        }
        Ok(())
    }

    fn clear_derived(&mut self) -> Result<(), StoreError> {
        for table in Table::ALL {
            let sql = format!("DELETE FROM {}", table.name());
            self.connection.execute(&sql, []).map_err(|error| self.place.error(error))?;
        }
        Ok(())
    }
}
