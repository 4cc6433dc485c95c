//! One test point: corrected readings, deviations, statistics, uncertainty, verdict.

use super::{Context, EvaluateError, PointResult, PointUncertainty, ReadingResult, VariationResult, lines};
use crate::decision::{DecisionRule, Verdict, Zone, conformity_probability, zone};
use crate::quantity::{Percent, Torque};
use crate::reading::{Direction, Reading, Series};
use crate::statistics::Sample;

/// The reference torque of a reading: what the reference showed, corrected by its calibration.
pub(super) fn corrected(context: &Context, reading: &Reading) -> Result<Torque, EvaluateError> {
    context
        .reference
        .curve(reading.direction)
        .and_then(|curve| curve.at(reading.reference.torque()))
        .map(|at| at.torque)
        .map_err(|error| EvaluateError::Reference { row: reading.row, error })
}

pub(super) fn evaluate_point(
    context: &Context,
    direction: Direction,
    target: Torque,
    variations: &[VariationResult],
) -> Result<PointResult, EvaluateError> {
    let at_point: Vec<&Reading> = context
        .run
        .readings
        .iter()
        .filter(|r| {
            r.series == Series::Points && r.direction == direction && r.target.torque().same_as(target)
        })
        .collect();
    // A reading that was struck out does not name the point either, as long as another one counts.
    let naming = at_point.iter().find(|r| r.is_valid()).or(at_point.first());
    let Some(first) = naming else { return Err(EvaluateError::NoReadings) };
    let mut readings = Vec::new();
    for reading in at_point.iter().filter(|r| r.is_valid()) {
        let reference = corrected(context, reading)?;
        let deviation = context
            .rulebook
            .deviation
            .value
            .relative(reading.indicated.torque(), reference)
            .ok_or(EvaluateError::NoTorque { row: reading.row })?;
        readings.push(ReadingResult {
            row: reading.row,
            indicated: reading.indicated,
            shown: reading.reference,
            reference,
            deviation,
            within: deviation.abs() <= context.limit,
        });
    }
    if readings.is_empty() {
        return Err(EvaluateError::EmptyPoint { target: first.target, direction });
    }
    let deviations = Sample::new(readings.iter().map(|r| r.deviation.value()).collect())?;
    let references = Sample::new(readings.iter().map(|r| r.reference.newton_metres()).collect())?;
    let shown = Sample::new(readings.iter().map(|r| r.shown.torque().newton_metres()).collect())?;
    let mean_reference = Torque::from_newton_metres(references.mean());
    let mean_deviation = Percent::new(deviations.mean());
    let uncertainty = match (&context.rulebook.budget, context.is_calibration()) {
        (Some(plan), true) => {
            let at = lines::PointAt {
                row: readings[0].row,
                direction,
                shown: Torque::from_newton_metres(shown.mean()),
                reference: mean_reference,
                deviations: &deviations,
            };
            let budget = lines::budget(context, plan, &at, variations)?;
            let combined = budget.combine();
            let expanded = combined.expand(plan.probability.value, plan.coverage.value)?;
            let interval = Percent::new(mean_deviation.abs().value() + expanded.expanded.value());
            Some(PointUncertainty { budget, combined, expanded, interval })
        }
        _ => None,
    };
    let judged = judge(context, mean_deviation, &readings, uncertainty.as_ref());
    let conformity = uncertainty
        .as_ref()
        .filter(|u| u.budget.is_complete())
        .and_then(|u| conformity_probability(mean_deviation, context.limit, u.combined.standard));
    Ok(PointResult {
        direction,
        target: first.target,
        voided: at_point.iter().filter(|r| !r.is_valid()).map(|r| r.row).collect(),
        mean_reference,
        mean_deviation,
        standard_deviation: deviations.standard_deviation().map(Percent::new),
        spread: Percent::new(deviations.spread()),
        readings,
        uncertainty,
        limit: context.limit,
        guard_band: judged.guard_band,
        zone: judged.zone,
        verdict: judged.verdict,
        conformity_probability: conformity,
    })
}

struct Judged {
    guard_band: Option<Percent>,
    zone: Option<Zone>,
    verdict: Verdict,
}

const NOT_JUDGED: Judged = Judged { guard_band: None, zone: None, verdict: Verdict::NotJudged };

fn judge(
    context: &Context,
    mean: Percent,
    readings: &[ReadingResult],
    uncertainty: Option<&PointUncertainty>,
) -> Judged {
    let Some(rule) = context.rule else { return NOT_JUDGED };
    let (deviation, guard_band) = match rule {
        DecisionRule::Simple => (mean, Percent::ZERO),
        DecisionRule::Guarded => match uncertainty.filter(|u| u.budget.is_complete()) {
            Some(u) => (mean, rule.guard_band(u.expanded.expanded)),
            None => return NOT_JUDGED,
        },
        DecisionRule::EachReading => {
            let farthest = readings.iter().map(|r| r.deviation.abs().value()).fold(0.0, f64::max);
            (Percent::new(farthest), Percent::ZERO)
        }
    };
    let acceptance = Percent::new(context.limit.value() - guard_band.value());
    let zone = zone(deviation, context.limit, acceptance);
    let verdict = if zone == Zone::Accepted { Verdict::Pass } else { Verdict::Fail };
    Judged { guard_band: Some(guard_band), zone: Some(zone), verdict }
}
