//! What it would take to settle a point under a rule.

use crate::budget::Influence;
use crate::decision::{DecisionRule, Verdict};
use crate::evaluate::{PointResult, PointUncertainty};
use crate::quantity::Percent;

use super::lever::{Bench, LeverNeed, last_that_passes};
use super::{Ground, measured, passes_with, whole};

/// What it would take. Standard uncertainties are asked about with coverage factor and degrees of
/// freedom as they are; levers change the budget, and both are found anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Takes {
    /// combined standard uncertainty as it is
    pub standard: Percent,
    /// what holds the point, or how far it is from being held
    pub outlook: Outlook,
    /// the influence with the largest share in the variance, 0 to 1
    pub largest: Option<(Influence, f64)>,
    /// by how much the mean must move toward nothing to pass with the uncertainty as it is; `None`
    /// for a point that passes, and where no mean passes
    pub adjust_by: Option<Percent>,
}

/// How a point stands under a rule.
#[derive(Debug, Clone, PartialEq)]
pub enum Outlook {
    /// it passes
    Passes {
        /// the largest combined standard uncertainty with which it still would; `None` where a
        /// hundred times the present one changes nothing
        standard_max: Option<Percent>,
    },
    /// the mean is within the limit and the uncertainty holds it back
    Held {
        /// the largest combined standard uncertainty with which it would pass
        standard_max: Percent,
        /// what each lever alone would have to be
        levers: Vec<LeverNeed>,
        /// where none alone settles it: the fewest that do together, brought down to one and the same
        /// share of what they are, a quarter at least; empty where not even all of them do
        together: Vec<LeverNeed>,
    },
    /// the mean is on or beyond the limit: no uncertainty is small enough
    Beyond {
        /// by how much
        by: Percent,
    },
}

/// Uncertainties down to a millionth and up to a hundredfold are tried.
const LEAST: f64 = 1e-6;
const MOST: f64 = 100.0;

/// What it would take for a point to pass under a rule, and for a point that passes, what it has in
/// hand. `None` under a rule that leaves the uncertainty out, without a whole budget, or where the
/// rule needs a prior that is not there.
#[must_use]
pub fn what_it_takes(point: &PointResult, rule: DecisionRule, ground: &Ground) -> Option<Takes> {
    let uncertainty = whole(point)?;
    let judged = rule.judge(&measured(point), point.limit, point.sides, ground.prior.as_ref());
    if !rule.needs_uncertainty() || judged.verdict == Verdict::NotJudged {
        return None;
    }
    let u = uncertainty.combined.standard.value();
    let passes = |standard: f64| {
        let (k, freedom) = (uncertainty.expanded.k, uncertainty.combined.freedom);
        passes_with(point, rule, ground, k, standard, freedom)
    };
    let toward = point.sides.toward_limit(point.mean_deviation);
    let outlook = if judged.verdict == Verdict::Pass {
        Outlook::Passes { standard_max: most(u, passes).map(Percent::new) }
    } else if passes(u * LEAST) {
        let bench = Bench { point, uncertainty, rule, ground };
        let levers = bench.needs();
        let alone = levers.iter().any(|need| need.reach.settles());
        Outlook::Held {
            standard_max: Percent::new(last_that_passes(u * LEAST, u, passes)),
            levers,
            together: if alone { Vec::new() } else { bench.together() },
        }
    } else {
        Outlook::Beyond { by: Percent::new((toward - point.limit.value()).max(0.0)) }
    };
    let acceptance = judged.guard.and_then(|guard| guard.acceptance(point.limit));
    let adjust_by = match judged.verdict {
        Verdict::Pass | Verdict::NotJudged => None,
        _ if point.sides == crate::decision::Sides::Both => acceptance.filter(|a| a.value() >= 0.0),
        _ => acceptance,
    };
    Some(Takes {
        standard: Percent::new(u),
        outlook,
        largest: largest(uncertainty),
        adjust_by: adjust_by.map(|a| Percent::new(toward - a.value())),
    })
}

/// Up from an uncertainty that passes, the last before the first that does not.
fn most(u: f64, passes: impl Fn(f64) -> bool) -> Option<f64> {
    const RATIO: f64 = 1.2;
    let mut good = u;
    while good < u * MOST {
        let next = good * RATIO;
        if !passes(next) {
            return Some(last_that_passes(good, next, passes));
        }
        good = next;
    }
    None
}

/// Lines of one influence count together: a display that is read twice is one display.
fn largest(uncertainty: &PointUncertainty) -> Option<(Influence, f64)> {
    let mut sums: Vec<(Influence, f64)> = Vec::new();
    for (line, share) in uncertainty.budget.lines.iter().zip(&uncertainty.combined.shares) {
        match sums.iter_mut().find(|(influence, _)| *influence == line.influence) {
            Some((_, sum)) => *sum += share,
            None => sums.push((line.influence, *share)),
        }
    }
    sums.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))
}
