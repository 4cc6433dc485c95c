//! From one store to another and back: the same bytes.

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::derived::Table;
use leverarm_ledger::entry::Row;
use leverarm_ledger::event::*;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::sqlite::restore;
use leverarm_ledger::store::{MemoryStore, Reading, SqliteStore, Store, StoreError, copy_ledger};
use leverarm_ledger::verify::verify;
use leverarm_ledger::{Ledger, LedgerError};

use crate::bytes::dump;
use crate::house::*;

fn lived<S: Store>(store: S) -> S {
    let mut house = House::furnished(store);
    for (index, state) in JobState::ALL.into_iter().enumerate() {
        house.job_to(&format!("J-{index}"), "runa", state);
    }
    for serial in 0..600 {
        house
            .record("runa", Event::ToolRegistered(tool(&format!("N-{serial}"), &format!("n{serial}"))))
            .unwrap();
    }
    let photo: Vec<u8> = (0..300_000_u32).map(|i| (i % 251) as u8).collect();
    let mut job = received("P");
    job.photos = vec![file("photo.png", &photo)];
    house.record_with("runa", Event::JobReceived(job), &[&photo]).unwrap();
    house.ledger.into_store()
}

/// There and back: every byte the same, and the copy goes on being written.
fn there_and_back<A: Store, B: Store, C: Store>(first: A, mut second: B, mut third: C) {
    let mut first = lived(first);
    let head = first.head().unwrap();
    assert_eq!(copy_ledger(&mut first, &mut second).unwrap(), head);
    assert_eq!(copy_ledger(&mut second, &mut third).unwrap(), head);
    let wanted = dump(&mut first);
    assert!(wanted == dump(&mut second) && wanted == dump(&mut third));
    for store in [&mut second as &mut dyn Reading, &mut third] {
        let report = verify(store, &[head], &mut |_, _| Ok(()));
        assert!(report.is_clean(), "{:?}", report.findings);
        assert_eq!((report.head, report.files), (head, wanted.files.len() as u64));
    }
    let again = copy_ledger(&mut first, &mut second);
    assert!(matches!(again, Err(LedgerError::Store(StoreError::Exists { .. }))));
    let mut ledger = Ledger::open(third).unwrap();
    let now = ledger.state().time().unwrap();
    let command = leverarm_ledger::rules::Command::Record(Event::ToolRegistered(tool("T-2", "2")));
    assert_eq!(ledger.record(&signer("runa"), &|| now, command, &[]).unwrap().sequence, head.sequence + 1);
}

fn sqlite(folder: &tempfile::TempDir, name: &str) -> SqliteStore {
    SqliteStore::create(&folder.path().join(name)).unwrap()
}

#[test]
fn memory_and_sqlite() {
    let folder = tempfile::tempdir().unwrap();
    there_and_back(MemoryStore::new(), sqlite(&folder, "a"), MemoryStore::new());
    there_and_back(sqlite(&folder, "b"), sqlite(&folder, "c"), sqlite(&folder, "d"));
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn sqlite_and_postgres() {
    let folder = tempfile::tempdir().unwrap();
    there_and_back(sqlite(&folder, "a"), crate::postgres::empty(), sqlite(&folder, "b"));
    there_and_back(crate::postgres::empty(), sqlite(&folder, "c"), crate::postgres::empty());
}

/// The backup of a ledger on a server: a file with its SHA-256, restored by the way back.
#[test]
#[ignore = "wants a server: postgres.sh"]
fn a_backup_of_postgres() {
    let folder = tempfile::tempdir().unwrap();
    let mut served = lived(crate::postgres::empty());
    let mut copied = sqlite(&folder, "copy.ledger");
    let head = copy_ledger(&mut served, &mut copied).unwrap();
    copied.backup(&folder.path().join("backup")).unwrap();
    let report = restore(&folder.path().join("backup"), &folder.path().join("restored.ledger")).unwrap();
    assert_eq!(report.head, head);
    let mut restored = SqliteStore::open(&folder.path().join("restored.ledger")).unwrap();
    let mut back = crate::postgres::empty();
    copy_ledger(&mut restored, &mut back).unwrap();
    assert!(dump(&mut back) == dump(&mut served));
}

#[test]
fn a_target_with_anything_in_it_is_refused() {
    let mut from = lived(MemoryStore::new());
    let refused = |to: &mut MemoryStore, from: &mut MemoryStore| {
        let before = dump(to);
        assert!(matches!(copy_ledger(from, to), Err(LedgerError::Store(StoreError::Exists { .. }))));
        assert!(dump(to) == before);
    };
    refused(&mut from.clone(), &mut from); // the same one
    let mut with_file = MemoryStore::new();
    with_file.exclusive(&mut |section| Ok(section.put(&Digest::of(b"x"), b"x")?)).unwrap();
    refused(&mut with_file, &mut from);
    let mut with_line = MemoryStore::new();
    let line = from.lines(Table::Customers).unwrap();
    with_line.exclusive(&mut |section| Ok(section.derive(&line)?)).unwrap();
    refused(&mut with_line, &mut from);
    let mut empty = MemoryStore::new();
    assert_eq!(copy_ledger(&mut MemoryStore::new(), &mut empty).unwrap().sequence, 0);
    assert_eq!(copy_ledger(&mut empty.clone(), &mut empty).unwrap().sequence, 0);
}

/// What is damaged is not carried on, and nothing of it stays in the target.
#[test]
fn a_damaged_ledger_is_not_copied() {
    let mut whole = lived(MemoryStore::new());
    let (rows, names) = (whole.rows(1, usize::MAX).unwrap(), whole.files(0, usize::MAX).unwrap());
    let mut spoiled = |change: &dyn Fn(usize, &mut Row), without: Option<Digest>| {
        let mut store = MemoryStore::new();
        store
            .exclusive(&mut |section| {
                for (index, row) in rows.iter().enumerate() {
                    let mut row = row.clone();
                    change(index, &mut row);
                    section.append(&row)?;
                }
                for name in names.iter().filter(|name| Some(**name) != without) {
                    let bytes = whole.file(name)?.unwrap_or_default();
                    section.put(name, &bytes)?;
                }
                Ok(())
            })
            .unwrap();
        let mut to = MemoryStore::new();
        let refused = copy_ledger(&mut store, &mut to);
        assert_eq!(to.head().unwrap().sequence, 0);
        assert!(to.files(0, 1).unwrap().is_empty());
        refused
    };
    let damaged =
        |outcome, at| matches!(outcome, Err(LedgerError::Damaged { sequence, .. }) if sequence == at);
    assert!(damaged(
        spoiled(
            &|index, row| if index == 20 {
                row.body[0] ^= 1
            },
            None
        ),
        21
    ));
    assert!(damaged(
        spoiled(
            &|index, row| if index == 20 {
                row.hash.0[0] ^= 1
            },
            None
        ),
        21
    ));
    assert!(damaged(
        spoiled(
            &|index, row| if index == 20 {
                row.signature.0[0] ^= 1
            },
            None
        ),
        21
    ));
    assert!(damaged(spoiled(&|_, _| {}, Some(names[2])), rows.len() as u64));
}
