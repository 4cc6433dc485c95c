//! Events a second on the disk, and how long it takes to open and to verify 100,000 entries.

#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;
use std::path::Path;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm_ledger::Ledger;
use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::{Body, FORMAT, Time};
use leverarm_ledger::event::*;
use leverarm_ledger::keys::Signer;
use leverarm_ledger::rules::Command;
use leverarm_ledger::store::SqliteStore;
use leverarm_ledger::store::{MemoryStore, Store};
use leverarm_ledger::text::{Id, Text};
use leverarm_ledger::verify::verify;

fn id(text: &str) -> Id {
    Id::new(text).unwrap()
}

fn text(given: &str) -> Text {
    Text::new(given).unwrap()
}

fn signer(name: &str) -> Signer {
    Signer::from_seed(id(name), &Digest::of(name.as_bytes()).0)
}

fn now() -> Time {
    chrono::DateTime::parse_from_rfc3339("2026-11-25T08:00:00+01:00").unwrap()
}

fn tool(name: &str) -> Event {
    Event::ToolRegistered(Tool {
        id: id(name),
        customer: id("haldervoe"),
        maker: text("Brundholt"),
        model: text("BH 200"),
        serial: text(name),
        kind: text("II A"),
        range: Some(text("40 N·m .. 200 N·m")),
        claim: None,
        heads: Vec::new(),
        interval_months: Some(12),
    })
}

fn founded<S: Store>(store: S) -> Ledger<S> {
    let mut ledger = Ledger::found(store, text("Skeldravoe"), text("Eskil"), &signer("eskil"), &now).unwrap();
    let given = Authorised {
        person: id("eskil"),
        authority: Authority::Technician,
        rulebooks: Rulebooks::All,
        from: now().date_naive(),
        to: None,
        why: text("training"),
    };
    let customer =
        Customer { id: id("haldervoe"), name: text("Haldervoe Bank"), address: None, contact: None };
    for event in [Event::Authorised(given), Event::CustomerRegistered(customer)] {
        ledger.record(&signer("eskil"), &now, Command::Record(event), &[]).unwrap();
    }
    ledger
}

/// A ledger of many entries, written in one section so that it is there in seconds.
fn filled(path: &Path, entries: u64) {
    let ledger = founded(SqliteStore::create(path).unwrap());
    let (mut head, author) = (ledger.state().head(), signer("eskil"));
    let mut store = ledger.into_store();
    store
        .exclusive(&mut |section| {
            while head.sequence < entries {
                let body = Body {
                    format: FORMAT,
                    sequence: head.sequence + 1,
                    previous: head.hash,
                    time: now(),
                    author: id("eskil"),
                    event: tool(&format!("T-{}", head.sequence)),
                };
                let row = body.sign(&author)?;
                section.append(&row)?;
                head = row.head();
            }
            Ok(())
        })
        .unwrap();
    Ledger::open(store).unwrap().rebuild().unwrap();
}

fn append(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("append");
    group.throughput(Throughput::Elements(1)).sample_size(20);
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = founded(SqliteStore::create(&folder.path().join("a.ledger")).unwrap());
    let mut count = 0_u64;
    let author = signer("eskil");
    group.bench_function("one event, durable, SQLite", |bencher| {
        bencher.iter(|| {
            count += 1;
            let command = Command::Record(tool(&format!("B-{count}")));
            ledger.record(&author, &now, command, &[]).unwrap()
        });
    });
    let mut ledger = founded(MemoryStore::new());
    let mut events = (0_u64..).map(|count| tool(&format!("B-{count}")));
    group.bench_function("decide and sign alone", |bencher| {
        bencher.iter(|| {
            let event = events.next().unwrap();
            leverarm_ledger::rules::permit(ledger.state(), author.id(), now(), &event).unwrap();
            let head = ledger.state().head();
            let (sequence, previous) = (head.sequence + 1, head.hash);
            let body =
                Body { format: FORMAT, sequence, previous, time: now(), author: author.id().clone(), event };
            black_box(body.sign(&author).unwrap())
        });
    });
    ledger.refresh().unwrap();
    group.finish();
}

fn whole(criterion: &mut Criterion) {
    const ENTRIES: u64 = 100_000;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.ledger");
    filled(&path, ENTRIES);
    let size = std::fs::metadata(&path).unwrap().len();
    println!("{ENTRIES} entries: {size} bytes on the disk, {} an entry", size / ENTRIES);
    let mut group = criterion.benchmark_group("100,000 entries");
    group.throughput(Throughput::Elements(ENTRIES)).sample_size(10);
    group.bench_function("open", |bencher| {
        bencher.iter(|| Ledger::open(SqliteStore::open(&path).unwrap()).unwrap());
    });
    group.bench_function("verify", |bencher| {
        bencher.iter(|| {
            let mut store = SqliteStore::open(&path).unwrap();
            let report = verify(&mut store, &[], &mut |_, _| Ok(()));
            assert!(report.is_clean());
            report.entries
        });
    });
    group.finish();
}

criterion_group!(benches, append, whole);
criterion_main!(benches);
