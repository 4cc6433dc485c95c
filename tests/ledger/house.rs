//! An invented laboratory to try things in.

use std::cell::Cell;

use chrono::{DateTime, NaiveDate, TimeDelta};
use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::{Head, Time};
use leverarm_ledger::event::*;
use leverarm_ledger::keys::Signer;
use leverarm_ledger::rules::Command;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::{MemoryStore, Store};
use leverarm_ledger::text::{Decimal, Id, Text};
use leverarm_ledger::{Ledger, LedgerError};

pub const RULEBOOK: &str = "iso-6789-2";

pub fn id(text: &str) -> Id {
    Id::new(text).unwrap()
}

pub fn text(given: &str) -> Text {
    Text::new(given).unwrap()
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn decimal(text: &str) -> Decimal {
    Decimal::new(text).unwrap()
}

/// The key of a person of the tests: its seed is a digest of the name.
pub fn signer(name: &str) -> Signer {
    Signer::from_seed(id(name), &Digest::of(name.as_bytes()).0)
}

pub fn file(path: &str, bytes: &[u8]) -> FileRef {
    FileRef { path: id(path), sha256: Digest::of(bytes) }
}

pub fn start() -> Time {
    DateTime::parse_from_rfc3339("2026-11-25T08:00:00+01:00").unwrap()
}

pub struct House<S> {
    pub ledger: Ledger<S>,
    seconds: Cell<i64>,
}

impl House<MemoryStore> {
    pub fn in_memory() -> House<MemoryStore> {
        House::furnished(MemoryStore::new())
    }
}

impl<S: Store> House<S> {
    /// A ledger that is there already; time goes on from its last entry.
    pub fn of(ledger: Ledger<S>) -> House<S> {
        let since = ledger.state().time().unwrap() - start();
        House { ledger, seconds: Cell::new(since.num_seconds()) }
    }

    pub fn founded(store: S) -> House<S> {
        let (laboratory, name) = (text("Skeldravoe Torque Laboratory"), text("Eskil Marnburg"));
        let ledger = Ledger::found(store, laboratory, name, &signer("eskil"), &start).unwrap();
        House { ledger, seconds: Cell::new(0) }
    }

    /// With people, a customer, a tool and a reference.
    pub fn furnished(store: S) -> House<S> {
        let mut house = House::founded(store);
        for name in ["runa", "idunn", "halvar", "torunn"] {
            house.enrol(name);
        }
        house.authorise("runa", Authority::Technician);
        house.authorise("idunn", Authority::Approver);
        house.authorise("halvar", Authority::Amender);
        for authority in [Authority::Technician, Authority::Approver, Authority::Amender] {
            house.authorise("torunn", authority);
        }
        house.record("runa", Event::CustomerRegistered(customer("haldervoe"))).unwrap();
        house.record("runa", Event::ToolRegistered(tool("T-1", "4711"))).unwrap();
        house.record("idunn", Event::ReferenceRegistered(reference("RT-250"))).unwrap();
        let calibrated = calibrated("K-2026-17", "2026-01-15", "2027-01-14");
        house.record_with("idunn", Event::ReferenceCalibrated(calibrated), &[b"RT-250"]).unwrap();
        house
    }

    pub fn now(&self) -> Time {
        self.seconds.set(self.seconds.get() + 1);
        start() + TimeDelta::seconds(self.seconds.get())
    }

    pub fn command(&mut self, who: &str, command: Command, files: &[&[u8]]) -> Result<Head, LedgerError> {
        let files: Vec<Vec<u8>> = files.iter().map(|bytes| bytes.to_vec()).collect();
        let now = self.now();
        self.ledger.record(&signer(who), &|| now, command, &files)
    }

    pub fn record(&mut self, who: &str, event: Event) -> Result<Head, LedgerError> {
        self.command(who, Command::Record(event), &[])
    }

    pub fn record_with(&mut self, who: &str, event: Event, files: &[&[u8]]) -> Result<Head, LedgerError> {
        self.command(who, Command::Record(event), files)
    }

    pub fn enrol(&mut self, name: &str) {
        let person = Person { id: id(name), name: text(name), key: signer(name).public() };
        self.record("eskil", Event::PersonEnrolled(PersonEnrolled { person })).unwrap();
    }

    pub fn authorise(&mut self, name: &str, authority: Authority) -> u64 {
        let event = Authorised {
            person: id(name),
            authority,
            rulebooks: Rulebooks::Named(vec![id(RULEBOOK)]),
            from: day("2026-01-01"),
            to: None,
            why: text("training witnessed"),
        };
        self.record("eskil", Event::Authorised(event)).unwrap().sequence
    }

    /// Leads a job to a state, measured by `technician`.
    pub fn job_to(&mut self, job: &str, technician: &str, state: JobState) {
        let steps: &[JobState] = match state {
            JobState::Received => &[],
            JobState::Closed => &[JobState::Measured],
            JobState::Measured => &[JobState::Measured],
            JobState::Evaluated => &[JobState::Measured, JobState::Evaluated],
            JobState::Submitted => &[JobState::Measured, JobState::Evaluated, JobState::Submitted],
            JobState::Returned => {
                &[JobState::Measured, JobState::Evaluated, JobState::Submitted, JobState::Returned]
            }
            JobState::Approved => {
                &[JobState::Measured, JobState::Evaluated, JobState::Submitted, JobState::Approved]
            }
            _ => &[
                JobState::Measured,
                JobState::Evaluated,
                JobState::Submitted,
                JobState::Approved,
                JobState::Issued,
            ],
        };
        self.record("runa", Event::JobReceived(received(job))).unwrap();
        for step in steps {
            let readings = format!("readings of {job}");
            let result = format!("result of {job}");
            match step {
                JobState::Measured => self.record_with(
                    technician,
                    Event::RunAdded(run(job, "found", technician)),
                    &[readings.as_bytes()],
                ),
                JobState::Evaluated => {
                    let event = Event::Evaluated(evaluated(job, "found"));
                    self.record_with(technician, event, &[result.as_bytes()])
                }
                JobState::Submitted => self.record(technician, Event::Submitted(Submitted { job: id(job) })),
                JobState::Returned => self.record("idunn", returned(job)),
                JobState::Approved => self.record("idunn", Event::Approved(Approved { job: id(job) })),
                _ => self.command("idunn", issue(job), &[b"certificate"]),
            }
            .unwrap();
        }
        if state == JobState::Withdrawn {
            let certificate = self.ledger.state().jobs()[&id(job)].certificate.clone().unwrap();
            self.record("halvar", Event::Withdrawn(Withdrawn { certificate, why: text("wrong tool") }))
                .unwrap();
        }
        if state == JobState::Closed {
            self.record("idunn", Event::JobClosed(JobClosed { job: id(job), why: text("broken") })).unwrap();
        }
    }
}

pub fn customer(name: &str) -> Customer {
    Customer { id: id(name), name: text("Haldervoe Bank Offshore Wind Site"), address: None, contact: None }
}

pub fn tool(name: &str, serial: &str) -> Tool {
    Tool {
        id: id(name),
        customer: id("haldervoe"),
        maker: text("Brundholt"),
        model: text("BH 200"),
        serial: text(serial),
        kind: text("II A"),
        range: Some(text("40 N·m .. 200 N·m")),
        claim: None,
        heads: vec![text("ratchet, 1/2 in")],
        interval_months: Some(12),
    }
}

pub fn reference(name: &str) -> Reference {
    Reference {
        id: id(name),
        maker: text("Aldmarow"),
        model: text("RT"),
        serial: text("88"),
        range: None,
        interval_uses: Some(5_000),
    }
}

pub fn calibrated(certificate: &str, date: &str, due: &str) -> ReferenceCalibrated {
    ReferenceCalibrated {
        reference: id("RT-250"),
        certificate: id(certificate),
        laboratory: text("Norrvik Force Institute"),
        date: day(date),
        due: day(due),
        files: vec![file("rt-250.toml", b"RT-250")],
    }
}

pub fn received(job: &str) -> JobReceived {
    JobReceived {
        job: id(job),
        customer: id("haldervoe"),
        tool: id("T-1"),
        received: day("2026-11-24"),
        condition: text("scratched, complete"),
        accessories: vec![text("case")],
        photos: Vec::new(),
        rulebook: id(RULEBOOK),
        decision: id("guarded"),
    }
}

pub fn run(job: &str, name: &str, technician: &str) -> RunAdded {
    RunAdded {
        job: id(job),
        run: id(name),
        condition: Condition::AsFound,
        performed: day("2026-11-25"),
        technician: id(technician),
        reference: id("RT-250"),
        certificate: id("K-2026-17"),
        uses: 40,
        files: vec![file("readings.csv", format!("readings of {job}").as_bytes())],
    }
}

pub fn evaluated(job: &str, run: &str) -> Evaluated {
    Evaluated {
        job: id(job),
        run: id(run),
        result: Digest::of(format!("result of {job}").as_bytes()),
        verdict: Verdict::Conforms,
        software: id("0.1.0"),
    }
}

pub fn returned(job: &str) -> Event {
    Event::Returned(Returned { job: id(job), remarks: text("humidity is missing") })
}

pub fn issue(job: &str) -> Command {
    let files = vec![file("certificate.pdf", b"certificate")];
    Command::Issue { job: id(job), series: id("SK-2026"), files }
}

pub fn number(number: u64) -> CertificateNumber {
    CertificateNumber { series: id("SK-2026"), number }
}

pub fn amend(replaces: u64) -> Command {
    Command::Amend {
        replaces: number(replaces),
        changed: text("name of the customer"),
        files: vec![file("certificate.pdf", b"certificate")],
    }
}
