//! Files of each earlier version, kept as they were written, open in this version.

use std::fs;
use std::path::{Path, PathBuf};

use leverarm_ledger::Ledger;
use leverarm_ledger::derived::Table;
use leverarm_ledger::event::Event;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::sqlite::VERSION;
use leverarm_ledger::store::{Reading, SqliteStore};
use leverarm_ledger::verify::verify;
use rusqlite::Connection;

use crate::house::{House, tool};

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/ledger/data").join(name)
}

fn life(path: &Path) -> House<SqliteStore> {
    let mut house = House::furnished(SqliteStore::create(path).unwrap());
    for (index, state) in JobState::ALL.into_iter().enumerate() {
        house.job_to(&format!("J-{index}"), "runa", state);
    }
    house
}

/// Writes `version-1.ledger`: the schema as it was, filled with the life of `canonical.rs`. It is
/// run once, by hand: `cargo test --release -p leverarm-ledger -- --ignored write_version_1`.
#[test]
#[ignore = "writes test data"]
fn write_version_1() {
    let folder = tempfile::tempdir().unwrap();
    let new = folder.path().join("new.ledger");
    drop(life(&new));
    let old = folder.path().join("old.ledger");
    let connection = Connection::open(&old).unwrap();
    connection.execute_batch("PRAGMA journal_mode = WAL").unwrap();
    connection.execute_batch(include_str!("../../src/ledger/store/sqlite/schema-1.sql")).unwrap();
    connection.execute("ATTACH ?1 AS new", [new.to_str().unwrap()]).unwrap();
    connection
        .execute_batch(
            "INSERT INTO entry SELECT * FROM new.entry ORDER BY sequence;
             INSERT INTO file SELECT * FROM new.file ORDER BY number;
             INSERT INTO tools SELECT * FROM new.tools;
             INSERT INTO reference_standards SELECT * FROM new.reference_standards;
             INSERT INTO jobs SELECT * FROM new.jobs;
             INSERT INTO certificates SELECT * FROM new.certificates;
             PRAGMA application_id = 1279612498; PRAGMA user_version = 1;",
        )
        .unwrap();
    connection.close().unwrap();
    fs::copy(old, data("version-1.ledger")).unwrap();
}

#[test]
fn a_file_of_version_1_opens() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("old.ledger");
    fs::copy(data("version-1.ledger"), &path).unwrap();
    let version = |path: &Path| -> i64 {
        Connection::open(path).unwrap().pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
    };
    assert_eq!(version(&path), 1);
    let store = SqliteStore::open(&path).unwrap();
    assert_eq!(version(&path), VERSION);
    let mut ledger = Ledger::open(store).unwrap();
    let head = ledger.state().head();
    assert_eq!(format!("{} {}", head.sequence, head.hash), include_str!("data/life.head").trim());
    assert_eq!(ledger.store().lines(Table::Customers).unwrap().len(), 1);
    let report = verify(ledger.store(), &[], &mut |_, _| Ok(()));
    assert!(report.is_clean(), "{:?}", report.findings);
    // And goes on being written.
    let now = ledger.state().time().unwrap();
    let command = leverarm_ledger::rules::Command::Record(Event::ToolRegistered(tool("T-2", "2")));
    ledger.record(&crate::house::signer("runa"), &|| now, command, &[]).unwrap();
    drop(ledger);
    assert!(SqliteStore::open(&path).is_ok());
}
