//! The comparison as a chart: probability density of each deviation over its limits.

use leverarm_metrology::decision::Sides;
use leverarm_metrology::evaluate::{Evaluation, PointResult, PointUncertainty};
use leverarm_metrology::quantity::Percent;
use leverarm_metrology::rounding::{RoundingError, RoundingRule};
use leverarm_metrology::under::{UnderPoint, UnderRule, density};

use super::rejudged;
use crate::certificate::chart::{Accepted, Chart, DensityChart, DensityPanel, Ends};
use crate::printed::{PrintedPoint, trimmed};

/// The density of every point with a whole budget over the limits, with what one rule accepts of it;
/// `None` where no point has one.
///
/// # Errors
/// [`RoundingError`] when a number has no printable digits.
pub fn chart(
    evaluation: &Evaluation,
    under: &UnderRule,
    whole: &str,
    rounding: RoundingRule,
) -> Result<Option<Chart>, RoundingError> {
    let mut panels = Vec::new();
    let mut spoken = Vec::new();
    for (point, of_rule) in evaluation.points.iter().zip(&under.points) {
        if let Some(panel) = panel(point, of_rule, rounding)? {
            spoken.push(format!("{}: {}", panel.label, panel.caption));
            panels.push(panel);
        }
    }
    if panels.is_empty() {
        return Ok(None);
    }
    let agreed =
        if evaluation.rule == Some(under.rule) { "agreed" } else { "not agreed, for understanding only" };
    let title = format!("Probability density of the deviation; {} ({agreed})", under.rule.title());
    Ok(Some(Chart::Density(DensityChart {
        alternative: format!(
            "{}. Hatched: within the limits and not accepted. Cross-hatched: outside the limits, wrong if \
             accepted.",
            spoken.join(". ")
        ),
        title,
        axis: format!("Deviation, % of {whole}"),
        panels,
    })))
}

fn panel(
    point: &PointResult,
    under: &UnderPoint,
    rounding: RoundingRule,
) -> Result<Option<DensityPanel>, RoundingError> {
    let Some(uncertainty) = point.uncertainty.as_ref().filter(|u| u.budget.is_complete()) else {
        return Ok(None);
    };
    let places = places(point, uncertainty);
    let (standard, freedom) = (uncertainty.combined.standard, uncertainty.combined.freedom);
    let Some(of_places) = density(point.mean_deviation, standard, freedom, &places) else { return Ok(None) };
    let digits = PrintedPoint::new(&rejudged(point, under), rounding)?;
    let mut caption = format!("mean {} %", digits.mean_deviation);
    if let Some(expanded) = &digits.expanded {
        caption.push_str(&format!(", U {expanded} %"));
    }
    caption
        .push_str(&format!(", limit {}", point.sides.words(&format!("{} %", trimmed(point.limit.value())?))));
    if let Some(probability) = &digits.conformity_probability {
        caption.push_str(&format!(", P(conform) {probability}"));
    }
    caption.push_str(&format!(": {}", digits.verdict));
    let accepted = match (under.acceptance_limit, under.judgement.guard) {
        (Some(limit), _) => Accepted::Within(ends(point.sides, limit)),
        (None, Some(_)) => Accepted::Nothing,
        (None, None) => Accepted::NotJudged,
    };
    Ok(Some(DensityPanel {
        label: format!("{} {}", digits.target, digits.direction),
        caption,
        curve: places.into_iter().zip(of_places).collect(),
        mean: point.mean_deviation.value(),
        limits: ends(point.sides, point.limit),
        accepted,
    }))
}

fn ends(sides: Sides, deviation: Percent) -> Ends {
    let value = deviation.value();
    match sides {
        Sides::Both => Ends::new(-value, value),
        Sides::Upper => Ends { low: None, high: Some(value) },
        Sides::Lower => Ends { low: Some(-value), high: None },
    }
}

/// Where the density is looked at: evenly over limits and mean, and closely about the mean.
fn places(point: &PointResult, uncertainty: &PointUncertainty) -> Vec<f64> {
    const STEPS: u32 = 200;
    let (mean, u) = (point.mean_deviation.value(), uncertainty.combined.standard.value());
    let limits = ends(point.sides, point.limit);
    let low = limits.each().fold(mean - 4.0 * u, f64::min);
    let high = limits.each().fold(mean + 4.0 * u, f64::max);
    let air = (high - low) * 0.06;
    let even =
        |from: f64, to: f64| (0..=STEPS).map(move |i| from + (to - from) * f64::from(i) / f64::from(STEPS));
    let mut places: Vec<f64> =
        even(low - air, high + air).chain(even(mean - 4.0 * u, mean + 4.0 * u)).collect();
    places.sort_by(f64::total_cmp);
    places.dedup();
    places
}
