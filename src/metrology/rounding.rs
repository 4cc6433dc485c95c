//! Printable digits: an uncertainty to so many significant figures, and its result to the same
//! decimal place, by a named rule, once, at the end, in decimal.
//!
//! A double is first written with the fewest digits that bring it back, and those are rounded: a
//! number that a person would write 2.675 rounds as 2.675 and not as the binary value beneath it.

use std::fmt;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// How the last digit is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Mode {
    /// to the nearest; halves away from zero
    HalfUp,
    /// to the nearest; halves to the even digit (ISO 80000-1, B.3, rule A)
    HalfEven,
    /// away from zero, so that an uncertainty is never stated smaller than it is
    Up,
}

impl Mode {
    const fn strategy(self) -> RoundingStrategy {
        match self {
            Mode::HalfUp => RoundingStrategy::MidpointAwayFromZero,
            Mode::HalfEven => RoundingStrategy::MidpointNearestEven,
            Mode::Up => RoundingStrategy::AwayFromZero,
        }
    }
}

/// A rule of rounding. The default is two significant figures of the uncertainty (ILAC-P14:09/2020,
/// 5.3; GUM 7.2.6), halves away from zero for both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct RoundingRule {
    /// how the uncertainty is rounded
    pub uncertainty: Mode,
    /// how the result is rounded
    pub result: ResultMode,
    /// significant figures of the uncertainty: one or two
    pub figures: Figures,
}

/// How a result may be rounded: never away from zero, which would shift it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ResultMode {
    /// to the nearest; halves away from zero
    HalfUp,
    /// to the nearest; halves to the even digit
    HalfEven,
}

/// Significant figures that an uncertainty may be stated with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Figures {
    /// one
    One,
    /// two
    Two,
}

impl Default for RoundingRule {
    fn default() -> Self {
        RoundingRule { uncertainty: Mode::HalfUp, result: ResultMode::HalfUp, figures: Figures::Two }
    }
}

/// Why a number has no printable digits.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum RoundingError {
    /// Not a number that a decimal of 28 digits holds.
    #[error("{value} cannot be written as a decimal number of at most 28 digits")]
    OutOfRange {
        /// the number
        value: f64,
    },
    /// An uncertainty is a positive number.
    #[error("an expanded uncertainty is above zero, not {value}")]
    NotPositive {
        /// the number
        value: f64,
    },
}

/// Digits to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Digits {
    decimal: Decimal,
}

impl Digits {
    /// How many digits stand after the decimal point.
    #[must_use]
    pub fn decimals(&self) -> u32 {
        self.decimal.scale()
    }

    /// As text with its sign always said, and a true minus: `+0.40`, `−1.20`, `0.00`.
    #[must_use]
    pub fn signed(&self) -> String {
        if self.decimal.is_zero() {
            self.to_string()
        } else if self.decimal.is_sign_negative() {
            format!("\u{2212}{}", self.decimal.abs())
        } else {
            format!("+{}", self.decimal)
        }
    }

    /// The value that is printed.
    #[must_use]
    pub fn decimal(&self) -> Decimal {
        self.decimal
    }
}

impl fmt::Display for Digits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.decimal.fmt(f)
    }
}

/// A result and its expanded uncertainty, both ready to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ResultWithUncertainty {
    /// the result, to the decimal place of the uncertainty
    pub result: Digits,
    /// the expanded uncertainty
    pub expanded: Digits,
}

/// The shortest decimal that brings a double back.
fn shortest(value: f64) -> Result<Decimal, RoundingError> {
    let wrong = RoundingError::OutOfRange { value };
    if !value.is_finite() {
        return Err(wrong);
    }
    let text = format!("{value:e}");
    let decimal = Decimal::from_scientific(&text).map_err(|_| wrong)?;
    // from_scientific drops digits below 1e-28 without a word.
    if decimal.is_zero() && value != 0.0 { Err(wrong) } else { Ok(decimal) }
}

/// A number at a decimal place; out of range where rounding carries it beyond what a decimal holds.
fn at_place(value: Decimal, place: i32, strategy: RoundingStrategy) -> Result<Decimal, RoundingError> {
    let mut rounded = match u32::try_from(place) {
        Ok(decimals) => {
            let mut rounded = value.round_dp_with_strategy(decimals, strategy);
            rounded.rescale(decimals);
            rounded
        }
        Err(_) => {
            // Tens and above: scale down, round to whole numbers, scale up.
            let ten = |step: Decimal, _| step.checked_mul(Decimal::TEN);
            let tens = (0..place.unsigned_abs()).try_fold(Decimal::ONE, ten);
            tens.and_then(|step| (value / step).round_dp_with_strategy(0, strategy).checked_mul(step))
                .ok_or_else(|| RoundingError::OutOfRange { value: value.to_f64().unwrap_or(f64::NAN) })?
        }
    };
    if rounded.is_zero() {
        rounded.set_sign_positive(true);
    }
    Ok(rounded)
}

/// The decimal place at which `figures` significant figures of a positive number end: 2 for
/// hundredths, 0 for ones, −1 for tens.
fn last_place(value: Decimal, figures: i32) -> i32 {
    let digits = value.mantissa().unsigned_abs().to_string().len();
    let leading = i32::try_from(digits).unwrap_or(i32::MAX) - i32::try_from(value.scale()).unwrap_or(0);
    figures - leading
}

/// Rounds an expanded uncertainty, then the result to the same decimal place.
///
/// A carry does not add a figure: 0.0996 is 0.10 to two figures, and the result then goes to
/// hundredths.
///
/// # Errors
/// [`RoundingError`] when the uncertainty is not positive or a number is out of a decimal's range.
pub fn round_result(
    result: f64,
    expanded: f64,
    rule: RoundingRule,
) -> Result<ResultWithUncertainty, RoundingError> {
    let uncertainty = round_uncertainty(expanded, rule)?;
    let place = last_place(uncertainty.decimal, count(rule));
    let strategy = match rule.result {
        ResultMode::HalfUp => Mode::HalfUp.strategy(),
        ResultMode::HalfEven => Mode::HalfEven.strategy(),
    };
    Ok(ResultWithUncertainty {
        result: Digits { decimal: at_place(shortest(result)?, place, strategy)? },
        expanded: uncertainty,
    })
}

const fn count(rule: RoundingRule) -> i32 {
    match rule.figures {
        Figures::One => 1,
        Figures::Two => 2,
    }
}

/// Rounds an expanded uncertainty alone.
///
/// # Errors
/// [`RoundingError`] when it is not positive or out of a decimal's range.
pub fn round_uncertainty(expanded: f64, rule: RoundingRule) -> Result<Digits, RoundingError> {
    if expanded.is_nan() || expanded <= 0.0 {
        return Err(RoundingError::NotPositive { value: expanded });
    }
    let exact = shortest(expanded)?;
    let first = at_place(exact, last_place(exact, count(rule)), rule.uncertainty.strategy())?;
    // After a carry the number has one digit more than asked; write it again one place higher.
    let place = last_place(first, count(rule));
    Ok(Digits { decimal: at_place(first, place, rule.uncertainty.strategy())? })
}

/// Rounds a number to a fixed number of decimals, halves away from zero.
///
/// # Errors
/// [`RoundingError::OutOfRange`] when it is out of a decimal's range.
pub fn round_decimals(value: f64, decimals: u32) -> Result<Digits, RoundingError> {
    let place = i32::try_from(decimals.min(28)).unwrap_or(28);
    Ok(Digits { decimal: at_place(shortest(value)?, place, Mode::HalfUp.strategy())? })
}

/// Rounds a number to so many significant figures, halves away from zero; zero stays `0`.
///
/// # Errors
/// [`RoundingError::OutOfRange`] when it is out of a decimal's range.
pub fn round_figures(value: f64, count: u32) -> Result<Digits, RoundingError> {
    let exact = shortest(value)?;
    if exact.is_zero() {
        return Ok(Digits { decimal: Decimal::ZERO });
    }
    let count = i32::try_from(count).unwrap_or(28);
    let first = at_place(exact, last_place(exact, count), Mode::HalfUp.strategy())?;
    Ok(Digits { decimal: at_place(first, last_place(first, count), Mode::HalfUp.strategy())? })
}

/// A computed number in a sentence: four significant figures, without trailing zeros.
pub(crate) fn figures(value: f64) -> String {
    match round_figures(value, 4) {
        Ok(digits) => digits.decimal().normalize().to_string(),
        Err(_) => value.to_string(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn pair(result: f64, expanded: f64) -> (String, String) {
        let rounded = round_result(result, expanded, RoundingRule::default()).unwrap();
        (rounded.result.to_string(), rounded.expanded.to_string())
    }

    #[test]
    fn a_carry_adds_no_figure() {
        assert_eq!(pair(1.23456, 0.0996), ("1.23".into(), "0.10".into()));
        assert_eq!(pair(1.23456, 0.00995), ("1.235".into(), "0.010".into()));
        assert_eq!(pair(123.456, 9.96), ("123".into(), "10".into()));
        assert_eq!(pair(1234.56, 99.6), ("1230".into(), "100".into()));
    }

    #[test]
    fn a_binary_half_is_rounded_as_it_is_written() {
        assert_eq!(pair(2.675, 0.12), ("2.68".into(), "0.12".into()));
        assert_eq!(pair(-2.675, 0.12), ("-2.68".into(), "0.12".into()));
        let even = RoundingRule { result: ResultMode::HalfEven, ..RoundingRule::default() };
        assert_eq!(round_result(2.665, 0.12, even).unwrap().result.to_string(), "2.66");
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(pair(-0.001, 0.12), ("0.00".into(), "0.12".into()));
        assert_eq!(round_decimals(-0.0004, 2).unwrap().signed(), "0.00");
    }

    #[test]
    fn both_have_the_same_decimals_even_when_the_uncertainty_is_the_larger() {
        assert_eq!(pair(0.4, 12.3), ("0".into(), "12".into()));
        assert_eq!(pair(7.0, 1.0), ("7.0".into(), "1.0".into()));
        assert_eq!(pair(151.0, 123.0), ("150".into(), "120".into()));
    }

    #[test]
    fn never_down_means_never_down() {
        let up = RoundingRule { uncertainty: Mode::Up, ..RoundingRule::default() };
        assert_eq!(round_uncertainty(0.1201, up).unwrap().to_string(), "0.13");
        assert_eq!(round_uncertainty(0.12, up).unwrap().to_string(), "0.12");
        assert_eq!(round_uncertainty(0.991, up).unwrap().to_string(), "1.0");
    }

    #[test]
    fn what_is_not_an_uncertainty_is_refused() {
        for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-40, 1e40] {
            assert!(round_uncertainty(wrong, RoundingRule::default()).is_err(), "{wrong}");
        }
        // Rounded up it is more than a decimal holds.
        let up = RoundingRule { uncertainty: Mode::Up, ..RoundingRule::default() };
        assert!(round_uncertainty(7.92e28, up).is_err());
    }

    #[test]
    fn figures_count_from_the_first_that_is_not_zero() {
        assert_eq!(round_figures(0.012345, 3).unwrap().to_string(), "0.0123");
        assert_eq!(round_figures(99.96, 3).unwrap().to_string(), "100");
        assert_eq!(round_figures(0.0, 3).unwrap().to_string(), "0");
    }

    proptest::proptest! {
        #[test]
        fn a_rounded_result_lies_within_half_a_unit_of_its_last_place(
            result in -1e6..1e6_f64, exponent in -6..4_i32, mantissa in 1.0..10.0_f64,
        ) {
            let expanded = mantissa * 10f64.powi(exponent);
            let rounded = round_result(result, expanded, RoundingRule::default()).unwrap();
            proptest::prop_assert_eq!(rounded.result.decimals(), rounded.expanded.decimals());
            let printed: f64 = rounded.result.to_string().parse().unwrap();
            let unit = 10f64.powi(-last_place(rounded.expanded.decimal, 2));
            proptest::prop_assert!((printed - result).abs() <= unit * 0.5 * (1.0 + 1e-9));
        }
    }
}
