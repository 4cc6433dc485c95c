//! Versions of the file, and the way from each to the next.

use rusqlite::Connection;

use super::fault::Place;
use crate::error::LedgerError;
use crate::ledger::{catch_up, rebuild};
use crate::state::State;
use crate::store::{Section, StoreError};

/// What the header of the file says it is: "LEVR".
pub(super) const APPLICATION: i64 = 0x4C45_5652;
/// The version that this program writes.
pub const VERSION: i64 = 2;

const FIRST: &str = include_str!("schema-1.sql");
/// What leads from a version to the next. A new version adds a line; none is ever taken out.
const STEPS: [(i64, &str); 1] = [(2, include_str!("1-to-2.sql"))];

/// What a file of the present version is made of: kind, name, table, SQL.
pub(super) type Objects = Vec<(String, String, String, Option<String>)>;

/// Makes the tables of an empty file.
pub(super) fn create(connection: &Connection, place: &Place) -> Result<(), StoreError> {
    connection.execute_batch(FIRST).map_err(|error| place.error(error))?;
    for (_, sql) in STEPS {
        connection.execute_batch(sql).map_err(|error| place.error(error))?;
    }
    mark(connection, place)
}

fn mark(connection: &Connection, place: &Place) -> Result<(), StoreError> {
    connection
        .pragma_update(None, "application_id", APPLICATION)
        .and_then(|()| connection.pragma_update(None, "user_version", VERSION))
        .map_err(|error| place.error(error))
}

/// Leads a file of an earlier version to the present one, within the transaction of a section.
pub(super) fn migrate(
    connection: &Connection,
    section: &mut dyn Section,
    from: i64,
    place: &Place,
) -> Result<(), LedgerError> {
    for (_, sql) in STEPS.iter().filter(|(to, _)| *to > from) {
        connection.execute_batch(sql).map_err(|error| place.error(error))?;
    }
    // The entries are never touched; the derived tables are made anew in their new shape.
    let mut state = State::new();
    catch_up(&mut state, section)?;
    rebuild(&state, section)?;
    Ok(mark(connection, place)?)
}

/// What stands in the file's own list of its objects.
pub(super) fn objects(connection: &Connection) -> rusqlite::Result<Objects> {
    let sql = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY type, name";
    let mut statement = connection.prepare(sql)?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    rows.collect()
}

/// What should stand there, by version.
pub(super) fn objects_of(version: i64) -> rusqlite::Result<Objects> {
    let connection = Connection::open_in_memory()?;
    connection.execute_batch(FIRST)?;
    for (_, sql) in STEPS.iter().filter(|(to, _)| *to <= version) {
        connection.execute_batch(sql)?;
    }
    objects(&connection)
}

/// A number that the header of the file holds.
pub(super) fn pragma(connection: &Connection, name: &str) -> rusqlite::Result<i64> {
    connection.pragma_query_value(None, name, |row| row.get(0))
}
