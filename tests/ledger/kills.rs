//! Many writers at once, writers killed at random moments, and a server that dies.
//!
//! `LEVERARM_LEDGER_KILLS=500 cargo test --release -p leverarm-ledger -- --nocapture kills`; for
//! PostgreSQL see `postgres.sh`.

use std::collections::BTreeMap;
use std::env;
use std::process::Command as Process;
use std::thread;
use std::time::{Duration, Instant};

use leverarm_ledger::Ledger;
use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::Head;
use leverarm_ledger::store::{PostgresStore, SqliteStore, Store};
use leverarm_ledger::verify::verify;

use crate::bytes::Dice;
use crate::house::*;
use crate::processes::{Place, Said, Writer};

/// What was acknowledged, held against what is kept.
struct Witness<S> {
    ledger: Ledger<S>,
    hashes: Vec<Digest>,
    certificates: BTreeMap<u64, String>,
    acknowledged: usize,
}

impl<S: Store> Witness<S> {
    fn new(store: S) -> Witness<S> {
        let ledger = House::furnished(store).ledger;
        Witness { ledger, hashes: Vec::new(), certificates: BTreeMap::new(), acknowledged: 0 }
    }

    /// The chain is read on: that its numbers have no gap is part of it.
    fn look(&mut self) {
        // Behind the last writer, also one that is dead and whose commit the server still does.
        self.ledger.store().exclusive(&mut |_| Ok(())).unwrap();
        self.ledger.refresh().unwrap();
        let rows = self.ledger.store().rows(self.hashes.len() as u64 + 1, usize::MAX).unwrap();
        self.hashes.extend(rows.iter().map(|row| row.hash));
        assert_eq!(self.hashes.len() as u64, self.ledger.state().head().sequence);
    }

    fn hold(&mut self, said: &Said) {
        for (sequence, hash) in &said.entries {
            assert_eq!(self.hashes.get(*sequence as usize - 1), Some(hash), "entry {sequence} was lost");
        }
        self.acknowledged += said.entries.len();
        for (number, job) in &said.certificates {
            assert_eq!(
                self.certificates.insert(*number, job.clone()),
                None,
                "number {number} was given twice"
            );
        }
    }

    /// Certificates: each number once, in order, for the job that was told; and all of it verifies.
    fn verify(&mut self) {
        let state = self.ledger.state();
        let numbers: Vec<u64> = state.certificates().keys().map(|number| number.number).collect();
        assert_eq!(numbers, (1..=numbers.len() as u64).collect::<Vec<_>>());
        for (told, job) in &self.certificates {
            assert_eq!(state.certificates()[&number(*told)].job.as_str(), job);
        }
        let anchors: Vec<Head> =
            (1..).zip(&self.hashes).map(|(sequence, hash)| Head { sequence, hash: *hash }).collect();
        let anchors: Vec<Head> = anchors.into_iter().rev().step_by(50).collect();
        let report = verify(self.ledger.store(), &anchors, &mut |_, _| Ok(()));
        assert!(report.is_clean(), "{:?}", report.findings);
        assert_eq!(report.entries, self.hashes.len() as u64);
    }
}

fn count(name: &str, usual: usize) -> usize {
    env::var(name).ok().map_or(usual, |count| count.parse().unwrap())
}

/// Two writers lead jobs to their certificates at once, and each is killed at a moment of its own.
fn kills<S: Store>(store: S, place: &Place, what: &str) {
    let kills = count("LEVERARM_LEDGER_KILLS", 10);
    let mut witness = Witness::new(store);
    let (mut dice, mut at) = (Dice(0x0D15_EA5E_5EED), BTreeMap::<String, usize>::new());
    let (founding, since) = (witness.ledger.state().head().sequence as usize, Instant::now());
    for round in 0..kills.div_ceil(2) {
        let names = [format!("{round}a"), format!("{round}b")];
        let mut writers = names.map(|name| Writer::start(place, "jobs 1000000", &name));
        writers.iter().for_each(Writer::is_ready);
        writers.iter_mut().for_each(Writer::go);
        for writer in &mut writers {
            thread::sleep(Duration::from_micros(dice.below(40_000) as u64));
            writer.kill();
        }
        let said = writers.map(Writer::end);
        witness.look();
        for said in &said {
            assert!(!said.is_done);
            witness.hold(said);
            *at.entry(said.in_flight.clone().unwrap_or_else(|| "between".into())).or_default() += 1;
        }
        if round % 50 == 49 {
            witness.verify();
        }
    }
    witness.verify();
    let (entries, acknowledged) = (witness.hashes.len() - founding, witness.acknowledged);
    println!(
        "{what}: {} kills {at:?} in {:.0} s: {entries} entries, {acknowledged} acknowledged, all there; {} written and not yet acknowledged; {} certificates, numbers without gap, verify clean",
        kills.div_ceil(2) * 2,
        since.elapsed().as_secs_f64(),
        entries - acknowledged,
        witness.ledger.state().certificates().len(),
    );
    assert!(entries >= acknowledged);
}

/// Sixteen processes that write at once.
fn sixteen<S: Store>(store: S, place: &Place, what: &str) {
    let each = count("LEVERARM_LEDGER_EACH", 25);
    let mut witness = Witness::new(store);
    let before = witness.ledger.state().head().sequence;
    let mut writers: Vec<_> =
        (0..16).map(|n| Writer::start(place, &format!("tools {each}"), &format!("W{n}"))).collect();
    writers.iter().for_each(Writer::is_ready);
    let since = Instant::now();
    writers.iter_mut().for_each(Writer::go);
    let said: Vec<Said> = writers.into_iter().map(Writer::end).collect();
    let seconds = since.elapsed().as_secs_f64();
    witness.look();
    for said in &said {
        assert!(said.is_done && said.again == 0 && said.entries.len() == each);
        witness.hold(said);
    }
    assert_eq!(witness.hashes.len() as u64, before + 16 * each as u64);
    assert_eq!(witness.ledger.state().tools().len(), 1 + 16 * each);
    witness.verify();
    println!(
        "{what}: 16 processes, {each} events each, {seconds:.2} s: {:.0} a second",
        16.0 * each as f64 / seconds
    );
}

fn on_sqlite(test: impl FnOnce(SqliteStore, &Place)) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    test(SqliteStore::create(&path).unwrap(), &Place(format!("file {}", path.display())));
}

fn on_postgres(test: impl FnOnce(PostgresStore, &Place)) {
    let store = crate::postgres::empty();
    let place = Place(format!("schema {}", store.server().schema()));
    test(store, &place);
}

#[test]
fn killed_on_sqlite() {
    on_sqlite(|store, place| kills(store, place, "SQLite"));
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn killed_on_postgres() {
    on_postgres(|store, place| kills(store, place, "PostgreSQL"));
}

#[test]
fn sixteen_on_sqlite() {
    on_sqlite(|store, place| sixteen(store, place, "SQLite"));
}

#[test]
#[ignore = "wants a server: postgres.sh"]
fn sixteen_on_postgres() {
    on_postgres(|store, place| sixteen(store, place, "PostgreSQL"));
}

/// The server sends the writers away, loses a process by SIGKILL, and is stopped without a word; the
/// writers try again until each has its tools registered, each once.
#[test]
#[ignore = "wants a server of its own: postgres.sh"]
fn server_dies() {
    const EACH: usize = 1_500;
    let crash = env::var("LEVERARM_POSTGRES_CRASH").expect("postgres.sh sets it");
    let store = crate::postgres::empty();
    let place = Place(format!("schema {}", store.server().schema()));
    let mut witness = Witness::new(store);
    let mut writers: Vec<_> =
        (0..4).map(|n| Writer::start(&place, &format!("tools {EACH}"), &format!("W{n}"))).collect();
    writers.iter().for_each(Writer::is_ready);
    writers.iter_mut().for_each(Writer::go);
    let mut dice = Dice(0xDE_AD5E_2BE2);
    let (mut killed, mut terminated) = (0, 0);
    let others =
        "FROM pg_stat_activity WHERE application_name = 'leverarm-ledger' AND pid <> pg_backend_pid()";
    for round in 0..30 {
        thread::sleep(Duration::from_millis(20 + dice.below(80) as u64));
        if round % 6 == 5 {
            assert!(Process::new(&crash).status().unwrap().success(), "the server starts again");
            continue;
        }
        // The one before may have sent the server into recovery, where it takes no connection.
        let mut client = loop {
            match crate::postgres::try_client() {
                Ok(client) => break client,
                Err(_) => thread::sleep(Duration::from_millis(20)),
            }
        };
        if round % 6 == 2 {
            let pids = client.query(&format!("SELECT pid {others} LIMIT 1"), &[]).unwrap_or_default();
            for pid in pids.iter().map(|row| row.get::<_, i32>(0)) {
                let done = Process::new("kill").args(["-KILL", &pid.to_string()]).status().unwrap();
                killed += usize::from(done.success());
            }
        } else if let Ok(sent) = client.query(&format!("SELECT pg_terminate_backend(pid) {others}"), &[]) {
            terminated += sent.len();
        }
    }
    let said: Vec<Said> = writers.into_iter().map(Writer::end).collect();
    witness.look();
    for said in &said {
        assert!(said.is_done && said.entries.len() == EACH, "{} of {EACH}", said.entries.len());
        witness.hold(said);
    }
    assert_eq!(witness.ledger.state().tools().len(), 1 + 4 * EACH);
    witness.verify();
    let (again, unknown): (usize, usize) =
        (said.iter().map(|said| said.again).sum(), said.iter().map(|said| said.unknown).sum());
    assert!(again > 0, "nothing was interrupted");
    println!(
        "PostgreSQL: {terminated} connections ended by the server, {killed} of its processes killed, 5 immediate stops: {} events, each once; {again} sections begun again, {unknown} outcomes unknown",
        4 * EACH
    );
}
