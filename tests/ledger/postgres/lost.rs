//! Connections that are lost: outside of a section, within, and at the commit.

use std::path::Path;
use std::sync::atomic::Ordering;

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::event::Event;
use leverarm_ledger::store::postgres::Server;
use leverarm_ledger::store::{PostgresStore, Reading, Store, StoreError};
use leverarm_ledger::verify::verify;
use leverarm_ledger::{LedgerError, Refusal};

use super::{client, connection, proxy, unused};
use crate::house::*;

fn through(proxy: &proxy::Proxy, schema: &str) -> Server {
    let connection = format!("host={} user=postgres dbname=postgres", proxy.folder.path().display());
    Server::new(&connection, schema, &|_| None).unwrap()
}

fn cutting() -> proxy::Proxy {
    let connection = connection();
    let value = |name: &str| connection.split(' ').find_map(|word| word.strip_prefix(name)).unwrap();
    proxy::Proxy::to(Path::new(value("host=")).join(format!(".s.PGSQL.{}", value("port="))))
}

/// The line is cut at a commit: once when the server has heard it, once when it has not. What is told is
/// what is so, and nothing is there twice.
#[test]
#[ignore = "wants a server: postgres.sh"]
fn a_commit_without_an_answer() {
    let proxy = cutting();
    let mut house = House::furnished(PostgresStore::create(&through(&proxy, unused().schema())).unwrap());
    let mut head = house.ledger.state().head();
    for round in 0..20 {
        let name = format!("R-{round}");
        proxy.set(if round % 2 == 0 { proxy::CUT_AFTER } else { proxy::CUT_BEFORE });
        let outcome = house.record("runa", Event::ToolRegistered(tool(&name, &name)));
        assert_eq!(proxy.mode.load(Ordering::SeqCst), proxy::PASS);
        if round % 2 == 0 {
            assert_eq!(outcome.unwrap().sequence, head.sequence + 1);
        } else {
            assert!(matches!(outcome, Err(LedgerError::Store(StoreError::Failed { .. }))), "{outcome:?}");
            house.record("runa", Event::ToolRegistered(tool(&name, &name))).unwrap();
        }
        let again = house.record("runa", Event::ToolRegistered(tool(&name, &name)));
        assert!(matches!(again, Err(LedgerError::Refused(Refusal::Exists { .. }))));
        let now = house.ledger.state().head();
        assert_eq!(now.sequence, head.sequence + 1);
        head = now;
    }
    assert!(verify(house.ledger.store(), &[head], &mut |_, _| Ok(())).is_clean());
}

/// Outside of a section a lost connection is made anew without a word; within, the section is lost.
#[test]
#[ignore = "wants a server: postgres.sh"]
fn a_connection_that_is_lost() {
    let proxy = cutting();
    let mut house = House::furnished(PostgresStore::create(&through(&proxy, unused().schema())).unwrap());
    let head = house.ledger.state().head();
    proxy.set(proxy::CUT_NOW);
    assert_eq!(house.ledger.store().head().unwrap(), head);
    proxy.set(proxy::CUT_NOW);
    house.record("runa", Event::ToolRegistered(tool("T-2", "2"))).unwrap();
    let within = house.ledger.store().exclusive(&mut |section| {
        section.put(&Digest::of(b"new"), b"new")?;
        proxy.set(proxy::CUT_NOW);
        Ok(section.put(&Digest::of(b"newer"), b"newer")?)
    });
    assert!(matches!(within, Err(LedgerError::Store(StoreError::Failed { .. }))), "{within:?}");
    assert!(!house.ledger.store().has_file(&Digest::of(b"new")).unwrap());
    // A server that comes back without what it had confirmed is not gone on with.
    let sql = "ALTER TABLE entry DISABLE TRIGGER ALL; DELETE FROM entry WHERE sequence > 5;
        ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_in_order, ENABLE ALWAYS TRIGGER entry_is_kept";
    let schema = house.ledger.store().server().schema().to_owned();
    client().batch_execute(&format!("SET search_path TO {schema}; {sql}")).unwrap();
    proxy.set(proxy::CUT_NOW);
    let refused = house.record("runa", Event::ToolRegistered(tool("T-3", "3")));
    assert!(matches!(refused, Err(LedgerError::Store(StoreError::Damaged { .. }))), "{refused:?}");
}
