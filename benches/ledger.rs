//! Events a second on the disk, and how long it takes to open and to verify 100,000 entries.
//!
//! ```text
//! cargo bench -p leverarm-ledger --bench ledger
//! tests/ledger/postgres.sh cargo bench -p leverarm-ledger --bench ledger -- append      the server's too
//! LEVERARM_LEDGER_RUNS=100000 cargo bench -p leverarm-ledger --bench ledger -- runs     once, minutes
//! ```

#![allow(clippy::unwrap_used, missing_docs)]

use std::env;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::{Body, FORMAT, Time};
use leverarm_ledger::event::*;
use leverarm_ledger::keys::Signer;
use leverarm_ledger::rules::Command;
use leverarm_ledger::store::postgres::Server;
use leverarm_ledger::store::{MemoryStore, PostgresStore, Section, SqliteStore, Store, copy_ledger};
use leverarm_ledger::text::{Id, Text};
use leverarm_ledger::verify::verify;
use leverarm_ledger::{Ledger, LedgerError};

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
    if let Ok(connection) = env::var("LEVERARM_POSTGRES") {
        let server = Server::new(&connection, "bench_append", &|_| None).unwrap();
        let mut ledger = founded(PostgresStore::create(&server).unwrap());
        group.bench_function("one event, durable, PostgreSQL", |bencher| {
            bencher.iter(|| {
                count += 1;
                let command = Command::Record(tool(&format!("B-{count}")));
                ledger.record(&author, &now, command, &[]).unwrap()
            });
        });
    }
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

/// Bytes of each of the three files of a run: readings, result, certificate.
const FILE_BYTES: usize = 1_000;

/// The next entries of a chain, signed by one who may do everything but answer for the own work.
struct Chain<'a> {
    section: &'a mut dyn Section,
    head: leverarm_ledger::entry::Head,
}

impl Chain<'_> {
    fn add(&mut self, author: &Signer, event: Event) -> Result<(), LedgerError> {
        let (sequence, previous) = (self.head.sequence + 1, self.head.hash);
        let author_id = author.id().clone();
        let row = Body { format: FORMAT, sequence, previous, time: now(), author: author_id, event }
            .sign(author)?;
        self.section.append(&row)?;
        self.head = row.head();
        Ok(())
    }

    fn keep(&mut self, path: &str, job: &Id) -> Result<FileRef, LedgerError> {
        let mut bytes = format!("{path} of {job}\n").repeat(FILE_BYTES / 20).into_bytes();
        bytes.resize(FILE_BYTES, b' ');
        let sha256 = Digest::of(&bytes);
        self.section.put(&sha256, &bytes)?;
        Ok(FileRef { path: id(path), sha256 })
    }

    /// The six events of a job with one run.
    fn job(&mut self, number: u64, runa: &Signer, idunn: &Signer) -> Result<(), LedgerError> {
        let (job, today) = (id(&format!("J-{number}")), now().date_naive());
        let received = JobReceived {
            job: job.clone(),
            customer: id("haldervoe"),
            tool: id("T-1"),
            received: today,
            condition: text("complete"),
            accessories: Vec::new(),
            photos: Vec::new(),
            rulebook: id("iso-6789-2"),
            decision: id("guarded"),
        };
        self.add(runa, Event::JobReceived(received))?;
        let run = RunAdded {
            job: job.clone(),
            run: id("found"),
            condition: Condition::AsFound,
            performed: today,
            technician: id("eskil"),
            reference: id("RT-250"),
            certificate: id("K-1"),
            uses: 40,
            files: vec![self.keep("readings.csv", &job)?],
        };
        self.add(runa, Event::RunAdded(run))?;
        let result = self.keep("result.json", &job)?.sha256;
        let (run, verdict, software) = (id("found"), Verdict::Conforms, id("bench"));
        self.add(runa, Event::Evaluated(Evaluated { job: job.clone(), run, result, verdict, software }))?;
        self.add(runa, Event::Submitted(Submitted { job: job.clone() }))?;
        self.add(idunn, Event::Approved(Approved { job: job.clone() }))?;
        let files = vec![self.keep("certificate.pdf", &job)?];
        let certificate = CertificateNumber { series: id("SK"), number };
        self.add(idunn, Event::Issued(Issued { job, certificate, files }))
    }
}

/// People, a tool and a reference for `runs`.
fn furnished<S: Store>(store: S) -> Ledger<S> {
    let mut ledger = founded(store);
    let today = now().date_naive();
    let person = Person { id: id("idunn"), name: text("Idunn"), key: signer("idunn").public() };
    let authorised = Authorised {
        person: id("idunn"),
        authority: Authority::Approver,
        rulebooks: Rulebooks::All,
        from: today,
        to: None,
        why: text("training"),
    };
    let eskil =
        [Event::PersonEnrolled(PersonEnrolled { person }), Event::Authorised(authorised), tool("T-1")];
    for event in eskil {
        ledger.record(&signer("eskil"), &now, Command::Record(event), &[]).unwrap();
    }
    let reference = Reference {
        id: id("RT-250"),
        maker: text("Aldmarow"),
        model: text("RT"),
        serial: text("88"),
        range: None,
        interval_uses: None,
    };
    let calibrated = ReferenceCalibrated {
        reference: id("RT-250"),
        certificate: id("K-1"),
        laboratory: text("Norrvik Force Institute"),
        date: today,
        due: today + chrono::Days::new(365),
        files: vec![FileRef { path: id("rt-250.toml"), sha256: Digest::of(b"RT-250") }],
    };
    for event in [Event::ReferenceRegistered(reference), Event::ReferenceCalibrated(calibrated)] {
        ledger.record(&signer("idunn"), &now, Command::Record(event), &[b"RT-250".to_vec()]).unwrap();
    }
    ledger
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let since = Instant::now();
    let done = work();
    println!("{what}: {:.1} s", since.elapsed().as_secs_f64());
    done
}

/// Whole jobs with a run each; once, since it takes minutes. With a server it is copied there as well.
fn runs(_: &mut Criterion) {
    let Some(runs) = env::var("LEVERARM_LEDGER_RUNS").ok().and_then(|runs| runs.parse::<u64>().ok()) else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("runs.ledger");
    let ledger = furnished(SqliteStore::create(&path).unwrap());
    let (head, mut store) = (ledger.state().head(), ledger.into_store());
    let (runa, idunn) = (signer("eskil"), signer("idunn"));
    timed("written in one section", || {
        store
            .exclusive(&mut |section| {
                let mut chain = Chain { section, head };
                (1..=runs).try_for_each(|number| chain.job(number, &runa, &idunn))
            })
            .unwrap();
        Ledger::open(store).unwrap().rebuild().unwrap();
    });
    let size = std::fs::metadata(&path).unwrap().len();
    println!(
        "{runs} runs: {size} bytes on the disk, {} a run with 3 files of {FILE_BYTES} bytes",
        size / runs
    );
    let mut store = timed("open the file", || SqliteStore::open(&path).unwrap());
    let report = timed("verify", || verify(&mut store, &[], &mut |_, _| Ok(())));
    assert!(report.is_clean(), "{:?}", report.findings.first());
    println!("{} entries, {} files, {} evaluations", report.entries, report.files, report.evaluations);
    timed("read the state", || black_box(Ledger::open(SqliteStore::open(&path).unwrap()).unwrap()));
    if let Ok(connection) = env::var("LEVERARM_POSTGRES") {
        let server = Server::new(&connection, "bench_runs", &|_| None).unwrap();
        let mut served = PostgresStore::create(&server).unwrap();
        let copied = timed("copy to PostgreSQL", || copy_ledger(&mut store, &mut served).unwrap());
        let report = timed("verify on PostgreSQL", || verify(&mut served, &[copied], &mut |_, _| Ok(())));
        assert!(report.is_clean(), "{:?}", report.findings.first());
        let mut client = postgres::Client::connect(&connection, postgres::NoTls).unwrap();
        let sql = "SELECT sum(pg_total_relation_size(c.oid))::bigint FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE nspname = 'bench_runs' AND relkind = 'r'";
        let size: i64 = client.query_one(sql, &[]).unwrap().get(0);
        println!("PostgreSQL: {size} bytes on the disk, {} a run", size / i64::try_from(runs).unwrap());
    }
}

criterion_group!(benches, append, whole, runs);
criterion_main!(benches);
