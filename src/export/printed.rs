//! A point as it is printed: every number rounded once, by one rule, so that the terminal, the
//! certificate, `result.csv` and `result.json` show the same digits.

use leverarm_metrology::budget::{BudgetLine, Distribution};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::decision::Zone;
use leverarm_metrology::evaluate::{PointResult, ReadingResult};
use leverarm_metrology::floor::{Floor, Height};
use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::rounding::{RoundingError, RoundingRule, round_decimals, round_figures, round_result};
use schemars::JsonSchema;
use serde::Serialize;

/// One test point, ready to print. Deviations and uncertainties are in percent, torques in the
/// unit of the target.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PrintedPoint {
    /// direction in words
    pub direction: String,
    /// the test point with its unit
    pub target: String,
    /// number of valid readings
    pub n: String,
    /// number of readings struck out
    pub voided: String,
    /// mean reference torque, in the unit of the target
    pub mean_reference: String,
    /// mean deviation, signed, to the decimal place of the expanded uncertainty
    pub mean_deviation: String,
    /// experimental standard deviation of a deviation
    pub standard_deviation: Option<String>,
    /// greatest less least deviation
    pub spread: String,
    /// combined standard uncertainty
    pub combined: Option<String>,
    /// effective degrees of freedom
    pub freedom: Option<String>,
    /// the coverage factor that was used
    pub k: Option<String>,
    /// the coverage factor that the effective degrees of freedom ask for
    pub k_effective: Option<String>,
    /// expanded uncertainty, two significant figures
    pub expanded: Option<String>,
    /// relative uncertainty interval W′
    pub interval: Option<String>,
    /// permissible deviation
    pub limit: String,
    /// guard band on each side
    pub guard_band: Option<String>,
    /// what a deviation may be to be accepted; `none` where the guard band is wider than the limit
    pub acceptance_limit: Option<String>,
    /// single readings outside the limits
    pub readings_outside: String,
    /// where the judged deviation lies, in words
    pub zone: Option<String>,
    /// the verdict
    pub verdict: String,
    /// probability of conformity
    pub conformity_probability: Option<String>,
    /// probability of a wrong acceptance, where the point passed
    pub false_acceptance: Option<String>,
}

impl PrintedPoint {
    /// Rounds a point.
    ///
    /// # Errors
    /// [`RoundingError`] when a number has no printable digits.
    pub fn new(point: &PointResult, rule: RoundingRule) -> Result<PrintedPoint, RoundingError> {
        let expanded = point.uncertainty.as_ref().map(|u| u.expanded.expanded.value()).filter(|w| *w > 0.0);
        let deviation = point.mean_deviation.value();
        let (mean_deviation, expanded_digits) = match expanded {
            Some(w) => {
                let both = round_result(deviation, w, rule)?;
                (both.result, Some(both.expanded))
            }
            None => (round_decimals(deviation, DECIMALS_WITHOUT_UNCERTAINTY)?, None),
        };
        let decimals = mean_deviation.decimals();
        let percent = |value: f64| round_decimals(value, decimals).map(|d| d.to_string());
        let u = point.uncertainty.as_ref();
        Ok(PrintedPoint {
            direction: point.direction.word().to_owned(),
            target: point.target.to_string(),
            n: point.readings.len().to_string(),
            voided: point.voided.len().to_string(),
            mean_reference: mean_reference(point)?,
            mean_deviation: mean_deviation.signed(),
            standard_deviation: point.standard_deviation.map(|s| three_figures(s.value())).transpose()?,
            spread: three_figures(point.spread.value())?,
            combined: u.map(|u| three_figures(u.combined.standard.value())).transpose()?,
            freedom: u.map(|u| freedom(u.combined.freedom)).transpose()?,
            k: u.map(|u| two_decimals(u.expanded.k)).transpose()?,
            k_effective: u.map(|u| two_decimals(u.expanded.k_effective)).transpose()?,
            expanded: expanded_digits.map(|d| d.to_string()),
            interval: u.map(|u| percent(u.interval.value())).transpose()?,
            limit: trimmed(point.limit.value())?,
            guard_band: point.guard_band.map(|w| percent(w.value())).transpose()?,
            acceptance_limit: point
                .acceptance_limit()
                .zip(point.guard_band)
                .map(|(limit, w)| match (w.value() > 0.0, limit.value() < 0.0) {
                    (_, true) => Ok("none".to_owned()),
                    (true, false) => percent(limit.value()),
                    (false, false) => trimmed(limit.value()),
                })
                .transpose()?,
            readings_outside: point.readings_outside().to_string(),
            zone: point.zone.map(|zone| zone_words(zone).to_owned()),
            verdict: point.verdict.word().to_owned(),
            conformity_probability: point.conformity_probability.map(probability).transpose()?,
            false_acceptance: point.false_acceptance().map(probability).transpose()?,
        })
    }
}

/// A budget line, ready to print.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PrintedLine {
    /// what it is about
    pub influence: String,
    /// symbol of its standard uncertainty
    pub symbol: String,
    /// the value it starts from, %
    pub value: String,
    /// its distribution
    pub distribution: String,
    /// what the value is divided by
    pub divisor: String,
    /// its degrees of freedom
    pub freedom: String,
    /// its standard uncertainty, %
    pub standard: String,
    /// its share of the variance, %
    pub share: String,
    /// where the value comes from
    pub source: String,
}

impl PrintedLine {
    /// Rounds a line and its share of the variance (0 to 1).
    ///
    /// # Errors
    /// [`RoundingError`] when a number has no printable digits.
    pub fn new(line: &BudgetLine, share: f64) -> Result<PrintedLine, RoundingError> {
        Ok(PrintedLine {
            influence: line.influence.words().to_owned(),
            symbol: line.influence.symbol().to_owned(),
            value: three_figures(line.value.value())?,
            distribution: match line.distribution {
                Distribution::Normal => "normal",
                Distribution::Rectangular => "rectangular",
            }
            .to_owned(),
            divisor: divisor(line.divisor)?,
            freedom: freedom(line.freedom)?,
            standard: three_figures(line.standard().value())?,
            share: round_decimals(share * 100.0, 1)?.to_string(),
            source: line.source.clone(),
        })
    }
}

/// Deviations without an uncertainty beside them are printed to hundredths of a percent.
const DECIMALS_WITHOUT_UNCERTAINTY: u32 = 2;

/// Three significant figures of a percentage. What is left of equal readings after binary
/// arithmetic, less than a part in 10¹¹, is nothing.
fn three_figures(percent: f64) -> Result<String, RoundingError> {
    let value = if percent.abs() < 1e-9 { 0.0 } else { percent };
    Ok(round_figures(value, 3)?.to_string())
}

/// Degrees of freedom: one decimal, or the sign of infinity.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn freedom(freedom: Freedom) -> Result<String, RoundingError> {
    match freedom {
        Freedom::Infinite => Ok("∞".to_owned()),
        Freedom::Finite(nu) if nu >= 1e6 => Ok("> 1 000 000".to_owned()),
        Freedom::Finite(nu) if nu >= 1000.0 => Ok(round_decimals(nu, 0)?.to_string()),
        Freedom::Finite(nu) => trimmed(round_to(nu, 1)?),
    }
}

fn round_to(value: f64, decimals: u32) -> Result<f64, RoundingError> {
    let digits = round_decimals(value, decimals)?;
    digits.to_string().parse().map_err(|_| RoundingError::OutOfRange { value })
}

fn divisor(value: f64) -> Result<String, RoundingError> {
    for whole in [3.0_f64, 5.0, 10.0] {
        if (value - whole.sqrt()).abs() < 1e-9 {
            return Ok(format!("√{whole}"));
        }
    }
    trimmed(round_to(value, 3)?)
}

fn two_decimals(value: f64) -> Result<String, RoundingError> {
    Ok(round_decimals(value, 2)?.to_string())
}

/// A number with no more decimals than it needs, up to four.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn trimmed(value: f64) -> Result<String, RoundingError> {
    Ok(round_decimals(value, 4)?.decimal().normalize().to_string())
}

/// A probability in percent, never printed as exactly none or all.
fn probability(value: f64) -> Result<String, RoundingError> {
    let percent = value * 100.0;
    if percent < 0.01 {
        Ok("< 0.01 %".to_owned())
    } else if percent > 99.99 {
        Ok("> 99.99 %".to_owned())
    } else {
        Ok(format!("{} %", round_decimals(percent, 2)?))
    }
}

/// A torque in a unit, to so many decimals.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn torque(torque: Torque, unit: TorqueUnit, decimals: u32) -> Result<String, RoundingError> {
    Ok(round_decimals(torque.in_unit(unit), decimals)?.to_string())
}

/// The corrected reference torque of a reading: one decimal more than the reference showed.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn reference_torque(reading: &ReadingResult) -> Result<String, RoundingError> {
    torque(reading.reference, reading.shown.unit(), reading.shown.decimals() + 1)
}

fn mean_reference(point: &PointResult) -> Result<String, RoundingError> {
    let decimals = point.readings.iter().map(|r| r.shown.decimals()).max().unwrap_or(0) + 1;
    torque(point.mean_reference, point.target.unit(), decimals)
}

/// Where a deviation lies, in words.
#[must_use]
pub const fn zone_words(zone: Zone) -> &'static str {
    match zone {
        Zone::Accepted => "within the acceptance limits",
        Zone::GuardBand => "in the guard band: conformity not shown",
        Zone::Outside => "outside the limits",
    }
}

/// The floor in one sentence, in a unit.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn floor_words(floor: &Floor, unit: TorqueUnit) -> Result<String, RoundingError> {
    let cause = floor.binding.map_or("", |cause| cause.words());
    Ok(match floor.height {
        Height::BelowRange => "This tool can be shown to conform over its whole range.".to_owned(),
        Height::From(torque) => format!(
            "This tool can be shown to conform from {} {unit} on; what binds is {cause}.",
            round_figures(torque.in_unit(unit), 3)?
        ),
        Height::AboveRange => {
            format!("This tool cannot be shown to conform at any torque of its range; what binds is {cause}.")
        }
    })
}
