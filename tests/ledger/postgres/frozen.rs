//! Ledgers of each earlier version, kept as `pg_dump` wrote them, open in this version.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command as Process;

use leverarm_ledger::Ledger;
use leverarm_ledger::derived::Table;
use leverarm_ledger::event::Event;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::postgres::VERSION;
use leverarm_ledger::store::{MemoryStore, PostgresStore, Reading};
use leverarm_ledger::verify::verify;

use super::{client, connection, server};
use crate::house::{House, signer, tool};

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/ledger/data").join(name)
}

/// Writes `version-1.sql`: the schema as it was, filled with the life of `canonical.rs`. It is run once,
/// by hand: `postgres.sh cargo test --release -p leverarm-ledger -- --ignored write_dump_1`.
#[test]
#[ignore = "writes test data"]
fn write_dump_1() {
    let mut house = House::furnished(MemoryStore::new());
    for (index, state) in JobState::ALL.into_iter().enumerate() {
        house.job_to(&format!("J-{index}"), "runa", state);
    }
    let mut store = house.ledger.into_store();
    let mut client = client();
    let schema = include_str!("../../../src/ledger/store/postgres/schema-1.sql");
    client
        .batch_execute(&format!("CREATE SCHEMA version_1; SET search_path TO version_1; {schema}"))
        .unwrap();
    client.batch_execute("INSERT INTO ledger VALUES ('leverarm ledger', 1)").unwrap();
    for row in store.rows(1, usize::MAX).unwrap() {
        let (hash, signature) = (row.hash.as_bytes().to_vec(), row.signature.as_bytes().to_vec());
        let sql = "INSERT INTO entry VALUES ($1, $2, $3, $4)";
        client.execute(sql, &[&(row.sequence as i64), &row.body, &hash, &signature]).unwrap();
    }
    for (number, name) in (1_i64..).zip(store.files(0, usize::MAX).unwrap()) {
        let (digest, bytes) = (name.as_bytes().to_vec(), store.file(&name).unwrap().unwrap());
        client.execute("INSERT INTO file VALUES ($1, $2, $3)", &[&number, &digest, &bytes]).unwrap();
    }
    let dump = Process::new("pg_dump")
        .args(["--schema=version_1", "--inserts", "--no-owner", "--dbname"])
        .arg(connection())
        .output()
        .unwrap();
    assert!(dump.status.success(), "{}", String::from_utf8_lossy(&dump.stderr));
    fs::write(data("version-1.sql"), dump.stdout).unwrap();
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn a_dump_of_version_1_opens() {
    let mut client = client();
    let dump = fs::read_to_string(data("version-1.sql")).unwrap();
    // Lines for `psql` alone.
    let dump: Vec<&str> = dump.lines().filter(|line| !line.starts_with('\\')).collect();
    client.batch_execute(&dump.join("\n")).unwrap();
    let mut version =
        || -> i64 { client.query_one("SELECT version FROM version_1.ledger", &[]).unwrap().get(0) };
    assert_eq!(version(), 1);
    let store = PostgresStore::open(&server("version_1")).unwrap();
    assert_eq!(version(), VERSION);
    let mut ledger = Ledger::open(store).unwrap();
    let head = ledger.state().head();
    assert_eq!(format!("{} {}", head.sequence, head.hash), include_str!("../data/life.head").trim());
    assert_eq!(ledger.store().lines(Table::Customers).unwrap().len(), 1);
    let report = verify(ledger.store(), &[], &mut |_, _| Ok(()));
    assert!(report.is_clean(), "{:?}", report.findings);
    // And goes on being written.
    let now = ledger.state().time().unwrap();
    let command = leverarm_ledger::rules::Command::Record(Event::ToolRegistered(tool("T-2", "2")));
    ledger.record(&signer("runa"), &|| now, command, &[]).unwrap();
    drop(ledger);
    assert!(PostgresStore::open(&server("version_1")).is_ok());
}
