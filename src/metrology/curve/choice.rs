//! The choice of a degree.

use super::{CurveError, CurvePoint, Degree, Fit};
use crate::covariance::CovarianceMatrix;

/// The degrees that were tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// the fits, rising; the last one is the first that is not rejected, if any is
    pub tried: Vec<Fit>,
    /// whether the last one describes the points
    pub adequate: bool,
}

impl Choice {
    /// The fit that describes the points; `None` where every degree that could be tested fails.
    #[must_use]
    pub fn fit(&self) -> Option<&Fit> {
        self.tried.last().filter(|_| self.adequate)
    }
}

/// The lowest degree whose χ² test does not reject it at a level of significance in percent. A
/// degree that leaves no degree of freedom goes through every point, says nothing that can be
/// tested, and is not chosen.
///
/// # Errors
/// [`CurveError`] for a level outside 0 % to 100 %, fewer than three different torques, or points that
/// make no fit.
pub fn choose(
    points: &[CurvePoint],
    covariance: &CovarianceMatrix,
    level_percent: f64,
) -> Result<Choice, CurveError> {
    if !(level_percent > 0.0 && level_percent < 100.0) {
        return Err(CurveError::Significance { percent: level_percent });
    }
    let mut tried = Vec::new();
    for degree in Degree::ALL {
        let fit = match Fit::generalised(points, covariance, degree) {
            Ok(fit) => fit,
            // A higher degree may have too few points where a lower one had enough.
            Err(CurveError::TooFewPoints { .. }) if !tried.is_empty() => break,
            Err(error) => return Err(error),
        };
        let Some(test) = fit.lack_of_fit() else { break };
        tried.push(fit);
        if 100.0 * test.p_value >= level_percent {
            return Ok(Choice { tried, adequate: true });
        }
    }
    if tried.is_empty() {
        return Err(CurveError::TooFewPoints { found: points.len(), wanted: Degree::Line.parameters() + 1 });
    }
    Ok(Choice { tried, adequate: false })
}
