//! Global risks: of a rule, over all tools that come to the bench.

use super::{Acceptance, Limits, Prior, RiskError, checked_uncertainty, normal, quadrature};

/// Global risks of a rule, as joint probabilities for a tool drawn from the prior.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlobalRisk {
    /// R_C: the tool does not conform and is accepted
    pub consumer: f64,
    /// R_P: the tool conforms and is rejected
    pub producer: f64,
    /// the tool conforms, before any measurement
    pub conforming: f64,
}

impl GlobalRisk {
    /// Probability that a tool is accepted.
    #[must_use]
    pub fn accepted(&self) -> f64 {
        (self.conforming - self.producer + self.consumer).clamp(0.0, 1.0)
    }

    /// Of the tools that are accepted, the share that does not conform; `None` when none is.
    #[must_use]
    pub fn consumer_among_accepted(&self) -> Option<f64> {
        let accepted = self.accepted();
        (accepted > 0.0).then(|| (self.consumer / accepted).min(1.0))
    }
}

/// Beyond so many standard deviations nothing is left to integrate: 8.5 leave 1e-17.
const REACH: f64 = 8.5;

/// Longest panel, in the shorter of the two standard deviations. The product of two normal factors
/// is then resolved by 20 points to some 1e-15.
const PANEL: f64 = 4.25;

/// Global consumer's and producer's risk of a rule under a prior, with a normal measurement of
/// standard uncertainty u (JCGM 106:2012, 9.5):
///
/// R_C = ∫ outside the tolerance g₀(η) ∫ inside the acceptance limits h(η_m | η) dη_m dη, and
/// R_P = ∫ inside the tolerance g₀(η) ∫ outside the acceptance limits h(η_m | η) dη_m dη.
///
/// The inner integral is a difference of normal probabilities. The outer one is split where the
/// integrand changes its scale and summed by Gauss-Legendre panels: right to 1e-12 absolute.
///
/// # Errors
/// [`RiskError`] when the uncertainty is not positive or the prior is no distribution.
pub fn global_risk(
    prior: &Prior,
    standard_uncertainty: f64,
    tolerance: &Limits,
    acceptance: &Acceptance,
) -> Result<GlobalRisk, RiskError> {
    let u = checked_uncertainty(standard_uncertainty)?;
    let prior = prior.checked()?;
    let conforming = prior.within(tolerance);
    let Acceptance::Within(acceptance) = acceptance else {
        return Ok(GlobalRisk { consumer: 0.0, producer: conforming, conforming });
    };
    let rule = Rule { prior, u, acceptance: *acceptance };
    Ok(GlobalRisk {
        consumer: rule.consumer(tolerance).clamp(0.0, 1.0 - conforming),
        producer: rule.producer(tolerance).clamp(0.0, conforming),
        conforming,
    })
}

/// The consumer's risk alone, for a search that needs nothing else. The arguments are checked.
pub(super) fn consumer_risk(prior: &Prior, u: f64, tolerance: &Limits, acceptance: &Acceptance) -> f64 {
    match acceptance {
        Acceptance::Within(acceptance) => {
            Rule { prior: *prior, u, acceptance: *acceptance }.consumer(tolerance)
        }
        Acceptance::Nothing => 0.0,
    }
}

struct Rule {
    prior: Prior,
    u: f64,
    acceptance: Limits,
}

impl Rule {
    /// Outside the tolerance, as far as anything is accepted.
    fn consumer(&self, tolerance: &Limits) -> f64 {
        let (from, to) = self.prior.support(REACH);
        let accepted = |at: f64, near: &Limits| self.prior.density(at) * normal::inside(at, self.u, near);
        let margin = REACH * self.u;
        let least = self.acceptance.lower().map_or(from, |lower| from.max(lower - margin));
        let most = self.acceptance.upper().map_or(to, |upper| to.min(upper + margin));
        let over = tolerance.upper().map_or(0.0, |upper| self.split(least.max(upper), most, &accepted));
        let under = tolerance.lower().map_or(0.0, |lower| self.split(least, most.min(lower), &accepted));
        over + under
    }

    /// Inside the tolerance, as far as anything is rejected.
    fn producer(&self, tolerance: &Limits) -> f64 {
        let (from, to) = self.prior.support(REACH);
        let from = tolerance.lower().map_or(from, |lower| from.max(lower));
        let to = tolerance.upper().map_or(to, |upper| to.min(upper));
        let rejected = |at: f64, near: &Limits| self.prior.density(at) * normal::outside(at, self.u, near);
        let margin = REACH * self.u;
        // Between these two everything is accepted; where the limits are near, they cross.
        let low = self.acceptance.lower().map_or(from, |lower| lower + margin);
        let high = self.acceptance.upper().map_or(to, |upper| upper - margin);
        if low < high {
            self.split(from, to.min(low), &rejected) + self.split(from.max(high), to, &rejected)
        } else {
            self.split(from, to, &rejected)
        }
    }

    /// Integrates from here to there, in short panels near the acceptance limits and in long ones
    /// away from them, where only the prior changes. The integrand is told the limits that are near.
    fn split(&self, from: f64, to: f64, f: &impl Fn(f64, &Limits) -> f64) -> f64 {
        if to.partial_cmp(&from) != Some(std::cmp::Ordering::Greater) {
            return 0.0;
        }
        let margin = REACH * self.u;
        let edge =
            |limit: Option<f64>, side: f64| limit.map_or(from, |l| (l + side * margin).clamp(from, to));
        let mut edges = [
            from,
            edge(self.acceptance.lower(), -1.0),
            edge(self.acceptance.lower(), 1.0),
            edge(self.acceptance.upper(), -1.0),
            edge(self.acceptance.upper(), 1.0),
            to,
        ];
        edges.sort_by(f64::total_cmp);
        edges
            .windows(2)
            .map(|pair| {
                let [a, b] = pair else { return 0.0 };
                let middle = a + (b - a) / 2.0;
                let near = self.acceptance.seen_from(middle, margin);
                let is_near =
                    [near.lower(), near.upper()].into_iter().flatten().any(|l| (middle - l).abs() < margin);
                let scale = self.prior.scale();
                let scale = if is_near { scale.min(self.u) } else { scale };
                quadrature::integral(*a, *b, PANEL * scale, &|at| f(at, &near))
            })
            .sum()
    }
}
