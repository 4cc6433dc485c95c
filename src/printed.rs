//! A result as it is printed: every number rounded once, by one rule, so that the terminal, the
//! certificate, `result.csv` and `result.json` show the same digits.

mod words;

use leverarm_metrology::budget::{BudgetLine, Distribution};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::decision::Guard;
use leverarm_metrology::evaluate::{Framework, PointResult, PointUncertainty};
use leverarm_metrology::rounding::{
    RoundingError, RoundingRule, round_decimals, round_figures, round_result,
};
use schemars::JsonSchema;
use serde::Serialize;

pub use words::{floor_sentence, floor_words, prior_words, zone_words};

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
    /// mean reference torque in the unit of the target, to the decimal place of its own expanded
    /// uncertainty; without one, to one digit more than the reference showed
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
    /// the interval that holds the true deviation with the coverage probability, and from which
    /// framework
    pub reported: Option<String>,
    /// single readings outside the limits
    pub readings_outside: String,
    /// where the judged deviation lies, in words
    pub zone: Option<String>,
    /// the verdict
    pub verdict: String,
    /// probability of conformity
    pub conformity_probability: Option<String>,
    /// probability of a wrong acceptance, where the point was accepted
    pub false_acceptance: Option<String>,
    /// probability of a wrong rejection, where the point was rejected
    pub false_rejection: Option<String>,
    /// probability, over all such tools under the prior, of not conforming and being accepted
    pub consumer_risk: Option<String>,
    /// probability, over all such tools under the prior, of conforming and being rejected
    pub producer_risk: Option<String>,
    /// half the tolerance over the expanded uncertainty
    pub uncertainty_ratio: Option<String>,
    /// decimals of every percentage that stands beside the result
    #[serde(skip)]
    pub decimals: u32,
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
            mean_reference: mean_reference(point, rule)?,
            mean_deviation: mean_deviation.signed(),
            standard_deviation: point.standard_deviation.map(|s| three_figures(s.value())).transpose()?,
            spread: three_figures(point.spread.value())?,
            combined: u.map(|u| small(u.combined.standard.value(), decimals + 1)).transpose()?,
            freedom: u.map(|u| freedom(u.combined.freedom)).transpose()?,
            k: u.map(|u| coverage(u.expanded.k)).transpose()?,
            k_effective: u.map(|u| coverage(u.expanded.k_effective)).transpose()?,
            expanded: expanded_digits.map(|d| d.to_string()),
            interval: u.map(|u| percent(u.interval.value())).transpose()?,
            limit: trimmed(point.limit.value())?,
            guard_band: point.guard.and_then(Guard::width).map(|w| percent(w.value())).transpose()?,
            acceptance_limit: match (point.acceptance_limit(), point.guard.and_then(Guard::width)) {
                _ if point.no_result_accepted() => Some("none".to_owned()),
                (Some(limit), Some(w)) if w.value() > 0.0 => Some(percent(limit.value())?),
                (Some(limit), _) => Some(trimmed(limit.value())?),
                (None, _) => None,
            },
            reported: u.map(|u| reported(u, decimals)).transpose()?,
            readings_outside: point.readings_outside().to_string(),
            zone: point.zone.map(|zone| zone_words(zone).to_owned()),
            verdict: point.verdict.word().to_owned(),
            conformity_probability: point.conformity_probability.map(probability).transpose()?,
            false_acceptance: point.false_acceptance().map(probability).transpose()?,
            false_rejection: point.false_rejection().map(probability).transpose()?,
            consumer_risk: point.global_risk.map(|r| probability(r.consumer)).transpose()?,
            producer_risk: point.global_risk.map(|r| probability(r.producer)).transpose()?,
            uncertainty_ratio: point.uncertainty_ratio.map(ratio).transpose()?,
            decimals,
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
    /// Rounds a line and its share of the variance (0 to 1), beside a result of so many decimals:
    /// standard uncertainties get one digit more than what is stated at the end.
    ///
    /// # Errors
    /// [`RoundingError`] when a number has no printable digits.
    pub fn new(line: &BudgetLine, share: f64, decimals: u32) -> Result<PrintedLine, RoundingError> {
        Ok(PrintedLine {
            influence: line.influence.words().to_owned(),
            symbol: line.influence.symbol().to_owned(),
            value: small(line.value.value(), decimals + 1)?,
            distribution: match line.distribution {
                Distribution::Normal => "normal",
                Distribution::Rectangular => "rectangular",
            }
            .to_owned(),
            divisor: divisor(line.divisor)?,
            freedom: freedom(line.freedom)?,
            standard: small(line.standard().value(), decimals + 1)?,
            share: round_decimals(share * 100.0, 1)?.to_string(),
            source: line.source.clone(),
        })
    }
}

/// Deviations without an uncertainty beside them are printed to hundredths of a percent.
const DECIMALS_WITHOUT_UNCERTAINTY: u32 = 2;

/// What is left of equal readings after binary arithmetic, in percent, is nothing.
const NOISE: f64 = 1e-9;

/// Three significant figures of a percentage.
fn three_figures(percent: f64) -> Result<String, RoundingError> {
    let value = if percent.abs() < NOISE { 0.0 } else { percent };
    Ok(round_figures(value, 3)?.to_string())
}

/// A number to so many decimals; what vanishes among them is said to be below the last, and is not
/// printed as nothing.
fn small(value: f64, decimals: u32) -> Result<String, RoundingError> {
    let rounded = round_decimals(value, decimals)?;
    if !rounded.decimal().is_zero() || value <= 0.0 || value < NOISE {
        return Ok(rounded.to_string());
    }
    let zeros = "0".repeat(decimals.saturating_sub(1) as usize);
    Ok(if decimals == 0 { "< 1".to_owned() } else { format!("<\u{a0}0.{zeros}1") })
}

/// Degrees of freedom; whole ones and large ones without a decimal.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn freedom(freedom: Freedom) -> Result<String, RoundingError> {
    match freedom {
        Freedom::Infinite => Ok("∞".to_owned()),
        Freedom::Finite(nu) if nu >= 1e6 => Ok("> 1 000 000".to_owned()),
        Freedom::Finite(nu) if nu >= 100.0 || nu.fract() == 0.0 => Ok(round_decimals(nu, 0)?.to_string()),
        Freedom::Finite(nu) => Ok(round_decimals(nu, 1)?.to_string()),
    }
}

/// "2", "√3", or the number where it is neither whole nor the root of a whole one.
fn divisor(value: f64) -> Result<String, RoundingError> {
    let square = value * value;
    if (value - value.round()).abs() < 1e-9 {
        Ok(round_decimals(value, 0)?.to_string())
    } else if (square - square.round()).abs() < 1e-9 {
        Ok(format!("√{}", round_decimals(square, 0)?))
    } else {
        Ok(round_figures(value, 3)?.to_string())
    }
}

/// A coverage factor: two decimals.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn coverage(k: f64) -> Result<String, RoundingError> {
    Ok(round_decimals(k, 2)?.to_string())
}

/// A number with no more decimals than it needs, up to four.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn trimmed(value: f64) -> Result<String, RoundingError> {
    Ok(round_decimals(value, 4)?.decimal().normalize().to_string())
}

fn reported(u: &PointUncertainty, decimals: u32) -> Result<String, RoundingError> {
    let from = match u.reported.from {
        Framework::Gum => "GUM",
        Framework::MonteCarlo => "Monte Carlo",
    };
    let (low, high) = (
        round_decimals(u.reported.low.value(), decimals)?,
        round_decimals(u.reported.high.value(), decimals)?,
    );
    Ok(format!("{} to {} % ({from})", low.signed(), high.signed()))
}

/// A ratio: three figures, and no more than one decimal from ten on.
fn ratio(value: f64) -> Result<String, RoundingError> {
    Ok(if value < 10.0 { round_decimals(value, 2)? } else { round_decimals(value, 1)? }.to_string())
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

fn mean_reference(point: &PointResult, rule: RoundingRule) -> Result<String, RoundingError> {
    let unit = point.target.unit();
    let mean = point.mean_reference.in_unit(unit);
    match &point.uncertainty {
        Some(u) if u.expanded.expanded.value() > 0.0 => {
            let expanded = point.mean_reference.share(u.expanded.expanded).in_unit(unit);
            Ok(round_result(mean, expanded, rule)?.result.to_string())
        }
        _ => {
            let shown = point.readings.iter().map(|r| r.shown.decimals()).max().unwrap_or(2);
            Ok(round_decimals(mean, shown + 1)?.to_string())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn divisors_print_as_they_are_written() -> Result<(), RoundingError> {
        assert_eq!(divisor(2.0)?, "2");
        assert_eq!(divisor(3.0_f64.sqrt())?, "√3");
        assert_eq!(divisor(5.0_f64.sqrt())?, "√5");
        assert_eq!(divisor(2.28)?, "2.28");
        Ok(())
    }

    #[test]
    fn a_small_contribution_is_not_printed_as_nothing() -> Result<(), RoundingError> {
        assert_eq!(small(0.000_042_8, 3)?, "<\u{a0}0.001");
        assert_eq!(small(0.0, 3)?, "0.000");
        assert_eq!(small(0.345, 2)?, "0.35");
        assert_eq!(small(5e-18, 3)?, "0.000");
        Ok(())
    }

    #[test]
    fn noise_of_binary_arithmetic_prints_as_zero() -> Result<(), RoundingError> {
        assert_eq!(three_figures(4.7e-47)?, "0");
        assert_eq!(three_figures(0.012_345)?, "0.0123");
        Ok(())
    }

    #[test]
    fn no_probability_is_printed_as_certain() -> Result<(), RoundingError> {
        assert_eq!(probability(1.0)?, "> 99.99 %");
        assert_eq!(probability(0.0)?, "< 0.01 %");
        assert_eq!(probability(0.02275)?, "2.28 %");
        Ok(())
    }

    #[test]
    fn degrees_of_freedom() -> Result<(), RoundingError> {
        assert_eq!(freedom(Freedom::Finite(4.0))?, "4");
        assert_eq!(freedom(Freedom::Finite(18.9987))?, "19.0");
        assert_eq!(freedom(Freedom::Finite(748.7))?, "749");
        assert_eq!(freedom(Freedom::Infinite)?, "∞");
        Ok(())
    }
}
