//! The file: what is refused at opening, what the file refuses, backup and restore.

use std::fs;
use std::path::Path;

use leverarm_ledger::LedgerError;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::sqlite::restore;
use leverarm_ledger::store::{Reading, SqliteStore, StoreError};
use leverarm_ledger::verify::verify;
use rusqlite::Connection;

use crate::house::*;

fn made(path: &Path) -> House<SqliteStore> {
    let mut house = House::furnished(SqliteStore::create(path).unwrap());
    house.job_to("J", "runa", JobState::Issued);
    house
}

#[test]
fn an_entry_is_never_changed_or_deleted() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    drop(made(&path));
    let connection = Connection::open(&path).unwrap();
    for sql in [
        "UPDATE entry SET body = x'00' WHERE sequence = 3",
        "DELETE FROM entry WHERE sequence = (SELECT max(sequence) FROM entry)",
        "DELETE FROM entry",
        "REPLACE INTO entry SELECT sequence, body, hash, signature FROM entry WHERE sequence = 1",
        "INSERT INTO entry SELECT 1000, body, hash, signature FROM entry WHERE sequence = 1",
        "UPDATE OR REPLACE entry SET sequence = 2 WHERE sequence = 3",
        "UPDATE file SET bytes = x'00' WHERE number = 1",
        "DELETE FROM file WHERE number = 1",
        "REPLACE INTO file SELECT number, digest, x'00' FROM file WHERE number = 1",
    ] {
        let error = connection.execute(sql, []).unwrap_err();
        assert!(
            error.to_string().contains("never") || error.to_string().contains("in order"),
            "{sql}: {error}"
        );
    }
    drop(connection);
    let mut store = SqliteStore::open(&path).unwrap();
    assert!(verify(&mut store, &[], &mut |_, _| Ok(())).is_clean());
}

#[test]
fn what_is_no_ledger_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let open = |name: &str| SqliteStore::open(&at(name)).unwrap_err();
    assert!(matches!(open("missing"), LedgerError::Store(StoreError::NotALedger { .. })));
    assert!(!at("missing").exists());
    fs::write(at("empty"), b"").unwrap();
    assert!(matches!(open("empty"), LedgerError::Store(StoreError::NotALedger { .. })));
    fs::write(
        at("text"),
        "a text that is long enough to have a header of a hundred bytes, and then some more of it",
    )
    .unwrap();
    assert!(matches!(open("text"), LedgerError::Store(StoreError::NotALedger { .. })));
    assert!(matches!(SqliteStore::open(folder.path()).unwrap_err(), LedgerError::Store(_)));
    Connection::open(at("other")).unwrap().execute_batch("CREATE TABLE entry (a)").unwrap();
    assert!(matches!(open("other"), LedgerError::Store(StoreError::NotALedger { .. })));
    drop(made(&at("good")));
    let exists = SqliteStore::create(&at("good")).unwrap_err();
    assert!(matches!(exists, StoreError::Exists { .. }));
    let alter = |name: &str, sql: &str| {
        fs::copy(at("good"), at(name)).unwrap();
        Connection::open(at(name)).unwrap().execute_batch(sql).unwrap();
    };
    alter("newer", "PRAGMA user_version = 99");
    let newer = open("newer");
    assert!(matches!(newer, LedgerError::Store(StoreError::NewerVersion { found: 99, .. })));
    assert!(newer.remedy().contains("newer"));
    for (name, sql) in [
        ("zero", "PRAGMA user_version = 0"),
        ("trigger", "DROP TRIGGER entry_is_never_changed"),
        ("table", "CREATE TABLE more (a)"),
        ("column", "ALTER TABLE customers ADD COLUMN more TEXT"),
        ("journal", "PRAGMA journal_mode = DELETE"),
    ] {
        alter(name, sql);
        assert!(matches!(open(name), LedgerError::Store(StoreError::Damaged { .. })), "{name}");
    }
    let whole = fs::read(at("good")).unwrap();
    fs::write(at("cut"), &whole[..whole.len() - 4096]).unwrap();
    assert!(matches!(open("cut"), LedgerError::Store(StoreError::Damaged { .. })));
}

#[test]
fn sql_is_text() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    let made = SqliteStore::create(&path).unwrap();
    crate::evil::sql_is_text(made, || SqliteStore::open(&path).unwrap());
}

#[test]
fn a_backup_is_restored_only_when_every_byte_is_there() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut house = made(&at("a.ledger"));
    let digest = house.ledger.store().backup(&at("backup")).unwrap();
    let beside = fs::read_to_string(at("backup.sha256")).unwrap();
    assert_eq!(beside, format!("{digest}  backup\n"));
    assert!(matches!(house.ledger.store().backup(&at("backup")), Err(StoreError::Exists { .. })));
    let head = house.ledger.state().head();
    house.job_to("K", "runa", JobState::Received); // after the backup
    let report = restore(&at("backup"), &at("restored.ledger")).unwrap();
    assert_eq!(report.head, head);
    let mut store = SqliteStore::open(&at("restored.ledger")).unwrap();
    assert_eq!(store.head().unwrap(), head);
    assert!(restore(&at("backup"), &at("restored.ledger")).is_err());
    let whole = fs::read(at("backup")).unwrap();
    for place in (0..whole.len()).step_by(997) {
        let mut bytes = whole.clone();
        bytes[place] ^= 1;
        fs::write(at("backup"), &bytes).unwrap();
        let refused = restore(&at("backup"), &at("never.ledger"));
        assert!(matches!(refused, Err(LedgerError::Store(StoreError::Damaged { .. }))), "byte {place}");
        assert!(!at("never.ledger").exists());
    }
}
