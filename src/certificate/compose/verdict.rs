//! Verdicts: of a point, of a tool, and from where on there can be one.

use super::decision::rule_name;
use super::rules::points_where;
use super::words::{NO_BREAK, capital, percent, specification, typeset};
use super::{ComposeError, Judged};
use crate::certificate::view::{Fact, FloorView, Sign, VerdictView};
use crate::metrology::decision::{DecisionRule, Verdict, Zone};
use crate::metrology::evaluate::PointResult;
use crate::metrology::floor::Height;
use crate::metrology::quantity::TorqueUnit;
use crate::metrology::rounding::{RoundingError, round_figures};
use crate::printed::floor_sentence;

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
pub(super) fn verdict(judged: &Judged<'_>) -> Result<VerdictView, ComposeError> {
    let (run, evaluation) = (judged.run, judged.evaluation);
    let (sign, words) = match evaluation.verdict {
        Verdict::Pass => (Sign::Pass, "Conforms"),
        Verdict::ConditionalPass => (Sign::Conditional, "Conditional pass"),
        Verdict::ConditionalFail => (Sign::Conditional, "Conditional fail"),
        Verdict::Fail => (Sign::Fail, "Does not conform"),
        Verdict::NotJudged => (Sign::None, "No statement of conformity"),
    };
    let whose = if evaluation.limit.by_claim {
        "of its maker’s claim".to_owned()
    } else {
        format!("for {}", specification(judged))
    };
    let rule = evaluation.rule.map_or("none agreed".to_owned(), rule_name);
    Ok(VerdictView {
        condition: capital(run.condition.words()),
        sign,
        words: words.to_owned(),
        statement: format!(
            "Permissible deviation {} {whose}: {}. Decision rule: {rule}.",
            evaluation.sides.words(&percent(evaluation.limit.permissible)),
            met_where(&evaluation.points)
        ),
        notes: [readings_outside(judged), low_pass(judged)?].into_iter().flatten().collect(),
    })
}

/// Where the limit is met, and where not.
fn met_where(points: &[PointResult]) -> String {
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
    parts.join("; ")
}

fn accepted(point: &PointResult) -> bool {
    matches!(point.verdict, Verdict::Pass | Verdict::ConditionalPass)
}

/// Single readings outside, where the rule looks at the mean and would hide them.
fn readings_outside(judged: &Judged<'_>) -> Option<String> {
    let rule = judged.evaluation.rule.filter(|rule| *rule != DecisionRule::EachReading)?;
    let points = &judged.evaluation.points;
    if !points.iter().any(|point| accepted(point) && point.readings_outside() > 0) {
        return None;
    }
    let outside: usize = points.iter().map(PointResult::readings_outside).sum();
    let all: usize = points.iter().map(|point| point.readings.len()).sum();
    let lie = if outside == 1 { "lies" } else { "lie" };
    let wants = if rule.needs_uncertainty() { "with its uncertainty" } else { "alone" };
    Some(format!(
        "{outside} of {all} readings {lie} outside the permissible deviation; the agreed rule judges the mean of each point, {wants}."
    ))
}

/// The floor, where a point was accepted below it.
fn low_pass(judged: &Judged<'_>) -> Result<Option<String>, ComposeError> {
    let height = judged.evaluation.floor.height;
    let below = |point: &PointResult| match height {
        Height::BelowRange => false,
        Height::From(torque) => point.target.torque() < torque && !point.target.torque().same_as(torque),
        Height::AboveRange => true,
    };
    if !judged.evaluation.points.iter().any(|p| accepted(p) && below(p)) {
        return Ok(None);
    }
    Ok(Some(floor_words(judged)?))
}

fn floor_words(judged: &Judged<'_>) -> Result<String, ComposeError> {
    let evaluation = judged.evaluation;
    let limit = evaluation.sides.words(&percent(evaluation.limit.permissible));
    Ok(typeset(&floor_sentence(&evaluation.floor, judged.run.tool.range.upper.unit(), &limit)?))
}

/// From where on a tool like this can be shown to conform, and which floor binds.
pub(super) fn floor(judged: &Judged<'_>) -> Result<FloorView, ComposeError> {
    let found = &judged.evaluation.floor;
    let unit = judged.run.tool.range.upper.unit();
    let statement =
        format!("{} The verdict at a test point follows the decision rule alone.", floor_words(judged)?);
    let floors = found
        .parts
        .iter()
        .map(|part| Ok(Fact::new(capital(&typeset(part.cause.words())), height(part.height, unit)?)))
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
