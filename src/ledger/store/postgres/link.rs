//! A connection and what was prepared on it.

use std::collections::BTreeMap;
use std::thread;
use std::time::{Duration, Instant};

use postgres::types::{FromSqlOwned, ToSql};
use postgres::{Client, Error, NoTls, Row, Statement};

use super::fault::{self, Place, WAIT_S};
use super::server::Server;
use crate::store::StoreError;

/// How long it is waited for a server that was lost to come back.
pub(super) const BACK_S: u64 = 30;
/// A writer that stopped in the middle of a section is sent away by the server after this time.
const IDLE_S: u64 = 600;

/// A connection.
pub(super) struct Link {
    client: Client,
    statements: BTreeMap<String, Statement>,
    is_lost: bool,
}

/// Values of a statement.
pub(super) type Values<'a> = &'a [&'a (dyn ToSql + Sync)];

impl Link {
    /// Connects. `pg_temp` stands last in the path, so that no temporary table stands before one of the
    /// ledger. A commit that the server acknowledges is on its disk; where it waits for more than that
    /// (a second server), it goes on doing so.
    pub fn open(server: &Server) -> Result<Link, Error> {
        let mut client = server.config().connect(NoTls)?;
        client.batch_execute(&format!(
            "SET search_path TO {}, pg_temp; SET lock_timeout TO '{WAIT_S}s';
             SET idle_in_transaction_session_timeout TO '{IDLE_S}s'; SET client_min_messages TO warning;
             SELECT set_config('synchronous_commit', 'on', false)
             WHERE current_setting('synchronous_commit') = 'off'",
            server.quoted_schema()
        ))?;
        Ok(Link { client, statements: BTreeMap::new(), is_lost: false })
    }

    /// Connects to a server that may just be starting again.
    pub fn open_again(server: &Server, place: &Place) -> Result<Link, StoreError> {
        let since = Instant::now();
        loop {
            match Link::open(server) {
                Ok(link) => return Ok(link),
                Err(error) if fault::may_come_back(&error) && since.elapsed().as_secs() < BACK_S => {
                    thread::sleep(Duration::from_millis(100));
                }
                Err(error) => return Err(place.error(&error)),
            }
        }
    }

    /// Whether it is of no more use.
    pub fn is_lost(&self) -> bool {
        self.is_lost || self.client.is_closed()
    }

    fn noted<T>(&mut self, outcome: Result<T, Error>) -> Result<T, Error> {
        self.is_lost |= outcome.as_ref().is_err_and(fault::is_lost);
        outcome
    }

    fn prepared(&mut self, sql: &str) -> Result<Statement, Error> {
        if let Some(statement) = self.statements.get(sql) {
            return Ok(statement.clone());
        }
        let statement = self.client.prepare(sql)?;
        self.statements.insert(sql.to_owned(), statement.clone());
        Ok(statement)
    }

    pub fn query(&mut self, sql: &str, values: Values<'_>) -> Result<Vec<Row>, Error> {
        let rows = self.prepared(sql).and_then(|statement| self.client.query(&statement, values));
        self.noted(rows)
    }

    pub fn one<T: FromSqlOwned>(&mut self, sql: &str, values: Values<'_>) -> Result<T, Error> {
        let row = self.prepared(sql).and_then(|statement| self.client.query_one(&statement, values));
        self.noted(row)?.try_get(0)
    }

    pub fn execute(&mut self, sql: &str, values: Values<'_>) -> Result<u64, Error> {
        let count = self.prepared(sql).and_then(|statement| self.client.execute(&statement, values));
        self.noted(count)
    }

    /// SQL of ours without values.
    pub fn batch(&mut self, sql: &str) -> Result<(), Error> {
        let done = self.client.batch_execute(sql);
        self.noted(done)
    }
}
