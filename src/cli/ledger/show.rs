//! `leverarm ledger show`: everything about one thing, by whatever it is called.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use leverarm_ledger::entry::Body;
use leverarm_ledger::event::{CertificateNumber, Event};
use leverarm_ledger::state::{Certificate, CertificateState, Job, State};
use leverarm_ledger::text::Id;
use serde_json::{Value, json};

use super::certificate::write_folder;
use super::desk::{Desk, failure};
use super::lists::{entries, print_entries, tool_words};
use super::names;
use super::references::uses;
use crate::cli::{Ending, Failure};
use crate::diagnose::harmless;
use crate::office::store::AnyLedger;

/// Arguments of `show`.
#[derive(Debug, Args)]
pub(super) struct Show {
    /// number of a certificate or a job, serial number or name of a tool, name of a reference
    what: String,
    /// write the files of the certificate into this folder again
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
}

/// What a word means.
enum Meaning {
    Certificate(CertificateNumber),
    Job(Id),
    Tool(Id),
    Reference(Id),
}

/// Everything that is called so.
fn meanings(state: &State, word: &str) -> Vec<Meaning> {
    let mut found = Vec::new();
    if let Ok(number) = names::number(word)
        && state.certificates().contains_key(&number)
    {
        found.push(Meaning::Certificate(number));
    }
    if let Ok(id) = names::id(word) {
        if state.jobs().contains_key(&id) {
            found.push(Meaning::Job(id.clone()));
        }
        if state.references().contains_key(&id) {
            found.push(Meaning::Reference(id));
        }
    }
    let tools = state.tools().values();
    let named = tools.filter(|tool| tool.id.as_str() == word || tool.serial.as_str() == word);
    found.extend(named.map(|tool| Meaning::Tool(tool.id.clone())));
    found
}

pub(super) fn run(desk: &mut Desk<'_, impl Write>, arguments: &Show) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let found = meanings(ledger.state(), &arguments.what);
    if found.is_empty() {
        let what = format!("nothing in the ledger is called '{}'", arguments.what);
        let remedy = "'leverarm ledger queue', 'tool list', 'reference list' and 'log' show what there is";
        return Err(Failure::bad_input(harmless(&what), remedy));
    }
    if let Some(out) = &arguments.out {
        let number = found.iter().find_map(|meaning| match meaning {
            Meaning::Certificate(number) => Some(number),
            _ => None,
        });
        let not = || Failure::bad_input("only a certificate has files to write", "give its number");
        return write_again(desk, &mut ledger, number.ok_or_else(not)?, out);
    }
    let mut objects = Vec::new();
    for (place, meaning) in found.iter().enumerate() {
        if desk.json() {
            objects.push(object(ledger.state(), meaning));
            continue;
        }
        if place > 0 {
            writeln!(desk.out)?;
        }
        print(desk, &mut ledger, meaning)?;
    }
    if desk.json() { desk.print(&objects) } else { Ok(Ending::Done) }
}

fn write_again(
    desk: &mut Desk<'_, impl Write>,
    ledger: &mut AnyLedger,
    number: &CertificateNumber,
    out: &std::path::Path,
) -> Result<Ending, Failure> {
    let known = ledger.state().certificates().get(number).map(|known| known.files.clone());
    let mut files = Vec::new();
    for file in known.unwrap_or_default() {
        let bytes = ledger.file(&file.sha256).map_err(|error| failure(&error.into(), None))?;
        let bytes = bytes.ok_or_else(|| {
            let refusal = leverarm_ledger::Refusal::MissingFile { digest: file.sha256 };
            failure(&refusal.into(), None)
        })?;
        files.push((file.path.to_string(), bytes));
    }
    let target = write_folder(out, number, &files)?;
    if desk.json() {
        return desk.print(&json!({ "certificate": number.to_string(), "folder": target }));
    }
    for (name, _) in &files {
        desk.line(&target.join(name).display().to_string())?;
    }
    Ok(Ending::Done)
}

fn standing(state: &CertificateState) -> String {
    match state {
        CertificateState::Current => "it holds".to_owned(),
        CertificateState::ReplacedBy(number) => format!("REPLACED by {number}"),
        CertificateState::Withdrawn(why) => format!("WITHDRAWN: {why}"),
    }
}

fn print(desk: &mut Desk<'_, impl Write>, ledger: &mut AnyLedger, meaning: &Meaning) -> Result<(), Failure> {
    let state = ledger.state();
    match meaning {
        Meaning::Certificate(number) => {
            let Some(certificate) = state.certificates().get(number) else { return Ok(()) };
            desk.line(&format!("Certificate {number}: {}", standing(&certificate.state)))?;
            desk.line(&format!("  issued      {} by {}", certificate.issued, certificate.author))?;
            if let Some(replaces) = &certificate.replaces {
                desk.line(&format!("  replaces    {replaces}"))?;
            }
            desk.line(&format!("  job         {}", certificate.job))?;
            for file in &certificate.files {
                desk.line(&format!("  {}  {}", file.sha256, file.path))?;
            }
            let job = certificate.job.clone();
            writeln!(desk.out)?;
            print(desk, ledger, &Meaning::Job(job))
        }
        Meaning::Job(id) => {
            if let Some(job) = state.jobs().get(id) {
                print_job(desk, state, id, job)?;
            }
            let of_job = |body: &Body| job_of(&body.event).is_some_and(|job| job == id);
            let of_certificates: Vec<CertificateNumber> = numbers(state, id).cloned().collect();
            let list = entries(&mut *ledger.store(), |body| {
                of_job(body) || certificate_of(&body.event).is_some_and(|n| of_certificates.contains(n))
            })?;
            writeln!(desk.out)?;
            print_entries(desk, &list).map(|_| ())
        }
        Meaning::Tool(id) => {
            let Some(tool) = state.tools().get(id) else { return Ok(()) };
            desk.line(&format!("Tool {id}: {}", tool_words(state, id)))?;
            desk.line(&format!("  class       {}", tool.kind))?;
            for (word, text) in [("range", &tool.range), ("claim", &tool.claim)] {
                if let Some(text) = text {
                    desk.line(&format!("  {word:<11} {text}"))?;
                }
            }
            desk.line(&format!("  customer    {}", customer_words(state, &tool.customer)))?;
            if let Some(due) = state.tool_due(tool) {
                desk.line(&format!("  due         {due}"))?;
            }
            let jobs = state.jobs().iter().filter(|(_, job)| job.received.tool == *id);
            print_jobs(desk, jobs.collect())
        }
        Meaning::Reference(id) => {
            let Some(record) = state.references().get(id) else { return Ok(()) };
            let reference = &record.reference;
            desk.line(&format!(
                "Reference {id}: {} {}, serial {}",
                reference.maker, reference.model, reference.serial
            ))?;
            let rows = record
                .calibrations
                .iter()
                .map(|calibration| {
                    let used = record.uses.get(&calibration.certificate).copied().unwrap_or(0);
                    vec![
                        calibration.certificate.to_string(),
                        calibration.laboratory.to_string(),
                        calibration.date.to_string(),
                        calibration.due.to_string(),
                        uses(used, reference.interval_uses),
                    ]
                })
                .collect();
            desk.table(&["certificate", "of", "calibrated", "due", "loadings"], rows)?;
            writeln!(desk.out)?;
            let used = |job: &Job| job.runs.iter().any(|record| record.run.reference == *id);
            print_jobs(desk, state.jobs().iter().filter(|(_, job)| used(job)).collect())
        }
    }
}

fn customer_words(state: &State, id: &Id) -> String {
    state.customers().get(id).map_or_else(|| id.to_string(), |customer| format!("{id}, {}", customer.name))
}

fn print_jobs(desk: &mut Desk<'_, impl Write>, jobs: Vec<(&Id, &Job)>) -> Result<(), Failure> {
    if jobs.is_empty() {
        return desk.line("no job");
    }
    let rows = jobs
        .into_iter()
        .map(|(id, job)| {
            let of = |text: Option<String>| text.unwrap_or_default();
            vec![
                id.to_string(),
                job.state.to_string(),
                of(job.performed().map(|day| day.to_string())),
                of(job.verdict().map(|verdict| verdict.to_string())),
                of(job.certificate.as_ref().map(ToString::to_string)),
            ]
        })
        .collect();
    desk.table(&["job", "state", "measured", "verdict", "certificate"], rows)
}

fn print_job(desk: &mut Desk<'_, impl Write>, state: &State, id: &Id, job: &Job) -> Result<(), Failure> {
    let received = &job.received;
    desk.line(&format!("Job {id}: {}", job.state))?;
    desk.line(&format!("  tool        {}, {}", received.tool, tool_words(state, &received.tool)))?;
    desk.line(&format!("  customer    {}", customer_words(state, &received.customer)))?;
    desk.line(&format!("  received    {}: {}", received.received, received.condition))?;
    for accessory in &received.accessories {
        desk.line(&format!("  with it     {accessory}"))?;
    }
    for photo in &received.photos {
        desk.line(&format!("  photo       {} {}", photo.sha256, photo.path))?;
    }
    desk.line(&format!("  agreed      {}, decision rule {}", received.rulebook, received.decision))?;
    for (by, remark) in &job.remarks {
        desk.line(&format!("  returned    {by}: {}", remark.as_str().replace('\n', " ")))?;
    }
    if let Some(approver) = &job.approver {
        desk.line(&format!("  approver    {approver}"))?;
    }
    for number in numbers(state, id) {
        let standing = state.certificates().get(number).map(|known| standing(&known.state));
        desk.line(&format!("  certificate {number}, {}", standing.unwrap_or_default()))?;
    }
    for record in &job.runs {
        let run = &record.run;
        let verdict = record.evaluations.last().map(|evaluation| evaluation.verdict.to_string());
        desk.line(&format!(
            "  run         {} on {} by {} with {} ({}), {} files: {}",
            run.run,
            run.performed,
            run.technician,
            run.reference,
            run.certificate,
            run.files.len(),
            verdict.unwrap_or_else(|| "not evaluated".to_owned())
        ))?;
    }
    Ok(())
}

/// The certificates of a job, the first one first.
fn numbers<'a>(state: &'a State, job: &'a Id) -> impl Iterator<Item = &'a CertificateNumber> {
    let of = move |known: &(&CertificateNumber, &Certificate)| known.1.job == *job;
    state.certificates().iter().filter(of).map(|(number, _)| number)
}

/// The job that an entry names.
const fn job_of(event: &Event) -> Option<&Id> {
    Some(match event {
        Event::JobReceived(e) => &e.job,
        Event::RunAdded(e) => &e.job,
        Event::Evaluated(e) => &e.job,
        Event::Submitted(e) => &e.job,
        Event::Returned(e) => &e.job,
        Event::Approved(e) => &e.job,
        Event::Issued(e) => &e.job,
        Event::JobClosed(e) => &e.job,
        _ => return None,
    })
}

/// The certificate that an entry is about.
const fn certificate_of(event: &Event) -> Option<&CertificateNumber> {
    match event {
        Event::Amended(e) => Some(&e.certificate),
        Event::Withdrawn(e) => Some(&e.certificate),
        _ => None,
    }
}

fn object(state: &State, meaning: &Meaning) -> Value {
    match meaning {
        Meaning::Certificate(number) => {
            let Some(certificate) = state.certificates().get(number) else { return Value::Null };
            let (replaced_by, why) = match &certificate.state {
                CertificateState::Current => (None, None),
                CertificateState::ReplacedBy(number) => (Some(number.to_string()), None),
                CertificateState::Withdrawn(why) => (None, Some(why)),
            };
            json!({
                "kind": "certificate", "number": number.to_string(), "job": certificate.job,
                "state": certificate.state.as_str(), "replaced_by": replaced_by, "withdrawn": why,
                "issued": certificate.issued, "author": certificate.author,
                "replaces": certificate.replaces.as_ref().map(ToString::to_string),
                "files": certificate.files,
            })
        }
        Meaning::Job(id) => {
            let Some(job) = state.jobs().get(id) else { return Value::Null };
            let runs: Vec<_> = job
                .runs
                .iter()
                .map(|record| {
                    let last = record.evaluations.last();
                    json!({ "run": record.run, "verdict": last.map(|last| last.verdict),
                            "result": last.map(|last| last.result) })
                })
                .collect();
            json!({
                "kind": "job", "state": job.state.as_str(), "received": job.received, "runs": runs,
                "remarks": job.remarks, "approver": job.approver,
                "certificates": numbers(state, id).map(ToString::to_string).collect::<Vec<_>>(),
            })
        }
        Meaning::Tool(id) => {
            let Some(tool) = state.tools().get(id) else { return Value::Null };
            let jobs = state.jobs().iter().filter(|(_, job)| job.received.tool == *id);
            json!({ "kind": "tool", "tool": tool, "due": state.tool_due(tool),
                    "jobs": jobs.map(|(id, _)| id).collect::<Vec<_>>() })
        }
        Meaning::Reference(id) => {
            let Some(record) = state.references().get(id) else { return Value::Null };
            json!({ "kind": "reference", "reference": record.reference,
                    "calibrations": record.calibrations, "uses": record.uses })
        }
    }
}
