//! A real server. `postgres.sh` starts one, names it in `LEVERARM_POSTGRES` and runs these tests; without
//! it they are ignored.

mod frozen;
mod lost;
mod proxy;

use std::env;
use std::process;
use std::sync::atomic::{AtomicU64, Ordering};

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::Row;
use leverarm_ledger::event::Event;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::postgres::Server;
use leverarm_ledger::store::{PostgresStore, Reading, Section, Store, StoreError, Work, copy_ledger};
use leverarm_ledger::verify::verify;
use leverarm_ledger::{Ledger, LedgerError, Refusal};
use postgres::{Client, NoTls};
use proptest::prelude::*;

use crate::house::*;

fn connection() -> String {
    env::var("LEVERARM_POSTGRES").expect("postgres.sh starts a server and names it")
}

pub fn server(schema: &str) -> Server {
    Server::new(&connection(), schema, &|_| None).unwrap()
}

/// A connection beside the store's.
pub fn client() -> Client {
    try_client().unwrap()
}

pub fn try_client() -> Result<Client, postgres::Error> {
    Client::connect(&connection(), NoTls)
}

static SCHEMAS: AtomicU64 = AtomicU64::new(0);

fn unused() -> Server {
    server(&format!("t_{}_{}", process::id(), SCHEMAS.fetch_add(1, Ordering::Relaxed)))
}

/// An empty ledger in a schema of its own.
pub fn empty() -> PostgresStore {
    PostgresStore::create(&unused()).unwrap()
}

fn made() -> House<PostgresStore> {
    let mut house = House::furnished(empty());
    house.job_to("J", "runa", JobState::Issued);
    house
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn suite() {
    crate::conformance::suite(empty);
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn sql_is_text() {
    let store = empty();
    let server = store.server().clone();
    crate::evil::sql_is_text(store, || PostgresStore::open(&server).unwrap());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    #[ignore = "wants a server: postgres.sh"]
    fn does_what_the_model_does(ops in crate::model::ops()) {
        crate::model::drive(empty(), &ops)?;
    }
}

/// Does everything and then leaves the section by an error: nothing of it stays.
#[derive(Debug)]
struct Trial<S>(S);

impl<S: Store> Reading for Trial<S> {
    fn head(&mut self) -> Result<leverarm_ledger::entry::Head, StoreError> {
        self.0.head()
    }

    fn rows(&mut self, from: u64, most: usize) -> Result<Vec<Row>, StoreError> {
        self.0.rows(from, most)
    }

    fn file(&mut self, digest: &Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.0.file(digest)
    }

    fn has_file(&mut self, digest: &Digest) -> Result<bool, StoreError> {
        self.0.has_file(digest)
    }

    fn files(&mut self, skip: u64, most: usize) -> Result<Vec<Digest>, StoreError> {
        self.0.files(skip, most)
    }

    fn lines(
        &mut self,
        table: leverarm_ledger::derived::Table,
    ) -> Result<Vec<leverarm_ledger::derived::Line>, StoreError> {
        self.0.lines(table)
    }

    fn faults(&mut self) -> Result<Vec<leverarm_ledger::store::StorageFault>, StoreError> {
        self.0.faults()
    }
}

impl<S: Store> Store for Trial<S> {
    fn exclusive(&mut self, work: &mut Work<'_>) -> Result<(), LedgerError> {
        self.0.exclusive(&mut |section| {
            work(section)?;
            Err(LedgerError::Render { reason: "tried".into() })
        })
    }
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn every_operation_by_every_role() {
    let mut prepared = crate::rights::prepared_house().ledger;
    let state = prepared.state().clone();
    let mut store = empty();
    copy_ledger(prepared.store(), &mut store).unwrap();
    let mut ledger = Ledger::open(Trial(store)).unwrap();
    let now = state.time().unwrap() + chrono::TimeDelta::seconds(1);
    let files = [&b"x"[..], b"RT-250", b"certificate", b"result of measured"].map(<[u8]>::to_vec).to_vec();
    crate::rights::table(&state, &mut |role, command| {
        let before = ledger.store().head().unwrap();
        let outcome = ledger.record(&signer(role), &|| now, command, &files);
        assert_eq!(ledger.store().head().unwrap(), before);
        match outcome {
            Err(LedgerError::Render { .. }) => Ok(1),
            Err(LedgerError::Refused(refusal)) => Err(refusal),
            other => panic!("{other:?}"),
        }
    });
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn an_entry_is_never_changed_or_deleted() {
    let mut store = made().ledger.into_store();
    let mut client = client();
    client.batch_execute(&format!("SET search_path TO {}", store.server().schema())).unwrap();
    // Not even where the server is told to skip ordinary triggers.
    for mode in ["origin", "replica"] {
        client.batch_execute(&format!("SET session_replication_role TO {mode}")).unwrap();
        for sql in [
            "UPDATE entry SET body = '\\x00' WHERE sequence = 3",
            "DELETE FROM entry WHERE sequence = (SELECT max(sequence) FROM entry)",
            "DELETE FROM entry",
            "TRUNCATE entry",
            "TRUNCATE entry CASCADE",
            "INSERT INTO entry SELECT * FROM entry WHERE sequence = 1",
            "INSERT INTO entry SELECT * FROM entry WHERE sequence = 1 ON CONFLICT (sequence) DO UPDATE SET body = ''",
            "INSERT INTO entry SELECT 1000, body, hash, signature FROM entry WHERE sequence = 1",
            "MERGE INTO entry USING entry e ON entry.sequence = e.sequence WHEN MATCHED THEN DELETE",
            "UPDATE file SET bytes = '\\x00' WHERE number = 1",
            "DELETE FROM file WHERE number = 1",
            "TRUNCATE file",
            "INSERT INTO file SELECT 1000, digest, bytes FROM file WHERE number = 1",
        ] {
            let error = client.batch_execute(sql).unwrap_err();
            let said = error.as_db_error().unwrap().message();
            assert!(said.contains("never") || said.contains("in order"), "{sql}: {said}");
        }
    }
    assert!(verify(&mut store, &[], &mut |_, _| Ok(())).is_clean());
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn what_is_no_ledger_is_refused() {
    let mut client = client();
    let mut at = |sql: &str| {
        let server = unused();
        client.batch_execute(&sql.replace('@', server.schema())).unwrap();
        server
    };
    let open = |server: &Server| PostgresStore::open(server).unwrap_err();
    for sql in [
        "",
        "CREATE SCHEMA @",
        "CREATE SCHEMA @ CREATE TABLE entry (a text)",
        "CREATE SCHEMA @ CREATE TABLE ledger (application text, version bigint)",
        "CREATE SCHEMA @ CREATE TABLE ledger (version text)",
    ] {
        let error = open(&at(sql));
        assert!(matches!(error, LedgerError::Store(StoreError::NotALedger { .. })), "{sql}: {error}");
    }
    // An empty schema is taken, one with something in it is not.
    PostgresStore::create(&at("CREATE SCHEMA @")).unwrap();
    for sql in ["CREATE SCHEMA @ CREATE TABLE x (a text)", "CREATE SCHEMA @ CREATE VIEW x AS SELECT 1"] {
        assert!(matches!(PostgresStore::create(&at(sql)), Err(StoreError::Exists { .. })), "{sql}");
    }
    let spoiled = |sql: &str| {
        let server = made().ledger.into_store().server().clone();
        assert!(matches!(PostgresStore::create(&server), Err(StoreError::Exists { .. })));
        super::postgres::client()
            .batch_execute(&format!("SET search_path TO {}; {sql}", server.schema()))
            .unwrap();
        open(&server)
    };
    let newer = spoiled("UPDATE ledger SET version = 99");
    assert!(matches!(newer, LedgerError::Store(StoreError::NewerVersion { found: 99, .. })));
    for sql in [
        "UPDATE ledger SET version = 0",
        "DROP TRIGGER entry_is_kept ON entry",
        "ALTER TABLE entry DISABLE TRIGGER entry_is_kept",
        "CREATE OR REPLACE FUNCTION is_kept() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN OLD; END'",
        "CREATE RULE more AS ON INSERT TO entry DO INSTEAD NOTHING",
        "CREATE TABLE more (a text)",
        "ALTER TABLE customers ADD COLUMN more text",
        "ALTER TABLE entry SET UNLOGGED",
        "ALTER TABLE entry ENABLE ROW LEVEL SECURITY",
        "ALTER TABLE entry DROP CONSTRAINT entry_pkey",
    ] {
        let error = spoiled(sql);
        assert!(matches!(error, LedgerError::Store(StoreError::Damaged { .. })), "{sql}: {error}");
    }
    let nobody = Server::new("host=/nowhere dbname=x user=y", "s", &|_| None).unwrap();
    assert!(matches!(open(&nobody), LedgerError::Store(StoreError::Failed { .. })));
}

/// Damage that is put there by the owner, past the triggers, is found.
#[test]
#[ignore = "wants a server: postgres.sh"]
fn what_the_owner_changes_is_found() {
    for sql in [
        "UPDATE entry SET body = set_byte(body, 30, get_byte(body, 30) # 1) WHERE sequence = 7",
        "UPDATE entry SET signature = set_byte(signature, 0, get_byte(signature, 0) # 1) WHERE sequence = 7",
        "DELETE FROM entry WHERE sequence = 7",
        "DELETE FROM entry WHERE sequence > 7",
        "UPDATE file SET bytes = bytes || '\\x00' WHERE number = 1",
        "DELETE FROM file WHERE number = 2",
        "UPDATE tools SET serial = 'x'",
        "DELETE FROM jobs",
        "ALTER TABLE file DISABLE TRIGGER file_is_kept",
    ] {
        let mut house = made();
        let head = house.ledger.state().head();
        let store = house.ledger.store();
        let off = "ALTER TABLE entry DISABLE TRIGGER ALL; ALTER TABLE file DISABLE TRIGGER ALL";
        let on =
            "ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_in_order, ENABLE ALWAYS TRIGGER entry_is_kept";
        let on = format!("{on}; {}", on.replace("entry", "file"));
        let on = if sql.starts_with("ALTER") { "" } else { &on };
        let off = if sql.starts_with("ALTER") { "" } else { off };
        let schema = store.server().schema().to_owned();
        client().batch_execute(&format!("SET search_path TO {schema}; {off}; {sql}; {on}")).unwrap();
        assert!(!verify(store, &[head], &mut |_, _| Ok(())).is_clean(), "{sql}");
    }
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn an_admitted_role_writes_and_cannot_take_the_triggers_away() {
    let mut house = made();
    let schema = house.ledger.store().server().schema().to_owned();
    let role = format!("Bench \"of {schema}");
    let quoted = role.replace('"', "\"\"");
    client().batch_execute(&format!("CREATE ROLE \"{quoted}\" LOGIN")).unwrap();
    house.ledger.store().admit(&role).unwrap();
    assert!(house.ledger.store().admit("nobody of that name").is_err());
    let as_role = connection().replace("user=postgres", &format!("user='{role}'"));
    let bench = Server::new(&as_role, &schema, &|_| None).unwrap();
    let mut admitted = House::of(Ledger::open(PostgresStore::open(&bench).unwrap()).unwrap());
    admitted.job_to("K", "runa", JobState::Issued);
    admitted.ledger.rebuild().unwrap();
    assert!(verify(admitted.ledger.store(), &[], &mut |_, _| Ok(())).is_clean());
    let mut client = Client::connect(&as_role, NoTls).unwrap();
    client.batch_execute(&format!("SET search_path TO {schema}")).unwrap();
    for sql in [
        "ALTER TABLE entry DISABLE TRIGGER ALL",
        "DROP TABLE entry",
        "TRUNCATE entry",
        "DELETE FROM entry",
        "UPDATE entry SET body = ''",
        "UPDATE ledger SET version = 1",
        "CREATE TABLE more (a text)",
        "SET session_replication_role TO replica",
    ] {
        let error = client.batch_execute(sql).unwrap_err();
        let code = error.code().unwrap().code().to_owned();
        assert_eq!(code, "42501", "{sql}: {error}"); // insufficient_privilege
    }
}

/// An error that the work passes over takes the section with it: the server has dropped it.
#[test]
#[ignore = "wants a server: postgres.sh"]
fn an_error_that_is_passed_over_is_none_that_is_forgotten() {
    let mut store = made().ledger.into_store();
    let head = store.head().unwrap();
    let row = store.rows(head.sequence, 1).unwrap().remove(0);
    let mut passed_over = |first: &dyn Fn(&mut dyn Section)| {
        let outcome = store.exclusive(&mut |section| {
            section.put(&Digest::of(b"new"), b"new")?;
            first(section);
            Ok(())
        });
        assert!(matches!(outcome, Err(LedgerError::Store(StoreError::Failed { .. }))), "{outcome:?}");
        assert!(!store.has_file(&Digest::of(b"new")).unwrap());
    };
    passed_over(&|section| assert!(section.append(&row).is_err()));
    let mut long = Row { sequence: head.sequence + 1, ..row.clone() };
    long.sequence = u64::MAX;
    passed_over(&|section| assert!(section.append(&long).is_err()));
    assert_eq!(store.head().unwrap(), head);
}

/// A panic within a section leaves nothing open.
#[test]
#[ignore = "wants a server: postgres.sh"]
fn a_panic_rolls_back() {
    let mut store = empty();
    let panicked = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        store.exclusive(&mut |section| {
            section.put(&Digest::of(b"new"), b"new")?;
            panic!("on purpose")
        })
    }));
    assert!(panicked.is_err());
    store.exclusive(&mut |_| Ok(())).unwrap();
    assert!(!store.has_file(&Digest::of(b"new")).unwrap());
}

/// Several ledgers in one database know nothing of each other.
#[test]
#[ignore = "wants a server: postgres.sh"]
fn two_ledgers_and_two_handles() {
    let (mut first, mut second) = (made(), made());
    first.job_to("K", "runa", JobState::Issued);
    assert_ne!(first.ledger.state().head(), second.ledger.state().head());
    let server = first.ledger.store().server().clone();
    let mut other = Ledger::open(PostgresStore::open(&server).unwrap()).unwrap();
    first.record("runa", Event::ToolRegistered(tool("T-2", "2"))).unwrap();
    let now = first.now();
    let command = leverarm_ledger::rules::Command::Record(Event::ToolRegistered(tool("T-2", "3")));
    let refused = other.record(&signer("runa"), &|| now, command, &[]);
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::Exists { .. }))));
    assert_eq!(first.ledger.state(), other.state());
    for store in [first.ledger.store(), second.ledger.store()] {
        assert!(verify(store, &[], &mut |_, _| Ok(())).is_clean());
    }
}
