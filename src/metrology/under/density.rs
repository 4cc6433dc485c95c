//! The probability density of a true deviation, to be drawn.

use statrs::distribution::{Continuous, Normal, StudentsT};

use crate::coverage::Freedom;
use crate::quantity::Percent;

/// From so many degrees of freedom on no drawing shows the difference to the normal distribution.
const NORMAL_FROM: f64 = 1e6;

/// Density of a true value at these places, per percent: Student's t about the measured mean, scaled
/// by its standard uncertainty (GUM, G.3), or the normal distribution for infinite degrees of
/// freedom. `None` when the uncertainty is not positive or there is less than one degree.
#[must_use]
pub fn density(mean: Percent, standard: Percent, freedom: Freedom, places: &[f64]) -> Option<Vec<f64>> {
    let (mean, u) = (mean.value(), standard.value());
    if !(u > 0.0 && u.is_finite() && mean.is_finite()) {
        return None;
    }
    let at = |unit: &dyn Fn(f64) -> f64| places.iter().map(|x| unit((x - mean) / u) / u).collect();
    match freedom {
        Freedom::Infinite | Freedom::Finite(NORMAL_FROM..) => {
            let normal = Normal::standard();
            Some(at(&|z| normal.pdf(z)))
        }
        Freedom::Finite(nu) if nu >= 1.0 => {
            let t = StudentsT::new(0.0, 1.0, nu).ok()?;
            Some(at(&|z| t.pdf(z)))
        }
        Freedom::Finite(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(freedom: Freedom) -> Option<f64> {
        let places: Vec<f64> = (-40_000..=40_000).map(|i| f64::from(i) * 0.005).collect();
        let of = density(Percent::new(0.3), Percent::new(0.7), freedom, &places)?;
        Some(of.iter().sum::<f64>() * 0.005)
    }

    #[test]
    fn the_area_is_one() {
        for freedom in [Freedom::Infinite, Freedom::Finite(4.0), Freedom::Finite(30.5), Freedom::Finite(1e7)]
        {
            assert!(area(freedom).is_some_and(|a| (a - 1.0).abs() < 1e-6), "{freedom:?} {:?}", area(freedom));
        }
    }

    #[test]
    fn nonsense_has_no_density() {
        let of = |u, freedom| density(Percent::ZERO, Percent::new(u), freedom, &[0.0]);
        assert_eq!(of(0.0, Freedom::Infinite), None);
        assert_eq!(of(f64::NAN, Freedom::Infinite), None);
        assert_eq!(of(1.0, Freedom::Finite(0.5)), None);
    }
}
