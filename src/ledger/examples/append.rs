//! Writes to a ledger file in a loop and prints each number after it is on the disk: a thing to kill
//! at random moments, and to start many times at once.
//!
//! ```text
//! append found PATH            a new ledger with people, a tool and a reference
//! append tools PATH NAME N     registers N tools; prints "entry 42" after each commit
//! append jobs PATH NAME N      leads N jobs to their certificates; prints "entry …" and "certificate …"
//! append key NAME PASSPHRASE   prints the public key, then the private one as it is kept
//! append verify PATH           prints what verify says; exit code 1 where something is found
//! ```
//! The keys are digests of the names: they protect nothing, and are for tests alone.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

use std::io::Write as _;
use std::path::Path;

use leverarm_ledger::Ledger;
use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::Time;
use leverarm_ledger::event::*;
use leverarm_ledger::keys::Signer;
use leverarm_ledger::rules::Command;
use leverarm_ledger::store::SqliteStore;
use leverarm_ledger::text::{Id, Text};
use leverarm_ledger::verify::verify;

type House = Ledger<SqliteStore>;

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
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    chrono::DateTime::from_timestamp_micros(i64::try_from(since.as_micros()).unwrap()).unwrap().fixed_offset()
}

/// Prints what is on the disk, at once.
fn say(what: &str, value: impl std::fmt::Display) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{what} {value}").unwrap();
    out.flush().unwrap();
}

fn record(house: &mut House, who: &str, event: Event, files: &[Vec<u8>]) {
    let head = house.record(&signer(who), &now, Command::Record(event), files).unwrap();
    say("entry", head.sequence);
}

fn tool(name: &str) -> Tool {
    Tool {
        id: id(name),
        customer: id("haldervoe"),
        maker: text("Brundholt"),
        model: text("BH 200"),
        serial: text(name),
        kind: text("II A"),
        range: None,
        claim: None,
        heads: Vec::new(),
        interval_months: Some(12),
    }
}

fn found(path: &Path) {
    let store = SqliteStore::create(path).unwrap();
    let mut house = Ledger::found(store, text("Skeldravoe"), text("Eskil"), &signer("eskil"), &now).unwrap();
    let today = now().date_naive();
    let day = |days: u64| today.checked_add_days(chrono::Days::new(days)).unwrap();
    for (name, authority) in [("runa", Authority::Technician), ("idunn", Authority::Approver)] {
        let person = Person { id: id(name), name: text(name), key: signer(name).public() };
        record(&mut house, "eskil", Event::PersonEnrolled(PersonEnrolled { person }), &[]);
        let (rulebooks, why) = (Rulebooks::All, text("training"));
        let given = Authorised { person: id(name), authority, rulebooks, from: today, to: None, why };
        record(&mut house, "eskil", Event::Authorised(given), &[]);
    }
    let customer = Customer {
        id: id("haldervoe"),
        name: text("Haldervoe Bank Offshore Wind Site"),
        address: None,
        contact: None,
    };
    record(&mut house, "runa", Event::CustomerRegistered(customer), &[]);
    record(&mut house, "runa", Event::ToolRegistered(tool("T-1")), &[]);
    let reference = Reference {
        id: id("RT-250"),
        maker: text("Aldmarow"),
        model: text("RT"),
        serial: text("88"),
        range: None,
        interval_uses: None,
    };
    record(&mut house, "idunn", Event::ReferenceRegistered(reference), &[]);
    let files = vec![file("rt-250.toml", b"RT-250")];
    let calibrated = ReferenceCalibrated {
        reference: id("RT-250"),
        certificate: id("K-1"),
        laboratory: text("Norrvik Force Institute"),
        date: today,
        due: day(365),
        files,
    };
    record(&mut house, "idunn", Event::ReferenceCalibrated(calibrated), &[b"RT-250".to_vec()]);
}

fn file(path: &str, bytes: &[u8]) -> FileRef {
    FileRef { path: id(path), sha256: Digest::of(bytes) }
}

fn lead(house: &mut House, job: &str) {
    let today = now().date_naive();
    let received = JobReceived {
        job: id(job),
        customer: id("haldervoe"),
        tool: id("T-1"),
        received: today,
        condition: text("complete"),
        accessories: Vec::new(),
        photos: Vec::new(),
        rulebook: id("iso-6789-2"),
        decision: id("guarded"),
    };
    record(house, "runa", Event::JobReceived(received), &[]);
    let readings = format!("readings of {job}").into_bytes();
    let run = RunAdded {
        job: id(job),
        run: id("found"),
        condition: Condition::AsFound,
        performed: today,
        technician: id("runa"),
        reference: id("RT-250"),
        certificate: id("K-1"),
        uses: 40,
        files: vec![file("readings.csv", &readings)],
    };
    record(house, "runa", Event::RunAdded(run), &[readings]);
    let result = format!("result of {job}").into_bytes();
    let evaluated = Evaluated {
        job: id(job),
        run: id("found"),
        result: Digest::of(&result),
        verdict: Verdict::Conforms,
        software: id("test"),
    };
    record(house, "runa", Event::Evaluated(evaluated), &[result]);
    record(house, "runa", Event::Submitted(Submitted { job: id(job) }), &[]);
    record(house, "idunn", Event::Approved(Approved { job: id(job) }), &[]);
    let mut render = |number: &CertificateNumber| {
        Ok(vec![(id("certificate.pdf"), format!("certificate {number}").into_bytes())])
    };
    let number = house.issue(&signer("idunn"), &now, &id(job), &id("SK"), &mut render).unwrap();
    say("entry", house.state().head().sequence);
    say("certificate", number.number);
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words[..] {
        ["found", path] => found(Path::new(path)),
        [what @ ("tools" | "jobs"), path, name, count] => {
            let mut house = Ledger::open(SqliteStore::open(Path::new(path)).unwrap()).unwrap();
            for number in 1..=count.parse::<u64>().unwrap() {
                let name = format!("{name}-{number}");
                match what {
                    "tools" => record(&mut house, "runa", Event::ToolRegistered(tool(&name)), &[]),
                    _ => lead(&mut house, &name),
                }
            }
        }
        ["key", name, passphrase] => {
            let mut rng = getrandom::rand_core::UnwrapErr(getrandom::SysRng);
            let signer = signer(name);
            say("", signer.public());
            say("", signer.to_pem(passphrase, &mut rng).unwrap().as_str());
        }
        ["verify", path] => {
            let mut store = SqliteStore::open(Path::new(path)).unwrap();
            let report = verify(&mut store, &[], &mut |_, _| Ok(()));
            say("entries", report.entries);
            say("files", report.files);
            for finding in &report.findings {
                say("found", &finding.problem);
            }
            std::process::exit(i32::from(!report.is_clean()));
        }
        _ => panic!("found PATH, tools PATH NAME N, jobs PATH NAME N or verify PATH"),
    }
}
