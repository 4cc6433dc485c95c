//! What somebody would try who has the file and wants the record to say something else.

use chrono::TimeDelta;
use leverarm_ledger::bytes::{Digest, Signature};
use leverarm_ledger::entry::{Body, EntryError, FORMAT, Head, Row};
use leverarm_ledger::event::*;
use leverarm_ledger::keys::Signer;
use leverarm_ledger::rules::{self, Command};
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::{MemoryStore, Reading, Store};
use leverarm_ledger::verify::{Problem, Report, verify};
use leverarm_ledger::{Ledger, LedgerError, Refusal};

use crate::house::{House, day, id, number, signer, start, text, tool};

/// The rows of an honest ledger with an issued job.
fn honest() -> (House<MemoryStore>, Vec<Row>) {
    let mut house = House::in_memory();
    house.job_to("J", "runa", JobState::Issued);
    let rows = house.ledger.store().rows(1, 1_000).unwrap();
    (house, rows)
}

/// Other rows with the files and tables of the honest ledger.
fn with_rows(house: &mut House<MemoryStore>, rows: &[Row]) -> MemoryStore {
    let mut store = MemoryStore::new();
    let from = house.ledger.store();
    store
        .exclusive(&mut |section| {
            for digest in from.files(0, 1_000)? {
                section.put(&digest, &from.file(&digest)?.unwrap())?;
            }
            for table in leverarm_ledger::derived::Table::ALL {
                section.derive(&from.lines(table)?)?;
            }
            rows.iter().try_for_each(|row| section.append(row))?;
            Ok(())
        })
        .unwrap();
    store
}

fn look(store: &mut MemoryStore) -> Report {
    verify(store, &[], &mut |_, _| Ok(()))
}

fn first(report: &Report) -> (u64, &Problem) {
    let finding = report.first_bad().expect("nothing was found");
    (finding.sequence.unwrap(), &finding.problem)
}

/// Signs every row from one on anew, with whatever keys are at hand, so that hashes and chain hold.
fn chain_anew(rows: &mut [Row], from: usize, change: impl Fn(&mut Body), sign: impl Fn(&Body) -> Signer) {
    let mut head = from.checked_sub(1).map_or(Head::NONE, |before| rows[before].head());
    for (index, row) in rows.iter_mut().enumerate().skip(from) {
        let mut body = Body::read(&row.body).unwrap();
        body.previous = head.hash;
        if index == from {
            change(&mut body);
        }
        *row = body.sign(&sign(&body)).unwrap();
        head = row.head();
    }
}

#[test]
fn the_honest_one_is_clean() {
    let (mut house, rows) = honest();
    let report = look(&mut with_rows(&mut house, &rows));
    assert!(report.is_clean(), "{:?}", report.findings);
}

#[test]
fn a_changed_body_breaks_its_hash() {
    let (mut house, rows) = honest();
    for index in 0..rows.len() {
        let mut rows = rows.clone();
        let body = String::from_utf8(rows[index].body.clone()).unwrap();
        rows[index].body = body.replacen("2026-11-25T08", "2026-11-25T07", 1).into_bytes();
        let mut store = with_rows(&mut house, &rows);
        let report = look(&mut store);
        let (at, problem) = first(&report);
        assert_eq!(at, index as u64 + 1);
        assert!(matches!(problem, Problem::Entry(EntryError::Hash { .. })));
        assert_eq!(report.entries, index as u64);
        assert!(matches!(Ledger::open(store), Err(LedgerError::Damaged { sequence, .. }) if sequence == at));
    }
}

#[test]
fn a_chain_made_anew_lacks_the_signatures() {
    let (mut house, rows) = honest();
    let thief = Signer::from_seed(id("thief"), &[7; 32]);
    for index in 0..rows.len() {
        let mut rows = rows.clone();
        chain_anew(&mut rows, index, |body| body.time += TimeDelta::milliseconds(1), |_| thief.clone());
        let report = look(&mut with_rows(&mut house, &rows));
        let (at, problem) = first(&report);
        assert_eq!(at, index as u64 + 1);
        assert!(matches!(problem, Problem::Entry(EntryError::Signature { .. })), "{problem}");
    }
}

#[test]
fn a_signature_of_another_person_or_entry_is_none() {
    let (mut house, rows) = honest();
    let last = rows.len() - 1;
    for signature in
        [rows[last - 1].signature, Signature([0; 64]), signer("runa").sign(rows[last].hash.as_bytes())]
    {
        let mut rows = rows.clone();
        rows[last].signature = signature;
        let report = look(&mut with_rows(&mut house, &rows));
        assert!(matches!(first(&report), (_, Problem::Entry(EntryError::Signature { .. }))));
    }
}

#[test]
fn a_manager_who_rewrites_history_with_his_own_key_breaks_what_others_signed() {
    let (mut house, rows) = honest();
    // Eskil has only his own key. He grants Runa the approver's authority after the fact.
    let at =
        rows.iter().position(|row| String::from_utf8_lossy(&row.body).contains("\"technician\"")).unwrap();
    let mut rows = rows.clone();
    let grant = |body: &mut Body| {
        if let Event::Authorised(given) = &mut body.event {
            given.authority = Authority::Approver;
        }
    };
    chain_anew(&mut rows, at, grant, |_| signer("eskil"));
    let report = look(&mut with_rows(&mut house, &rows));
    assert!(first(&report).0 > at as u64 + 1, "his own entries are his to sign, those of others are not");
}

#[test]
fn a_replayed_entry_is_no_next_one() {
    let (mut house, rows) = honest();
    let again = rows.last().unwrap().clone();
    // Under its own number it does not fit the store; under the next one it is not what it says.
    let refused = house.ledger.store().exclusive(&mut |section| Ok(section.append(&again)?));
    assert!(matches!(refused, Err(LedgerError::Store(_))));
    let sequence = again.sequence + 1;
    let moved = Row { sequence, ..again };
    let report = look(&mut with_rows(&mut house, &[rows.clone(), vec![moved]].concat()));
    let (at, problem) = first(&report);
    assert_eq!(at, sequence);
    assert!(matches!(problem, Problem::Entry(EntryError::Misplaced { .. })));
}

#[test]
fn the_event_of_another_entry_cannot_be_signed_again_by_another() {
    let (mut house, rows) = honest();
    let mut body = Body::read(&rows.last().unwrap().body).unwrap();
    body.sequence += 1;
    body.previous = rows.last().unwrap().hash;
    let row = body.sign(&signer("idunn")).unwrap();
    let report = look(&mut with_rows(&mut house, &[rows, vec![row]].concat()));
    assert!(matches!(
        first(&report).1,
        Problem::Refused(Refusal::WrongState { state: JobState::Issued, .. })
    ));
}

#[test]
fn swapped_dropped_and_cut_entries_are_found() {
    let (mut house, rows) = honest();
    let mut swapped = rows.clone();
    swapped.swap(4, 5);
    (swapped[4].sequence, swapped[5].sequence) = (5, 6);
    assert_eq!(first(&look(&mut with_rows(&mut house, &swapped))).0, 5);
    let mut dropped = rows.clone();
    dropped.remove(4);
    dropped.iter_mut().enumerate().for_each(|(index, row)| row.sequence = index as u64 + 1);
    assert_eq!(first(&look(&mut with_rows(&mut house, &dropped))).0, 5);
    // A chain that was cut short is a chain: the derived tables give it away, or an anchor.
    let cut = &rows[..rows.len() - 1];
    let mut store = with_rows(&mut house, cut);
    assert!(!look(&mut store).is_clean());
    Ledger::open(store.clone()).unwrap().rebuild().unwrap();
    assert!(
        look(&mut store).findings.iter().all(|finding| matches!(finding.problem, Problem::UnnamedFile(_)))
    );
    let anchors = [rows[3].head(), rows[rows.len() - 1].head()];
    let report = verify(&mut store, &anchors, &mut |_, _| Ok(()));
    assert!(
        report
            .findings
            .iter()
            .any(|finding| matches!(finding.problem, Problem::Anchor(head) if head == anchors[1]))
    );
    assert!(
        !report
            .findings
            .iter()
            .any(|finding| matches!(finding.problem, Problem::Anchor(head) if head == anchors[0]))
    );
}

#[test]
fn lost_changed_and_strange_files_are_found() {
    let (mut house, rows) = honest();
    let mut store = MemoryStore::new();
    store.exclusive(&mut |section| Ok(rows.iter().try_for_each(|row| section.append(row))?)).unwrap();
    let report = look(&mut store);
    assert!(report.findings.iter().any(|finding| matches!(finding.problem, Problem::MissingFile(_))));
    let mut store = with_rows(&mut house, &rows);
    store
        .exclusive(&mut |section| {
            section.put(&Digest::of(b"strange"), b"strange")?;
            Ok(section.put(&Digest::of(b"told"), b"kept")?)
        })
        .unwrap();
    let report = look(&mut store);
    assert_eq!(report.findings.len(), 3, "{:?}", report.findings); // both are unnamed, one is damaged
    assert!(report.findings.iter().any(|finding| matches!(finding.problem, Problem::File(_))));
}

#[test]
fn a_derived_table_that_lies_is_found() {
    let (mut house, rows) = honest();
    let mut store = with_rows(&mut house, &rows);
    let mut lines = store.lines(leverarm_ledger::derived::Table::Certificates).unwrap();
    lines[0].cells[4] = leverarm_ledger::derived::Cell::Text("withdrawn".into());
    store.exclusive(&mut |section| Ok(section.derive(&lines)?)).unwrap();
    let report = look(&mut store);
    assert!(matches!(report.findings[0].problem, Problem::Derived { .. }));
}

#[test]
fn an_entry_that_was_never_permitted_is_found() {
    let (mut house, rows) = honest();
    let head = rows.last().unwrap().head();
    let withdrawn = Withdrawn { certificate: number(1), why: text("because") };
    let body = Body {
        format: FORMAT,
        sequence: head.sequence + 1,
        previous: head.hash,
        time: house.now(),
        author: id("runa"),
        event: Event::Withdrawn(withdrawn),
    };
    // Runa's own key, so that everything but the right to do it holds.
    let row = body.sign(&signer("runa")).unwrap();
    let report = look(&mut with_rows(&mut house, &[rows, vec![row]].concat()));
    assert!(matches!(first(&report).1, Problem::Refused(Refusal::NotAuthorised { .. })));
}

#[test]
fn time_does_not_run_backwards() {
    let mut house = House::in_memory();
    let last = house.ledger.state().time().unwrap();
    let command = || Command::Record(Event::ToolRegistered(tool("T-9", "9")));
    let late = last - TimeDelta::seconds(11);
    let refused = house.ledger.record(&signer("runa"), &|| late, command(), &[]);
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::TimeBackwards { .. }))));
    // The clocks of several computers differ by a little: the entry takes the time of the last one.
    house.ledger.record(&signer("runa"), &|| last - TimeDelta::seconds(9), command(), &[]).unwrap();
    assert_eq!(house.ledger.state().time(), Some(last));
    let nowhere =
        start().with_timezone(&chrono::FixedOffset::east_opt(15 * 3600).unwrap()) + TimeDelta::days(1);
    let refused =
        rules::permit(house.ledger.state(), &id("runa"), nowhere, &Event::ToolRegistered(tool("a", "b")));
    assert!(matches!(refused, Err(Refusal::NoSuchOffset { .. })));
}

#[test]
fn keys_are_replaced_revoked_and_never_used_by_two() {
    let mut house = House::in_memory();
    let new = Signer::from_seed(id("runa"), &[9; 32]);
    let replaced =
        |key| Event::KeyReplaced(KeyReplaced { person: id("runa"), key, why: text("lost the stick") });
    let refused = house.record("idunn", replaced(new.public()));
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::NotAuthorised { .. }))));
    let refused = house.record("runa", replaced(signer("idunn").public()));
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::KeyInUse { .. }))));
    house.record("runa", replaced(new.public())).unwrap();
    let refused = house.record("runa", Event::ToolRegistered(tool("T-2", "2")));
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::OtherKey { .. }))));
    let refused = house.record("eskil", replaced(signer("runa").public()));
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::KeyInUse { .. }))));
    let now = house.now();
    let command = Command::Record(Event::ToolRegistered(tool("T-2", "2")));
    house.ledger.record(&new, &|| now, command, &[]).unwrap();
    let revoke = |person| Event::KeyRevoked(KeyRevoked { person: id(person), why: text("left the house") });
    house.record("eskil", revoke("runa")).unwrap();
    let now = house.now();
    let command = Command::Record(Event::ToolRegistered(tool("T-3", "3")));
    let refused = house.ledger.record(&new, &|| now, command, &[]);
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::KeyRevoked { .. }))));
    let refused = house.record("eskil", revoke("eskil"));
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::LastAdministrator { .. }))));
    assert!(look(house.ledger.store()).is_clean());
}

#[test]
fn authorisations_end() {
    let mut house = House::in_memory();
    let number = house.authorise("idunn", Authority::Technician);
    house.record("idunn", Event::ToolRegistered(tool("T-2", "2"))).unwrap();
    let end = |person, authorisation, last| {
        let (person, last) = (id(person), day(last));
        Event::AuthorisationEnded(AuthorisationEnded { person, authorisation, last, why: text("other work") })
    };
    house.record("eskil", end("idunn", number, "2026-11-25")).unwrap();
    let again = house.record("eskil", end("idunn", number, "2026-12-31"));
    assert!(matches!(again, Err(LedgerError::Refused(Refusal::EndedAlready { .. }))));
    assert!(house.ledger.state().may(&id("idunn"), Authority::Technician, None, day("2026-11-25")));
    assert!(!house.ledger.state().may(&id("idunn"), Authority::Technician, None, day("2026-11-26")));
    let refused = house.record("eskil", end("eskil", 1, "2026-11-25"));
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::LastAdministrator { .. }))));
    let refused = house.record("eskil", end("eskil", 2, "2026-11-25"));
    assert!(matches!(refused, Err(LedgerError::Refused(Refusal::Unknown { .. }))));
}
