//! A ledger in a schema of a PostgreSQL database, for a house of many benches.
//!
//! One writer at a time holds the lock on the table `writing`; the others wait, readers do not. Triggers
//! refuse to change, delete or truncate an entry or a file, and to add one out of order; a role that is
//! admitted ([`PostgresStore::admit`]) and does not own the schema cannot take them away. Against the
//! owner there are the chain and the signatures.
//!
//! A connection that is lost outside of a section is made anew. One that is lost within takes the
//! section with it; where that happens at its commit, the head of the chain is read, under the lock, and
//! says whether it was written: nothing is ever done twice, or said to be done when it is not.
//!
//! The calls wait for the server. From asynchronous code they are made on a thread of their own.
//!
//! A backup is a copy into a file ([`crate::store::copy_ledger`]), which has its SHA-256 beside it; it is
//! restored by a copy back. `pg_dump` and the server's own ways serve as well, and know nothing of the chain.

mod fault;
mod link;
mod password;
mod schema;
mod server;
mod tables;

use std::fmt;
use std::time::Instant;

use postgres::error::SqlState;

use self::fault::Place;
use self::link::Link;
use self::tables::Tables;
use super::{Reading, StorageFault, Store, StoreError, Work};
use crate::bytes::Digest;
use crate::derived::{Line, Table};
use crate::entry::{Head, Row};
use crate::error::LedgerError;

pub use schema::VERSION;
pub use server::Server;

/// Opens a section: rows that others have committed before the lock was had are seen by what follows.
const BEGIN: &str = "BEGIN ISOLATION LEVEL READ COMMITTED READ WRITE; LOCK TABLE writing IN EXCLUSIVE MODE";

/// A ledger on a PostgreSQL server.
pub struct PostgresStore {
    link: Link,
    server: Server,
    place: Place,
    /// The last entry that this store has seen: a server that comes back must still have it.
    seen: Option<Head>,
}

impl fmt::Debug for PostgresStore {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("PostgresStore").field("server", &self.server).field("seen", &self.seen).finish()
    }
}

impl PostgresStore {
    /// Makes an empty ledger in a schema that does not exist, or has nothing in it.
    ///
    /// # Errors
    /// [`StoreError::Exists`] where there is something in it; [`StoreError`].
    pub fn create(server: &Server) -> Result<PostgresStore, StoreError> {
        let place = server.place();
        let fail = |error| place.error(&error);
        let mut link = Link::open(server).map_err(fail)?;
        link.batch("BEGIN").map_err(fail)?;
        let sql = "SELECT count(*) FROM pg_catalog.pg_namespace WHERE nspname = $1::text";
        let is_there = link.one::<i64>(sql, &[&server.schema()]).map_err(fail)? > 0;
        if is_there && !schema::objects(&mut link, server.schema()).map_err(fail)?.is_empty() {
            return Err(StoreError::Exists { place: place.shown() });
        }
        if !is_there {
            // Two who make it at once: the second one waits for the first, and is told that it exists.
            link.batch(&format!("CREATE SCHEMA {}", server.quoted_schema())).map_err(|error| {
                let twice = [SqlState::DUPLICATE_SCHEMA, SqlState::UNIQUE_VIOLATION];
                match error.code() {
                    Some(code) if twice.contains(code) => StoreError::Exists { place: place.shown() },
                    _ => place.error(&error),
                }
            })?;
        }
        schema::create(&mut link, &place)?;
        link.batch("COMMIT").map_err(fail)?;
        schema::check(&mut link, server.schema(), &place)?;
        Ok(PostgresStore { link, server: server.clone(), place, seen: None })
    }

    /// Opens a ledger and leads it to the present version where it is of an earlier one. Tables and
    /// triggers are held against those of a ledger; entries and files are checked as they are read.
    ///
    /// # Errors
    /// [`StoreError::NotALedger`], [`StoreError::NewerVersion`], [`StoreError::Damaged`].
    pub fn open(server: &Server) -> Result<PostgresStore, LedgerError> {
        let place = server.place();
        let link = Link::open(server).map_err(|error| place.error(&error))?;
        let mut store = PostgresStore { link, server: server.clone(), place, seen: None };
        if store.version()? < VERSION {
            store.migrate()?;
        }
        Ok(store)
    }

    /// Where it is.
    #[must_use]
    pub fn server(&self) -> &Server {
        &self.server
    }

    /// Lets a role of the server read and write the ledger; not change it, delete from it, or take a
    /// trigger away. To be called by the owner of the schema.
    ///
    /// # Errors
    /// [`StoreError::Failed`] where there is no such role, or the caller does not own the schema.
    pub fn admit(&mut self, role: &str) -> Result<(), StoreError> {
        if role.contains('\0') {
            return Err(self.place.failed("a role has no such name"));
        }
        let role = format!("\"{}\"", role.replace('"', "\"\""));
        let derived = Table::ALL.map(Table::name).join(", ");
        let sql = format!(
            "GRANT USAGE ON SCHEMA {} TO {role}; GRANT SELECT ON ledger TO {role};
             GRANT DELETE ON writing TO {role}; GRANT SELECT, INSERT ON entry, file TO {role};
             GRANT SELECT, INSERT, UPDATE, DELETE ON {derived} TO {role}",
            self.server.quoted_schema()
        );
        self.link.batch(&sql).map_err(|error| self.place.error(&error))
    }

    fn version(&mut self) -> Result<i64, StoreError> {
        schema::check(&mut self.link, self.server.schema(), &self.place)
    }

    fn migrate(&mut self) -> Result<(), LedgerError> {
        self.section(&mut |tables| {
            // Another process may have been faster.
            match schema::check(tables.link, tables.schema, tables.place)? {
                VERSION => Ok(()),
                from => schema::migrate(tables, from),
            }
        })?;
        self.version()?;
        Ok(())
    }

    fn tables(&mut self) -> Tables<'_> {
        Tables::new(&mut self.link, self.server.schema(), &self.place)
    }

    /// Reads outside of a section: what is asked once more on a new connection does no harm.
    fn read<T>(&mut self, ask: impl Fn(&mut Tables<'_>) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let answer = ask(&mut self.tables());
        if answer.is_err() && self.link.is_lost() {
            self.connect_again()?;
            return ask(&mut self.tables());
        }
        answer
    }

    /// A new connection, to a server that still has what was seen of it: another one in its place, that
    /// lags behind or went its own way, would have numbers used twice.
    fn connect_again(&mut self) -> Result<(), StoreError> {
        self.link = Link::open_again(&self.server, &self.place)?;
        self.version()?;
        let Some(seen) = self.seen else { return Ok(()) };
        if self.tables().rows(seen.sequence, 1)?.first().map(Row::head) == Some(seen) {
            return Ok(());
        }
        let Head { sequence, hash } = seen;
        Err(self.place.damaged(format!("after a reconnect it has no entry {sequence} with hash {hash}")))
    }

    fn begin(&mut self) -> Result<(), StoreError> {
        let begun = self.link.batch(BEGIN);
        let begun = if begun.is_err() && self.link.is_lost() {
            self.connect_again()?;
            self.link.batch(BEGIN)
        } else {
            begun
        };
        begun.map_err(|error| {
            // Where the lock was not had, the transaction is open all the same.
            let _ = self.link.batch("ROLLBACK");
            self.place.error(&error)
        })
    }

    fn section(
        &mut self,
        work: &mut dyn FnMut(&mut Tables<'_>) -> Result<(), LedgerError>,
    ) -> Result<(), LedgerError> {
        self.begin()?;
        let mut open = Open { link: &mut self.link, is_open: true };
        let mut tables = Tables::new(open.link, self.server.schema(), &self.place);
        work(&mut tables)?;
        let (appended, has_failed) = (tables.appended, tables.has_failed);
        if has_failed {
            return Err(self
                .place
                .failed("an error within the section was passed over; nothing was written")
                .into());
        }
        open.is_open = false;
        let committed = open.link.batch("COMMIT");
        drop(open);
        match committed {
            Ok(()) => {}
            Err(error) if self.link.is_lost() => self.resolve(appended, &self.place.error(&error))?,
            Err(error) => return Err(self.place.error(&error).into()),
        }
        self.seen = appended.or(self.seen);
        Ok(())
    }

    /// Whether a section was written whose commit nobody acknowledged. The lock is had only when the
    /// server has ended that transaction, one way or the other.
    fn resolve(&mut self, appended: Option<Head>, lost: &StoreError) -> Result<(), StoreError> {
        let not_written = || self.place.failed(format!("{lost}; nothing was written"));
        // Without an entry there are at most derived tables, which are made anew when it is tried again.
        let Some(wanted) = appended else { return Err(not_written()) };
        let unknown = StoreError::OutcomeUnknown { place: self.place.shown(), sequence: wanted.sequence };
        let not_written = not_written();
        // A server in trouble may lose this connection as well.
        let since = Instant::now();
        while self.link.is_lost() && since.elapsed().as_secs() < link::BACK_S {
            let found = self.begin().and_then(|()| self.tables().rows(wanted.sequence, 1));
            let _ = self.link.batch("ROLLBACK");
            match found {
                Ok(rows) if rows.first().map(Row::head) == Some(wanted) => return Ok(()),
                Ok(_) => return Err(not_written),
                Err(_) => {}
            }
        }
        Err(unknown)
    }
}

/// A section that is rolled back when it is left by an error or a panic.
struct Open<'a> {
    link: &'a mut Link,
    is_open: bool,
}

impl Drop for Open<'_> {
    fn drop(&mut self) {
        if self.is_open {
            // Where that fails the connection is gone, and the server rolls back.
            let _ = self.link.batch("ROLLBACK");
        }
    }
}

impl Reading for PostgresStore {
    fn head(&mut self) -> Result<Head, StoreError> {
        self.read(|tables| tables.head())
    }

    fn rows(&mut self, from: u64, most: usize) -> Result<Vec<Row>, StoreError> {
        self.read(|tables| tables.rows(from, most))
    }

    fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.read(|tables| tables.file(digest))
    }

    fn has_file(&mut self, digest: &Digest) -> Result<bool, StoreError> {
        self.read(|tables| tables.has_file(digest))
    }

    fn files(&mut self, skip: u64, most: usize) -> Result<Vec<Digest>, StoreError> {
        self.read(|tables| tables.files(skip, most))
    }

    fn lines(&mut self, table: Table) -> Result<Vec<Line>, StoreError> {
        self.read(|tables| tables.lines(table))
    }

    fn faults(&mut self) -> Result<Vec<StorageFault>, StoreError> {
        self.read(|tables| tables.faults())
    }
}

impl Store for PostgresStore {
    fn exclusive(&mut self, work: &mut Work<'_>) -> Result<(), LedgerError> {
        self.section(&mut |tables| work(tables))
    }
}
