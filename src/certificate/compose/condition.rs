//! The results of one run: tables, floor, warnings, verdict.

use super::readings::{readings, voids};
use super::rules::{points_where, rule_name};
use super::words::{NO_BREAK, capital, class, percent, torque};
use super::{ComposeError, Judged, budget, figures};
use crate::certificate::view::{ConditionView, DirectionView, Fact, FloorView, ResultRow, Sign, VerdictView};
use crate::metrology::decision::{DecisionRule, Verdict, Zone};
use crate::metrology::evaluate::PointResult;
use crate::metrology::floor::{Floor, Height};
use crate::metrology::quantity::TorqueUnit;
use crate::metrology::reading::Direction;
use crate::metrology::rounding::{RoundingError, RoundingRule, round_figures};
use crate::printed::PrintedPoint;

pub(super) fn condition(judged: &Judged<'_>, rounding: RoundingRule) -> Result<ConditionView, ComposeError> {
    let run = judged.run;
    let directions = [Direction::Clockwise, Direction::CounterClockwise]
        .into_iter()
        .filter(|d| run.readings.iter().any(|r| r.direction == *d))
        .map(|d| direction(judged, d, rounding))
        .collect::<Result<Vec<_>, _>>()?;
    let mut warnings: Vec<String> =
        judged.warnings.iter().map(|finding| finding.message.replace(" -", " −")).collect();
    let missing: Vec<String> = judged.evaluation.missing().iter().map(|i| i.words().to_owned()).collect();
    if !missing.is_empty() {
        let names = super::words::listed(&missing);
        warnings.push(format!(
            "The budget lacks what the method asks for: {names}. Its sum is a lower bound only."
        ));
    }
    Ok(ConditionView {
        heading: capital(run.condition.words()),
        verdict: verdict(judged),
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
    rounding: RoundingRule,
) -> Result<DirectionView, ComposeError> {
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
        budgets: budget::budgets(&points, rounding)?,
        shares: figures::shares(judged, direction, &points)?,
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
        limit: point.sides.words(&printed.limit),
        acceptance: acceptance.map(|limit| if limit == "none" { limit } else { point.sides.words(&limit) }),
        sign,
        verdict: verdict.to_owned(),
    })
}

/// The target's digits, with its unit where it is not that of the table.
fn target_in(point: &PointResult, unit: TorqueUnit) -> String {
    if point.target.unit() == unit { super::words::digits(&point.target) } else { torque(&point.target) }
}

pub(super) const fn sign(point: &PointResult) -> (Sign, &'static str) {
    match (point.verdict, point.zone) {
        (Verdict::Fail, Some(Zone::GuardBand)) => (Sign::Fail, "FAIL (guard band)"),
        (Verdict::Fail, _) => (Sign::Fail, Verdict::Fail.word()),
        (Verdict::Pass, _) => (Sign::Pass, Verdict::Pass.word()),
        (Verdict::ConditionalPass, _) => (Sign::Conditional, Verdict::ConditionalPass.word()),
        (Verdict::ConditionalFail, _) => (Sign::Conditional, Verdict::ConditionalFail.word()),
        (Verdict::NotJudged, _) => (Sign::None, Verdict::NotJudged.word()),
    }
}

/// The verdict of the tool: which results, which specification, met or not.
fn verdict(judged: &Judged<'_>) -> VerdictView {
    let (run, evaluation) = (judged.run, judged.evaluation);
    let points = &evaluation.points;
    let (sign, words) = match evaluation.verdict {
        Verdict::Pass => (Sign::Pass, "Conforms"),
        Verdict::ConditionalPass => (Sign::Conditional, "Conforms on condition"),
        Verdict::ConditionalFail => (Sign::Conditional, "Does not conform, on condition"),
        Verdict::Fail => (Sign::Fail, "Does not conform"),
        Verdict::NotJudged => (Sign::None, "No statement of conformity"),
    };
    let whose = if evaluation.limit.by_claim {
        "of its maker’s claim".to_owned()
    } else {
        format!("for {}", class(run.tool.class))
    };
    let mut parts = Vec::new();
    let mut part = |label: &str, names: Option<String>| parts.extend(names.map(|n| format!("{label} {n}")));
    part("met at", points_where(points, |p| p.verdict == Verdict::Pass));
    part(
        "not met at",
        points_where(points, |p| p.verdict == Verdict::Fail && p.zone != Some(Zone::GuardBand)),
    );
    part(
        "within the guard band, and so not shown to be met, at",
        points_where(points, |p| p.verdict == Verdict::Fail && p.zone == Some(Zone::GuardBand)),
    );
    part(
        "met by less than the guard band at",
        points_where(points, |p| p.verdict == Verdict::ConditionalPass),
    );
    part(
        "exceeded by no more than the guard band at",
        points_where(points, |p| p.verdict == Verdict::ConditionalFail),
    );
    part("not judged at", points_where(points, |p| p.verdict == Verdict::NotJudged));
    let rule = evaluation.rule.map_or("none agreed".to_owned(), rule_name);
    VerdictView {
        condition: capital(run.condition.words()),
        sign,
        words: words.to_owned(),
        statement: format!(
            "Permissible deviation {} {whose}: {}. Decision rule: {rule}.",
            evaluation.sides.words(&percent(evaluation.limit.permissible)),
            parts.join("; ")
        ),
    }
}

/// From where on the tool can be shown to conform, and which floor binds.
fn floor(judged: &Judged<'_>) -> Result<FloorView, ComposeError> {
    let found: &Floor = &judged.evaluation.floor;
    let unit = judged.run.tool.range.upper.unit();
    let limit = percent(judged.evaluation.limit.permissible);
    let cause = found.binding.map_or("", |cause| cause.words());
    let statement = match found.height {
        Height::BelowRange => {
            format!(
                "A tool with this scale and scatter can be shown to hold ±{limit} over the whole of its range; no floor binds."
            )
        }
        Height::From(_) => format!(
            "A tool with this scale and scatter can be shown to hold ±{limit} {}. Below that {cause} binds. The verdict at a test point follows the decision rule alone.",
            height(found.height, unit)?
        ),
        Height::AboveRange => {
            format!(
                "Nowhere in its range can a tool with this scale and scatter be shown to hold ±{limit}: {cause} binds. The verdict at a test point follows the decision rule alone."
            )
        }
    };
    let floors = found
        .parts
        .iter()
        .map(|part| Ok(Fact::new(capital(part.cause.words()), height(part.height, unit)?)))
        .collect::<Result<Vec<_>, RoundingError>>()?;
    Ok(FloorView { statement, floors })
}

fn height(height: Height, unit: TorqueUnit) -> Result<String, RoundingError> {
    match height {
        Height::BelowRange => Ok("does not bind".to_owned()),
        Height::AboveRange => Ok("above the range".to_owned()),
        Height::From(torque) => {
            Ok(format!("from {}{NO_BREAK}{unit} on", round_figures(torque.in_unit(unit), 3)?))
        }
    }
}
