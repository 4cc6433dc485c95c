//! A record of many runs, examined and written to: the path of the ledger, and its measure.
//! `LEVERARM_EXPOSURE_RUNS=10000 cargo test --release --test exposure -- --nocapture ledger` prints
//! the seconds; by itself the test makes a small record.

use std::num::NonZeroUsize;
use std::time::Instant;

use leverarm::metrology::exposure::Model;
use leverarm::office::exposure::letter::{Terms, letters};
use leverarm::office::exposure::{Question, cases, entry, examine, found};
use leverarm_ledger::Ledger;
use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::Time;
use leverarm_ledger::event::*;
use leverarm_ledger::keys::Signer;
use leverarm_ledger::rules::Command;
use leverarm_ledger::store::{MemoryStore, SqliteStore, Store};
use leverarm_ledger::text::{Id, Text};
use rand::SeedableRng;

use super::{leverarm, stderr, stdout};

/// The samples, two years earlier: the command reads the clock, and the record refuses what is to come.
fn then(text: String) -> String {
    text.replace("2026-", "2024-").replace("2027-", "2025-").replace("2028-", "2026-")
}

fn sample(name: &str) -> String {
    then(super::sample(name))
}

fn found_file(percent: f64) -> String {
    then(super::found_file(percent))
}

fn id(text: &str) -> Id {
    Id::new(text).unwrap()
}

fn text(given: &str) -> Text {
    Text::new(given).unwrap()
}

/// A key for tests: a digest of the name protects nothing.
fn signer(name: &str) -> Signer {
    Signer::from_seed(id(name), &Digest::of(name.as_bytes()).0)
}

fn now() -> Time {
    "2025-03-20T08:00:00+00:00".parse().unwrap()
}

fn file(path: &str, bytes: &[u8]) -> FileRef {
    FileRef { path: id(path), sha256: Digest::of(bytes) }
}

fn record<S: Store>(house: &mut Ledger<S>, who: &str, event: Event, files: &[Vec<u8>]) {
    house.record(&signer(who), &now, Command::Record(event), files).unwrap();
}

fn found_house<S: Store>(store: S) -> Ledger<S> {
    let name = text("Skeldravoe Torque Laboratory");
    let mut house = Ledger::found(store, name, text("Eskil Marnburg"), &signer("eskil"), &now).unwrap();
    for (name, authority) in [("runa", Authority::Technician), ("idunn", Authority::Approver)] {
        let person = Person { id: id(name), name: text(name), key: signer(name).public() };
        record(&mut house, "eskil", Event::PersonEnrolled(PersonEnrolled { person }), &[]);
        let from = "2024-01-01".parse().unwrap();
        let (rulebooks, why) = (Rulebooks::All, text("training"));
        let given = Authorised { person: id(name), authority, rulebooks, from, to: None, why };
        record(&mut house, "eskil", Event::Authorised(given), &[]);
    }
    for (name, full) in
        [("haldervoe", "Haldervoe Bank Offshore Wind Site"), ("fennimarsk", "Fennimarsk Cycles")]
    {
        let address = Some(text("Quay 1\nHarbour of Skeldravoe"));
        let customer = Customer { id: id(name), name: text(full), address, contact: None };
        record(&mut house, "runa", Event::CustomerRegistered(customer), &[]);
    }
    let reference = Reference {
        id: id("RT-250"),
        maker: text("Aldmarow"),
        model: text("RT"),
        serial: text("Q250-0931"),
        range: None,
        interval_uses: None,
    };
    record(&mut house, "idunn", Event::ReferenceRegistered(reference), &[]);
    let bytes = sample("references/rt-250.toml").into_bytes();
    let calibrated = ReferenceCalibrated {
        reference: id("RT-250"),
        certificate: id("MI-T-2024-0320"),
        laboratory: text("Marrenfirth Institute of Mechanical Metrology"),
        date: "2024-03-13".parse().unwrap(),
        due: "2026-03-12".parse().unwrap(),
        files: vec![file("rt-250.toml", &bytes)],
    };
    record(&mut house, "idunn", Event::ReferenceCalibrated(calibrated), &[bytes]);
    house
}

/// The sample wrench with every reading of the reference moved by a little, differently in each run.
fn readings(number: usize) -> String {
    let factor = 1.0 + (number % 801) as f64 * 0.000_05 - 0.02;
    let csv = sample("click-wrench-full/readings.csv");
    let mut lines = csv.lines();
    let mut out = lines.next().unwrap().to_owned() + "\n";
    for line in lines {
        let mut cells: Vec<String> = line.splitn(6, ',').map(str::to_owned).collect();
        let shown: f64 = cells[4].parse().unwrap();
        cells[4] = format!("{:.2}", shown * factor);
        out.push_str(&(cells.join(",") + "\n"));
    }
    out
}

fn add_run<S: Store>(house: &mut Ledger<S>, number: usize) {
    let name = format!("SK-{number:05}");
    let customer = if number.is_multiple_of(2) { "haldervoe" } else { "fennimarsk" };
    let tool = Tool {
        id: id(&format!("T-{number:05}")),
        customer: id(customer),
        maker: text("Brundholt"),
        model: text("BC 200"),
        serial: text(&format!("26-{number:05}")),
        kind: text("II A"),
        range: None,
        claim: None,
        heads: Vec::new(),
        interval_months: None,
    };
    record(house, "runa", Event::ToolRegistered(tool), &[]);
    let received = JobReceived {
        job: id(&name),
        customer: id(customer),
        tool: id(&format!("T-{number:05}")),
        received: "2024-11-16".parse().unwrap(),
        condition: text("clean"),
        accessories: Vec::new(),
        photos: Vec::new(),
        rulebook: id("iso-6789-2"),
        decision: id("guarded"),
    };
    record(house, "runa", Event::JobReceived(received), &[]);
    let run = sample("click-wrench-full/run.toml")
        .replace("SK-2024-0412", &name)
        .replace("26-01743", &format!("26-{number:05}"));
    let named = [
        ("run/run.toml", run),
        ("laboratory.toml", sample("laboratory.toml")),
        ("references/rt-250.toml", sample("references/rt-250.toml")),
        ("run/readings.csv", readings(number)),
    ];
    let files: Vec<FileRef> = named.iter().map(|(path, bytes)| file(path, bytes.as_bytes())).collect();
    let bytes: Vec<Vec<u8>> = named.into_iter().map(|(_, text)| text.into_bytes()).collect();
    let added = RunAdded {
        job: id(&name),
        run: id("as-found"),
        condition: Condition::AsFound,
        performed: "2024-11-18".parse().unwrap(),
        technician: id("runa"),
        reference: id("RT-250"),
        certificate: id("MI-T-2024-0320"),
        uses: 60,
        files,
    };
    record(house, "runa", Event::RunAdded(added), &bytes);
}

fn expose<S: Store + Send>(house: &mut Ledger<S>, runs: usize) {
    let found = found::read(found_file(1.5).as_bytes()).unwrap();
    let began = Instant::now();
    let reference = id("RT-250");
    let since = cases::last_calibration(house.state(), &reference, found.calibrated_on);
    assert_eq!(since, "2024-03-13".parse().ok());
    let entries = cases::entries(house.state(), &reference, since.unwrap());
    assert_eq!(entries.len(), runs);
    let question = Question { found: &found, model: Model::AtOnce, since };
    let threads = NonZeroUsize::new(2).unwrap();
    let report = examine(&question, cases::recorded(entries, house.store()), threads);
    let examined = began.elapsed();
    assert_eq!((report.counts.runs, report.counts.not_recomputed), (runs, 0));
    assert_eq!(report.counts.customers_affected, 2, "{:?}", report.counts);
    let terms =
        Terms { dated: now().date_naive(), approved_by: None, laboratory: None, unaffected_too: false };
    let began = Instant::now();
    let letters = letters(&report, &terms).unwrap();
    eprintln!(
        "{runs} runs examined on 2 threads in {:.2} s; {} letters in {:.2} s; {:?}",
        examined.as_secs_f64(),
        letters.len(),
        began.elapsed().as_secs_f64(),
        report.counts
    );
    let said = entry::Said { exposure: "EX-1", why: "its own calibration", since: since.unwrap() };
    let json = serde_json::to_vec(&report).unwrap();
    let entries = entry::entries(&report, &said, found_file(1.5).as_bytes(), &json, &letters).unwrap();
    for event in entries.events {
        house.record(&signer("idunn"), &now, Command::Record(event), &entries.files).unwrap();
    }
    let kept = &house.state().exposures()[&id("EX-1")];
    assert_eq!((kept.letters.len(), kept.found.files.len()), (letters.len(), 2));
    let digest = kept.letters[0].file.sha256;
    assert_eq!(house.file(&digest).unwrap().as_deref(), Some(letters[0].pdf.as_slice()));
}

#[test]
fn a_ledger_is_examined_and_takes_the_letters() {
    let runs = std::env::var("LEVERARM_EXPOSURE_RUNS").ok().and_then(|n| n.parse().ok()).unwrap_or(40);
    if runs <= 1000 {
        let mut house = found_house(MemoryStore::new());
        (0..runs).for_each(|number| add_run(&mut house, number * 21));
        return expose(&mut house, runs);
    }
    let scratch = tempfile::tempdir().unwrap();
    let mut house = found_house(SqliteStore::create(&scratch.path().join("ledger.sqlite")).unwrap());
    (0..runs).for_each(|number| add_run(&mut house, number));
    expose(&mut house, runs);
}

/// Without `--record` nothing is written; with it the finding and the letters are, signed, by one who
/// may; a technician may not.
#[test]
fn the_command_records_only_when_asked_and_only_for_those_who_may() {
    let scratch = tempfile::tempdir().unwrap();
    let (ledger, new) = (scratch.path().join("ledger.sqlite"), scratch.path().join("new.toml"));
    let mut house = found_house(SqliteStore::create(&ledger).unwrap());
    (0..40).for_each(|number| add_run(&mut house, number * 21));
    let before = house.state().head();
    drop(house);
    std::fs::write(&new, found_file(1.5)).unwrap();
    let mut rng = rand::rngs::StdRng::seed_from_u64(6789);
    let key = |name: &str, rng: &mut rand::rngs::StdRng| {
        let path = scratch.path().join(format!("{name}.pem"));
        std::fs::write(&path, signer(name).to_pem("four words of old", rng).unwrap().as_bytes()).unwrap();
        path
    };
    let keys = [key("runa", &mut rng), key("idunn", &mut rng)];
    let word = scratch.path().join("word");
    std::fs::write(&word, "four words of old\n").unwrap();
    let [ledger_text, new, word] = [&ledger, &new, &word].map(|path| path.to_str().unwrap());
    let plain = ["exposure", "reference", "RT-250", "--found", new, "--ledger", ledger_text];
    let head = || Ledger::open(SqliteStore::open(&ledger).unwrap()).unwrap().state().head();
    let shown = leverarm(&plain);
    assert_eq!(shown.status.code(), Some(0), "{}", stderr(&shown));
    assert!(stdout(&shown).contains("no longer decided"), "{}", stdout(&shown));
    assert_eq!(head(), before);
    let as_person = |name: &str, key: &std::path::Path| {
        let mut all = plain.to_vec();
        all.extend(["--record", "--as", name, "--key", key.to_str().unwrap(), "--passphrase-file", word]);
        all.extend(["--number", "EX-2025-1", "--why", "its own calibration", "--dated", "2025-03-21"]);
        leverarm(&all)
    };
    let refused = as_person("runa", &keys[0]);
    assert_eq!(refused.status.code(), Some(2), "{}", stdout(&refused));
    assert_eq!(head(), before);
    let done = as_person("idunn", &keys[1]);
    assert_eq!(done.status.code(), Some(0), "{}", stderr(&done));
    assert_eq!(head().sequence, before.sequence + 2);
    let house = Ledger::open(SqliteStore::open(&ledger).unwrap()).unwrap();
    let kept = &house.state().exposures()[&id("EX-2025-1")];
    assert_eq!((kept.letters.len(), kept.found.since), (2, "2024-03-13".parse().unwrap()));
    let again = as_person("idunn", &keys[1]);
    assert_eq!(again.status.code(), Some(2), "one number is one exposure");
}
