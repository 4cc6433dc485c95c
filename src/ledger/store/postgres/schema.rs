//! Versions of the schema, and the way from each to the next.

use super::fault::Place;
use super::link::Link;
use super::tables::Tables;
use crate::error::LedgerError;
use crate::ledger::{catch_up, rebuild};
use crate::state::State;
use crate::store::StoreError;

/// What the table `ledger` says it is.
const APPLICATION: &str = "leverarm ledger";
/// The version that this program writes.
pub const VERSION: i64 = 2;

const FIRST: &str = include_str!("schema-1.sql");
/// What leads from a version to the next. A new version adds a line; none is ever taken out.
const STEPS: [(i64, &str); 1] = [(2, include_str!("1-to-2.sql"))];
/// What a schema of each version is made of, as `objects.sql` lists it.
const OBJECTS: [(i64, &str); 2] = [(1, include_str!("objects-1.txt")), (2, include_str!("objects-2.txt"))];
const LIST: &str = include_str!("objects.sql");

/// Makes the tables of an empty schema.
pub(super) fn create(link: &mut Link, place: &Place) -> Result<(), StoreError> {
    link.batch(FIRST).map_err(|error| place.error(&error))?;
    for (_, sql) in STEPS {
        link.batch(sql).map_err(|error| place.error(&error))?;
    }
    let sql = "INSERT INTO ledger (application, version) VALUES ($1, $2)";
    link.execute(sql, &[&APPLICATION, &VERSION]).map(drop).map_err(|error| place.error(&error))
}

/// The version of a schema that is a ledger and whole.
pub(super) fn check(link: &mut Link, schema: &str, place: &Place) -> Result<i64, StoreError> {
    let fail = |error| place.error(&error);
    let encoding: String = link.one("SELECT current_setting('server_encoding')", &[]).map_err(fail)?;
    if encoding != "UTF8" {
        return Err(place.not_a_ledger(format!("the database keeps texts as {encoding}, a ledger as UTF8")));
    }
    let found = objects(link, schema).map_err(fail)?;
    let is_there = |line: &str| found.iter().any(|found| found.starts_with(line));
    if !is_there("column ledger.application text ") || !is_there("column ledger.version bigint ") {
        return Err(place.not_a_ledger("the schema holds no table of a ledger"));
    }
    let rows = link.query("SELECT application, version FROM ledger", &[]).map_err(fail)?;
    let [row] = rows.as_slice() else {
        return Err(place.not_a_ledger(format!("its table 'ledger' has {} lines", rows.len())));
    };
    if row.try_get::<_, String>(0).map_err(fail)? != APPLICATION {
        return Err(place.not_a_ledger("it is the schema of another program"));
    }
    let version: i64 = row.try_get(1).map_err(fail)?;
    if version > VERSION {
        return Err(StoreError::NewerVersion { place: place.shown(), found: version, known: VERSION });
    }
    match objects_of(version) {
        None => Err(place.damaged(format!("it says that its version is {version}"))),
        Some(wanted) => match difference(&found, wanted) {
            None => Ok(version),
            Some(what) => Err(place.damaged(format!("its tables are not those of a ledger: {what}"))),
        },
    }
}

/// Leads a schema of an earlier version to the present one, within the transaction of a section.
pub(super) fn migrate(tables: &mut Tables<'_>, from: i64) -> Result<(), LedgerError> {
    for (_, sql) in STEPS.iter().filter(|(to, _)| *to > from) {
        tables.batch(sql)?;
    }
    // The entries are never touched; the derived tables are made anew in their new shape.
    let mut state = State::new();
    catch_up(&mut state, tables)?;
    rebuild(&state, tables)?;
    Ok(tables.batch(&format!("UPDATE ledger SET version = {VERSION}"))?)
}

/// The objects that stand in the catalogue.
pub(super) fn objects(link: &mut Link, schema: &str) -> Result<Vec<String>, postgres::Error> {
    link.query(LIST, &[&schema])?.iter().map(|row| row.try_get(0)).collect()
}

/// What should stand there, by version.
pub(super) fn objects_of(version: i64) -> Option<&'static str> {
    OBJECTS.iter().find(|(of, _)| *of == version).map(|(_, objects)| *objects)
}

/// The first line of one that the other lacks.
pub(super) fn difference(found: &[String], wanted: &str) -> Option<String> {
    let lacking = wanted.lines().find(|line| !found.iter().any(|found| found == line));
    let added = found.iter().find(|found| !wanted.lines().any(|line| line == found.as_str()));
    match (lacking, added) {
        (Some(line), _) => Some(format!("there is no {line}")),
        (None, Some(line)) => Some(format!("there is a {line}")),
        (None, None) => None,
    }
}
