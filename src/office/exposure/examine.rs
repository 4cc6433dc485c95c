//! Runs before and after, on several threads.

use std::num::NonZeroUsize;
use std::sync::{Mutex, PoisonError};

use chrono::NaiveDate;
use leverarm_metrology::evaluate::{Evaluation, evaluate};
use leverarm_metrology::exposure::{Change, Model, as_known_now, compare, largest_change};
use leverarm_metrology::finding::Severity;
use leverarm_metrology::reference::Reference;
use leverarm_metrology::rounding::{RoundingError, RoundingRule, round_decimals};
use leverarm_metrology::rulebook::Rulebook;
use leverarm_metrology::run::Run;

use super::cases::{Addressee, Case};
use super::record::{Gravity, LeftOut, PointRow, Report, RunRow, Whose};
use crate::ingest::{self, Loaded};
use crate::office::recompute::word;
use crate::printed::PrintedPoint;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// the reference as its new calibration found it
    pub found: &'a Reference,
    /// when it is taken to have changed
    pub model: Model,
    /// from which day on runs are looked at; none: that of the last calibration before
    pub since: Option<NaiveDate>,
}

/// What became of a case.
enum Seen {
    LeftOut(LeftOut),
    Row(Box<RunRow>),
}

/// Evaluates every case again and reports, the gravest first. The number of threads changes nothing.
pub fn examine(
    question: &Question<'_>,
    cases: impl Iterator<Item = Case> + Send,
    threads: NonZeroUsize,
) -> Report {
    let mut report = Report::new(question);
    for seen in on_threads(cases, threads, |case| look(question, &case)) {
        match seen {
            Seen::LeftOut(why) => report.leave_out(why),
            Seen::Row(row) => report.rows.push(*row),
        }
    }
    report.finish(question.since);
    report
}

/// The pieces come from one iterator under a lock, so that no more of them are in memory than there
/// are threads; the results keep their order.
fn on_threads<T, R: Send>(
    pieces: impl Iterator<Item = T> + Send,
    threads: NonZeroUsize,
    task: impl Fn(T) -> R + Sync,
) -> Vec<R> {
    let queue = Mutex::new(pieces.enumerate());
    let worker = || {
        let mut done = Vec::new();
        loop {
            let next = queue.lock().unwrap_or_else(PoisonError::into_inner).next();
            let Some((number, piece)) = next else { return done };
            done.push((number, task(piece)));
        }
    };
    let mut done = std::thread::scope(|scope| {
        let handles: Vec<_> = (1..threads.get()).map(|_| scope.spawn(worker)).collect();
        let mut done = worker();
        for handle in handles {
            match handle.join() {
                Ok(theirs) => done.extend(theirs),
                // A panic of the caller's own function goes on in the caller's own thread.
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_unstable_by_key(|(number, _)| *number);
    done.into_iter().map(|(_, result)| result).collect()
}

fn look(question: &Question<'_>, case: &Case) -> Seen {
    let store = match &case.files {
        Ok(store) => store,
        Err(reason) => return Seen::Row(Box::new(unread(case, None, reason.clone()))),
    };
    let loaded = ingest::parse(store.as_ref());
    let used = loaded.reference.as_ref();
    if used.is_some_and(|used| used.id != question.found.id) {
        return Seen::LeftOut(LeftOut::OtherReference);
    }
    if let Some(run) = &loaded.run {
        if question.since.is_some_and(|since| run.performed < since) {
            return Seen::LeftOut(LeftOut::Earlier);
        }
        if run.performed > question.found.calibrated_on {
            return Seen::LeftOut(LeftOut::Later);
        }
    }
    let row = match whole(&loaded) {
        Ok(whole) => recomputed(question, case, &whole)
            .unwrap_or_else(|reason| unread(case, Some((whole.run, Some(whole.reference))), reason)),
        Err(reason) => {
            let known = loaded.run.as_ref().map(|run| (run, loaded.reference.as_ref()));
            unread(case, known, reason)
        }
    };
    Seen::Row(Box::new(row))
}

/// A run with all that its evaluation needs.
struct Whole<'a> {
    run: &'a Run,
    rulebook: &'a Rulebook,
    reference: &'a Reference,
}

fn whole(loaded: &Loaded) -> Result<Whole<'_>, String> {
    let error = loaded.findings.iter().find(|finding| finding.severity() == Severity::Error);
    if let Some(error) = error {
        return Err(error.message.clone());
    }
    match (&loaded.run, &loaded.rulebook, &loaded.reference) {
        (Some(run), Some(rulebook), Some(reference)) => Ok(Whole { run, rulebook, reference }),
        _ => Err("the run cannot be read".to_owned()),
    }
}

fn recomputed(question: &Question<'_>, case: &Case, whole: &Whole<'_>) -> Result<RunRow, String> {
    let Whole { run, rulebook, reference } = whole;
    let before = evaluate(run, rulebook, reference).map_err(|error| format!("as certified: {error}"))?;
    let now = as_known_now(reference, question.found, question.model, run.performed)
        .map_err(|error| error.to_string())?;
    let after =
        evaluate(run, rulebook, &now).map_err(|error| format!("with the reference as found: {error}"))?;
    let row = row(case, whole, &before, &after).map_err(|error| error.to_string())?;
    let change = largest_change(reference, question.found).map(|change| change.value());
    Ok(RunRow { reference_change_percent: change, ..row })
}

fn row(
    case: &Case,
    whole: &Whole<'_>,
    before: &Evaluation,
    after: &Evaluation,
) -> Result<RunRow, RoundingError> {
    let compared = compare(before, after);
    let points = compared
        .points
        .iter()
        .map(|point| {
            let was = PrintedPoint::new(point.before, RoundingRule::default())?;
            let now = PrintedPoint::new(point.after, RoundingRule::default())?;
            // A change of a part of the uncertainty still is one: one digit more than the result has.
            let shift = round_decimals(point.shift.value(), was.decimals + 1)?;
            let expanded = |p: &leverarm_metrology::evaluate::PointResult| {
                p.uncertainty.as_ref().map(|u| u.expanded.expanded.value())
            };
            Ok(PointRow {
                target: was.target.clone(),
                direction: was.direction.clone(),
                limit: point.before.sides.words(&format!("{} %", was.limit)),
                deviation_before_percent: point.before.mean_deviation.value(),
                deviation_after_percent: point.after.mean_deviation.value(),
                shift_percent: point.shift.value(),
                expanded_before_percent: expanded(point.before),
                expanded_after_percent: expanded(point.after),
                printed_before: was.mean_deviation,
                printed_after: now.mean_deviation,
                printed_shift: shift.signed(),
                printed_expanded_before: was.expanded,
                printed_expanded_after: now.expanded,
                verdict_before: point.before.verdict,
                verdict_after: point.after.verdict,
                zone_after: point.after.zone,
                change: point.change.word(),
                gravity: Gravity::of(point.change),
            })
        })
        .collect::<Result<Vec<_>, RoundingError>>()?;
    let differs = case.recorded.is_some_and(|recorded| recorded != word(before.verdict));
    Ok(RunRow {
        gravity: Gravity::of(compared.gravest),
        reason: None,
        rule: before.rule.map(|rule| rule.to_string()),
        verdict_before: Some(before.verdict),
        verdict_after: Some(after.verdict),
        tool_change: Some(compared.tool.word()),
        tool_stands: compared.tool == Change::Stands,
        largest_shift_percent: Some(compared.largest_shift.value()),
        recorded_differs: differs,
        points,
        ..unread(case, Some((whole.run, Some(whole.reference))), String::new())
    })
}

/// What is known of a run that could not be computed again.
fn unread(case: &Case, known: Option<(&Run, Option<&Reference>)>, reason: String) -> RunRow {
    let run = known.map(|(run, _)| run);
    let reference = known.and_then(|(_, reference)| reference);
    let customer = case.customer.clone().or_else(|| {
        let customer = &run?.customer;
        Some(Addressee { id: None, name: customer.name.clone()?, address: customer.address.clone() })
    });
    RunRow {
        origin: case.origin.clone(),
        certificate: case.certificate.clone().or_else(|| run?.terms.number.clone()),
        superseded: case.superseded,
        whose: Whose::of(run),
        customer,
        calibration: reference.map(|reference| reference.certificate.clone()),
        calibrated_on: reference.map(|reference| reference.calibrated_on),
        reference_change_percent: None,
        gravity: Gravity::NotRecomputed,
        reason: Some(reason),
        rule: None,
        verdict_before: None,
        verdict_after: None,
        tool_change: None,
        tool_stands: false,
        largest_shift_percent: None,
        recorded_differs: false,
        points: Vec::new(),
    }
}
