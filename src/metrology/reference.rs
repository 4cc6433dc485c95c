//! The reference: a torque transducer with its own calibration certificate.
//!
//! Between its calibration points the deviation is interpolated along straight lines; outside them
//! nothing is said: no extrapolation.

use chrono::NaiveDate;
use thiserror::Error;

use crate::quantity::{Celsius, Percent, Torque};
use crate::reading::{Direction, Recorded};
use crate::tool::TorqueRange;

/// One line of the reference's certificate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalibrationPoint {
    /// what the reference showed
    pub indicated: Torque,
    /// the torque that was applied
    pub applied: Torque,
    /// expanded uncertainty of the applied torque at that point
    pub expanded: Torque,
    /// the coverage factor of that uncertainty
    pub k: f64,
}

impl CalibrationPoint {
    /// What must be added to the indication: applied less indicated.
    #[must_use]
    pub fn correction(&self) -> Torque {
        self.applied - self.indicated
    }
}

/// The calibration in one direction; points rise strictly in their indication.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationCurve {
    /// the direction
    pub direction: Direction,
    points: Vec<CalibrationPoint>,
}

/// What the curve says at one indication.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interpolated {
    /// to be added to the indication
    pub correction: Torque,
    /// the corrected torque
    pub torque: Torque,
    /// standard uncertainty of the correction, along straight lines between the points
    pub standard_uncertainty: Torque,
    /// half width of what the straight line may miss between two points; `None` where fewer than
    /// three points leave it unknown
    pub lack_of_linearity: Option<Torque>,
}

/// Why a curve cannot be built or asked.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReferenceError {
    /// A line needs two points.
    #[error("a calibration needs at least two points, there are {found}")]
    TooFewPoints {
        /// how many there are
        found: usize,
    },
    /// Points must rise.
    #[error("calibration point {index} does not rise above the one before it")]
    NotRising {
        /// number of the point, from 1
        index: usize,
    },
    /// An uncertainty or a coverage factor that cannot be.
    #[error("calibration point {index} needs an expanded uncertainty above zero and k of at least 1")]
    Uncertainty {
        /// number of the point, from 1
        index: usize,
    },
    /// Outside the calibrated range.
    #[error("{indicated} N·m is outside the calibrated {lower} to {upper} N·m")]
    Outside {
        /// what was asked, in newton metres
        indicated: f64,
        /// lowest calibrated indication, in newton metres
        lower: f64,
        /// highest calibrated indication, in newton metres
        upper: f64,
    },
    /// It was never calibrated in that direction.
    #[error("the reference was not calibrated {direction}")]
    Direction {
        /// the direction asked
        direction: Direction,
    },
}

impl CalibrationCurve {
    /// A curve from the lines of a certificate.
    ///
    /// # Errors
    /// [`ReferenceError`] when there are fewer than two points, when they do not rise, or when an
    /// uncertainty or coverage factor is not a positive number.
    pub fn new(
        direction: Direction,
        points: Vec<CalibrationPoint>,
    ) -> Result<CalibrationCurve, ReferenceError> {
        if points.len() < 2 {
            return Err(ReferenceError::TooFewPoints { found: points.len() });
        }
        for (i, pair) in points.windows(2).enumerate() {
            if pair[1].indicated <= pair[0].indicated || pair[1].applied <= pair[0].applied {
                return Err(ReferenceError::NotRising { index: i + 2 });
            }
        }
        for (i, point) in points.iter().enumerate() {
            let expanded = point.expanded.newton_metres();
            if !(expanded > 0.0 && expanded.is_finite() && point.k >= 1.0 && point.k.is_finite()) {
                return Err(ReferenceError::Uncertainty { index: i + 1 });
            }
        }
        Ok(CalibrationCurve { direction, points })
    }

    /// The calibration points, rising.
    #[must_use]
    pub fn points(&self) -> &[CalibrationPoint] {
        &self.points
    }

    /// Lowest and highest calibrated indication.
    #[must_use]
    pub fn span(&self) -> (Torque, Torque) {
        (self.points[0].indicated, self.points[self.points.len() - 1].indicated)
    }

    /// Correction and uncertainty at an indication.
    ///
    /// Straight lines between neighbouring points for the correction and for the standard
    /// uncertainty U/k. What the straight line may miss is bounded by the remainder of linear
    /// interpolation, (x − x_i)(x_(i+1) − x)·|f\[x_a, x_b, x_c\]|, with the larger of the second
    /// divided differences over the three points at either side (Abramowitz and Stegun, 25.2.3 and
    /// 25.1.5; from memory): zero at a calibration point, largest between.
    ///
    /// # Errors
    /// [`ReferenceError::Outside`] outside the calibrated span.
    pub fn at(&self, indicated: Torque) -> Result<Interpolated, ReferenceError> {
        let (lower, upper) = self.span();
        let x = indicated.newton_metres();
        if !((indicated >= lower || indicated.same_as(lower))
            && (indicated <= upper || indicated.same_as(upper)))
        {
            return Err(ReferenceError::Outside {
                indicated: x,
                lower: lower.newton_metres(),
                upper: upper.newton_metres(),
            });
        }
        let above = self.points.partition_point(|p| p.indicated.newton_metres() <= x);
        let i = above.clamp(1, self.points.len() - 1) - 1;
        let (a, b) = (&self.points[i], &self.points[i + 1]);
        let (xa, xb) = (a.indicated.newton_metres(), b.indicated.newton_metres());
        let t = ((x - xa) / (xb - xa)).clamp(0.0, 1.0);
        let line = |ya: f64, yb: f64| ya + (yb - ya) * t;
        let correction = line(a.correction().newton_metres(), b.correction().newton_metres());
        let uncertainty = line(a.expanded.newton_metres() / a.k, b.expanded.newton_metres() / b.k);
        let curvature = [i.checked_sub(1), Some(i)]
            .into_iter()
            .flatten()
            .filter_map(|first| self.second_difference(first))
            .map(f64::abs)
            .reduce(f64::max);
        let remainder = curvature.map(|c| Torque::from_newton_metres(c * ((x - xa) * (xb - x)).max(0.0)));
        Ok(Interpolated {
            correction: Torque::from_newton_metres(correction),
            torque: Torque::from_newton_metres(x + correction),
            standard_uncertainty: Torque::from_newton_metres(uncertainty),
            lack_of_linearity: remainder,
        })
    }

    fn second_difference(&self, first: usize) -> Option<f64> {
        let [a, b, c] = self.points.get(first..first + 3)? else { return None };
        let (xa, xb, xc) =
            (a.indicated.newton_metres(), b.indicated.newton_metres(), c.indicated.newton_metres());
        let (ya, yb, yc) =
            (a.correction().newton_metres(), b.correction().newton_metres(), c.correction().newton_metres());
        Some(((yc - yb) / (xc - xb) - (yb - ya) / (xb - xa)) / (xc - xa))
    }
}

/// How the reference's sensitivity follows temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureEffect {
    /// change of the indication per kelvin, in percent of the reading
    pub per_kelvin: Percent,
    /// the temperature of its own calibration
    pub calibrated_at: Celsius,
}

/// A reference transducer with its display.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    /// the laboratory's name for it
    pub id: String,
    /// what it is, in words
    pub description: String,
    /// its serial number
    pub serial: String,
    /// number of its calibration certificate
    pub certificate: String,
    /// who calibrated it
    pub calibrated_by: String,
    /// how its values trace to the SI, in words
    pub traceability: Option<String>,
    /// date of its calibration
    pub calibrated_on: NaiveDate,
    /// last day on which it may be used
    pub due: NaiveDate,
    /// the range in which it may be used
    pub range: TorqueRange,
    /// one step of its display
    pub resolution: Recorded,
    /// whether the uncertainty on its certificate already holds its resolution
    pub resolution_included: bool,
    /// its calibration, one curve a direction
    pub curves: Vec<CalibrationCurve>,
    /// change of its sensitivity per year, as a half width, in percent of the reading
    pub drift_per_year: Option<Percent>,
    /// a stated half width for interpolation, in percent of the reading, in place of the estimate
    pub interpolation: Option<Percent>,
    /// its temperature coefficient, where known
    pub temperature: Option<TemperatureEffect>,
}

impl Reference {
    /// The curve of a direction.
    ///
    /// # Errors
    /// [`ReferenceError::Direction`] when it was not calibrated that way round.
    pub fn curve(&self, direction: Direction) -> Result<&CalibrationCurve, ReferenceError> {
        self.curves
            .iter()
            .find(|curve| curve.direction == direction)
            .ok_or(ReferenceError::Direction { direction })
    }

    /// Expanded uncertainty (twice the standard uncertainty) of its calibration at an indication,
    /// relative to the corrected torque: what a rulebook compares with its share of the
    /// permissible deviation.
    ///
    /// # Errors
    /// [`ReferenceError`] when it was not calibrated in that direction or at that torque.
    pub fn relative_expanded(
        &self,
        direction: Direction,
        indicated: Torque,
    ) -> Result<Percent, ReferenceError> {
        let at = self.curve(direction)?.at(indicated)?;
        Ok(Percent::new(2.0 * at.standard_uncertainty.newton_metres() / at.torque.newton_metres() * 100.0))
    }

    /// Years from its calibration to a day; zero before it.
    #[must_use]
    pub fn years_since_calibration(&self, day: NaiveDate) -> f64 {
        (day - self.calibrated_on).num_days().max(0) as f64 / 365.25
    }
}
