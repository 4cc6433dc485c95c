//! Risks of one result, from its value and standard uncertainty alone.

use super::{Acceptance, Limits, RiskError, checked_uncertainty, checked_value, normal};

/// Probability that the true value lies within the limits, for a normal state of knowledge with the
/// measured value and its standard uncertainty: Φ((T_U − y)/u) − Φ((T_L − y)/u) (JCGM 106:2012, 7.3
/// and 7.4). [`crate::decision::conformity_probability`] is its case of ± limits.
///
/// # Errors
/// [`RiskError`] when the value is not finite or the uncertainty not positive.
pub fn conformity_probability(
    value: f64,
    standard_uncertainty: f64,
    limits: &Limits,
) -> Result<f64, RiskError> {
    let u = checked_uncertainty(standard_uncertainty)?;
    Ok(normal::inside(checked_value(value)?, u, limits))
}

/// Probability that the true value lies outside the limits, as a sum of tails: one in a thousand
/// million keeps all its digits, where 1 less the conformity probability keeps seven.
///
/// # Errors
/// [`RiskError`] when the value is not finite or the uncertainty not positive.
pub fn nonconformity_probability(
    value: f64,
    standard_uncertainty: f64,
    limits: &Limits,
) -> Result<f64, RiskError> {
    let u = checked_uncertainty(standard_uncertainty)?;
    Ok(normal::outside(checked_value(value)?, u, limits))
}

/// Probability that the decision on this one result is wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpecificRisk {
    /// the result was accepted: probability that the item does not conform (JCGM 106:2012, 3.3.13)
    Consumer(f64),
    /// the result was rejected: probability that the item conforms (JCGM 106:2012, 3.3.14)
    Producer(f64),
}

impl SpecificRisk {
    /// The probability.
    #[must_use]
    pub const fn probability(self) -> f64 {
        match self {
            SpecificRisk::Consumer(p) | SpecificRisk::Producer(p) => p,
        }
    }
}

/// Specific consumer's risk of a result that is accepted, producer's risk of one that is rejected.
///
/// # Errors
/// [`RiskError`] when the value is not finite or the uncertainty not positive.
pub fn specific_risk(
    value: f64,
    standard_uncertainty: f64,
    tolerance: &Limits,
    acceptance: &Acceptance,
) -> Result<SpecificRisk, RiskError> {
    if acceptance.accepts(value) {
        nonconformity_probability(value, standard_uncertainty, tolerance).map(SpecificRisk::Consumer)
    } else {
        conformity_probability(value, standard_uncertainty, tolerance).map(SpecificRisk::Producer)
    }
}
