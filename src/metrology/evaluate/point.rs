//! One test point: corrected readings, deviations, statistics, uncertainty, verdict.

use super::trials::{self, Trial, TrialsFailure};
use super::{Context, EvaluateError, PointResult, PointUncertainty, ReadingResult, VariationResult, lines};
use crate::budget::Budget;
use crate::decision::{Judgement, Measured, VerdictRisks};
use crate::quantity::{Percent, Torque};
use crate::reading::{Direction, Reading, Series, shortest_loading};
use crate::risk::{Belief, GlobalRisk, SpecificRisk, test_uncertainty_ratio};
use crate::rulebook::BudgetPlan;
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

fn evaluate_reading(context: &Context, reading: &Reading) -> Result<ReadingResult, EvaluateError> {
    let reference = corrected(context, reading)?;
    let deviation = context
        .rulebook
        .deviation
        .value
        .relative(reading.indicated.torque(), reference)
        .ok_or(EvaluateError::NoTorque { row: reading.row })?;
    Ok(ReadingResult {
        row: reading.row,
        indicated: reading.indicated,
        shown: reading.reference,
        reference,
        deviation,
        within: context.run.sides.contain(deviation, context.limit),
    })
}

pub(super) fn evaluate_point(
    context: &Context,
    direction: Direction,
    target: Torque,
    variations: &[VariationResult],
    number: usize,
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
    let valid = at_point.iter().filter(|r| r.is_valid());
    let readings = valid.map(|r| evaluate_reading(context, r)).collect::<Result<Vec<ReadingResult>, _>>()?;
    let Some(row) = readings.first().map(|r| r.row) else {
        return Err(EvaluateError::EmptyPoint { target: first.target, direction });
    };
    let deviations = Sample::new(readings.iter().map(|r| r.deviation.value()).collect())?;
    let references = Sample::new(readings.iter().map(|r| r.reference.newton_metres()).collect())?;
    let shown = Sample::new(readings.iter().map(|r| r.shown.torque().newton_metres()).collect())?;
    let mean_reference = Torque::from_newton_metres(references.mean());
    let mean_deviation = Percent::new(deviations.mean());
    let uncertainty = match (&context.rulebook.budget, context.is_calibration()) {
        (Some(plan), true) => {
            let at = lines::PointAt {
                row,
                direction,
                shown: Torque::from_newton_metres(shown.mean()),
                reference: mean_reference,
                deviations: &deviations,
                target: first.target.torque(),
                loading: shortest_loading(at_point.iter().copied().filter(|r| r.is_valid())),
            };
            let budget = lines::budget(context, plan, &at, variations)?;
            let trials = |error| EvaluateError::Trials { target: first.target, error };
            Some(uncertainty(context, plan, budget, mean_deviation, number, trials)?)
        }
        _ => None,
    };
    let whole = uncertainty.as_ref().filter(|u| u.budget.is_complete());
    let judged = judge(context, mean_deviation, &readings, whole);
    let risks = risks(context, mean_deviation, &judged, whole);
    Ok(PointResult {
        direction,
        target: first.target,
        voided: at_point.iter().filter(|r| !r.is_valid()).map(|r| r.row).collect(),
        mean_reference,
        mean_deviation,
        standard_deviation: deviations.standard_deviation().map(Percent::new),
        spread: Percent::new(deviations.spread()),
        readings,
        limit: context.limit,
        sides: context.run.sides,
        guard: judged.guard,
        zone: judged.zone,
        verdict: judged.verdict,
        conformity_probability: risks.conformity,
        specific_risk: risks.specific,
        global_risk: risks.global,
        uncertainty_ratio: risks.ratio,
        uncertainty,
    })
}

fn uncertainty(
    context: &Context,
    plan: &BudgetPlan,
    budget: Budget,
    mean: Percent,
    number: usize,
    failed: impl Fn(TrialsFailure) -> EvaluateError,
) -> Result<PointUncertainty, EvaluateError> {
    let combined = budget.combine();
    let expanded = combined.expand(plan.probability.value, plan.coverage.value)?;
    let trial = Trial {
        budget: &budget,
        combined: &combined,
        expanded: &expanded,
        mean,
        probability: plan.probability.value,
    };
    let monte_carlo = match &context.options.monte_carlo {
        Some(wanted) => trials::check(&trial, wanted, number).map_err(failed)?,
        None => None,
    };
    let reported = trials::reported(&trial, monte_carlo.as_ref());
    let expanded = trials::stated(&trial, plan.coverage.value, &reported);
    let interval = Percent::new(mean.abs().value() + expanded.expanded.value());
    Ok(PointUncertainty { budget, combined, expanded, interval, monte_carlo, reported })
}

fn judge(
    context: &Context,
    mean: Percent,
    readings: &[ReadingResult],
    uncertainty: Option<&PointUncertainty>,
) -> Judgement {
    let Some(rule) = context.rule else { return Judgement::NONE };
    let sides = context.run.sides;
    let farthest = readings
        .iter()
        .map(|r| r.deviation)
        .max_by(|a, b| sides.toward_limit(*a).total_cmp(&sides.toward_limit(*b)))
        .unwrap_or(mean);
    let uncertainty = uncertainty.map(PointUncertainty::known);
    let measured = Measured { mean, farthest, uncertainty };
    rule.judge(&measured, context.limit, sides, context.prior.as_ref())
}

#[derive(Default)]
struct Risks {
    conformity: Option<f64>,
    specific: Option<SpecificRisk>,
    global: Option<GlobalRisk>,
    ratio: Option<f64>,
}

fn risks(
    context: &Context,
    mean: Percent,
    judged: &Judgement,
    uncertainty: Option<&PointUncertainty>,
) -> Risks {
    let (Some(whole), Some(limits)) = (uncertainty, context.run.sides.limits(context.limit)) else {
        return Risks::default();
    };
    let (y, u) = (mean.value(), whole.combined.standard.value());
    let Ok(belief) = Belief::new(u, whole.combined.freedom) else { return Risks::default() };
    let conformity = belief.inside(y, &limits).ok();
    let ratio = test_uncertainty_ratio(&limits, whole.expanded.expanded.value()).ok();
    let prior = context.prior.as_ref();
    let VerdictRisks { specific, global } =
        context.rule.map(|rule| rule.risks(judged, mean, whole.known(), &limits, prior)).unwrap_or_default();
    Risks { conformity, specific, global, ratio }
}
