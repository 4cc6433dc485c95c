//! The results of one run: tables, floor, warnings, verdict.

use super::readings::{pulls, readings, voids};
use super::verdict::{floor, sign, verdict};
use super::words::{NO_BREAK, capital, limit_in_column, torque, typeset};
use super::{ComposeError, Issue, Judged, budget, curve, figures};
use crate::certificate::view::{ConditionView, DirectionView, ResultRow};
use crate::metrology::decision::DecisionRule;
use crate::metrology::evaluate::PointResult;
use crate::metrology::quantity::TorqueUnit;
use crate::metrology::reading::Direction;
use crate::metrology::rounding::{RoundingError, RoundingRule};
use crate::printed::PrintedPoint;

/// Checks whose findings are the laboratory's own business and not the customer's.
const INTERNAL: [&str; 1] = ["approver-is-technician"];

pub(super) fn condition(judged: &Judged<'_>, issue: &Issue) -> Result<ConditionView, ComposeError> {
    let rounding = issue.rounding;
    let run = judged.run;
    let directions = [Direction::Clockwise, Direction::CounterClockwise]
        .into_iter()
        .filter(|d| run.readings.iter().any(|r| r.direction == *d))
        .map(|d| direction(judged, d, issue))
        .collect::<Result<Vec<_>, _>>()?;
    let mut warnings: Vec<String> = judged
        .warnings
        .iter()
        .filter(|finding| !INTERNAL.contains(&finding.check.name))
        .map(|finding| capital(&typeset(&finding.message)))
        .collect();
    let missing: Vec<String> = judged.evaluation.missing().iter().map(|i| i.words().to_owned()).collect();
    if !missing.is_empty() {
        let names = super::words::listed(&missing);
        warnings.push(format!(
            "The budget lacks what the method asks for: {names}. Its sum is a lower bound only."
        ));
    }
    Ok(ConditionView {
        heading: capital(run.condition.words()),
        verdict: verdict(judged)?,
        directions,
        floor: Some(floor(judged)?),
        sequence: figures::sequence(judged, rounding)?,
        voids: voids(run),
        warnings,
    })
}

fn direction(
    judged: &Judged<'_>,
    direction: Direction,
    issue: &Issue,
) -> Result<DirectionView, ComposeError> {
    let rounding = issue.rounding;
    let points: Vec<&PointResult> =
        judged.evaluation.points.iter().filter(|p| p.direction == direction).collect();
    let unit = points.first().map_or(judged.run.tool.range.upper.unit(), |p| p.target.unit());
    let guarded = judged.evaluation.rule.is_some_and(DecisionRule::needs_uncertainty);
    let results =
        points.iter().map(|point| result(point, unit, guarded, rounding)).collect::<Result<Vec<_>, _>>()?;
    Ok(DirectionView {
        heading: capital(direction.word()),
        unit: unit.to_string(),
        results,
        deviation: figures::deviation(judged, direction, &points, rounding)?,
        readings: readings(judged, direction, unit, rounding)?,
        pulls: pulls(judged.run, direction),
        budgets: budget::budgets(&points, rounding)?,
        shares: figures::shares(judged, direction, &points)?,
        curve: if issue.curve { curve::curve(judged, direction)? } else { None },
    })
}

fn result(
    point: &PointResult,
    unit: TorqueUnit,
    guarded: bool,
    rounding: RoundingRule,
) -> Result<ResultRow, RoundingError> {
    let printed = PrintedPoint::new(point, rounding)?;
    let acceptance = printed.acceptance_limit.filter(|_| guarded);
    let (sign, verdict) = sign(point);
    Ok(ResultRow {
        target: target_in(point, unit),
        name: torque(&point.target),
        outside: format!("{} of {}", printed.readings_outside, printed.n),
        any_outside: point.readings_outside() > 0,
        n: printed.n,
        reference: if point.target.unit() == unit {
            printed.mean_reference
        } else {
            format!("{}{NO_BREAK}{}", printed.mean_reference, point.target.unit())
        },
        deviation: printed.mean_deviation,
        expanded: printed.expanded,
        k: printed.k,
        interval: printed.interval,
        limit: limit_in_column(point.sides, &printed.limit),
        acceptance: acceptance
            .map(|limit| if limit == "none" { limit } else { limit_in_column(point.sides, &limit) }),
        sign,
        verdict: verdict.to_owned(),
    })
}

/// The target's digits, with its unit where it is not that of the table.
fn target_in(point: &PointResult, unit: TorqueUnit) -> String {
    if point.target.unit() == unit { super::words::digits(&point.target) } else { torque(&point.target) }
}
