//! What is known of the deviations of tools before one of them is measured.

use super::{Limits, RiskError, normal};

/// Distribution of the true deviations of the tools that come to the bench (JCGM 106:2012, 9.2 and
/// annex B): stated, or from the laboratory's own history of the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Prior {
    /// normal
    Normal {
        /// its mean
        mean: f64,
        /// its standard deviation
        sd: f64,
    },
    /// rectangular: any deviation between two bounds is as likely as any other
    Rectangular {
        /// lower bound
        lower: f64,
        /// upper bound
        upper: f64,
    },
}

impl Prior {
    /// A normal prior.
    ///
    /// # Errors
    /// [`RiskError`] when the mean is not finite or the standard deviation not positive.
    pub fn normal(mean: f64, sd: f64) -> Result<Prior, RiskError> {
        Prior::Normal { mean, sd }.checked()
    }

    /// A rectangular prior.
    ///
    /// # Errors
    /// [`RiskError`] when the bounds are not finite or do not rise.
    pub fn rectangular(lower: f64, upper: f64) -> Result<Prior, RiskError> {
        Prior::Rectangular { lower, upper }.checked()
    }

    /// A normal prior in the middle of two limits, as wide as an in-tolerance probability says: the
    /// share of tools that are found within the limits. sd = half width / z, z the normal quantile
    /// of (1 + p)/2.
    ///
    /// # Errors
    /// [`RiskError`] for limits on one side, or a probability that is not between 0 and 1.
    pub fn from_in_tolerance(limits: &Limits, probability: f64) -> Result<Prior, RiskError> {
        if !(probability > 0.0 && probability < 1.0) {
            return Err(RiskError::InTolerance { given: probability });
        }
        let (middle, half) = limits.centre().ok_or(RiskError::OneSided)?;
        Prior::normal(middle, half / normal::exceeded_by((1.0 - probability) / 2.0))
    }

    /// Probability that a tool's true deviation lies within limits.
    #[must_use]
    pub fn within(&self, limits: &Limits) -> f64 {
        match *self {
            Prior::Normal { mean, sd } => normal::inside(mean, sd, limits),
            Prior::Rectangular { lower, upper } => {
                let from = limits.lower().map_or(lower, |l| l.clamp(lower, upper));
                let to = limits.upper().map_or(upper, |u| u.clamp(lower, upper));
                (to - from) / (upper - lower)
            }
        }
    }

    /// The same prior, if its numbers make a distribution.
    pub(super) fn checked(self) -> Result<Prior, RiskError> {
        let (first, second, sound) = match self {
            Prior::Normal { mean, sd } => (mean, sd, sd > 0.0),
            Prior::Rectangular { lower, upper } => (lower, upper, lower < upper),
        };
        let (from, to) = self.support(10.0);
        if sound && (to - from).is_finite() { Ok(self) } else { Err(RiskError::Prior { first, second }) }
    }

    /// Its density.
    pub(super) fn density(&self, at: f64) -> f64 {
        match *self {
            Prior::Normal { mean, sd } => normal::density((at - mean) / sd) / sd,
            Prior::Rectangular { lower, upper } => {
                if at >= lower && at <= upper {
                    1.0 / (upper - lower)
                } else {
                    0.0
                }
            }
        }
    }

    /// From where to where it has weight, with so many standard deviations of a normal one.
    pub(super) fn support(&self, reach: f64) -> (f64, f64) {
        match *self {
            Prior::Normal { mean, sd } => (mean - reach * sd, mean + reach * sd),
            Prior::Rectangular { lower, upper } => (lower, upper),
        }
    }

    /// The length over which its density changes.
    pub(super) fn scale(&self) -> f64 {
        match *self {
            Prior::Normal { sd, .. } => sd,
            Prior::Rectangular { lower, upper } => upper - lower,
        }
    }
}
