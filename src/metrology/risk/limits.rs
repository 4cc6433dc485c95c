//! Tolerance and acceptance limits, on one side or on both.

use super::{RiskError, checked_value};
use crate::quantity::Percent;

/// Limits of a deviation: lower, upper or both, and the limits belong to the interval (JCGM
/// 106:2012, 3.3.4 and 3.3.8).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    lower: Option<f64>,
    upper: Option<f64>,
}

impl Limits {
    /// Limits from what there is.
    ///
    /// # Errors
    /// [`RiskError`] when there is none, one is not finite, or the lower is not below the upper.
    pub fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Limits, RiskError> {
        if lower.is_none() && upper.is_none() {
            return Err(RiskError::NoLimit);
        }
        for value in [lower, upper].into_iter().flatten() {
            checked_value(value)?;
        }
        match (lower, upper) {
            (Some(lower), Some(upper)) if lower >= upper || !(upper - lower).is_finite() => {
                Err(RiskError::Limits { lower, upper })
            }
            _ => Ok(Limits { lower, upper }),
        }
    }

    /// A permissible deviation, ± about zero.
    ///
    /// # Errors
    /// [`RiskError`] when it is not a positive number.
    pub fn symmetric(permissible: Percent) -> Result<Limits, RiskError> {
        Limits::new(Some(-permissible.value()), Some(permissible.value()))
    }

    /// An upper limit alone.
    ///
    /// # Errors
    /// [`RiskError`] when it is not finite.
    pub fn at_most(upper: f64) -> Result<Limits, RiskError> {
        Limits::new(None, Some(upper))
    }

    /// A lower limit alone.
    ///
    /// # Errors
    /// [`RiskError`] when it is not finite.
    pub fn at_least(lower: f64) -> Result<Limits, RiskError> {
        Limits::new(Some(lower), None)
    }

    /// The lower limit.
    #[must_use]
    pub const fn lower(&self) -> Option<f64> {
        self.lower
    }

    /// The upper limit.
    #[must_use]
    pub const fn upper(&self) -> Option<f64> {
        self.upper
    }

    /// Middle and half width; `None` for one limit alone.
    #[must_use]
    pub fn centre(&self) -> Option<(f64, f64)> {
        let (lower, upper) = self.lower.zip(self.upper)?;
        Some((lower + (upper - lower) / 2.0, (upper - lower) / 2.0))
    }

    /// Whether a value lies within, limits included.
    #[must_use]
    pub fn contain(&self, value: f64) -> bool {
        self.lower.is_none_or(|lower| value >= lower) && self.upper.is_none_or(|upper| value <= upper)
    }

    /// Without the limits that lie so far on the safe side of a value that they play no part; it may
    /// have none then.
    pub(super) fn seen_from(&self, value: f64, margin: f64) -> Limits {
        Limits {
            lower: self.lower.filter(|lower| value - lower < margin),
            upper: self.upper.filter(|upper| upper - value < margin),
        }
    }

    /// The acceptance limits for a guard band of this width inside each limit (JCGM 106:2012,
    /// 8.3.2). A band below zero moves them outside.
    #[must_use]
    pub fn guarded(&self, width: f64) -> Acceptance {
        Limits::new(self.lower.map(|lower| lower + width), self.upper.map(|upper| upper - width))
            .map_or(Acceptance::Nothing, Acceptance::Within)
    }
}

/// What a rule accepts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Acceptance {
    /// a result within these limits
    Within(Limits),
    /// no result at all: the guard bands meet
    Nothing,
}

impl Acceptance {
    /// Whether a result is accepted.
    #[must_use]
    pub fn accepts(&self, value: f64) -> bool {
        match self {
            Acceptance::Within(limits) => limits.contain(value),
            Acceptance::Nothing => false,
        }
    }
}
