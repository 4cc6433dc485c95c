//! A ledger that was tampered with is found out, and one that was not can be taken elsewhere.

use std::fs;

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::Time;
use leverarm_ledger::event::{Evaluated, Event, Verdict};
use leverarm_ledger::keys::Signer;
use leverarm_ledger::rules::Command;
use leverarm_ledger::text::Id;

use crate::house::{House, JOB, PASSPHRASE, stdout, tree};

#[test]
fn a_tampered_byte_is_found() {
    let house = House::new();
    house.submitted();
    assert_eq!(house.json("runa", &["verify"])["clean"], true);
    // The remark that a forger would like to change stands in the file as it was written.
    let path = house.ledger();
    let mut bytes = fs::read(&path).unwrap();
    let wal = house.path("ledger.sqlite-wal");
    assert!(!wal.exists() || fs::metadata(&wal).unwrap().len() == 0, "the log is folded in at the end");
    let what = b"complete, clean";
    let mut changed = 0;
    for at in 0..bytes.len() - what.len() {
        if &bytes[at..at + what.len()] == what {
            bytes[at + 10] = b'C';
            changed += 1;
        }
    }
    assert!(changed > 0);
    fs::write(&path, bytes).unwrap();
    let output = house.run("runa", &["verify"]);
    assert_eq!(output.status.code(), Some(1));
    let said = stdout(&output);
    let log = "NOT WHOLE: the first bad record is entry ";
    assert!(said.contains(log), "{said}");
    // Nothing is written to it any more, and it is said why.
    let refused = house.refused("runa", &["submit", JOB]);
    assert!(refused.contains("does not hold") && refused.contains("'leverarm ledger verify'"), "{refused}");
}

#[test]
fn an_evaluation_that_does_not_follow_from_its_inputs_is_named() {
    let house = House::new();
    house.submitted();
    house.done("idunn", &["return", JOB, "--remarks", "again"]);
    // Runa signs a result of her own making: chain and signature hold, the numbers do not.
    let mut ledger = leverarm::office::store::open_file(&house.ledger()).unwrap();
    let job = &ledger.state().jobs()[&Id::new(JOB).unwrap()];
    let last = job.runs[0].evaluations.last().unwrap().clone();
    let honest = String::from_utf8(ledger.file(&last.result).unwrap().unwrap()).unwrap();
    let value: serde_json::Value = serde_json::from_str(&honest).unwrap();
    let point = &value["runs"][0]["points"][0];
    let (name, number) = point
        .as_object()
        .unwrap()
        .iter()
        .find_map(|(name, value)| Some((name.clone(), value.as_f64()?)))
        .expect("a point has a number");
    let mut forged = value.clone();
    forged["runs"][0]["points"][0][&name] = (number + 0.5).into();
    let forged = serde_json::to_vec_pretty(&forged).unwrap();
    let pem = fs::read_to_string(house.key("runa")).unwrap();
    let signer = Signer::from_pem(Id::new("runa").unwrap(), &pem, PASSPHRASE).unwrap();
    let now = || -> Time { chrono::Local::now().fixed_offset() };
    let event = Event::Evaluated(Evaluated {
        job: Id::new(JOB).unwrap(),
        run: Id::new("as-found").unwrap(),
        result: Digest::of(&forged),
        verdict: Verdict::Conforms,
        software: last.software.clone(),
    });
    let head = ledger.record(&signer, &now, Command::Record(event), &[forged]).unwrap();
    drop(ledger);
    let output = house.run("runa", &["verify", "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let said: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
    assert_eq!(said["first_bad"], head.sequence);
    let problem = said["findings"][0]["problem"].as_str().unwrap();
    assert!(problem.contains(&format!("/runs/0/points/0/{name} is ")), "{problem}");
    assert_eq!(house.json("runa", &["verify", "--no-recompute"])["clean"], true);
}

#[test]
fn a_chain_cut_short_is_found_by_its_head() {
    let house = House::new();
    house.done("runa", &["backup", "before.sqlite"]);
    house.submitted();
    let head = house.json("runa", &["status"]);
    let anchor = format!("{}:{}", head["entries"], head["head"].as_str().unwrap());
    house.done("runa", &["verify", "--no-recompute", "--anchor", &anchor]);
    let output = house.run("runa", &["verify", "--anchor", &anchor, "--ledger", "before.sqlite"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(stdout(&output).contains("the chain does not contain entry"), "{}", stdout(&output));
}

#[test]
fn a_backup_is_restored_only_while_it_is_whole() {
    let house = House::new();
    house.submitted();
    house.done("runa", &["backup", "copy.sqlite"]);
    house.done("runa", &["restore", "copy.sqlite", "restored.sqlite"]);
    let (one, two) =
        (house.json("runa", &["log"]), house.json("runa", &["log", "--ledger", "restored.sqlite"]));
    assert_eq!(one, two);
    assert!(house.refused("runa", &["restore", "copy.sqlite", "restored.sqlite"]).contains("exists"));
    let path = house.path("copy.sqlite");
    let mut bytes = fs::read(&path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&path, bytes).unwrap();
    assert!(house.refused("runa", &["restore", "copy.sqlite", "third.sqlite"]).contains("SHA-256"));
    assert!(!house.path("third.sqlite").exists());
}

#[test]
fn entries_and_tables_go_out_in_every_form() {
    let house = House::new();
    house.submitted();
    house.done("runa", &["export", "out"]);
    let files = tree(&house.path("out"));
    assert_eq!(files.len(), 18);
    let of = |name: &str| files.iter().find(|(found, _)| found == name).unwrap().1.clone();
    let entries: serde_json::Value = serde_json::from_slice(&of("entries.json")).unwrap();
    let log = house.json("runa", &["log"]);
    let list = entries.as_array().unwrap();
    assert_eq!(list.len(), log.as_array().unwrap().len());
    // The chain can be followed with what stands there.
    for (before, after) in list.iter().zip(&list[1..]) {
        assert_eq!(after["body"]["previous"], before["hash"]);
    }
    let jobs = String::from_utf8(of("jobs.csv")).unwrap();
    assert!(jobs.contains("SK-2026-0412,submitted,haldervoe,T-1,iso-6789-2,2026-11-16,1,"), "{jobs}");
    // The magic bytes at both ends (Apache Parquet format, "File Format").
    for name in ["entries", "jobs", "certificates"] {
        let bytes = of(&format!("{name}.parquet"));
        assert!(bytes.starts_with(b"PAR1") && bytes.ends_with(b"PAR1"), "{name}");
    }
}
