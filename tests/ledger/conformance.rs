//! What every store must do, asked of each in the same words. A store of another kind is tested by
//! calling `suite` with its maker.

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::derived::{Cell, Line, Table};
use leverarm_ledger::entry::{Body, Head, Row};
use leverarm_ledger::event::Event;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::{MemoryStore, Reading, SqliteStore, Store, StoreError};
use leverarm_ledger::verify::verify;
use leverarm_ledger::{Ledger, LedgerError, Refusal};

use crate::house::{House, customer, id, issue, number, signer, start, tool};

/// Everything, with a new empty store for each part.
pub fn suite<S: Store>(mut make: impl FnMut() -> S) {
    keeps_rows_in_order(make());
    drops_what_failed(make());
    keeps_files_by_name(make());
    keeps_lines_by_key(make());
    holds_a_laboratory(make());
    draws_numbers_without_gap(make());
}

fn row(sequence: u64) -> Row {
    let body = format!("body {sequence}").into_bytes();
    let hash = Digest::of(&body);
    Row { sequence, body, hash, signature: signer("eskil").sign(hash.as_bytes()) }
}

fn keeps_rows_in_order(mut store: impl Store) {
    assert_eq!(store.head().unwrap(), Head::NONE);
    store
        .exclusive(&mut |section| {
            for sequence in 1..=5 {
                section.append(&row(sequence))?;
            }
            assert_eq!(section.head()?, row(5).head());
            Ok(())
        })
        .unwrap();
    assert_eq!(store.rows(2, 3).unwrap(), [row(2), row(3), row(4)]);
    assert_eq!(store.rows(6, 3).unwrap(), []);
    for wrong in [5, 7, 0, 1] {
        let refused = store.exclusive(&mut |section| Ok(section.append(&row(wrong))?));
        assert!(
            matches!(refused, Err(LedgerError::Store(StoreError::NotNext { given, last: 5 })) if given == wrong)
        );
    }
    assert_eq!(store.head().unwrap(), row(5).head());
}

fn drops_what_failed(mut store: impl Store) {
    let failed = store.exclusive(&mut |section| {
        section.append(&row(1))?;
        section.put(&Digest::of(b"x"), b"x")?;
        section.derive(&[line("a", "b")])?;
        assert!(section.has_file(&Digest::of(b"x"))?);
        Err(Refusal::NoFiles.into())
    });
    assert!(matches!(failed, Err(LedgerError::Refused(Refusal::NoFiles))));
    assert_eq!(store.head().unwrap(), Head::NONE);
    assert!(!store.has_file(&Digest::of(b"x")).unwrap());
    assert_eq!(store.lines(Table::Customers).unwrap(), []);
}

fn keeps_files_by_name(mut store: impl Store) {
    let files: Vec<Vec<u8>> = vec![vec![], vec![0; 10_000], b"abc".to_vec()];
    let names: Vec<Digest> = files.iter().map(|bytes| Digest::of(bytes)).collect();
    let mut put = || {
        store.exclusive(&mut |section| {
            for (name, bytes) in names.iter().zip(&files) {
                section.put(name, bytes)?;
            }
            Ok(())
        })
    };
    put().unwrap();
    put().unwrap(); // twice is once
    assert_eq!(store.files(0, 10).unwrap(), names);
    assert_eq!(store.files(1, 1).unwrap(), names[1..2]);
    for (name, bytes) in names.iter().zip(&files) {
        assert_eq!(store.file(name).unwrap().as_ref(), Some(bytes));
    }
    assert_eq!(store.file(&Digest::of(b"other")).unwrap(), None);
    let lie = Digest::of(b"told");
    store.exclusive(&mut |section| Ok(section.put(&lie, b"kept")?)).unwrap();
    assert!(matches!(store.file(&lie), Err(StoreError::FileDamaged { digest, .. }) if digest == lie));
}

fn line(key: &str, name: &str) -> Line {
    Line { table: Table::Customers, cells: vec![Cell::Text(key.into()), Cell::Text(name.into())] }
}

fn keeps_lines_by_key(mut store: impl Store) {
    store
        .exclusive(&mut |section| {
            section.derive(&[line("b", "first"), line("a", "only")])?;
            Ok(section.derive(&[line("b", "second")])?)
        })
        .unwrap();
    assert_eq!(store.lines(Table::Customers).unwrap(), [line("a", "only"), line("b", "second")]);
    store.exclusive(&mut |section| Ok(section.clear_derived()?)).unwrap();
    assert_eq!(store.lines(Table::Customers).unwrap(), []);
}

fn holds_a_laboratory(store: impl Store) {
    let mut house = House::furnished(store);
    for (index, state) in JobState::ALL.into_iter().enumerate() {
        house.job_to(&format!("J-{index}"), "runa", state);
    }
    let state = house.ledger.state().clone();
    for (index, wanted) in JobState::ALL.into_iter().enumerate() {
        assert_eq!(state.jobs()[&id(&format!("J-{index}"))].state, wanted);
    }
    let mut store = house.ledger.into_store();
    let report = verify(&mut store, &[state.head()], &mut |_, _| Ok(()));
    assert!(report.is_clean(), "{:?}", report.findings);
    assert_eq!((report.entries, report.head), (state.head().sequence, state.head()));
    assert_eq!(report.evaluations, 6);
    let mut ledger = Ledger::open(store).unwrap();
    assert_eq!(*ledger.state(), state);
    // Thrown away and made anew, the derived tables are the same.
    let before: Vec<_> = Table::ALL.map(|table| ledger.store().lines(table).unwrap()).to_vec();
    ledger.rebuild().unwrap();
    assert_eq!(Table::ALL.map(|table| ledger.store().lines(table).unwrap()).to_vec(), before);
    let mut refused = |_: &leverarm_ledger::verify::Recompute<'_>, _: &mut dyn Reading| Err("other".into());
    assert_eq!(verify(ledger.store(), &[], &mut refused).findings.len(), 6);
}

fn draws_numbers_without_gap(store: impl Store) {
    let mut house = House::furnished(store);
    for job in ["A", "B", "C"] {
        house.job_to(job, "runa", JobState::Approved);
    }
    assert!(house.command("runa", issue("A"), &[b"certificate"]).is_err());
    let (author, series) = (signer("idunn"), id("SK-2026"));
    let now = house.now();
    let failed = house.ledger.issue(&author, &|| now, &id("A"), &series, &mut |_| Err("no font".into()));
    assert!(matches!(failed, Err(LedgerError::Render { .. })));
    let issue = |house: &mut House<_>, job: &str| {
        let now = house.now();
        let mut render = |number: &leverarm_ledger::event::CertificateNumber| {
            Ok(vec![(id("certificate.pdf"), number.to_string().into_bytes())])
        };
        house.ledger.issue(&author, &|| now, &id(job), &series, &mut render).unwrap()
    };
    assert_eq!(issue(&mut house, "B"), number(1));
    assert_eq!(issue(&mut house, "A"), number(2));
    let refused = house.command("halvar", crate::house::amend(3), &[b"certificate"]);
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::UnknownCertificate { .. }))));
    house.command("halvar", crate::house::amend(1), &[b"certificate"]).unwrap();
    assert_eq!(issue(&mut house, "C"), number(4));
    let numbers: Vec<u64> = house.ledger.state().certificates().keys().map(|number| number.number).collect();
    assert_eq!(numbers, [1, 2, 3, 4]);
    let kept = house.ledger.state().certificates()[&number(4)].files[0].sha256;
    assert_eq!(house.ledger.file(&kept).unwrap().unwrap(), b"SK-2026-0004");
}

#[test]
fn memory() {
    suite(MemoryStore::new);
}

#[test]
fn sqlite() {
    let folder = tempfile::tempdir().unwrap();
    let mut count = 0;
    suite(|| {
        count += 1;
        SqliteStore::create(&folder.path().join(format!("{count}.ledger"))).unwrap()
    });
}

#[test]
fn two_handles_see_each_other() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shared.ledger");
    let mut first = House::furnished(SqliteStore::create(&path).unwrap());
    let mut second = Ledger::open(SqliteStore::open(&path).unwrap()).unwrap();
    first.record("runa", Event::ToolRegistered(tool("T-2", "2"))).unwrap();
    // The second one has not read that yet, and is told what holds now.
    let now = first.now();
    let command = leverarm_ledger::rules::Command::Record(Event::ToolRegistered(tool("T-2", "3")));
    let refused = second.record(&signer("runa"), &|| now, command, &[]);
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::Exists { .. }))));
    let mut other = customer("fennimarsk");
    other.name = crate::house::text("Fennimarsk Cycles");
    let command = leverarm_ledger::rules::Command::Record(Event::CustomerRegistered(other));
    second.record(&signer("runa"), &|| now, command, &[]).unwrap();
    first.ledger.refresh().unwrap();
    assert_eq!(first.ledger.state(), second.state());
    assert!(first.ledger.state().time().unwrap() > start());
}

#[test]
fn a_batch_of_rows_is_read_in_parts() {
    let mut house = House::in_memory();
    for serial in 0..2_500 {
        house
            .record("runa", Event::ToolRegistered(tool(&format!("N-{serial}"), &format!("n{serial}"))))
            .unwrap();
    }
    let head = house.ledger.state().head();
    let mut store = house.ledger.into_store();
    assert_eq!(verify(&mut store, &[], &mut |_, _| Ok(())).head, head);
    let row = &store.rows(head.sequence, 1).unwrap()[0];
    assert_eq!(Body::read(&row.body).unwrap().sequence, head.sequence);
}
