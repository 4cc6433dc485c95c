//! The deviation curve of a direction, and what an adjustment changed.

use super::figures::{axis, ends};
use super::words::{NO_BREAK, capital, torque};
use super::{ComposeError, Judged};
use crate::certificate::chart::{Chart, CurveChart, CurveMark};
use crate::certificate::view::{ChangeRow, CurveView, Figure};
use crate::export::curve::{BandRecord, ChangeRecord, CurveRecord, changes, curves};
use crate::metrology::evaluate::PointResult;
use crate::metrology::reading::Direction;
use crate::metrology::rounding::{RoundingRule, round_decimals, round_figures};

/// The curve of a direction; `None` where the points make none that can be tested.
pub(super) fn curve(judged: &Judged<'_>, direction: Direction) -> Result<Option<CurveView>, ComposeError> {
    let all = curves(judged.evaluation, judged.reference);
    let Some(record) = all.into_iter().find(|c| c.direction == direction) else { return Ok(None) };
    let test = format!(
        "χ² = {} with {} degree{} of freedom, p = {}",
        round_figures(record.chi_square, 3)?,
        record.freedom,
        if record.freedom == 1 { "" } else { "s" },
        round_decimals(record.p_value, 3)?
    );
    if !record.adequate {
        return Ok(Some(CurveView {
            statement: format!(
                "No curve that the test points can bear out describes them: the last one tried, a {}, is rejected at 5{NO_BREAK}% ({test}). Between the points nothing is said.",
                record.degree
            ),
            figure: None,
        }));
    }
    let statement = format!(
        "A {} through the mean deviations, by generalised least squares with the errors that the points share, is not rejected at 5{NO_BREAK}% ({test}): {}. The band is its expanded uncertainty for 95.45{NO_BREAK}% coverage; outside the test points nothing is said.",
        record.degree,
        equation(&record)?
    );
    Ok(Some(CurveView { statement, figure: Some(figure(judged, direction, &record)?) }))
}

/// "deviation in % = a + b x, with x the torque in N·m".
fn equation(record: &CurveRecord) -> Result<String, ComposeError> {
    let mut terms = String::new();
    for (power, parameter) in record.parameters.iter().enumerate() {
        let digits = round_figures(parameter.abs(), 4)?;
        let sign = if *parameter < 0.0 { "−" } else { "+" };
        let variable = match power {
            0 => String::new(),
            1 => format!("{NO_BREAK}x"),
            2 => format!("{NO_BREAK}x²"),
            _ => format!("{NO_BREAK}x³"),
        };
        let lead = if power == 0 { sign.trim_start_matches('+').to_owned() } else { format!(" {sign} ") };
        terms.push_str(&format!("{lead}{digits}{variable}"));
    }
    Ok(format!("deviation in % = {terms}, with x the torque in N·m"))
}

fn figure(judged: &Judged<'_>, direction: Direction, record: &CurveRecord) -> Result<Figure, ComposeError> {
    let points: Vec<&PointResult> =
        judged.evaluation.points.iter().filter(|p| p.direction == direction).collect();
    let marks = points
        .iter()
        .map(|p| CurveMark {
            torque: p.target.torque().newton_metres(),
            label: torque(&p.target),
            deviation: p.mean_deviation.value(),
            expanded: p.uncertainty.as_ref().map_or(0.0, |u| u.expanded.expanded.value()),
        })
        .collect();
    let band: Vec<CurveMark> = record.band.iter().map(mark).collect();
    let ends_in_words = [record.band.first(), record.band.last()]
        .into_iter()
        .flatten()
        .map(spoken)
        .collect::<Result<Vec<_>, _>>()?;
    let condition = judged.run.condition;
    Ok(Figure {
        name: format!("{condition}, {direction}, curve"),
        caption: format!("Deviation over the range with its uncertainty band, {condition}, {direction}."),
        alt: format!(
            "Deviation curve {condition}, {direction}, a {}: from {}.",
            record.degree,
            ends_in_words.join(" to ")
        ),
        chart: Chart::Curve(CurveChart {
            axis: axis(judged),
            points: marks,
            band,
            limits: ends(judged.evaluation.sides, judged.evaluation.limit.permissible),
        }),
    })
}

fn mark(at: &BandRecord) -> CurveMark {
    CurveMark {
        torque: at.torque_newton_metres,
        label: String::new(),
        deviation: at.deviation.value(),
        expanded: at.expanded.value(),
    }
}

fn spoken(at: &BandRecord) -> Result<String, ComposeError> {
    Ok(format!(
        "{} ± {} % at {} N·m",
        round_decimals(at.deviation.value(), 2)?.signed(),
        round_decimals(at.expanded.value(), 2)?,
        round_figures(at.torque_newton_metres, 4)?
    ))
}

/// What changed from as found to as left, where both are there.
pub(super) fn change_rows(
    runs: &[Judged<'_>],
    rounding: RoundingRule,
) -> Result<Vec<ChangeRow>, ComposeError> {
    let [found, left] = runs else { return Ok(Vec::new()) };
    let both = (found.reference, found.evaluation);
    let records = changes(both, (left.reference, left.evaluation), rounding)?;
    let both_ways = records.windows(2).any(|pair| pair[0].direction != pair[1].direction);
    Ok(records.into_iter().map(|record| change_row(record, both_ways)).collect())
}

fn change_row(record: ChangeRecord, both_ways: bool) -> ChangeRow {
    let target = record.target.replace(' ', &NO_BREAK.to_string());
    ChangeRow {
        point: if both_ways { format!("{target} {}", record.direction) } else { capital(&target) },
        change: record.printed.0,
        expanded: record.printed.1,
    }
}
