//! Charts of a run, each with a caption and with words that stand for it.

use super::verdict::sign;
use super::words::{NO_BREAK, both_ways, capital, percent, torque};
use super::{ComposeError, Judged};
use crate::certificate::chart::{
    BudgetChart, BudgetShareRow, Chart, DeviationChart, DeviationPoint, Ends, SequenceChart, SequenceGroup,
    SequenceMark, Share,
};
use crate::certificate::view::Figure;
use crate::metrology::budget::Influence;
use crate::metrology::decision::{DecisionRule, Sides};
use crate::metrology::evaluate::PointResult;
use crate::metrology::quantity::Percent;
use crate::metrology::reading::{Direction, Reading, Series};
use crate::metrology::rounding::{RoundingError, RoundingRule, round_decimals};
use crate::metrology::rulebook::Denominator;
use crate::printed::PrintedPoint;

pub(super) fn axis(judged: &Judged<'_>) -> String {
    let whole = match judged.rulebook.deviation.value.denominator {
        Denominator::Reference => "the reference torque",
        Denominator::Tool => "the value of the tool",
    };
    format!("Deviation, % of {whole}")
}

/// Deviations at the test points of one direction.
pub(super) fn deviation(
    judged: &Judged<'_>,
    direction: Direction,
    points: &[&PointResult],
    rounding: RoundingRule,
) -> Result<Option<Figure>, ComposeError> {
    if points.is_empty() {
        return Ok(None);
    }
    let guarded = judged.evaluation.rule.is_some_and(DecisionRule::needs_uncertainty);
    let mut drawn = Vec::new();
    let mut spoken = Vec::new();
    for point in points {
        let digits = PrintedPoint::new(point, rounding)?;
        let uncertainty = digits.expanded.as_ref().map(|u| format!(" ± {u}")).unwrap_or_default();
        let result = format!("{}{uncertainty}{NO_BREAK}%", digits.mean_deviation);
        spoken.push(format!(
            "at {}: {}",
            torque(&point.target),
            spoken_point(point, &result, digits.decimals)?
        ));
        drawn.push(DeviationPoint {
            label: torque(&point.target),
            result,
            readings: point.readings.iter().map(|r| r.deviation.value()).collect(),
            mean: point.mean_deviation.value(),
            expanded: point.uncertainty.as_ref().map(|u| u.expanded.expanded.value()),
            limits: ends(point.sides, point.limit),
            acceptance: accepted(point).filter(|_| guarded),
        });
    }
    let condition = judged.run.condition;
    Ok(Some(Figure {
        name: format!("{condition}, {direction}, deviation"),
        caption: format!("Deviation of every reading and of the mean, {condition}, {direction}."),
        alt: format!("Deviations {condition}, {direction}: {}.", spoken.join("; ")),
        chart: Chart::Deviation(DeviationChart { axis: axis(judged), points: drawn }),
    }))
}

/// A permissible or accepted deviation as the chart draws it.
pub(super) fn ends(sides: Sides, deviation: Percent) -> Ends {
    let value = deviation.value();
    match sides {
        Sides::Both => Ends::new(-value, value),
        Sides::Upper => Ends { low: None, high: Some(value) },
        Sides::Lower => Ends { low: Some(-value), high: None },
    }
}

/// What is accepted at a point; where no result is, a band as wide as the tolerance.
fn accepted(point: &PointResult) -> Option<Ends> {
    let guard = point.guard?;
    let deviation = guard.acceptance(point.limit).unwrap_or(Percent::new(-point.limit.value()));
    Some(ends(point.sides, deviation))
}

/// What the chart shows at a point, in words.
fn spoken_point(point: &PointResult, result: &str, decimals: u32) -> Result<String, RoundingError> {
    let deviations = || point.readings.iter().map(|r| r.deviation.value());
    let low = round_decimals(deviations().fold(f64::INFINITY, f64::min), decimals)?.signed();
    let high = round_decimals(deviations().fold(f64::NEG_INFINITY, f64::max), decimals)?.signed();
    Ok(format!(
        "{} readings from {low} % to {high} %, mean {result}, limit {}, {}",
        point.readings.len(),
        point.sides.words(&percent(point.limit)),
        sign(point).1
    ))
}

/// Shares of the variance at the test points of one direction.
pub(super) fn shares(
    judged: &Judged<'_>,
    direction: Direction,
    points: &[&PointResult],
) -> Result<Option<Figure>, ComposeError> {
    let with_budget: Vec<&PointResult> = points.iter().copied().filter(|p| p.uncertainty.is_some()).collect();
    let mut keys: Vec<Influence> = Vec::new();
    for line in with_budget.iter().filter_map(|p| p.uncertainty.as_ref()).flat_map(|u| &u.budget.lines) {
        if !keys.contains(&line.influence) {
            keys.push(line.influence);
        }
    }
    if keys.is_empty() {
        return Ok(None);
    }
    let rows = keys
        .iter()
        .map(|key| {
            let shares = with_budget.iter().map(|p| share(p, *key)).collect::<Result<Vec<_>, _>>()?;
            Ok(BudgetShareRow { label: capital(key.words()), shares })
        })
        .collect::<Result<Vec<_>, RoundingError>>()?;
    let condition = judged.run.condition;
    Ok(Some(Figure {
        name: format!("{condition}, {direction}, shares"),
        caption: "Share of each influence in the variance of the mean deviation, test point by test point."
            .to_owned(),
        alt: spoken_shares(&with_budget, &rows),
        chart: Chart::Budget(BudgetChart {
            points: with_budget.iter().map(|p| torque(&p.target)).collect(),
            rows,
        }),
    }))
}

/// The share of an influence at a point; two lines of one influence as one bar.
fn share(point: &PointResult, influence: Influence) -> Result<Option<Share>, RoundingError> {
    let Some(uncertainty) = &point.uncertainty else { return Ok(None) };
    let lines = uncertainty.budget.lines.iter().zip(&uncertainty.combined.shares);
    let own: Vec<f64> = lines.filter(|(line, _)| line.influence == influence).map(|(_, s)| *s).collect();
    if own.is_empty() {
        return Ok(None);
    }
    let fraction = own.iter().sum::<f64>();
    Ok(Some(Share { fraction, text: format!("{}{NO_BREAK}%", round_decimals(fraction * 100.0, 1)?) }))
}

/// Names the largest share at each point.
fn spoken_shares(points: &[&PointResult], rows: &[BudgetShareRow]) -> String {
    let largest = points.iter().enumerate().filter_map(|(column, point)| {
        let (row, share) = rows
            .iter()
            .filter_map(|row| row.shares.get(column)?.as_ref().map(|share| (row, share)))
            .max_by(|a, b| a.1.fraction.total_cmp(&b.1.fraction))?;
        Some(format!("{} with {} at {}", row.label.to_lowercase(), share.text, torque(&point.target)))
    });
    format!("Largest share of the variance: {}.", largest.collect::<Vec<_>>().join("; "))
}

/// The readings at the test points in the order in which they were recorded.
pub(super) fn sequence(judged: &Judged<'_>, rounding: RoundingRule) -> Result<Option<Figure>, ComposeError> {
    let run = judged.run;
    let both = both_ways(&judged.evaluation.points);
    let rows: Vec<&Reading> = run.readings.iter().filter(|r| r.series == Series::Points).collect();
    let groups: Vec<SequenceGroup> = rows
        .chunk_by(|a, b| a.direction == b.direction && a.target.torque().same_as(b.target.torque()))
        .filter_map(|chunk| {
            let first = chunk.first()?;
            let way = match first.direction {
                Direction::Clockwise => " cw",
                Direction::CounterClockwise => " ccw",
            };
            Some(SequenceGroup {
                label: format!("{}{}", torque(&first.target), if both { way } else { "" }),
                marks: chunk.iter().map(|reading| mark(judged, reading)).collect(),
            })
        })
        .collect();
    if groups.is_empty() {
        return Ok(None);
    }
    let struck = rows.iter().filter(|r| !r.is_valid()).count();
    let directions = if both { " (cw clockwise, ccw counter-clockwise)" } else { "" };
    let limit = judged.evaluation.limit.permissible;
    Ok(Some(Figure {
        name: format!("{}, sequence", run.condition),
        caption: format!(
            "Deviation of each reading at the test points in the order in which it was recorded{directions}."
        ),
        alt: spoken_sequence(judged, rows.len(), struck, rounding)?,
        chart: Chart::Sequence(SequenceChart {
            axis: axis(judged),
            groups,
            limits: ends(judged.evaluation.sides, limit),
        }),
    }))
}

fn mark(judged: &Judged<'_>, reading: &Reading) -> SequenceMark {
    judged
        .evaluation
        .points
        .iter()
        .flat_map(|point| &point.readings)
        .find(|result| result.row == reading.row)
        .map_or(SequenceMark::Void, |result| SequenceMark::Counts(result.deviation.value()))
}

/// First and last reading of each point, between which a drift would show.
fn spoken_sequence(
    judged: &Judged<'_>,
    count: usize,
    struck: usize,
    rounding: RoundingRule,
) -> Result<String, RoundingError> {
    let mut parts = Vec::new();
    for point in &judged.evaluation.points {
        let decimals = PrintedPoint::new(point, rounding)?.decimals;
        if let (Some(first), Some(last)) = (point.readings.first(), point.readings.last()) {
            parts.push(format!(
                "{} {} from {} % to {} %",
                torque(&point.target),
                point.direction,
                round_decimals(first.deviation.value(), decimals)?.signed(),
                round_decimals(last.deviation.value(), decimals)?.signed()
            ));
        }
    }
    Ok(format!("{count} readings in order, {struck} struck out; first to last: {}.", parts.join("; ")))
}
