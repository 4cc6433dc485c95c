//! Single bytes changed at random places of a ledger file: each is refused at opening, found by
//! `verify`, or lies where nothing is ever read, and then everything that can be read is the same.
//!
//! `LEVERARM_LEDGER_CHANGES=10000 cargo test --release -p leverarm-ledger -- --nocapture single_bytes`

use std::fs;
use std::path::Path;

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::derived::{Line, Table};
use leverarm_ledger::entry::Row;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::{Reading, SqliteStore};
use leverarm_ledger::verify::verify;

use crate::house::House;

/// Everything that can be read.
#[derive(PartialEq)]
pub struct Dump {
    pub rows: Vec<Row>,
    pub files: Vec<(Digest, Option<Vec<u8>>)>,
    pub lines: Vec<Vec<Line>>,
}

pub fn dump(store: &mut dyn Reading) -> Dump {
    let names = store.files(0, usize::MAX).unwrap();
    Dump {
        rows: store.rows(1, usize::MAX).unwrap(),
        files: names.into_iter().map(|name| (name, store.file(&name).unwrap())).collect(),
        lines: Table::ALL.into_iter().map(|table| store.lines(table).unwrap()).collect(),
    }
}

/// xorshift64* (S. Vigna, ACM TOMS 42, 2016), so that a failure can be had again.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize % end
    }
}

fn ledger(path: &Path) -> Dump {
    let mut house = House::furnished(SqliteStore::create(path).unwrap());
    for job in 0..60 {
        house.job_to(&format!("J-{job}"), "runa", JobState::ALL[job % JobState::ALL.len()]);
    }
    // One file that needs many pages, as traces and certificates do.
    let photo: Vec<u8> = (0..40_000_u32).flat_map(|i| i.wrapping_mul(2_654_435_761).to_le_bytes()).collect();
    let mut job = crate::house::received("P");
    job.photos = vec![crate::house::file("photo.png", &photo)];
    house.record_with("runa", leverarm_ledger::event::Event::JobReceived(job), &[&photo]).unwrap();
    dump(house.ledger.store())
}

#[test]
fn single_bytes() {
    let count =
        std::env::var("LEVERARM_LEDGER_CHANGES").ok().and_then(|count| count.parse().ok()).unwrap_or(300);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    let honest = ledger(&path);
    let whole = fs::read(&path).unwrap();
    assert!(!folder.path().join("a.ledger-wal").exists());
    let mut store = SqliteStore::open(&path).unwrap();
    let report = verify(&mut store, &[], &mut |_, _| Ok(()));
    assert!(report.is_clean(), "{:?}", report.findings);
    drop(store);
    let mut dice = Dice(0x5EED_1E7E_6A12_3457);
    let (mut refused, mut found, mut harmless) = (0, 0, Vec::new());
    for round in 0..count {
        let changed = folder.path().join(format!("{round}.ledger"));
        let mut bytes = whole.clone();
        let at = dice.below(bytes.len());
        bytes[at] ^= 1 + dice.below(255) as u8;
        fs::write(&changed, &bytes).unwrap();
        match SqliteStore::open(&changed) {
            Err(_) => refused += 1,
            Ok(mut store) => {
                if verify(&mut store, &[], &mut |_, _| Ok(())).is_clean() {
                    assert!(dump(&mut store) == honest, "a change of byte {at} was read in silence");
                    harmless.push(at);
                } else {
                    found += 1;
                }
            }
        }
        for ending in ["", "-wal", "-shm"] {
            let _ = fs::remove_file(folder.path().join(format!("{round}.ledger{ending}")));
        }
    }
    let header = harmless.iter().filter(|at| **at < 100).count();
    println!(
        "{count} changes in {} bytes: {refused} refused at opening, {found} found by verify, {} where nothing is read ({header} of them in the header)",
        whole.len(),
        harmless.len()
    );
    assert_eq!(refused + found + harmless.len(), count);
    // Most of what is unused is held to be zero: without that it would be twice as much.
    assert!(harmless.len() * 100 < count * 8, "{} of {count}", harmless.len());
}
