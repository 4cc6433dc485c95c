//! What the points of one or two runs say together: the deviation curve over the range, and what an
//! adjustment changed. Both rest on the errors that the points share.

use leverarm_metrology::covariance::shifts;
use leverarm_metrology::coverage::{Freedom, coverage_factor};
use leverarm_metrology::curve::{DeviationCurve, RunCurve};
use leverarm_metrology::evaluate::Evaluation;
use leverarm_metrology::quantity::{Percent, Torque};
use leverarm_metrology::reading::Direction;
use leverarm_metrology::reference::Reference;
use leverarm_metrology::rounding::{RoundingError, RoundingRule, round_result};
use schemars::JsonSchema;
use serde::Serialize;

/// Level of significance of the lack-of-fit test, %.
const LEVEL_PERCENT: f64 = 5.0;
/// Coverage probability of the band and of a change, %.
const PROBABILITY: f64 = 95.45;
/// Into how many parts the band divides the range of the test points.
const STEPS: u32 = 24;

/// The deviation curve of one direction.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CurveRecord {
    /// the direction
    pub direction: Direction,
    /// the curve in words, such as `straight line`
    pub degree: &'static str,
    /// whether the χ² test lets it describe the points
    pub adequate: bool,
    /// χ² of the residuals
    pub chi_square: f64,
    /// points less parameters
    pub freedom: usize,
    /// probability of a larger χ², were the curve true
    pub p_value: f64,
    /// parameters about zero torque: %, % per N·m, % per (N·m)² …
    pub parameters: Vec<f64>,
    /// their covariance matrix
    pub covariance: Vec<Vec<f64>>,
    /// the curve and its band from the lowest to the highest test point; empty where no curve
    /// describes the points
    pub band: Vec<BandRecord>,
}

/// The curve at one torque.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct BandRecord {
    /// the torque, N·m
    pub torque_newton_metres: f64,
    /// the deviation, %
    pub deviation: Percent,
    /// its expanded uncertainty for 95.45 %, %
    pub expanded: Percent,
}

/// What changed at a point between as found and as left.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ChangeRecord {
    /// the direction
    pub direction: Direction,
    /// the test point
    pub target: String,
    /// mean deviation as left less as found, %
    pub change: Percent,
    /// its standard uncertainty, errors that both runs share taken out, %
    pub standard: Percent,
    /// its degrees of freedom
    pub freedom: Freedom,
    /// its expanded uncertainty for 95.45 %, %
    pub expanded: Percent,
    /// as it is printed: change and expanded uncertainty
    pub printed: (String, String),
}

/// The curves of a run, one a direction; none where the points are too few, share no whole budget,
/// or make no fit.
#[must_use]
pub fn curves(evaluation: &Evaluation, reference: &Reference) -> Vec<CurveRecord> {
    [Direction::Clockwise, Direction::CounterClockwise]
        .into_iter()
        .filter(|direction| evaluation.points.iter().any(|p| p.direction == *direction))
        .filter_map(|direction| {
            let found =
                DeviationCurve::of_run(reference, &evaluation.points, direction, LEVEL_PERCENT).ok()?;
            record(evaluation, direction, &found)
        })
        .collect()
}

fn record(evaluation: &Evaluation, direction: Direction, found: &RunCurve) -> Option<CurveRecord> {
    let fit = found.choice.tried.last()?;
    let test = fit.lack_of_fit()?;
    let (parameters, covariance) = fit.parameters_about(0.0).ok()?;
    let rows = 0..parameters.len();
    let covariance =
        rows.clone().map(|i| rows.clone().filter_map(|j| covariance.covariance(i, j)).collect()).collect();
    let band = found.curve.as_ref().map(|curve| band(evaluation, direction, curve)).unwrap_or_default();
    Some(CurveRecord {
        direction,
        degree: fit.degree().words(),
        adequate: found.choice.adequate,
        chi_square: test.chi_square,
        freedom: test.freedom,
        p_value: test.p_value,
        parameters,
        covariance,
        band,
    })
}

fn band(evaluation: &Evaluation, direction: Direction, curve: &DeviationCurve) -> Vec<BandRecord> {
    let targets = || {
        let of_direction = evaluation.points.iter().filter(|p| p.direction == direction);
        of_direction.map(|p| p.target.torque().newton_metres())
    };
    let (low, high) = (targets().fold(f64::INFINITY, f64::min), targets().fold(f64::NEG_INFINITY, f64::max));
    (0..=STEPS)
        .filter_map(|step| {
            let torque = low + (high - low) * f64::from(step) / f64::from(STEPS);
            let at = curve.at(Torque::from_newton_metres(torque), PROBABILITY).ok()?;
            Some(BandRecord { torque_newton_metres: torque, deviation: at.deviation, expanded: at.expanded })
        })
        .collect()
}

/// What changed between two runs of one tool; nothing where either has no whole budget.
///
/// # Errors
/// [`RoundingError`] when a number has no printable digits.
pub fn changes(
    found: (&Reference, &Evaluation),
    left: (&Reference, &Evaluation),
    rounding: RoundingRule,
) -> Result<Vec<ChangeRecord>, RoundingError> {
    let all = shifts((found.0, &found.1.points), (left.0, &left.1.points)).unwrap_or_default();
    let mut records = Vec::with_capacity(all.len());
    for shift in all {
        let uncertainty = &shift.uncertainty;
        let Ok(k) = coverage_factor(PROBABILITY, uncertainty.freedom) else { continue };
        let expanded = Percent::new(k * uncertainty.standard.value());
        if expanded.value() <= 0.0 {
            continue;
        }
        let printed = round_result(shift.change.value(), expanded.value(), rounding)?;
        records.push(ChangeRecord {
            direction: shift.direction,
            target: shift.target.to_string(),
            change: shift.change,
            standard: uncertainty.standard,
            freedom: uncertainty.freedom,
            expanded,
            printed: (printed.result.signed(), printed.expanded.to_string()),
        });
    }
    Ok(records)
}
