//! Folding an event in. It is taken for permitted: [`crate::rules`] has been asked before.

use chrono::NaiveDate;

use super::{
    Authorisation, Certificate, CertificateState, CheckStandardRecord, Evaluation, ExposureRecord, Job,
    JobState, PersonRecord, ReferenceRecord, RunRecord, State,
};
use crate::entry::{Body, Head, Time};
use crate::event::{self, Authority, CertificateNumber, Event, Person, Rulebooks};
use crate::text::Id;

/// A thing whose line in a derived table may have changed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it
pub enum Touched {
    Customer(Id),
    Tool(Id),
    Reference(Id),
    Job(Id),
    Certificate(CertificateNumber),
}

/// Who and when, for the event.
struct Around<'a> {
    sequence: u64,
    author: &'a Id,
    day: NaiveDate,
}

impl State {
    /// Folds an entry in and tells what it touched.
    pub fn apply(&mut self, body: &Body, head: Head) -> Vec<Touched> {
        self.head = head;
        self.time = Some(body.time);
        self.apply_event(body.sequence, &body.author, body.time, &body.event)
    }

    pub(crate) fn apply_event(
        &mut self,
        sequence: u64,
        author: &Id,
        time: Time,
        event: &Event,
    ) -> Vec<Touched> {
        let around = Around { sequence, author, day: time.date_naive() };
        match event {
            Event::Founded(_)
            | Event::PersonEnrolled(_)
            | Event::Authorised(_)
            | Event::AuthorisationEnded(_)
            | Event::KeyReplaced(_)
            | Event::KeyRevoked(_) => {
                self.apply_people(&around, event);
                Vec::new()
            }
            Event::CustomerRegistered(customer) => self.know_customer(customer),
            Event::CustomerSuperseded(superseded) => self.know_customer(&superseded.now),
            Event::ToolRegistered(tool) => self.know_tool(tool),
            Event::ToolSuperseded(superseded) => self.know_tool(&superseded.now),
            Event::ReferenceRegistered(reference) => self.know_reference(reference),
            Event::ReferenceSuperseded(superseded) => self.know_reference(&superseded.now),
            Event::ReferenceCalibrated(calibrated) => {
                if let Some(record) = self.references.get_mut(&calibrated.reference) {
                    record.calibrations.push(calibrated.clone());
                }
                vec![Touched::Reference(calibrated.reference.clone())]
            }
            Event::CheckStandardRegistered(standard) => {
                let record = CheckStandardRecord { standard: standard.clone(), values: Vec::new() };
                self.standards.insert(standard.id.clone(), record);
                Vec::new()
            }
            Event::CheckStandardMeasured(event) => {
                if let Some(record) = self.standards.get_mut(&event.standard) {
                    let value =
                        (event.performed, event.reference.clone(), event.value.clone(), event.unit.clone());
                    record.values.push(value);
                }
                Vec::new()
            }
            Event::ReferenceFoundWrong(found) => {
                let record = ExposureRecord { found: found.clone(), letters: Vec::new() };
                self.exposures.insert(found.exposure.clone(), record);
                Vec::new()
            }
            Event::LettersWritten(event) => {
                if let Some(record) = self.exposures.get_mut(&event.exposure) {
                    record.letters.extend(event.letters.iter().cloned());
                }
                Vec::new()
            }
            _ => self.apply_job(&around, event),
        }
    }

    fn enrol(&mut self, person: &Person) {
        self.keys.insert(person.key, person.id.clone());
        let record = PersonRecord {
            name: person.name.clone(),
            key: person.key,
            is_revoked: false,
            authorisations: Vec::new(),
        };
        self.people.insert(person.id.clone(), record);
    }

    fn authorise(&mut self, person: &Id, authorisation: Authorisation) {
        if let Some(record) = self.people.get_mut(person) {
            record.authorisations.push(authorisation);
        }
    }

    fn apply_people(&mut self, around: &Around<'_>, event: &Event) {
        match event {
            Event::Founded(founded) => {
                self.laboratory = Some(founded.laboratory.clone());
                self.enrol(&founded.administrator);
                let authorisation = Authorisation {
                    number: around.sequence,
                    authority: Authority::Administrator,
                    rulebooks: Rulebooks::All,
                    from: around.day,
                    to: None,
                };
                self.authorise(&founded.administrator.id, authorisation);
            }
            Event::PersonEnrolled(enrolled) => self.enrol(&enrolled.person),
            Event::Authorised(given) => {
                let authorisation = Authorisation {
                    number: around.sequence,
                    authority: given.authority,
                    rulebooks: given.rulebooks.clone(),
                    from: given.from,
                    to: given.to,
                };
                self.authorise(&given.person, authorisation);
            }
            Event::AuthorisationEnded(ended) => {
                if let Some(record) = self.people.get_mut(&ended.person) {
                    let of = |given: &&mut Authorisation| given.number == ended.authorisation;
                    record.authorisations.iter_mut().filter(of).for_each(|given| given.to = Some(ended.last));
                }
            }
            Event::KeyReplaced(replaced) => {
                self.keys.insert(replaced.key, replaced.person.clone());
                if let Some(record) = self.people.get_mut(&replaced.person) {
                    record.key = replaced.key;
                    record.is_revoked = false;
                }
            }
            Event::KeyRevoked(revoked) => {
                if let Some(record) = self.people.get_mut(&revoked.person) {
                    record.is_revoked = true;
                }
            }
            _ => {}
        }
    }

    fn know_customer(&mut self, customer: &event::Customer) -> Vec<Touched> {
        self.customers.insert(customer.id.clone(), customer.clone());
        vec![Touched::Customer(customer.id.clone())]
    }

    fn know_tool(&mut self, tool: &event::Tool) -> Vec<Touched> {
        let serial = |tool: &event::Tool| (tool.maker.clone(), tool.model.clone(), tool.serial.clone());
        if let Some(before) = self.tools.insert(tool.id.clone(), tool.clone()) {
            self.serials.remove(&serial(&before));
        }
        self.serials.insert(serial(tool), tool.id.clone());
        vec![Touched::Tool(tool.id.clone())]
    }

    fn know_reference(&mut self, reference: &event::Reference) -> Vec<Touched> {
        match self.references.get_mut(&reference.id) {
            Some(record) => record.reference = reference.clone(),
            None => {
                let (calibrations, uses) = Default::default();
                let record = ReferenceRecord { reference: reference.clone(), calibrations, uses };
                self.references.insert(reference.id.clone(), record);
            }
        }
        vec![Touched::Reference(reference.id.clone())]
    }

    fn apply_job(&mut self, around: &Around<'_>, event: &Event) -> Vec<Touched> {
        match event {
            Event::JobReceived(received) => {
                let job = Job {
                    received: received.clone(),
                    state: JobState::Received,
                    runs: Vec::new(),
                    remarks: Vec::new(),
                    approver: None,
                    certificate: None,
                };
                self.jobs.insert(received.job.clone(), job);
                vec![Touched::Job(received.job.clone())]
            }
            Event::RunAdded(run) => self.add_run(run),
            Event::Evaluated(evaluated) => self.evaluate(around, evaluated),
            Event::Submitted(event) => self.step(&event.job, |job| job.state = JobState::Submitted),
            Event::Returned(event) => self.step(&event.job, |job| {
                job.state = JobState::Returned;
                job.remarks.push((around.author.clone(), event.remarks.clone()));
            }),
            Event::Approved(event) => self.step(&event.job, |job| {
                job.state = JobState::Approved;
                job.approver = Some(around.author.clone());
            }),
            Event::JobClosed(event) => self.step(&event.job, |job| job.state = JobState::Closed),
            Event::Issued(issued) => {
                self.certify(around, &issued.job, &issued.certificate, None, &issued.files)
            }
            Event::Amended(amended) => {
                let Some(before) = self.certificates.get_mut(&amended.replaces) else { return Vec::new() };
                before.state = CertificateState::ReplacedBy(amended.certificate.clone());
                let job = before.job.clone();
                let replaces = Some(&amended.replaces);
                let mut touched = self.certify(around, &job, &amended.certificate, replaces, &amended.files);
                touched.push(Touched::Certificate(amended.replaces.clone()));
                touched
            }
            Event::Withdrawn(withdrawn) => {
                let Some(certificate) = self.certificates.get_mut(&withdrawn.certificate) else {
                    return Vec::new();
                };
                certificate.state = CertificateState::Withdrawn(withdrawn.why.clone());
                let job = certificate.job.clone();
                let mut touched = self.step(&job, |job| job.state = JobState::Withdrawn);
                touched.push(Touched::Certificate(withdrawn.certificate.clone()));
                touched
            }
            _ => Vec::new(),
        }
    }

    fn step(&mut self, job: &Id, change: impl FnOnce(&mut Job)) -> Vec<Touched> {
        if let Some(record) = self.jobs.get_mut(job) {
            change(record);
        }
        vec![Touched::Job(job.clone())]
    }

    fn add_run(&mut self, run: &event::RunAdded) -> Vec<Touched> {
        let mut touched = self.step(&run.job, |job| {
            job.state = JobState::Measured;
            job.runs.push(RunRecord { run: run.clone(), evaluations: Vec::new() });
        });
        if let Some(record) = self.references.get_mut(&run.reference) {
            let uses = record.uses.entry(run.certificate.clone()).or_insert(0);
            *uses = uses.saturating_add(run.uses);
            touched.push(Touched::Reference(run.reference.clone()));
        }
        if let Some(job) = self.jobs.get(&run.job) {
            let tool = job.received.tool.clone();
            let last = self.measured.entry(tool.clone()).or_insert(run.performed);
            *last = run.performed.max(*last);
            touched.push(Touched::Tool(tool));
        }
        touched
    }

    fn evaluate(&mut self, around: &Around<'_>, evaluated: &event::Evaluated) -> Vec<Touched> {
        self.step(&evaluated.job, |job| {
            let evaluation = Evaluation {
                sequence: around.sequence,
                result: evaluated.result,
                verdict: evaluated.verdict,
                software: evaluated.software.clone(),
            };
            let of = |record: &&mut RunRecord| record.run.run == evaluated.run;
            if let Some(record) = job.runs.iter_mut().find(of) {
                record.evaluations.push(evaluation);
            }
            let is_complete = job.runs.iter().all(|record| !record.evaluations.is_empty());
            // An evaluation after the issue prepares an amendment: the job stays where it is.
            if job.state != JobState::Issued {
                job.state = if is_complete { JobState::Evaluated } else { JobState::Measured };
            }
        })
    }

    fn certify(
        &mut self,
        around: &Around<'_>,
        job: &Id,
        number: &CertificateNumber,
        replaces: Option<&CertificateNumber>,
        files: &[event::FileRef],
    ) -> Vec<Touched> {
        self.series.insert(number.series.clone(), number.number);
        let last = |run: &RunRecord| Some((run.run.run.clone(), run.evaluations.last()?.result));
        let evaluations = self.jobs.get(job).map(|job| job.runs.iter().filter_map(last).collect());
        let certificate = Certificate {
            job: job.clone(),
            state: CertificateState::Current,
            issued: around.day,
            author: around.author.clone(),
            replaces: replaces.cloned(),
            evaluations: evaluations.unwrap_or_default(),
            files: files.to_vec(),
        };
        self.certificates.insert(number.clone(), certificate);
        let mut touched = self.step(job, |job| {
            job.state = JobState::Issued;
            job.certificate = Some(number.clone());
        });
        touched.push(Touched::Certificate(number.clone()));
        touched
    }
}
