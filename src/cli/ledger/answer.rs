//! `leverarm ledger submit`, `return`, `approve`, `close`: someone answers for a job.

use std::io::Write;

use clap::Args;
use leverarm_ledger::event::{Approved, Event, JobClosed, Returned, Submitted};
use leverarm_ledger::text::{Id, Text};
use serde_json::json;

use super::certificate::documents_failure;
use super::desk::{Desk, now};
use super::names;
use super::runs::job_of;
use crate::certificate::Paper;
use crate::cli::{Ending, Failure};
use crate::office::documents::{Terms, prepare};

/// Arguments of `submit`.
#[derive(Debug, Args)]
pub(super) struct Submit {
    /// the job
    #[arg(value_parser = names::id)]
    job: Id,
}

/// Arguments of `return`.
#[derive(Debug, Args)]
pub(super) struct Return {
    /// the job
    #[arg(value_parser = names::id)]
    job: Id,
    /// what is to be mended
    #[arg(long, value_parser = names::text)]
    remarks: Text,
}

/// Arguments of `approve`.
#[derive(Debug, Args)]
pub(super) struct Approve {
    /// the job
    #[arg(value_parser = names::id)]
    job: Id,
}

/// Arguments of `close`.
#[derive(Debug, Args)]
pub(super) struct Close {
    /// the job
    #[arg(value_parser = names::id)]
    job: Id,
    /// why
    #[arg(long, value_parser = names::text)]
    why: Text,
}

/// A job that no certificate could be made of goes no further: it would only come back.
fn must_be_certifiable(desk: &Desk<'_, impl Write>, id: &Id) -> Result<(), Failure> {
    let mut ledger = desk.open()?;
    let job = job_of(&ledger, id)?.clone();
    if job.runs.iter().any(|record| record.evaluations.is_empty()) || job.runs.is_empty() {
        // The rules of the record say it better.
        return Ok(());
    }
    let terms = Terms {
        approver: "to be named".to_owned(),
        issued: now().date_naive(),
        paper: Paper::A4,
        curve: false,
    };
    prepare(&mut *ledger.store(), &job, terms, None).map(|_| ()).map_err(|error| documents_failure(&error))
}

pub(super) fn submit(desk: &mut Desk<'_, impl Write>, arguments: &Submit) -> Result<Ending, Failure> {
    let job = &arguments.job;
    must_be_certifiable(desk, job)?;
    let said = format!("job {job} waits for an approver");
    desk.record(Event::Submitted(Submitted { job: job.clone() }), &[], &said, json!({ "job": job }))
}

pub(super) fn give_back(desk: &mut Desk<'_, impl Write>, arguments: &Return) -> Result<Ending, Failure> {
    let (job, remarks) = (arguments.job.clone(), arguments.remarks.clone());
    let said = format!("job {job} goes back: {remarks}");
    let more = json!({ "job": job });
    desk.record(Event::Returned(Returned { job, remarks }), &[], &said, more)
}

pub(super) fn approve(desk: &mut Desk<'_, impl Write>, arguments: &Approve) -> Result<Ending, Failure> {
    let job = &arguments.job;
    let said = format!("{} answers for job {job}: it can be issued", desk.person()?);
    desk.record(Event::Approved(Approved { job: job.clone() }), &[], &said, json!({ "job": job }))
}

pub(super) fn close(desk: &mut Desk<'_, impl Write>, arguments: &Close) -> Result<Ending, Failure> {
    let (job, why) = (arguments.job.clone(), arguments.why.clone());
    let said = format!("job {job} ends without a certificate");
    let more = json!({ "job": job });
    desk.record(Event::JobClosed(JobClosed { job, why }), &[], &said, more)
}
