//! `leverarm ledger status`, `queue`, `log`, `due`: how the record stands.

use std::collections::BTreeMap;
use std::io::Write;

use chrono::NaiveDate;
use clap::Args;
use leverarm_ledger::entry::{Body, Head};
use leverarm_ledger::event::Event;
use leverarm_ledger::state::{DueSubject, Job, JobState, State};
use leverarm_ledger::store::Reading;
use leverarm_ledger::text::Id;
use serde_json::json;

use super::desk::{Desk, failure, now};
use super::names;
use super::references::uses;
use crate::cli::{Ending, Failure};

/// So many entries are read at a time.
const BATCH: usize = 1_000;

/// Arguments of `log`.
#[derive(Debug, Args)]
pub(super) struct Log {
    /// from this day on
    #[arg(long, value_name = "DATE", value_parser = names::day)]
    since: Option<NaiveDate>,
    /// only what this person wrote
    #[arg(long, value_name = "PERSON", value_parser = names::id)]
    by: Option<Id>,
    /// only the last so many
    #[arg(long, value_name = "NUMBER")]
    last: Option<usize>,
}

/// Arguments of `due`.
#[derive(Debug, Args)]
pub(super) struct Due {
    /// what is due on this day; today where it is not said
    #[arg(long, value_name = "DATE", value_parser = names::day)]
    on: Option<NaiveDate>,
}

pub(super) fn status(desk: &mut Desk<'_, impl Write>) -> Result<Ending, Failure> {
    let ledger = desk.open()?;
    let state = ledger.state();
    let mut counts: BTreeMap<JobState, usize> = BTreeMap::new();
    for job in state.jobs().values() {
        *counts.entry(job.state).or_default() += 1;
    }
    let today = now().date_naive();
    let due = state.due(today).len();
    let Head { sequence, hash } = state.head();
    let laboratory = state.laboratory().map(ToString::to_string).unwrap_or_default();
    let time = state.time().map(|time| time.format("%Y-%m-%d %H:%M:%S %:z").to_string()).unwrap_or_default();
    if desk.json() {
        let jobs: BTreeMap<&str, usize> =
            counts.iter().map(|(state, count)| (state.as_str(), *count)).collect();
        return desk.print(&json!({
            "laboratory": laboratory, "entries": sequence, "head": hash, "last": time, "jobs": jobs,
            "certificates": state.certificates().len(), "customers": state.customers().len(),
            "tools": state.tools().len(), "references": state.references().len(),
            "people": state.people().len(), "due": due,
        }));
    }
    desk.line(&format!("{laboratory}: {sequence} entries, the last one of {time}"))?;
    desk.line(&format!("head {sequence}:{hash}"))?;
    desk.line(&format!(
        "{}, {}, {}, {}",
        count(state.customers().len(), "customer"),
        count(state.tools().len(), "tool"),
        count(state.references().len(), "reference"),
        count(state.certificates().len(), "certificate")
    ))?;
    if counts.is_empty() {
        desk.line("no job yet: 'leverarm ledger receive' takes one in")?;
    } else {
        let all = JobState::ALL.into_iter().filter_map(|state| Some((state, *counts.get(&state)?)));
        let rows =
            all.map(|(state, count)| vec![state.to_string(), count.to_string(), next(state).to_owned()]);
        writeln!(desk.out)?;
        desk.table(&["jobs", "how many", "what comes next"], rows.collect())?;
    }
    if due > 0 {
        desk.line(&format!("{} due: 'leverarm ledger due'", count(due, "thing")))?;
    }
    Ok(Ending::Done)
}

fn count(number: usize, what: &str) -> String {
    format!("{number} {what}{}", if number == 1 { "" } else { "s" })
}

/// What a job in a state waits for.
const fn next(state: JobState) -> &'static str {
    match state {
        JobState::Received => "measure: add-run",
        JobState::Measured => "evaluate",
        JobState::Evaluated => "submit",
        JobState::Submitted => "approve or return",
        JobState::Returned => "mend, then submit",
        JobState::Approved => "issue",
        JobState::Issued | JobState::Withdrawn | JobState::Closed => "nothing",
    }
}

pub(super) fn queue(desk: &mut Desk<'_, impl Write>) -> Result<Ending, Failure> {
    let ledger = desk.open()?;
    let state = ledger.state();
    let order = |job: &Job| match job.state {
        JobState::Submitted => Some(0),
        JobState::Approved => Some(1),
        JobState::Returned => Some(2),
        JobState::Evaluated => Some(3),
        JobState::Measured => Some(4),
        JobState::Received => Some(5),
        JobState::Issued | JobState::Withdrawn | JobState::Closed => None,
    };
    let mut jobs: Vec<_> = state.jobs().iter().filter_map(|(id, job)| Some((order(job)?, id, job))).collect();
    jobs.sort_by_key(|(order, id, job)| (*order, job.received.received, (*id).clone()));
    if desk.json() {
        let list: Vec<_> = jobs.iter().map(|(_, id, job)| waiting(state, id, job)).collect();
        return desk.print(&list);
    }
    if jobs.is_empty() {
        desk.line("nothing waits")?;
        return Ok(Ending::Done);
    }
    let rows = jobs
        .iter()
        .map(|(_, id, job)| {
            let verdict = job.verdict().map(|verdict| verdict.to_string()).unwrap_or_default();
            let remark = match job.state {
                JobState::Returned => job.remarks.last().map(|(by, text)| format!("{by}: {text}")),
                _ => None,
            };
            vec![
                id.to_string(),
                job.state.to_string(),
                job.received.received.to_string(),
                tool_words(state, &job.received.tool),
                verdict,
                remark.unwrap_or_else(|| next(job.state).to_owned()),
            ]
        })
        .collect();
    desk.table(&["job", "state", "received", "tool", "verdict", "what comes next"], rows)?;
    Ok(Ending::Done)
}

fn waiting(state: &State, id: &Id, job: &Job) -> serde_json::Value {
    json!({
        "job": id, "state": job.state.as_str(), "received": job.received.received,
        "customer": job.received.customer, "tool": job.received.tool,
        "serial": state.tools().get(&job.received.tool).map(|tool| &tool.serial),
        "verdict": job.verdict(), "next": next(job.state),
    })
}

/// A tool by maker, model and serial number.
pub(super) fn tool_words(state: &State, id: &Id) -> String {
    match state.tools().get(id) {
        Some(tool) => format!("{} {}, serial {}", tool.maker, tool.model, tool.serial),
        None => id.to_string(),
    }
}

/// An entry in a few words: what it is about.
pub(super) fn about(event: &Event) -> String {
    match event {
        Event::Founded(e) => format!("{} by {}", e.laboratory, e.administrator.id),
        Event::PersonEnrolled(e) => format!("{}, {}", e.person.id, e.person.name),
        Event::Authorised(e) => format!("{} as {}: {}", e.person, e.authority, e.why),
        Event::AuthorisationEnded(e) => format!("{} of {}: {}", e.authorisation, e.person, e.why),
        Event::KeyReplaced(e) => format!("{}: {}", e.person, e.why),
        Event::KeyRevoked(e) => format!("{}: {}", e.person, e.why),
        Event::CustomerRegistered(e) => format!("{}: {}", e.id, e.name),
        Event::CustomerSuperseded(e) => format!("{}: {}", e.now.id, e.why),
        Event::ToolRegistered(e) => format!("{}: {} {}, serial {}", e.id, e.maker, e.model, e.serial),
        Event::ToolSuperseded(e) => format!("{}: {}", e.now.id, e.why),
        Event::ReferenceRegistered(e) => format!("{}: {} {}", e.id, e.maker, e.model),
        Event::ReferenceSuperseded(e) => format!("{}: {}", e.now.id, e.why),
        Event::ReferenceCalibrated(e) => format!("{}: {}, due {}", e.reference, e.certificate, e.due),
        Event::CheckStandardRegistered(e) => format!("{}: {}", e.id, e.description),
        Event::CheckStandardMeasured(e) => {
            format!("{} with {}: {} {}", e.standard, e.reference, e.value, e.unit)
        }
        Event::JobReceived(e) => format!("{}: tool {} of {}", e.job, e.tool, e.customer),
        Event::RunAdded(e) => format!("{}: {} on {} with {}", e.job, e.run, e.performed, e.reference),
        Event::Evaluated(e) => format!("{}: {} {}", e.job, e.run, e.verdict),
        Event::Submitted(e) => e.job.to_string(),
        Event::Returned(e) => format!("{}: {}", e.job, e.remarks),
        Event::Approved(e) => e.job.to_string(),
        Event::Issued(e) => format!("{}: {}", e.job, e.certificate),
        Event::Amended(e) => format!("{} replaces {}: {}", e.certificate, e.replaces, e.changed),
        Event::Withdrawn(e) => format!("{}: {}", e.certificate, e.why),
        Event::JobClosed(e) => format!("{}: {}", e.job, e.why),
        Event::ReferenceFoundWrong(e) => {
            format!("{}: {} since {}, {} %", e.exposure, e.reference, e.since, e.deviation)
        }
        Event::LettersWritten(e) => format!("{}: {} letters", e.exposure, e.letters.len()),
    }
}

/// Every entry that is asked for, in order.
pub(super) fn entries(
    reading: &mut dyn Reading,
    mut wanted: impl FnMut(&Body) -> bool,
) -> Result<Vec<(Body, Head)>, Failure> {
    let mut found = Vec::new();
    let mut from = 1;
    loop {
        let rows = reading.rows(from, BATCH).map_err(|error| failure(&error.into(), None))?;
        let Some(last) = rows.last() else { return Ok(found) };
        from = last.sequence + 1;
        for row in &rows {
            let body = Body::read(&row.body).map_err(|error| failure(&error.into(), None))?;
            if wanted(&body) {
                found.push((body, row.head()));
            }
        }
    }
}

/// Prints entries, one a line.
pub(super) fn print_entries(
    desk: &mut Desk<'_, impl Write>,
    list: &[(Body, Head)],
) -> Result<Ending, Failure> {
    let rows = list
        .iter()
        .map(|(body, head)| {
            vec![
                head.sequence.to_string(),
                body.time.format("%Y-%m-%d %H:%M:%S").to_string(),
                body.author.to_string(),
                body.event.kind().to_owned(),
                about(&body.event),
            ]
        })
        .collect();
    desk.table(&["entry", "time", "by", "what", "about"], rows)?;
    Ok(Ending::Done)
}

pub(super) fn log(desk: &mut Desk<'_, impl Write>, arguments: &Log) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let wanted = |body: &Body| {
        arguments.since.is_none_or(|since| body.time.date_naive() >= since)
            && arguments.by.as_ref().is_none_or(|by| body.author == *by)
    };
    let mut list = entries(&mut *ledger.store(), wanted)?;
    if let Some(last) = arguments.last {
        list.drain(..list.len().saturating_sub(last));
    }
    if desk.json() {
        let list: Vec<_> = list
            .iter()
            .map(|(body, head)| {
                json!({ "entry": head.sequence, "hash": head.hash, "time": body.time.to_rfc3339(),
                        "author": body.author, "kind": body.event.kind(), "event": body.event })
            })
            .collect();
        return desk.print(&list);
    }
    print_entries(desk, &list)
}

pub(super) fn due(desk: &mut Desk<'_, impl Write>, arguments: &Due) -> Result<Ending, Failure> {
    let ledger = desk.open()?;
    let state = ledger.state();
    let day = arguments.on.unwrap_or_else(|| now().date_naive());
    let due = state.due(day);
    if desk.json() {
        let list: Vec<_> = due
            .iter()
            .map(|due| {
                let (kind, id) = match &due.subject {
                    DueSubject::Tool(id) => ("tool", id),
                    DueSubject::Reference(id) => ("reference", id),
                };
                let uses = due.uses.map(|(uses, allowed)| json!({ "uses": uses, "allowed": allowed }));
                json!({ "kind": kind, "id": id, "due": due.day, "uses": uses })
            })
            .collect();
        return desk.print(&json!({ "on": day, "due": list }));
    }
    if due.is_empty() {
        desk.line(&format!("nothing is due on {day}"))?;
        return Ok(Ending::Done);
    }
    let rows = due
        .iter()
        .map(|due| {
            let by = match due.day {
                Some(due) => due.to_string(),
                None => "never calibrated".to_owned(),
            };
            let (kind, id, what) = match &due.subject {
                DueSubject::Tool(id) => ("tool", id, tool_words(state, id)),
                DueSubject::Reference(id) => {
                    let known = state.references().get(id);
                    let words = known.map(|r| format!("{} {}", r.reference.maker, r.reference.model));
                    ("reference", id, words.unwrap_or_default())
                }
            };
            let counted = due.uses.map(|(count, most)| uses(count, Some(most))).unwrap_or_default();
            vec![kind.to_owned(), id.to_string(), what, by, counted]
        })
        .collect();
    desk.line(&format!("due on {day}"))?;
    desk.table(&["what", "name", "", "by date", "loadings"], rows)?;
    Ok(Ending::Done)
}
