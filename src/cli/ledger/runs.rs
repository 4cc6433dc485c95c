//! `leverarm ledger add-run` and `export-run`: run folders in and out, byte for byte.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use leverarm_ledger::event::Event;
use leverarm_ledger::state::{Job, RunRecord};
use leverarm_ledger::text::Id;
use leverarm_ledger::{Kind, Refusal};
use serde_json::json;

use super::desk::{Desk, failure, write};
use super::names;
use crate::cli::{Ending, Failure, print_json};
use crate::diagnose::{self, harmless};
use crate::export::folder;
use crate::ingest;
use crate::office::belongs::{Asked, added, mismatches, name_for};
use crate::office::layout;
use crate::office::store::AnyLedger;

/// Arguments of `add-run`.
#[derive(Debug, Args)]
pub(super) struct AddRun {
    /// the job
    #[arg(value_parser = names::id)]
    job: Id,
    /// the run folder
    run: PathBuf,
    /// name of the run within its job; the state of the tool where it is not said
    #[arg(long, value_parser = names::id)]
    name: Option<Id>,
}

/// Arguments of `export-run`.
#[derive(Debug, Args)]
pub(super) struct ExportRun {
    /// the job
    #[arg(value_parser = names::id)]
    job: Id,
    /// a new folder for the runs, one folder each
    out: PathBuf,
    /// only this run
    #[arg(long, value_parser = names::id)]
    run: Option<Id>,
}

/// The job of a name.
pub(super) fn job_of<'a>(ledger: &'a AnyLedger, id: &Id) -> Result<&'a Job, Failure> {
    let state = ledger.state();
    state.jobs().get(id).ok_or_else(|| {
        let refusal = Refusal::Unknown { kind: Kind::Job, id: id.to_string() };
        failure(&refusal.into(), Some(state))
    })
}

pub(super) fn add(desk: &mut Desk<'_, impl Write>, arguments: &AddRun) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let technician = desk.person()?;
    let job = job_of(&ledger, &arguments.job)?;
    let loaded = ingest::load(&arguments.run);
    if loaded.has_errors() || loaded.run.is_none() || loaded.reference.is_none() {
        let json = desk.json();
        if json {
            let findings = diagnose::entries(&loaded.findings, &loaded.sources);
            print_json(desk.out, &json!({ "findings": findings }))?;
        } else {
            eprintln!("{}", diagnose::text(&loaded.findings, &loaded.sources));
        }
        return Ok(Ending::BadInput);
    }
    let kept = layout::collect(&arguments.run, &loaded)
        .map_err(|error| Failure::bad_input(harmless(&error.to_string()), error.remedy()))?;
    let asked = Asked {
        state: ledger.state(),
        job: &job.received,
        technician: &technician,
        loaded: &loaded,
        kept: &kept,
    };
    refuse_stranger(&arguments.job, &asked)?;
    let condition = loaded.run.as_ref().map(|run| run.condition);
    let name = match (&arguments.name, condition) {
        (Some(name), _) => name.clone(),
        (None, Some(condition)) => {
            let taken = |name: &str| job.runs.iter().any(|record| record.run.run.as_str() == name);
            names::id(&name_for(condition, taken)).map_err(Failure::fault)?
        }
        (None, None) => return Ok(Ending::BadInput),
    };
    let wrong = |error: leverarm_ledger::text::TextError| {
        Failure::bad_input(harmless(&error.to_string()), error.remedy())
    };
    let Some(event) = added(&asked, &name).map_err(wrong)? else { return Ok(Ending::BadInput) };
    let (count, readings) = (event.files.len(), event.uses);
    let signer = desk.signer(&ledger)?;
    let head = write(&mut ledger, &signer, Event::RunAdded(event), &kept.bytes)?;
    let bytes: usize = kept.bytes.iter().map(Vec::len).sum();
    let said =
        format!("run {name} of job {}: {readings} readings, {count} files, {bytes} bytes", arguments.job);
    desk.said(head, &said, json!({ "job": arguments.job, "run": name, "files": count, "bytes": bytes }))
}

/// A run that says otherwise than its job is that of another job.
fn refuse_stranger(job: &Id, asked: &Asked<'_>) -> Result<(), Failure> {
    let found = mismatches(asked);
    if found.is_empty() {
        return Ok(());
    }
    let lines: Vec<String> = found
        .iter()
        .map(|m| format!("{}: the run says '{}', the record '{}'", m.what, m.run, m.record))
        .collect();
    Err(Failure::bad_input(
        harmless(&format!("the run does not belong to job '{job}': {}", lines.join("; "))),
        "name the right job, or mend the run folder; what the record has wrong is superseded there",
    ))
}

pub(super) fn export(desk: &mut Desk<'_, impl Write>, arguments: &ExportRun) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let job = job_of(&ledger, &arguments.job)?;
    let wanted = |record: &&RunRecord| arguments.run.as_ref().is_none_or(|name| record.run.run == *name);
    let runs: Vec<RunRecord> = job.runs.iter().filter(wanted).cloned().collect();
    if runs.is_empty() {
        let what = format!("job '{}' has no such run", arguments.job);
        let remedy = "'leverarm ledger show JOB' lists its runs";
        return Err(Failure::bad_input(harmless(&what), remedy));
    }
    let mut written = Vec::new();
    for record in &runs {
        let mut files = Vec::new();
        for file in &record.run.files {
            let bytes = ledger.file(&file.sha256).map_err(|error| failure(&error.into(), None))?;
            let bytes = bytes.ok_or_else(|| {
                let missing = Refusal::MissingFile { digest: file.sha256 };
                Failure::bad_input(missing.to_string(), "'leverarm ledger verify' says what else is missing")
            })?;
            files.push((file.path.as_str(), bytes));
        }
        let list: Vec<(&str, &[u8])> = files.iter().map(|(path, bytes)| (*path, bytes.as_slice())).collect();
        let target = arguments.out.join(plain(record.run.run.as_str()));
        folder::write(&target, &list)?;
        // The first file is run.toml: its folder is the run folder.
        let inside = list.first().and_then(|(path, _)| path.rsplit_once('/')).map(|(folder, _)| folder);
        let run = inside.map_or_else(|| target.clone(), |inside| target.join(inside));
        written.push((record.run.run.clone(), run, list.len()));
    }
    if desk.json() {
        let list: Vec<_> = written
            .iter()
            .map(|(run, folder, files)| json!({ "run": run, "folder": folder, "files": files }))
            .collect();
        return desk.print(&list);
    }
    for (run, folder, files) in written {
        desk.line(&format!("run {run}: {files} files, the run folder is {}", folder.display()))?;
    }
    Ok(Ending::Done)
}

/// A name that any file system takes and that stays in its folder. Two runs of a job may share one
/// only where they differ in such characters alone; the second is then refused as other results.
fn plain(name: &str) -> String {
    let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
    name.chars().map(|c| if fits(c) { c } else { '_' }).collect()
}
