//! `leverarm ledger evaluate`: the runs of a job, evaluated from the stored files.

use std::io::Write;

use clap::Args;
use leverarm_ledger::bytes::Digest;
use leverarm_ledger::event::{Evaluated, Event};
use leverarm_ledger::state::RunRecord;
use leverarm_ledger::text::Id;
use leverarm_metrology::finding::Severity;
use serde_json::json;

use super::desk::{Desk, write};
use super::names;
use super::runs::job_of;
use crate::assess::Overrides;
use crate::cli::{Ending, Failure, print_json};
use crate::diagnose::{self, harmless};
use crate::office::recompute::{self, RunError, SEED, SOFTWARE};

/// Arguments of `evaluate`.
#[derive(Debug, Args)]
pub(super) struct Evaluate {
    /// the job
    #[arg(value_parser = names::id)]
    job: Id,
    /// evaluate again what this program evaluated already
    #[arg(long)]
    again: bool,
    /// seed of the Monte Carlo trials; it stands in the result
    #[arg(long, value_name = "NUMBER", default_value_t = SEED)]
    seed: u64,
    /// leave Monte Carlo out
    #[arg(long)]
    gum_only: bool,
}

/// A failure of a run of the record.
pub(super) fn run_failure(error: &RunError) -> Failure {
    let remedy = match error {
        RunError::Store(error) => error.remedy(),
        RunError::Missing { .. } => "'leverarm ledger verify' says what else is missing",
        RunError::Findings { .. } => "return the job, mend the run and add it again",
        RunError::Assess(_) | RunError::Rounding(_) | RunError::Json(_) => {
            "look for a reading or an uncertainty that is absurdly small or large"
        }
    };
    Failure::bad_input(harmless(&error.to_string()), remedy)
}

pub(super) fn run(desk: &mut Desk<'_, impl Write>, arguments: &Evaluate) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let is_wanted = |record: &&RunRecord| {
        arguments.again
            || record.evaluations.last().is_none_or(|evaluation| evaluation.software.as_str() != SOFTWARE)
    };
    let job = job_of(&ledger, &arguments.job)?;
    if job.runs.is_empty() {
        let what = format!("job '{}' has no run", arguments.job);
        return Err(Failure::bad_input(harmless(&what), "add one: 'leverarm ledger add-run JOB RUN'"));
    }
    let runs: Vec<RunRecord> = job.runs.iter().filter(is_wanted).cloned().collect();
    if runs.is_empty() {
        let what = format!("every run of job '{}' is evaluated by {SOFTWARE}", arguments.job);
        return Err(Failure::bad_input(harmless(&what), "nothing is to be done; --again does it again"));
    }
    let signer = desk.signer(&ledger)?;
    let software = names::id(SOFTWARE).map_err(Failure::fault)?;
    let seed = (!arguments.gum_only).then_some(arguments.seed);
    let mut done = Vec::new();
    for record in &runs {
        let name = &record.run.run;
        let store =
            recompute::run_of(&mut *ledger.store(), &record.run.files).map_err(|e| run_failure(&e))?;
        let overrides = Overrides { options: recompute::options(seed), ..Overrides::default() };
        let assessed = recompute::assess_stored(&store, &overrides)?;
        if assessed.judged.is_none() {
            return super::super::evaluate::refuse(&[&assessed], desk.json(), desk.out);
        }
        let outcome = recompute::outcome(&assessed).map_err(|error| run_failure(&error))?;
        let evaluated = Evaluated {
            job: arguments.job.clone(),
            run: name.clone(),
            result: Digest::of(&outcome.result),
            verdict: outcome.verdict,
            software: software.clone(),
        };
        let event = Event::Evaluated(evaluated);
        let head = write(&mut ledger, &signer, event, std::slice::from_ref(&outcome.result))?;
        let gaps = assessed.findings.iter().filter(|finding| finding.severity() == Severity::Gap).count();
        if !desk.json() {
            let count = assessed.findings.len();
            desk.line(&format!("run {name} of job {}: {}", arguments.job, outcome.verdict))?;
            desk.line(&format!("  entry {}, {}", head.sequence, head.hash))?;
            if count > 0 {
                writeln!(desk.out, "\n{}", diagnose::text(&assessed.findings, &assessed.sources))?;
            }
        }
        done.push(json!({ "entry": head.sequence, "run": name, "verdict": outcome.verdict,
                          "result": Digest::of(&outcome.result), "gaps": gaps }));
    }
    if desk.json() {
        print_json(desk.out, &done)?;
    }
    Ok(Ending::Done)
}
