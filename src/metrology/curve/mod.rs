//! The deviation curve of a tool: a straight line or a low polynomial through its test points by
//! generalised least squares, with the full covariance of the points.
//!
//! - [`Fit`]: parameters, covariance, value and uncertainty anywhere, test of the lack of fit.
//! - [`choose`]: the lowest degree that the points do not contradict.
//! - [`DeviationCurve`]: a fit of the points of a run under their joint budget, with its band.
//!
//! Sources: GUM H.3; ISO/TS 28037:2010, clauses 6 to 10 (from memory); A. C. Aitken, Proc. Royal
//! Soc. Edinburgh 55 (1935) 42-48 for the estimator.

mod choice;
mod degree;
mod deviation;
mod fit;
mod linear;
#[cfg(test)]
mod tests;

use thiserror::Error;

pub use choice::{Choice, choose};
pub use degree::Degree;
pub use deviation::{Band, DeviationCurve, RunCurve};
pub use fit::{CurvePoint, Fit, FittedValue, LackOfFit};

use crate::covariance::CovarianceError;
use crate::coverage::CoverageError;

/// Why there is no curve.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum CurveError {
    /// A polynomial needs as many torques as parameters, and one more where the scatter is to tell
    /// its uncertainty.
    #[error("{found} different torques are too few: this curve needs {wanted}")]
    TooFewPoints {
        /// how many different torques there are
        found: usize,
        /// how many it needs
        wanted: usize,
    },
    /// A torque or a deviation that is not finite.
    #[error("point {index} of the curve is not finite")]
    NotFinite {
        /// its place, from 1
        index: usize,
    },
    /// The covariance is not that of these points.
    #[error("{points} points with the covariance of {covariances}")]
    Size {
        /// how many points there are
        points: usize,
        /// how many the covariance has
        covariances: usize,
    },
    /// A point without any error of its own: what it says contradicts the others or repeats them.
    #[error("the covariance of the points is not positive definite: point {index} has no error of its own")]
    NotPositiveDefinite {
        /// its place, from 1
        index: usize,
    },
    /// A level of significance is more than nothing and less than certainty.
    #[error("a level of significance lies between 0 % and 100 %, not at {percent} %")]
    Significance {
        /// what was given, %
        percent: f64,
    },
    /// The joint budget has no covariance.
    #[error(transparent)]
    Covariance(#[from] CovarianceError),
    /// There is no coverage factor.
    #[error(transparent)]
    Coverage(#[from] CoverageError),
}
