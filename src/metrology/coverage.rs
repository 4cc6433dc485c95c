//! Degrees of freedom and coverage factors: normal and t quantiles, Welch-Satterthwaite.
//!
//! Infinite degrees of freedom are a case of their own ([`Freedom::Infinite`]), not a large number:
//! five equal readings on a coarse scale make a budget without any finite line.

use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{Continuous, ContinuousCDF, Normal, StudentsT};
use thiserror::Error;

/// Degrees of freedom of a standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Freedom {
    /// so many; need not be whole
    Finite(f64),
    /// the uncertainty is taken as exactly known
    Infinite,
}

impl Freedom {
    /// Of the standard deviation of n observations: n − 1.
    #[must_use]
    pub fn of_observations(n: usize) -> Freedom {
        Freedom::Finite(n.saturating_sub(1) as f64)
    }
}

/// Why there is no coverage factor.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum CoverageError {
    /// A probability is more than nothing and less than certainty.
    #[error("a coverage probability lies between 0 % and 100 %, not at {percent} %")]
    Probability {
        /// what was asked, %
        percent: f64,
    },
    /// Below one degree of freedom nothing can be said.
    #[error("{freedom} degrees of freedom are too few for a coverage factor")]
    TooFewDegrees {
        /// what there is
        freedom: f64,
    },
}

/// Above this many degrees of freedom the asymptotic series is used: there it is right to better
/// than 1e-12, while the incomplete beta function loses digits as they grow.
const SERIES_FROM: f64 = 1000.0;

/// The coverage factor k: the true value lies within ±k u with this probability (in percent),
/// when the result follows Student's t with these degrees of freedom (GUM, G.3 and table G.2).
///
/// # Errors
/// [`CoverageError`] for a probability outside 0 % to 100 %, or fewer than one degree of freedom.
pub fn coverage_factor(percent: f64, freedom: Freedom) -> Result<f64, CoverageError> {
    if !(percent > 0.0 && percent < 100.0) {
        return Err(CoverageError::Probability { percent });
    }
    let upper = 0.5 + percent / 200.0;
    match freedom {
        Freedom::Infinite => Ok(normal_quantile(upper)),
        Freedom::Finite(nu) if nu.is_nan() || nu < 1.0 => Err(CoverageError::TooFewDegrees { freedom: nu }),
        Freedom::Finite(nu) if nu >= SERIES_FROM => Ok(t_series(normal_quantile(upper), nu)),
        Freedom::Finite(nu) => StudentsT::new(0.0, 1.0, nu)
            .map(|t| polished(&t, t.inverse_cdf(upper), 0.5 - percent / 200.0))
            .map_err(|_| CoverageError::TooFewDegrees { freedom: nu }),
    }
}

/// The quantile of the normal distribution, for a probability strictly between 0 and 1.
fn normal_quantile(probability: f64) -> f64 {
    Normal::standard().inverse_cdf(probability)
}

/// One step of Newton's rule: the quantile of statrs 0.19 stops up to 3e-9 of its value away (at 60 %
/// and 995 degrees of freedom), its tail is right to 1e-11.
fn polished(t: &StudentsT, k: f64, beyond: f64) -> f64 {
    let step = (t.sf(k) - beyond) / t.pdf(k);
    if step.is_finite() { k + step } else { k }
}

/// Student's t quantile from the normal one (Abramowitz and Stegun, 26.7.5).
fn t_series(z: f64, nu: f64) -> f64 {
    let z2 = z * z;
    let g1 = z * (z2 + 1.0) / 4.0;
    let g2 = z * (5.0 * z2 * z2 + 16.0 * z2 + 3.0) / 96.0;
    let g3 = z * (3.0 * z2 * z2 * z2 + 19.0 * z2 * z2 + 17.0 * z2 - 15.0) / 384.0;
    z + g1 / nu + g2 / (nu * nu) + g3 / (nu * nu * nu)
}

/// Effective degrees of freedom of a sum of independent contributions, each with its standard
/// uncertainty (times sensitivity) and its degrees of freedom: ν_eff = u_c⁴ / Σ u_i⁴/ν_i
/// (GUM, G.4.1, equation G.2b). The value is not truncated; the t-quantile takes it as it is.
///
/// Contributions that share an error must be summed before, since the formula holds for
/// independent ones only.
#[must_use]
pub fn welch_satterthwaite(contributions: &[(f64, Freedom)]) -> Freedom {
    let largest = contributions.iter().map(|(u, _)| u.abs()).fold(0.0, f64::max);
    if largest <= 0.0 {
        return Freedom::Infinite;
    }
    // Scaled by the largest, so that fourth powers neither vanish nor overflow.
    let combined: f64 = contributions.iter().map(|(u, _)| (u / largest).powi(2)).sum();
    let weakness: f64 = contributions
        .iter()
        .map(|(u, freedom)| match freedom {
            Freedom::Finite(nu) => (u / largest).powi(4) / nu,
            Freedom::Infinite => 0.0,
        })
        .sum();
    if weakness > 0.0 { Freedom::Finite(combined * combined / weakness) } else { Freedom::Infinite }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn series_and_exact_quantile_meet_where_they_change_over() {
        let exact = StudentsT::new(0.0, 1.0, 1000.0).unwrap().inverse_cdf(0.5 + 95.45 / 200.0);
        let series = t_series(normal_quantile(0.5 + 95.45 / 200.0), 1000.0);
        assert!((exact - series).abs() < 1e-11, "{exact} {series}");
    }

    #[test]
    fn many_degrees_return_and_approach_the_normal_quantile() {
        let normal = coverage_factor(95.45, Freedom::Infinite).unwrap();
        for nu in [1e4, 1e7, 1e12, 1e300] {
            let k = coverage_factor(95.45, Freedom::Finite(nu)).unwrap();
            assert!(k >= normal && k - normal < 3.0 / nu + 1e-12, "{nu}: {k}");
        }
    }

    #[test]
    fn nonsense_is_refused() {
        assert_eq!(
            coverage_factor(100.0, Freedom::Infinite),
            Err(CoverageError::Probability { percent: 100.0 })
        );
        assert!(coverage_factor(95.0, Freedom::Finite(0.5)).is_err());
        assert!(coverage_factor(95.0, Freedom::Finite(f64::NAN)).is_err());
    }

    #[test]
    fn no_contribution_at_all_has_infinite_freedom() {
        assert_eq!(welch_satterthwaite(&[]), Freedom::Infinite);
        assert_eq!(welch_satterthwaite(&[(0.0, Freedom::Finite(4.0))]), Freedom::Infinite);
    }
}
