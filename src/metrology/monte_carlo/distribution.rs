//! The distributions that an input may have (JCGM 101, 6.4), each built from what is known of it.

use rand_distr::Gamma;
use thiserror::Error;

use super::moments::Exist;
use super::shape::Shape;

/// The distribution of an input. A spread of zero is allowed: the input is then a constant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distribution {
    pub(super) centre: f64,
    pub(super) spread: f64,
    pub(super) shape: Shape,
}

/// Why numbers make no distribution.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum DistributionError {
    /// A parameter is not a number, or not finite.
    #[error("the {parameter} of a distribution is a finite number, not {value}")]
    NotFinite {
        /// which
        parameter: &'static str,
        /// what was given
        value: f64,
    },
    /// A width is below zero.
    #[error("the {parameter} of a distribution is not below zero: {value} was given")]
    Negative {
        /// which
        parameter: &'static str,
        /// what was given
        value: f64,
    },
    /// The limits are the wrong way round.
    #[error("the lower limit {low} of a distribution lies above its upper limit {high}")]
    Reversed {
        /// lower limit
        low: f64,
        /// upper limit
        high: f64,
    },
    /// Degrees of freedom are above zero.
    #[error("degrees of freedom are above zero: {freedom} was given")]
    Freedom {
        /// what was given
        freedom: f64,
    },
    /// The top of a trapezoid is a share of its base.
    #[error("the top of a trapezoid is 0 to 1 of its base, not {ratio}")]
    Top {
        /// what was given
        ratio: f64,
    },
    /// Limits that are less exact than the distance between them.
    #[error("limits known within ±{inexactness} need a half width of at least that, not {half_width}")]
    Inexact {
        /// how far each limit may lie from its value
        inexactness: f64,
        /// half the distance between the limits
        half_width: f64,
    },
}

/// The degrees of freedom that have a sampler of their own.
const FIVE_READINGS: f64 = 4.0;

fn finite(parameter: &'static str, value: f64) -> Result<f64, DistributionError> {
    if value.is_finite() { Ok(value) } else { Err(DistributionError::NotFinite { parameter, value }) }
}

fn width(parameter: &'static str, value: f64) -> Result<f64, DistributionError> {
    if finite(parameter, value)? < 0.0 {
        Err(DistributionError::Negative { parameter, value })
    } else {
        Ok(value)
    }
}

impl Distribution {
    /// Normal: an estimate and its standard uncertainty (6.4.7).
    ///
    /// # Errors
    /// [`DistributionError`] for a number that is not finite or a standard deviation below zero.
    pub fn normal(mean: f64, standard_deviation: f64) -> Result<Distribution, DistributionError> {
        Ok(Distribution {
            centre: finite("mean", mean)?,
            spread: width("standard deviation", standard_deviation)?,
            shape: Shape::Normal,
        })
    }

    /// Scaled and shifted t: the mean of readings with s/√n as its scale and n − 1 degrees of
    /// freedom, or a calibration that states an expanded uncertainty with its effective degrees of
    /// freedom (6.4.9). Its standard deviation is larger than its scale, and there is none at all
    /// for two degrees of freedom or fewer.
    ///
    /// # Errors
    /// [`DistributionError`] for a number that is not finite, a scale below zero, or degrees of
    /// freedom that are not above zero.
    pub fn student_t(location: f64, scale: f64, freedom: f64) -> Result<Distribution, DistributionError> {
        let wrong = DistributionError::Freedom { freedom };
        // χ²/ν is gamma with shape ν/2 and scale 2/ν.
        let (shape, scale_of_chi) = (0.5 * freedom, 2.0 / freedom);
        if !(shape.is_finite() && scale_of_chi.is_finite()) {
            return Err(wrong);
        }
        let chi = Gamma::new(shape, scale_of_chi).map_err(|_| wrong)?;
        let usual = (freedom - FIVE_READINGS).abs() < f64::EPSILON;
        Ok(Distribution {
            centre: finite("location", location)?,
            spread: width("scale", scale)?,
            shape: if usual { Shape::StudentT4 } else { Shape::StudentT { freedom, chi } },
        })
    }

    /// Rectangular between two limits (6.4.2).
    ///
    /// # Errors
    /// [`DistributionError`] for limits that are not finite or the wrong way round.
    pub fn rectangular(low: f64, high: f64) -> Result<Distribution, DistributionError> {
        Distribution::between(low, high, Shape::Rectangular)
    }

    /// Symmetric triangular between two limits (6.4.5).
    ///
    /// # Errors
    /// [`DistributionError`] for limits that are not finite or the wrong way round.
    pub fn triangular(low: f64, high: f64) -> Result<Distribution, DistributionError> {
        Distribution::between(low, high, Shape::Triangular)
    }

    /// Symmetric trapezoidal between two limits, its top `ratio` times as long as its base (6.4.4).
    ///
    /// # Errors
    /// [`DistributionError`] for limits that are not finite or the wrong way round, or a ratio
    /// outside 0 to 1.
    pub fn trapezoidal(low: f64, high: f64, ratio: f64) -> Result<Distribution, DistributionError> {
        if !(0.0..=1.0).contains(&ratio) {
            return Err(DistributionError::Top { ratio });
        }
        Distribution::between(low, high, Shape::Trapezoidal { top: ratio })
    }

    /// Arc sine (U-shaped) between two limits: what cycles as a sine of unknown phase (6.4.6).
    ///
    /// # Errors
    /// [`DistributionError`] for limits that are not finite or the wrong way round.
    pub fn arc_sine(low: f64, high: f64) -> Result<Distribution, DistributionError> {
        Distribution::between(low, high, Shape::ArcSine)
    }

    /// Rectangular between limits that are themselves known within ± `inexactness` only: the
    /// curvilinear trapezoid (6.4.3).
    ///
    /// # Errors
    /// [`DistributionError`] for limits that are not finite or the wrong way round, or an
    /// inexactness below zero or above half the distance between the limits.
    pub fn inexact_rectangular(
        low: f64,
        high: f64,
        inexactness: f64,
    ) -> Result<Distribution, DistributionError> {
        let inexactness = width("inexactness", inexactness)?;
        let plain = Distribution::between(low, high, Shape::Rectangular)?;
        let half_width = plain.spread;
        if inexactness > half_width {
            return Err(DistributionError::Inexact { inexactness, half_width });
        }
        let relative = if half_width > 0.0 { inexactness / half_width } else { 0.0 };
        Ok(Distribution { shape: Shape::Curvilinear { inexactness: relative }, ..plain })
    }

    fn between(low: f64, high: f64, shape: Shape) -> Result<Distribution, DistributionError> {
        let (low, high) = (finite("lower limit", low)?, finite("upper limit", high)?);
        if low > high {
            return Err(DistributionError::Reversed { low, high });
        }
        // Halved before they are added: limits near the largest double do not overflow.
        Ok(Distribution { centre: 0.5 * low + 0.5 * high, spread: 0.5 * high - 0.5 * low, shape })
    }

    /// Its expectation; `None` for t with one degree of freedom or fewer.
    #[must_use]
    pub fn mean(&self) -> Option<f64> {
        (self.exist() >= Exist::Mean).then_some(self.centre)
    }

    /// Its standard deviation; `None` for t with two degrees of freedom or fewer.
    #[must_use]
    pub fn standard_deviation(&self) -> Option<f64> {
        self.shape.variance().map(|variance| self.spread * variance.sqrt())
    }

    /// Which of its moments exist.
    #[must_use]
    pub fn exist(&self) -> Exist {
        self.shape.exist()
    }
}
