//! How many digits of a result mean something, and whether the GUM's interval holds to them
//! (JCGM 101, 7.9.2 and clause 8).

use schemars::JsonSchema;
use serde::Serialize;
use thiserror::Error;

use super::coverage::Interval;
use crate::rounding::Figures;

/// Why there is no numerical tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ToleranceError {
    /// A standard uncertainty is a finite number above zero.
    #[error("digits of a standard uncertainty need one above zero, not {value}")]
    NotPositive {
        /// the number
        value: f64,
    },
}

/// The numerical tolerance δ of a standard uncertainty: written as c × 10^ℓ with c an integer of
/// one or two digits, δ is 10^ℓ/2 (7.9.2). 0.35 to two digits gives 0.005, 0.0996 gives 0.005 too.
///
/// # Errors
/// [`ToleranceError`] for a number that is not above zero or not finite.
pub fn numerical_tolerance(standard: f64, figures: Figures) -> Result<f64, ToleranceError> {
    let wrong = ToleranceError::NotPositive { value: standard };
    if !(standard.is_finite() && standard > 0.0) {
        return Err(wrong);
    }
    let behind_the_point: usize = match figures {
        Figures::One => 0,
        Figures::Two => 1,
    };
    // Text knows the decimal exponent after rounding exactly; a logarithm does not.
    let text = format!("{standard:.behind_the_point$e}");
    let exponent =
        text.split_once('e').and_then(|(_, exponent)| exponent.parse::<i32>().ok()).ok_or(wrong)?;
    let last = if behind_the_point == 0 { exponent } else { exponent - 1 };
    format!("5e{}", last - 1).parse().map_err(|_| wrong)
}

/// A result of the GUM uncertainty framework.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GumResult {
    /// y
    pub estimate: f64,
    /// u(y)
    pub standard: f64,
    /// U for the coverage probability of the interval that it is compared with
    pub expanded: f64,
}

/// The ends of the two intervals, compared.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Comparison {
    /// the numerical tolerance δ
    pub tolerance: f64,
    /// d_low = |y − U − y_low|
    pub low_difference: f64,
    /// d_high = |y + U − y_high|
    pub high_difference: f64,
}

/// Whether the GUM's interval is right to so many digits of u(y).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case", tag = "outcome")]
pub enum Validation {
    /// both ends agree within the tolerance
    Valid(Comparison),
    /// at least one does not: the interval found by Monte Carlo is the one to report
    NotValid(Comparison),
}

impl Validation {
    /// Whether it is valid.
    #[must_use]
    pub fn is_valid(&self) -> bool {
        matches!(self, Validation::Valid(_))
    }

    /// The numbers.
    #[must_use]
    pub fn comparison(&self) -> Comparison {
        match self {
            Validation::Valid(comparison) | Validation::NotValid(comparison) => *comparison,
        }
    }
}

/// The validation test of clause 8: y ± U against an interval found by Monte Carlo, within the
/// numerical tolerance of u(y) (8.1).
///
/// The interval has a scatter of its own. It should be well below the tolerance, so that chance
/// does not decide: by the adaptive procedure at a fifth of it (8.2), or by trials enough.
///
/// # Errors
/// [`ToleranceError`] when the standard uncertainty is not above zero.
pub fn validate(gum: GumResult, found: Interval, figures: Figures) -> Result<Validation, ToleranceError> {
    let tolerance = numerical_tolerance(gum.standard, figures)?;
    let comparison = Comparison {
        tolerance,
        low_difference: (gum.estimate - gum.expanded - found.low).abs(),
        high_difference: (gum.estimate + gum.expanded - found.high).abs(),
    };
    let valid = comparison.low_difference <= tolerance && comparison.high_difference <= tolerance;
    Ok(if valid { Validation::Valid(comparison) } else { Validation::NotValid(comparison) })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_tolerance_is_half_a_unit_of_the_last_digit() {
        let of = |u, figures| numerical_tolerance(u, figures).unwrap();
        // 7.9.2, examples, from memory: 0.000 35 g and 2.0 K to two digits.
        assert_eq!(of(0.000_35, Figures::Two), 0.000_005);
        assert_eq!(of(2.0, Figures::Two), 0.05);
        assert_eq!(of(2.0, Figures::One), 0.5);
        // A carry adds no digit.
        assert_eq!(of(0.0996, Figures::Two), 0.005);
        assert_eq!(of(0.0994, Figures::Two), 0.0005);
        assert_eq!(of(96.0, Figures::One), 50.0);
        assert_eq!(of(1.0e-300, Figures::Two), 5.0e-302);
    }

    #[test]
    fn no_uncertainty_has_no_digits() {
        for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(numerical_tolerance(wrong, Figures::Two).is_err());
        }
    }

    #[test]
    fn each_end_counts() {
        let gum = GumResult { estimate: 10.0, standard: 1.0, expanded: 2.0 };
        let at = |low, high| validate(gum, Interval { low, high }, Figures::Two).unwrap();
        assert!(at(8.04, 11.96).is_valid());
        assert!(!at(8.06, 12.0).is_valid());
        assert!(!at(8.0, 12.06).is_valid());
        assert!((at(8.0, 12.06).comparison().high_difference - 0.06).abs() < 1e-12);
    }
}
