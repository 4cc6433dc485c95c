//! The deviation curve of a run.

use super::{Choice, CurveError, CurvePoint, Degree, Fit, choose};
use crate::covariance::{JointBudget, Member};
use crate::coverage::{Freedom, coverage_factor};
use crate::evaluate::PointResult;
use crate::quantity::{Percent, Torque};
use crate::reading::Direction;
use crate::reference::Reference;

/// A curve through the mean deviations of a run's points, in percent over torque, with the errors
/// that the points have and share.
#[derive(Debug, Clone, PartialEq)]
pub struct DeviationCurve {
    fit: Fit,
    joint: JointBudget,
}

/// What came of the choice of a curve for a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunCurve {
    /// the degrees that were tried, with their tests
    pub choice: Choice,
    /// the curve; `None` where no degree that can be tested describes the points
    pub curve: Option<DeviationCurve>,
}

/// The curve at a torque.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// the deviation
    pub deviation: Percent,
    /// its standard uncertainty
    pub standard: Percent,
    /// effective degrees of freedom of the errors that it is made of
    pub freedom: Freedom,
    /// coverage factor
    pub k: f64,
    /// expanded uncertainty: half the height of the band
    pub expanded: Percent,
    /// the torque lies outside the test points
    pub extrapolated: bool,
}

impl DeviationCurve {
    /// A curve of this degree through points with their joint budget, torques in newton metres.
    ///
    /// # Errors
    /// [`CurveError`] when the points make no fit.
    pub fn new(
        points: &[CurvePoint],
        joint: JointBudget,
        degree: Degree,
    ) -> Result<DeviationCurve, CurveError> {
        let fit = Fit::generalised(points, &joint.covariance()?, degree)?;
        Ok(DeviationCurve { fit, joint })
    }

    /// The curve of the lowest degree that the points of a run in one direction do not contradict at
    /// a level of significance in percent. The abscissa is the test point, which is what the user of
    /// the tool sets or reads.
    ///
    /// # Errors
    /// [`CurveError`] for a point without a complete budget, or points that make no fit.
    pub fn of_run(
        reference: &Reference,
        points: &[PointResult],
        direction: Direction,
        level_percent: f64,
    ) -> Result<RunCurve, CurveError> {
        let of_direction: Vec<PointResult> =
            points.iter().filter(|p| p.direction == direction).cloned().collect();
        let joint = JointBudget::new(&Member::of_run(0, reference, &of_direction)?)?;
        let points: Vec<CurvePoint> = of_direction
            .iter()
            .map(|p| CurvePoint { x: p.target.torque().newton_metres(), y: p.mean_deviation.value() })
            .collect();
        let choice = choose(&points, &joint.covariance()?, level_percent)?;
        let curve = choice.fit().cloned().map(|fit| DeviationCurve { fit, joint });
        Ok(RunCurve { choice, curve })
    }

    /// The polynomial.
    #[must_use]
    pub const fn fit(&self) -> &Fit {
        &self.fit
    }

    /// Deviation and uncertainty at a torque, for a coverage probability in percent.
    ///
    /// The value is a weighted sum of the points, so its degrees of freedom are those of the points'
    /// errors, shared ones summed first.
    ///
    /// # Errors
    /// [`CurveError::Coverage`] when there is no coverage factor.
    pub fn at(&self, torque: Torque, probability: f64) -> Result<Band, CurveError> {
        let x = torque.newton_metres();
        let value = self.fit.at(x);
        let combined = self.joint.combine(&self.fit.weights(x))?;
        let k = coverage_factor(probability, combined.freedom)?;
        Ok(Band {
            deviation: Percent::new(value.value),
            standard: combined.standard,
            freedom: combined.freedom,
            k,
            expanded: Percent::new(k * combined.standard.value()),
            extrapolated: value.extrapolated,
        })
    }
}
