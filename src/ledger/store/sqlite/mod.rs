//! A ledger in one file: SQLite with a write-ahead log, every commit synced.
//!
//! One writer at a time holds `BEGIN IMMEDIATE`; the others wait. Triggers refuse to change or delete
//! an entry or a file, and to add one out of order. That keeps honest programs honest; against the
//! others there are the chain and the signatures.
//!
//! Which bytes of the file can change without anyone noticing: unused space within the pages of
//! large indexes and inner nodes, where SQLite leaves what it likes, and the counters of its header. Nothing is read from either; `tests/ledger/bytes.rs` changes bytes at random and shows it.
//! Of a backup, with its SHA-256 beside it, every byte is held.

mod backup;
mod fault;
mod pages;
mod schema;
mod tables;

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use self::fault::{Place, WAIT_S};
use self::tables::Tables;
use super::{Reading, StorageFault, Store, StoreError, Work};
use crate::bytes::Digest;
use crate::derived::{Line, Table};
use crate::entry::{Head, Row};
use crate::error::LedgerError;

pub use backup::restore;
pub use schema::VERSION;

/// A ledger in one file.
#[derive(Debug)]
pub struct SqliteStore {
    connection: Connection,
    place: Place,
}

impl SqliteStore {
    /// Makes an empty ledger file.
    ///
    /// # Errors
    /// [`StoreError::Exists`] where there is a file of that name.
    pub fn create(path: &Path) -> Result<SqliteStore, StoreError> {
        let place = Place::of(path);
        // Made by the file system, so that of two who make it at once only one succeeds.
        match std::fs::File::create_new(path) {
            Ok(_) => {}
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
                return Err(StoreError::Exists { place: place.shown() });
            }
            Err(error) => return Err(place.io(&error)),
        }
        let connection = connect(path, &place)?;
        let make = || -> rusqlite::Result<()> {
            connection.pragma_update(None, "page_size", 4096)?;
            connection.pragma_update(None, "journal_mode", "WAL")
        };
        make().map_err(|error| place.error(error))?;
        let transaction = connection.unchecked_transaction().map_err(|error| place.error(error))?;
        schema::create(&transaction, &place)?;
        transaction.commit().map_err(|error| place.error(error))?;
        Ok(SqliteStore { connection, place })
    }

    /// Opens a ledger file and leads it to the present version where it is of an earlier one. Its
    /// structure is checked by SQLite; entries and files are checked as they are read.
    ///
    /// # Errors
    /// [`StoreError::NotALedger`], [`StoreError::NewerVersion`], [`StoreError::Damaged`].
    pub fn open(path: &Path) -> Result<SqliteStore, LedgerError> {
        let place = Place::of(path);
        let mut store = SqliteStore { connection: connect(path, &place)?, place };
        let version = store.check()?;
        if version < VERSION {
            store.migrate(version)?;
        }
        Ok(store)
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &PathBuf {
        &self.place.0
    }

    fn tables(&self) -> Tables<'_> {
        Tables { connection: &self.connection, place: &self.place }
    }

    /// The version of a file that is a ledger and whole.
    fn check(&self) -> Result<i64, StoreError> {
        let Self { connection, place } = self;
        let fail = |error| place.error(error);
        if schema::pragma(connection, "application_id").map_err(fail)? != schema::APPLICATION {
            return Err(place.not_a_ledger("it is the database of another program"));
        }
        let found = schema::pragma(connection, "user_version").map_err(fail)?;
        if found > VERSION {
            return Err(StoreError::NewerVersion { place: place.shown(), found, known: VERSION });
        }
        if found < 1 {
            return Err(place.damaged(format!("it says that its version is {found}")));
        }
        let mode: String =
            connection.pragma_query_value(None, "journal_mode", |row| row.get(0)).map_err(fail)?;
        if !mode.eq_ignore_ascii_case("wal") {
            return Err(place.damaged(format!("its journal is '{mode}' where the ledger writes 'wal'")));
        }
        if schema::objects(connection).map_err(fail)? != schema::objects_of(found).map_err(fail)? {
            return Err(place.damaged("its tables and triggers are not those of a ledger"));
        }
        let said: String =
            connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0)).map_err(fail)?;
        if said == "ok" { Ok(found) } else { Err(place.damaged(said)) }
    }

    fn migrate(&mut self, from: i64) -> Result<(), LedgerError> {
        let place = self.place.clone();
        let transaction = self.begin()?;
        // Another process may have been faster.
        let found = schema::pragma(&transaction, "user_version").map_err(|error| place.error(error))?;
        if found == from {
            let mut tables = Tables { connection: &transaction, place: &place };
            schema::migrate(&transaction, &mut tables, from, &place)?;
        }
        transaction.commit().map_err(|error| place.error(error))?;
        self.check()?;
        Ok(())
    }

    fn begin(&mut self) -> Result<Transaction<'_>, StoreError> {
        let place = &self.place;
        self.connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(|error| place.error(error))
    }
}

fn connect(path: &Path, place: &Place) -> Result<Connection, StoreError> {
    if !path.is_file() {
        let reason = "there is no such file".to_owned();
        return Err(StoreError::NotALedger { place: place.shown(), reason });
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connect = || -> rusqlite::Result<Connection> {
        let connection = Connection::open_with_flags(path, flags)?;
        connection.busy_timeout(Duration::from_secs(WAIT_S))?;
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
        connection.pragma_update(None, "cell_size_check", true)?;
        connection.pragma_update(None, "foreign_keys", true)?;
        connection.pragma_update(None, "secure_delete", true)?;
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.set_prepared_statement_cache_capacity(32);
        Ok(connection)
    };
    connect().map_err(|error| place.error(error))
}

impl Reading for SqliteStore {
    fn head(&mut self) -> Result<Head, StoreError> {
        self.tables().head()
    }

    fn rows(&mut self, from: u64, most: usize) -> Result<Vec<Row>, StoreError> {
        self.tables().rows(from, most)
    }

    fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.tables().file(digest)
    }

    fn has_file(&mut self, digest: &Digest) -> Result<bool, StoreError> {
        self.tables().has_file(digest)
    }

    fn files(&mut self, skip: u64, most: usize) -> Result<Vec<Digest>, StoreError> {
        self.tables().files(skip, most)
    }

    fn lines(&mut self, table: Table) -> Result<Vec<Line>, StoreError> {
        self.tables().lines(table)
    }

    fn faults(&mut self) -> Result<Vec<StorageFault>, StoreError> {
        self.tables().faults()
    }
}

impl Store for SqliteStore {
    fn exclusive(&mut self, work: &mut Work<'_>) -> Result<(), LedgerError> {
        let place = self.place.clone();
        let transaction = self.begin()?;
        // Dropped on the way out of an error, it rolls back.
        work(&mut Tables { connection: &transaction, place: &place })?;
        transaction.commit().map_err(|error| place.error(error))?;
        Ok(())
    }
}
