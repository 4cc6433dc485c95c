//! Every operation by every role: the table is the requirement (issue "ledger": who did it).

use chrono::TimeDelta;
use leverarm_ledger::Refusal;
use leverarm_ledger::event::*;
use leverarm_ledger::rules::{Command, decide};
use leverarm_ledger::state::{JobState, State};
use leverarm_ledger::store::MemoryStore;

use crate::house::*;

const ROLES: [&str; 9] = [
    "nobody",
    "stranger",
    "technician",
    "approver",
    "amender",
    "administrator",
    "other-rulebook",
    "expired",
    "not-yet",
];
/// Who may: t technician, p approver, m amender, a administrator. The last three roles have all of
/// t, p and m, but for another rulebook, until yesterday, from tomorrow on.
fn operations() -> Vec<(&'static str, Command, &'static str, bool)> {
    let job = |job: &str| id(job);
    let person = Person { id: id("new"), name: text("New"), key: signer("new").public() };
    let superseded_tool = Superseded { now: tool("T-1", "4711"), why: text("typing error") };
    let superseded_customer = Superseded { now: customer("haldervoe"), why: text("moved") };
    let superseded_reference = Superseded { now: reference("RT-250"), why: text("uses counted") };
    let authorised = Authorised {
        person: id("technician"),
        authority: Authority::Approver,
        rulebooks: Rulebooks::All,
        from: day("2026-11-25"),
        to: None,
        why: text("training"),
    };
    let ended = AuthorisationEnded {
        person: id("technician"),
        authorisation: 3,
        last: day("2026-11-25"),
        why: text("left"),
    };
    let replaced = KeyReplaced { person: id("technician"), key: signer("new").public(), why: text("lost") };
    let revoked = KeyRevoked { person: id("stranger"), why: text("left") };
    let standard = CheckStandard { id: id("CS-2"), description: text("a beam") };
    let measured = CheckStandardMeasured {
        standard: id("CS-1"),
        reference: id("RT-250"),
        performed: day("2026-11-25"),
        value: decimal("100.02"),
        unit: id("N·m"),
        files: Vec::new(),
    };
    let wrong = ReferenceFoundWrong {
        exposure: id("E-2"),
        reference: id("RT-250"),
        since: day("2026-06-01"),
        deviation: decimal("-0.31"),
        why: text("its own calibration"),
        files: vec![file("rt.toml", b"x")],
    };
    let letter = Letter { customer: id("haldervoe"), file: file("letter.pdf", b"x") };
    let letters = LettersWritten { exposure: id("E-1"), letters: vec![letter] };
    let withdrawn = Withdrawn { certificate: number(1), why: text("wrong") };
    let closed = JobClosed { job: job("received"), why: text("the tool is broken") };
    // The last column: whether the rulebook of a job decides.
    let record = Command::Record;
    vec![
        ("enrol", record(Event::PersonEnrolled(PersonEnrolled { person })), "a", false),
        ("authorise", record(Event::Authorised(authorised)), "a", false),
        ("end an authorisation", record(Event::AuthorisationEnded(ended)), "a", false),
        ("replace another's key", record(Event::KeyReplaced(replaced)), "a", false),
        ("revoke another's key", record(Event::KeyRevoked(revoked)), "a", false),
        ("register a customer", record(Event::CustomerRegistered(customer("c"))), "tp", false),
        ("supersede a customer", record(Event::CustomerSuperseded(superseded_customer)), "tp", false),
        ("register a tool", record(Event::ToolRegistered(tool("T-2", "2"))), "tp", false),
        ("supersede a tool", record(Event::ToolSuperseded(superseded_tool)), "tp", false),
        ("register a reference", record(Event::ReferenceRegistered(reference("RT-500"))), "p", false),
        ("supersede a reference", record(Event::ReferenceSuperseded(superseded_reference)), "p", false),
        (
            "calibrate a reference",
            record(Event::ReferenceCalibrated(calibrated("K-9", "2026-11-01", "2027-10-31"))),
            "p",
            false,
        ),
        ("register a check standard", record(Event::CheckStandardRegistered(standard)), "p", false),
        ("measure a check standard", record(Event::CheckStandardMeasured(measured)), "tp", false),
        ("receive", record(Event::JobReceived(received("J-new"))), "tp", false),
        ("evaluate", record(Event::Evaluated(evaluated("measured", "found"))), "tp", true),
        ("submit", record(Event::Submitted(Submitted { job: job("evaluated") })), "t", true),
        ("return", record(returned("submitted")), "p", true),
        ("approve", record(Event::Approved(Approved { job: job("submitted") })), "p", true),
        ("issue", issue("approved"), "p", true),
        ("amend", amend(1), "m", true),
        ("withdraw", record(Event::Withdrawn(withdrawn)), "m", true),
        ("close", record(Event::JobClosed(closed)), "p", true),
        ("find a reference wrong", record(Event::ReferenceFoundWrong(wrong)), "pm", false),
        ("write letters", record(Event::LettersWritten(letters)), "pm", false),
    ]
}

fn authorised(house: &mut House<MemoryStore>, person: &str, authority: Authority) {
    let (rulebook, from, to) = match person {
        "other-rulebook" => ("another", "2026-01-01", None),
        "expired" => (RULEBOOK, "2026-01-01", Some(day("2026-11-24"))),
        "not-yet" => (RULEBOOK, "2026-11-26", None),
        _ => (RULEBOOK, "2026-01-01", None),
    };
    let rulebooks = Rulebooks::Named(vec![id(rulebook)]);
    let (person, from, why) = (id(person), day(from), text("training"));
    let event = Authorised { person, authority, rulebooks, from, to, why };
    house.record("eskil", Event::Authorised(event)).unwrap();
}

fn prepared() -> State {
    prepared_house().ledger.state().clone()
}

pub fn prepared_house() -> House<MemoryStore> {
    let mut house = House::in_memory();
    for role in ROLES.into_iter().filter(|role| *role != "nobody") {
        house.enrol(role);
    }
    for (role, authority) in
        ["technician", "approver", "amender", "administrator"].into_iter().zip(Authority::ALL)
    {
        authorised(&mut house, role, authority);
    }
    for role in ["other-rulebook", "expired", "not-yet"] {
        for authority in [Authority::Technician, Authority::Approver, Authority::Amender] {
            authorised(&mut house, role, authority);
        }
    }
    let standard = CheckStandard { id: id("CS-1"), description: text("a beam") };
    house.record("idunn", Event::CheckStandardRegistered(standard)).unwrap();
    let wrong = ReferenceFoundWrong {
        exposure: id("E-1"),
        reference: id("RT-250"),
        since: day("2026-06-01"),
        deviation: decimal("-0.31"),
        why: text("its own calibration"),
        files: vec![file("rt.toml", b"x")],
    };
    house.record_with("idunn", Event::ReferenceFoundWrong(wrong), &[b"x"]).unwrap();
    for state in JobState::ALL {
        house.job_to(state.as_str(), "runa", state);
    }
    house
}

#[test]
fn every_operation_by_every_role() {
    let state = prepared();
    let now = state.time().unwrap() + TimeDelta::seconds(1);
    table(&state, &mut |role, command| decide(&state, &id(role), command, now).map(|events| events.len()));
}

/// Tries the whole table: `attempt` says how many events it would be, or why it is refused.
pub fn table(state: &State, attempt: &mut dyn FnMut(&str, Command) -> Result<usize, Refusal>) {
    // The authorisation that is ended must be one of the technician's.
    let granted = state.people()[&id("technician")].authorisations[0].number;
    let mut tried = 0;
    for (name, command, may, by_rulebook) in operations() {
        for role in ROLES {
            let command = match command.clone() {
                Command::Record(Event::AuthorisationEnded(ended)) => {
                    Command::Record(Event::AuthorisationEnded(AuthorisationEnded {
                        authorisation: granted,
                        ..ended
                    }))
                }
                // A person may always replace and revoke the own key; here it is another's.
                Command::Record(Event::KeyReplaced(replaced)) if role == "technician" => {
                    Command::Record(Event::KeyReplaced(KeyReplaced { person: id("approver"), ..replaced }))
                }
                Command::Record(Event::KeyRevoked(revoked)) if role == "stranger" => {
                    Command::Record(Event::KeyRevoked(KeyRevoked { person: id("approver"), ..revoked }))
                }
                command => command,
            };
            let wanted = match role {
                "technician" => may.contains('t'),
                "approver" => may.contains('p'),
                "amender" => may.contains('m'),
                "administrator" => may.contains('a'),
                "other-rulebook" => !by_rulebook && may != "a",
                _ => false,
            };
            tried += 1;
            match attempt(role, command) {
                Ok(events) => assert!(wanted && events == 1, "{role} may {name}"),
                Err(Refusal::UnknownAuthor { .. }) => assert_eq!(role, "nobody"),
                Err(refusal @ Refusal::NotAuthorised { .. }) => {
                    assert!(!wanted, "{role} may not {name}: {refusal}");
                    assert!(!refusal.remedy().is_empty());
                }
                Err(other) => panic!("{name} by {role}: {other}"),
            }
        }
    }
    assert_eq!(tried, 25 * 9);
}

/// The run names its technician, so it is tried apart: role, and who may.
#[test]
fn runs_are_added_by_the_technician_who_measured() {
    let state = prepared();
    let now = state.time().unwrap() + TimeDelta::seconds(1);
    for role in ROLES {
        let event = Event::RunAdded(run("received", "left", role));
        let outcome = decide(&state, &id(role), Command::Record(event), now);
        assert_eq!(outcome.is_ok(), role == "technician", "{role}: {outcome:?}");
    }
    let event = Event::RunAdded(run("received", "left", "runa"));
    let outcome = decide(&state, &id("technician"), Command::Record(event), now);
    assert!(matches!(outcome, Err(Refusal::TechnicianIsAnother { .. })));
    // Authorised today, but not on the day of the work.
    let mut early = run("received", "left", "technician");
    early.performed = day("2025-12-31");
    let outcome = decide(&state, &id("technician"), Command::Record(Event::RunAdded(early)), now);
    assert!(matches!(outcome, Err(Refusal::DayTooLate { .. })));
}

#[test]
fn the_one_who_measured_does_not_answer_for_it() {
    let mut house = House::in_memory();
    house.job_to("J", "torunn", JobState::Submitted);
    let measured = |outcome: Result<_, leverarm_ledger::LedgerError>| {
        matches!(outcome, Err(leverarm_ledger::LedgerError::Refused(Refusal::MeasuredIt { .. })))
    };
    assert!(measured(house.record("torunn", returned("J"))));
    assert!(measured(house.record("torunn", Event::Approved(Approved { job: id("J") }))));
    house.record("idunn", Event::Approved(Approved { job: id("J") })).unwrap();
    assert!(measured(house.command("torunn", issue("J"), &[b"certificate"])));
    house.command("idunn", issue("J"), &[b"certificate"]).unwrap();
    assert!(measured(house.command("torunn", amend(1), &[b"certificate"])));
    // Withdrawing takes nothing on: who sees that it is wrong stops it.
    house
        .record("torunn", Event::Withdrawn(Withdrawn { certificate: number(1), why: text("wrong") }))
        .unwrap();
}

/// Each state, each step: which lead on.
#[test]
fn every_step_in_every_state() {
    use JobState::{
        Approved as Answered, Evaluated, Issued, Measured, Received, Returned, Submitted as Waiting,
    };
    let state = prepared();
    let now = state.time().unwrap() + TimeDelta::seconds(1);
    type Make = fn(&str) -> Command;
    let steps: [(&str, &str, Make, &[JobState]); 7] = [
        (
            "runa",
            "run",
            |job| Command::Record(Event::RunAdded(run(job, "left", "runa"))),
            &[Received, Measured, Evaluated, Returned],
        ),
        (
            "runa",
            "evaluate",
            |job| Command::Record(Event::Evaluated(evaluated(job, "found"))),
            &[Measured, Evaluated, Returned, Issued],
        ),
        (
            "runa",
            "submit",
            |job| Command::Record(Event::Submitted(Submitted { job: id(job) })),
            &[Evaluated, Returned],
        ),
        ("idunn", "return", |job| Command::Record(returned(job)), &[Waiting, Answered]),
        ("idunn", "approve", |job| Command::Record(Event::Approved(Approved { job: id(job) })), &[Waiting]),
        ("idunn", "issue", issue, &[Answered]),
        (
            "idunn",
            "close",
            |job| Command::Record(Event::JobClosed(JobClosed { job: id(job), why: text("x") })),
            &[Received, Measured, Evaluated, Waiting, Returned, Answered],
        ),
    ];
    for (who, name, make, wanted) in steps {
        for at in JobState::ALL {
            let outcome = decide(&state, &id(who), make(at.as_str()), now);
            assert_eq!(outcome.is_ok(), wanted.contains(&at), "{name} when {at}: {outcome:?}");
            if let Err(refusal) = outcome {
                assert!(matches!(refusal, Refusal::WrongState { .. }), "{refusal}");
            }
        }
    }
}

#[test]
fn facts_that_do_not_fit_are_refused() {
    let mut house = House::in_memory();
    house.job_to("J", "runa", JobState::Received);
    let refused = |outcome: Result<_, leverarm_ledger::LedgerError>| match outcome {
        Err(leverarm_ledger::LedgerError::Refused(refusal)) => refusal,
        other => panic!("{other:?}"),
    };
    let mut try_run = |change: &dyn Fn(&mut RunAdded)| {
        let mut event = run("J", "found", "runa");
        change(&mut event);
        refused(house.record_with("runa", Event::RunAdded(event), &[b"readings of J"]))
    };
    assert!(matches!(try_run(&|run| run.performed = day("2026-11-26")), Refusal::DayTooLate { .. }));
    assert!(matches!(try_run(&|run| run.performed = day("2026-11-23")), Refusal::DayTooLate { .. }));
    assert!(matches!(try_run(&|run| run.reference = id("RT-1")), Refusal::Unknown { .. }));
    assert!(matches!(try_run(&|run| run.certificate = id("K-1")), Refusal::Unknown { .. }));
    assert!(matches!(try_run(&|run| run.files.clear()), Refusal::NoFiles));
    assert!(matches!(try_run(&|run| run.files.push(run.files[0].clone())), Refusal::SamePath { .. }));
    for path in ["/etc/x", "../x", "a/../x", "a//x", "a\\x", "c:x", "a/", "."] {
        assert!(matches!(try_run(&|run| run.files[0].path = id(path)), Refusal::BadPath { .. }), "{path}");
    }
    let strange = file("x.csv", b"never given");
    assert!(matches!(try_run(&|run| run.files[0] = strange.clone()), Refusal::MissingFile { .. }));
    assert!(matches!(try_run(&|run| run.job = id("K")), Refusal::Unknown { .. }));
    let old = calibrated("K-2024", "2024-01-15", "2025-01-14");
    house.record_with("idunn", Event::ReferenceCalibrated(old), &[b"RT-250"]).unwrap();
    let mut overdue = run("J", "found", "runa");
    overdue.certificate = id("K-2024");
    let outcome = house.record_with("runa", Event::RunAdded(overdue), &[b"readings of J"]);
    assert!(matches!(refused(outcome), Refusal::OutsideCalibration { .. }));
    let outcome = house.record("runa", Event::ToolRegistered(tool("T-2", "4711")));
    assert!(matches!(refused(outcome), Refusal::SameTool { .. }));
    house.record("runa", Event::CustomerRegistered(customer("fennimarsk"))).unwrap();
    let mut other = received("J-2");
    other.customer = id("fennimarsk");
    assert!(matches!(
        refused(house.record("runa", Event::JobReceived(other))),
        Refusal::OtherCustomer { .. }
    ));
}
