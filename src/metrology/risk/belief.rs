//! What is known of a true value after a measurement: normal, or Student's t where the uncertainty
//! rests on few degrees of freedom.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::guard_band::{GuardBand, band_for};
use super::{Limits, RiskError, checked_uncertainty, checked_value, normal};
use crate::coverage::Freedom;

/// From so many degrees of freedom on, t and normal differ by less than a part in a thousand of
/// any risk that matters, and the normal keeps its digits farther out.
const NORMAL_FROM: f64 = 1000.0;

/// The state of knowledge of a true value about a measured one: (Y − y)/u follows Student's t with
/// the effective degrees of freedom (GUM, G.3 and G.4), or the normal distribution when they are
/// infinite. JCGM 106:2012, 7.1 leaves the distribution open; its examples are normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    standard: f64,
    t: Option<StudentsT>,
}

impl Belief {
    /// From a standard uncertainty and its degrees of freedom.
    ///
    /// # Errors
    /// [`RiskError`] when the uncertainty is not positive, or there is less than one degree.
    pub fn new(standard: f64, freedom: Freedom) -> Result<Belief, RiskError> {
        let standard = checked_uncertainty(standard)?;
        let t = match freedom {
            Freedom::Infinite => None,
            Freedom::Finite(nu) if nu >= NORMAL_FROM => None,
            Freedom::Finite(nu) if nu >= 1.0 => {
                Some(StudentsT::new(0.0, 1.0, nu).map_err(|_| RiskError::Value { given: nu })?)
            }
            Freedom::Finite(nu) => return Err(RiskError::Value { given: nu }),
        };
        Ok(Belief { standard, t })
    }

    /// The standard uncertainty.
    #[must_use]
    pub const fn standard(&self) -> f64 {
        self.standard
    }

    fn above(&self, z: f64) -> f64 {
        match &self.t {
            Some(t) => t.sf(z),
            None => normal::above(z),
        }
    }

    /// Probability that the true value lies within the limits.
    ///
    /// # Errors
    /// [`RiskError::Value`] when the measured value is not finite.
    pub fn inside(&self, value: f64, limits: &Limits) -> Result<f64, RiskError> {
        Ok(normal::inside_by(|z| self.above(z), checked_value(value)?, self.standard, limits))
    }

    /// Probability that it lies outside them, as a sum of tails.
    ///
    /// # Errors
    /// [`RiskError::Value`] when the measured value is not finite.
    pub fn outside(&self, value: f64, limits: &Limits) -> Result<f64, RiskError> {
        Ok(normal::outside_by(|z| self.above(z), checked_value(value)?, self.standard, limits))
    }

    /// The guard band for which every accepted result has a specific consumer's risk of at most the
    /// cap (JCGM 106:2012, 8.3.2); both tails counted.
    ///
    /// # Errors
    /// [`RiskError::Cap`] when the cap is not between 0 and 0.5.
    pub fn guard_band(&self, cap: f64, tolerance: &Limits) -> Result<GuardBand, RiskError> {
        band_for(cap, tolerance, 60.0 * self.standard, |value| {
            normal::outside_by(|z| self.above(z), value, self.standard, tolerance)
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::risk::{conformity_probability, nonconformity_probability, specific_guard_band};

    #[test]
    fn many_degrees_are_the_normal_case() {
        let limits = Limits::new(Some(-4.0), Some(4.0)).unwrap();
        for freedom in [Freedom::Infinite, Freedom::Finite(1e9)] {
            let belief = Belief::new(0.4, freedom).unwrap();
            assert_eq!(belief.inside(3.2, &limits), conformity_probability(3.2, 0.4, &limits));
            assert_eq!(belief.outside(3.2, &limits), nonconformity_probability(3.2, 0.4, &limits));
            let (a, b) = (belief.guard_band(0.05, &limits), specific_guard_band(0.05, 0.4, &limits));
            assert!((a.unwrap().width().unwrap() - b.unwrap().width().unwrap()).abs() < 1e-12);
        }
    }

    /// Student's t, 4 degrees of freedom, upper 5 % point 2.132 (table of any handbook; GUM table G.2
    /// gives 2.13 for 90 %).
    #[test]
    fn few_degrees_ask_for_a_wider_band() {
        let far = Limits::new(Some(-1e6), Some(4.0)).unwrap();
        let belief = Belief::new(0.4, Freedom::Finite(4.0)).unwrap();
        assert!((belief.outside(4.0 - 2.132 * 0.4, &far).unwrap() - 0.05).abs() < 1e-4);
        let one = Limits::at_most(4.0).unwrap();
        let width = belief.guard_band(0.05, &one).unwrap().width().unwrap();
        assert!((width - 2.1318 * 0.4).abs() < 1e-4, "{width}");
    }

    #[test]
    fn inside_and_outside_make_one() {
        let limits = Limits::new(Some(-1.0), Some(2.0)).unwrap();
        for nu in [1.0, 2.5, 7.0, 400.0] {
            let belief = Belief::new(0.7, Freedom::Finite(nu)).unwrap();
            for value in [-3.0, -1.0, 0.4, 2.0, 9.0] {
                let sum = belief.inside(value, &limits).unwrap() + belief.outside(value, &limits).unwrap();
                assert!((sum - 1.0).abs() < 1e-10, "{nu} {value} {sum}");
            }
        }
    }
}
