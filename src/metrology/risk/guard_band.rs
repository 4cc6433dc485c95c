//! Guard bands that hold a risk under a cap.

use super::global::consumer_risk;
use super::{Acceptance, Limits, Prior, RiskError, checked_uncertainty, normal};

/// A guard band, asked for by a cap on a risk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GuardBand {
    /// so wide, inside each limit
    Width(f64),
    /// no reading meets the cap
    Unreachable {
        /// the risk of the best reading that there can be, in the middle of the limits
        least_risk: f64,
    },
}

impl GuardBand {
    /// The width; `None` where no reading meets the cap.
    #[must_use]
    pub const fn width(self) -> Option<f64> {
        match self {
            GuardBand::Width(width) => Some(width),
            GuardBand::Unreachable { .. } => None,
        }
    }

    /// What is accepted with it.
    #[must_use]
    pub fn acceptance(self, tolerance: &Limits) -> Acceptance {
        self.width().map_or(Acceptance::Nothing, |width| tolerance.guarded(width))
    }
}

fn checked_cap(given: f64) -> Result<f64, RiskError> {
    if given > 0.0 && given <= 0.5 { Ok(given) } else { Err(RiskError::Cap { given }) }
}

/// The guard band for which every accepted result has a specific consumer's risk of at most the cap
/// (JCGM 106:2012, 8.3.2).
///
/// One limit: w = z u, z the normal quantile of 1 − cap (1.645 for 5 %). Two limits: the result on
/// the acceptance limit, its risk beyond the far limit included; the same width where the tolerance
/// is wide beside u.
///
/// # Errors
/// [`RiskError`] when the cap is not between 0 and 0.5 or the uncertainty not positive.
pub fn specific_guard_band(
    cap: f64,
    standard_uncertainty: f64,
    tolerance: &Limits,
) -> Result<GuardBand, RiskError> {
    let cap = checked_cap(cap)?;
    let u = checked_uncertainty(standard_uncertainty)?;
    if tolerance.centre().is_none() {
        return Ok(GuardBand::Width(normal::exceeded_by(cap) * u));
    }
    band_for(cap, tolerance, 60.0 * u, |value| normal::outside(value, u, tolerance))
}

/// The least guard band for which the risk of a result on the acceptance limit is at most the cap.
/// Inside one limit alone the band is looked for up to a farthest width.
pub(super) fn band_for(
    cap: f64,
    tolerance: &Limits,
    farthest: f64,
    risk_at: impl Fn(f64) -> f64,
) -> Result<GuardBand, RiskError> {
    let cap = checked_cap(cap)?;
    let (most, at_width): (f64, Box<dyn Fn(f64) -> f64>) =
        match (tolerance.centre(), tolerance.upper(), tolerance.lower()) {
            (Some((middle, half)), _, _) => (half, Box::new(move |width| middle + (half - width))),
            (None, Some(upper), _) => (farthest, Box::new(move |width| upper - width)),
            (None, None, Some(lower)) => (farthest, Box::new(move |width| lower + width)),
            (None, None, None) => return Err(RiskError::NoLimit),
        };
    let least_risk = risk_at(at_width(most));
    if least_risk > cap {
        return Ok(GuardBand::Unreachable { least_risk });
    }
    Ok(GuardBand::Width(least_width(0.0, most, |width| risk_at(at_width(width)) <= cap)))
}

/// The least guard band for which the global consumer's risk R_C under a prior is at most the cap
/// (JCGM 106:2012, 9.5; a cap of 2 % is that of ANSI/NCSL Z540.3-2006, 5.3 b). Zero where simple
/// acceptance holds it already: the band never widens the limits.
///
/// The cap is held against the joint probability of being out of tolerance and accepted, as in
/// Z540.3, not against the share among accepted tools
/// ([`super::GlobalRisk::consumer_among_accepted`]).
///
/// # Errors
/// [`RiskError`] when the cap is not between 0 and 0.5, the uncertainty not positive, or the prior
/// no distribution.
pub fn global_guard_band(
    cap: f64,
    prior: &Prior,
    standard_uncertainty: f64,
    tolerance: &Limits,
) -> Result<f64, RiskError> {
    let cap = checked_cap(cap)?;
    let u = checked_uncertainty(standard_uncertainty)?;
    let prior = prior.checked()?;
    let holds = |width: f64| consumer_risk(&prior, u, tolerance, &tolerance.guarded(width)) <= cap;
    if holds(0.0) {
        return Ok(0.0);
    }
    let most = match tolerance.centre() {
        Some((_, half)) => half,
        // Nothing more than this far inside a limit is accepted of a tool beyond it.
        None => 10.0 * u,
    };
    Ok(least_width(0.0, most, holds))
}

/// Tolerance over expanded uncertainty: TUR = T/U, T the half width of the tolerance and U the
/// expanded uncertainty for 95 % (ANSI/NCSL Z540.3-2006, 3.11; from memory).
///
/// # Errors
/// [`RiskError`] for limits on one side, or an uncertainty that is not positive.
pub fn test_uncertainty_ratio(tolerance: &Limits, expanded: f64) -> Result<f64, RiskError> {
    let (_, half) = tolerance.centre().ok_or(RiskError::OneSided)?;
    Ok(half / checked_uncertainty(expanded)?)
}

/// The managed guard band, w = U (1.04 − e^(0.38 ln TUR − 0.54)), zero from a TUR of 4.6 up
/// (M. Dobbert, A guard-band strategy for managing false-accept risk, NCSL International workshop
/// 2008, method 6 of the handbook to Z540.3; from memory). It needs no prior: whatever standard
/// deviation a normal prior has that is centred in the tolerance, the global consumer's risk stays
/// under 2 %. For a prior off centre it does not hold.
///
/// # Errors
/// [`RiskError`] for limits on one side, or an uncertainty that is not positive.
pub fn managed_guard_band(tolerance: &Limits, expanded: f64) -> Result<f64, RiskError> {
    let ratio = test_uncertainty_ratio(tolerance, expanded)?;
    Ok(expanded * (1.04 - (0.38 * ratio.ln() - 0.54).exp()).max(0.0))
}

/// The least width between a low one that fails and a high one that holds, to the last digit that
/// a double has beside the span; what is returned holds.
fn least_width(low: f64, high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (low, high);
    // 60 halvings reach the resolution of a double.
    for _ in 0..60 {
        let middle = low + (high - low) / 2.0;
        if holds(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}
