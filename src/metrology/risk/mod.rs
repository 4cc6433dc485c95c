//! Risks of a decision: how likely a verdict is wrong, for this result and over all tools.
//!
//! - [`conformity_probability`] and [`specific_risk`]: of one result, from its value and standard
//!   uncertainty alone (JCGM 106:2012, clause 7; 3.3.13 and 3.3.14).
//! - [`global_risk`]: of the rule, over all tools that come to the bench, from a [`Prior`] of their
//!   deviations (JCGM 106:2012, 9.5).
//! - [`specific_guard_band`], [`global_guard_band`], [`managed_guard_band`]: how far the acceptance
//!   limits must lie inside the tolerance limits, so that a risk stays under a cap (JCGM 106:2012,
//!   8.3; ILAC-G8:09/2019; ANSI/NCSL Z540.3-2006, 5.3).
//!
//! Values, limits and uncertainties are plain numbers in one unit: percent throughout leverarm,
//! whatever a published example uses in its check. Clauses of JCGM 106 are named from memory.

mod belief;
mod global;
mod guard_band;
mod limits;
mod normal;
mod prior;
mod quadrature;
mod specific;
#[cfg(test)]
mod tests;

use thiserror::Error;

pub use belief::Belief;
pub use global::{GlobalRisk, global_risk};
pub use guard_band::{
    GuardBand, global_guard_band, managed_guard_band, specific_guard_band, test_uncertainty_ratio,
};
pub use limits::{Acceptance, Limits};
pub use prior::Prior;
pub use specific::{SpecificRisk, conformity_probability, nonconformity_probability, specific_risk};

/// Why there is no risk to be told.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum RiskError {
    /// There is no limit on either side.
    #[error("limits need a lower or an upper value, or both")]
    NoLimit,
    /// The limits are not finite, or the lower is not below the upper.
    #[error("a lower limit of {lower} is not below an upper limit of {upper}")]
    Limits {
        /// the lower limit as given
        lower: f64,
        /// the upper limit as given
        upper: f64,
    },
    /// A result or a width that is not finite.
    #[error("{given} is not a finite value")]
    Value {
        /// what was given
        given: f64,
    },
    /// A standard or expanded uncertainty is a positive number.
    #[error("an uncertainty is a positive number, not {given}")]
    Uncertainty {
        /// what was given
        given: f64,
    },
    /// A cap on a risk lies above 0 and at most at 0.5: more protects nobody.
    #[error("a cap on a risk lies between 0 and 0.5, not at {given}")]
    Cap {
        /// what was given
        given: f64,
    },
    /// A prior whose numbers make no distribution.
    #[error("a prior of {first} and {second} is no distribution")]
    Prior {
        /// mean, or lower end
        first: f64,
        /// standard deviation, or upper end
        second: f64,
    },
    /// An in-tolerance probability lies between 0 and 1.
    #[error("an in-tolerance probability lies between 0 and 1, not at {given}")]
    InTolerance {
        /// what was given
        given: f64,
    },
    /// A centred prior needs a middle, so limits on both sides.
    #[error("limits on one side have no middle: this needs a lower and an upper limit")]
    OneSided,
}

/// A positive, finite uncertainty.
fn checked_uncertainty(given: f64) -> Result<f64, RiskError> {
    if given > 0.0 && given.is_finite() { Ok(given) } else { Err(RiskError::Uncertainty { given }) }
}

/// A finite value.
fn checked_value(given: f64) -> Result<f64, RiskError> {
    if given.is_finite() { Ok(given) } else { Err(RiskError::Value { given }) }
}
