//! What is due, what waits, what a reference reached.

use leverarm_ledger::event::*;
use leverarm_ledger::state::{Due, DueSubject, JobState};

use crate::house::*;

#[test]
fn tools_are_due_by_interval_and_references_by_date_and_uses() {
    let mut house = House::in_memory();
    let due = |house: &House<_>, on: &str| house.ledger.state().due(day(on));
    assert_eq!(due(&house, "2027-01-13"), []);
    house.job_to("J", "runa", JobState::Issued);
    let reference = Due {
        day: Some(day("2027-01-14")),
        subject: DueSubject::Reference(id("RT-250")),
        uses: Some((40, 5_000)),
    };
    let tool = Due { day: Some(day("2027-11-25")), subject: DueSubject::Tool(id("T-1")), uses: None };
    assert_eq!(due(&house, "2027-01-13"), []);
    assert_eq!(due(&house, "2027-11-24"), std::slice::from_ref(&reference));
    assert_eq!(due(&house, "2027-11-25"), [reference, tool]);
    let mut many = run("K", "found", "runa");
    many.uses = 4_960;
    house.record("runa", Event::JobReceived(received("K"))).unwrap();
    many.files = vec![file("readings.csv", b"readings of J")];
    house.record("runa", Event::RunAdded(many)).unwrap();
    assert_eq!(due(&house, "2026-11-26")[0].uses, Some((5_000, 5_000)));
    let newer = calibrated("K-2026-99", "2026-11-25", "2027-11-24");
    house.record_with("idunn", Event::ReferenceCalibrated(newer), &[b"RT-250"]).unwrap();
    assert_eq!(due(&house, "2027-01-14"), []);
}

#[test]
fn the_queue_holds_what_was_submitted() {
    let mut house = House::in_memory();
    for (job, state) in [("A", JobState::Submitted), ("B", JobState::Evaluated), ("C", JobState::Submitted)] {
        house.job_to(job, "runa", state);
    }
    let queue: Vec<_> = house.ledger.state().queue().map(|(job, _)| job.as_str().to_owned()).collect();
    assert_eq!(queue, ["A", "C"]);
    house.record("idunn", returned("A")).unwrap();
    assert_eq!(house.ledger.state().queue().count(), 1);
    assert_eq!(house.ledger.state().jobs()[&id("A")].remarks[0].1, text("humidity is missing"));
}

#[test]
fn runs_of_a_reference_since_a_day() {
    let mut house = House::in_memory();
    house.job_to("A", "runa", JobState::Issued);
    let state = house.ledger.state();
    assert_eq!(state.runs_with(&id("RT-250"), day("2026-11-25")).count(), 1);
    assert_eq!(state.runs_with(&id("RT-250"), day("2026-11-26")).count(), 0);
    assert_eq!(state.runs_with(&id("RT-9"), day("2026-01-01")).count(), 0);
    let certificate = &state.certificates()[&number(1)];
    assert_eq!(certificate.evaluations[&id("found")], evaluated("A", "found").result);
}
