//! What is known of a true value after a measurement: normal, or Student's t where the uncertainty
//! rests on few degrees of freedom.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::guard_band::{GuardBand, band_for};
use super::{Limits, RiskError, checked_uncertainty, checked_value, normal};
use crate::coverage::Freedom;

/// From so many degrees of freedom on, the tail of t is that of the normal at another place
/// ([`normalised`]), while the incomplete beta function loses digits as they grow.
const NORMALISED_FROM: f64 = 1000.0;

/// The z beyond which the normal has the tail that t has beyond this: right to 1e-14 of the tail as
/// far as 8, and to 1e-9 as far as 20, from 1000 degrees of freedom on (G. W. Hill, Algorithm 395,
/// Commun. ACM 13 (1970) 617; checked with mpmath).
fn normalised(t: f64, freedom: f64) -> f64 {
    let a = freedom - 0.5;
    let b = 48.0 * a * a;
    let y = a * (t * t / freedom).ln_1p();
    let correction = ((((-0.4 * y - 3.3) * y - 24.0) * y - 85.5) / (0.8 * y * y + 100.0 + b) + y + 3.0) / b;
    ((correction + 1.0) * y.sqrt()).copysign(t)
}

/// The distribution of (Y − y)/u.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Tail {
    Normal,
    StudentsT(StudentsT),
    /// t with so many degrees of freedom
    Normalised(f64),
}

/// The state of knowledge of a true value about a measured one: (Y − y)/u follows Student's t with
/// the effective degrees of freedom (GUM, G.3 and G.4), or the normal distribution when they are
/// infinite. JCGM 106:2012, 7.1 leaves the distribution open; its examples are normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    standard: f64,
    tail: Tail,
}

impl Belief {
    /// From a standard uncertainty and its degrees of freedom.
    ///
    /// # Errors
    /// [`RiskError`] when the uncertainty is not positive, or there is less than one degree.
    pub fn new(standard: f64, freedom: Freedom) -> Result<Belief, RiskError> {
        let standard = checked_uncertainty(standard)?;
        let tail = match freedom {
            Freedom::Infinite => Tail::Normal,
            Freedom::Finite(nu) if nu >= NORMALISED_FROM => Tail::Normalised(nu),
            Freedom::Finite(nu) if nu >= 1.0 => {
                Tail::StudentsT(StudentsT::new(0.0, 1.0, nu).map_err(|_| RiskError::Value { given: nu })?)
            }
            Freedom::Finite(nu) => return Err(RiskError::Value { given: nu }),
        };
        Ok(Belief { standard, tail })
    }

    /// The standard uncertainty.
    #[must_use]
    pub const fn standard(&self) -> f64 {
        self.standard
    }

    fn above(&self, z: f64) -> f64 {
        match &self.tail {
            Tail::Normal => normal::above(z),
            Tail::StudentsT(t) => t.sf(z),
            Tail::Normalised(freedom) => normal::above(normalised(z, *freedom)),
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
    fn infinite_degrees_are_the_normal_case_and_many_approach_it() {
        let limits = Limits::new(Some(-4.0), Some(4.0)).unwrap();
        let belief = Belief::new(0.4, Freedom::Infinite).unwrap();
        assert_eq!(belief.inside(3.2, &limits), conformity_probability(3.2, 0.4, &limits));
        assert_eq!(belief.outside(3.2, &limits), nonconformity_probability(3.2, 0.4, &limits));
        for freedom in [Freedom::Infinite, Freedom::Finite(1e12), Freedom::Finite(1e300)] {
            let belief = Belief::new(0.4, freedom).unwrap();
            let normal = nonconformity_probability(3.2, 0.4, &limits).unwrap();
            assert!((belief.outside(3.2, &limits).unwrap() / normal - 1.0).abs() < 1e-10);
            let (a, b) = (belief.guard_band(0.05, &limits), specific_guard_band(0.05, 0.4, &limits));
            assert!((a.unwrap().width().unwrap() - b.unwrap().width().unwrap()).abs() < 1e-11);
        }
    }

    /// Marks: D. mpmath 1.4.1 with 50 digits, half the regularised incomplete beta function: the
    /// tail beyond 4, where the normal has 3.17e-5.
    #[test]
    fn the_tail_of_many_degrees_is_that_of_t() {
        let limits = Limits::at_most(4.0).unwrap();
        for (freedom, wanted) in [
            (999.0, 3.400735491901966e-05),
            (1000.0, 3.400495960439079e-05),
            (100000.0, 3.169399877859767e-05),
        ] {
            let found = Belief::new(1.0, Freedom::Finite(freedom)).unwrap().outside(0.0, &limits).unwrap();
            assert!((found / wanted - 1.0).abs() < 1e-11, "{freedom}: {found} {wanted}");
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
