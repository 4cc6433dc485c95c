//! What a laboratory can change about a budget, one thing at a time.

use crate::budget::{Budget, Influence, Variation};
use crate::coverage::{Freedom, coverage_factor};
use crate::decision::DecisionRule;
use crate::evaluate::{PointResult, PointUncertainty};
use crate::quantity::{Percent, Torque};
use crate::rulebook::CoverageRule;

use super::{Ground, passes_with};

/// One thing that can be changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Lever {
    /// every line of the reference together
    Reference,
    /// the step of the tool's scale or display
    Resolution,
    /// a variation of the tool and its handling
    Variation(Variation),
    /// the number of readings
    Readings,
}

/// What a lever would have to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reach {
    /// relative: expanded uncertainty of the reference (k = 2), or the full width b of a variation
    Relative {
        /// what it is
        now: Percent,
        /// what it may be at most; `None` where this alone settles nothing
        at_most: Option<Percent>,
    },
    /// a step of the scale or display
    Step {
        /// what it is
        now: Torque,
        /// what it may be at most; `None` where this alone settles nothing
        at_most: Option<Torque>,
    },
    /// a number of readings
    Count {
        /// what it is
        now: usize,
        /// what it must be at least; `None` where this alone settles nothing
        at_least: Option<usize>,
    },
}

impl Reach {
    /// Whether this lever alone settles the point.
    #[must_use]
    pub const fn settles(&self) -> bool {
        match self {
            Reach::Relative { at_most, .. } => at_most.is_some(),
            Reach::Step { at_most, .. } => at_most.is_some(),
            Reach::Count { at_least, .. } => at_least.is_some(),
        }
    }
}

/// A lever and what it would have to be, everything else as it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeverNeed {
    /// the lever
    pub lever: Lever,
    /// what it would have to be
    pub reach: Reach,
}

/// A thing that would have to shrink below a thousandth of itself is no lever.
const LEAST_FACTOR: f64 = 1e-3;

/// Several at once are asked for no less than a quarter of what they are.
const LEAST_TOGETHER: f64 = 0.25;

/// More readings than this nobody takes.
const MOST_READINGS: usize = 1000;

impl Lever {
    /// Every lever.
    pub const ALL: [Lever; 7] = [
        Lever::Reference,
        Lever::Resolution,
        Lever::Readings,
        Lever::Variation(Variation::Reproducibility),
        Lever::Variation(Variation::Drive),
        Lever::Variation(Variation::Interface),
        Lever::Variation(Variation::LoadingPoint),
    ];

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Lever::Reference => "reference",
            Lever::Resolution => "resolution",
            Lever::Readings => "number of readings",
            Lever::Variation(variation) => variation.words(),
        }
    }

    /// Whether it moves a budget line.
    #[must_use]
    pub fn moves(self, influence: Influence) -> bool {
        match self {
            Lever::Reference => matches!(
                influence,
                Influence::Reference
                    | Influence::ReferenceResolution
                    | Influence::ReferenceDrift
                    | Influence::ReferenceInterpolation
                    | Influence::Temperature
            ),
            Lever::Resolution => influence == Influence::Resolution,
            Lever::Readings => influence == Influence::Repeatability,
            Lever::Variation(variation) => influence == Influence::of_variation(variation),
        }
    }

    /// The budget with the lines that it moves at this share of their value.
    #[must_use]
    pub fn scaled(self, budget: &Budget, factor: f64) -> Budget {
        let mut changed = budget.clone();
        for line in changed.lines.iter_mut().filter(|line| self.moves(line.influence)) {
            line.value = Percent::new(line.value.value() * factor);
        }
        changed
    }
}

/// The budget as if a point with the same scatter had been read so many times.
fn with_readings(budget: &Budget, n: usize) -> Budget {
    let mut changed = budget.clone();
    for line in changed.lines.iter_mut().filter(|line| Lever::Readings.moves(line.influence)) {
        line.divisor = (n as f64).sqrt();
        line.freedom = Freedom::of_observations(n);
    }
    changed
}

/// How many readings bring the standard deviation of their mean down to this share.
fn readings_for(now: usize, factor: f64) -> usize {
    // Nothing binary arithmetic adds above a whole number makes one reading more.
    let wanted = (now as f64 / (factor * factor) * (1.0 - 1e-12)).ceil();
    if wanted < MOST_READINGS as f64 { (wanted as usize).max(now) } else { MOST_READINGS }
}

/// A point, a rule, and the budget that is to be changed.
pub(super) struct Bench<'a> {
    pub point: &'a PointResult,
    pub uncertainty: &'a PointUncertainty,
    pub rule: DecisionRule,
    pub ground: &'a Ground,
}

impl Bench<'_> {
    /// Whether the mean would pass with this budget, its degrees of freedom and coverage factor
    /// found anew.
    fn passes(&self, budget: &Budget) -> bool {
        let combined = budget.combine();
        let expanded = &self.uncertainty.expanded;
        let k = match self.ground.coverage {
            Some((percent, CoverageRule::Effective)) => {
                // Where Monte Carlo widened or narrowed the interval, the same share of k stays.
                let Ok(found) = coverage_factor(percent, combined.freedom) else { return false };
                found * expanded.k / expanded.k_effective
            }
            Some((_, CoverageRule::Fixed(_))) | None => expanded.k,
        };
        passes_with(self.point, self.rule, self.ground, k, combined.standard.value(), combined.freedom)
    }

    /// Every lever that the budget has a line for.
    pub(super) fn needs(&self) -> Vec<LeverNeed> {
        Lever::ALL
            .into_iter()
            .filter_map(|lever| Some(LeverNeed { lever, reach: self.reach(lever)? }))
            .collect()
    }

    fn reach(&self, lever: Lever) -> Option<Reach> {
        if lever == Lever::Readings {
            self.uncertainty.budget.lines.iter().find(|line| lever.moves(line.influence))?;
            return Some(Reach::Count { now: self.point.readings.len(), at_least: self.readings() });
        }
        self.reach_at(lever, self.factor(&[lever]))
    }

    /// A lever at a share of what it is.
    fn reach_at(&self, lever: Lever, factor: Option<f64>) -> Option<Reach> {
        let budget = &self.uncertainty.budget;
        let moved = || budget.lines.iter().filter(|line| lever.moves(line.influence));
        let first = moved().next()?;
        let twice = 2.0 * first.value.value();
        Some(match lever {
            Lever::Resolution => {
                let now = self.point.mean_reference.share(Percent::new(twice));
                let scaled = |f| Torque::from_newton_metres(now.newton_metres() * f);
                Reach::Step { now, at_most: factor.map(scaled) }
            }
            Lever::Readings => {
                let now = self.point.readings.len();
                Reach::Count { now, at_least: factor.map(|f| readings_for(now, f)) }
            }
            Lever::Reference | Lever::Variation(_) => {
                let variance: f64 = moved().map(|line| line.standard().value().powi(2)).sum();
                let now = if lever == Lever::Reference { 2.0 * variance.sqrt() } else { twice };
                Reach::Relative { now: Percent::new(now), at_most: factor.map(|f| Percent::new(now * f)) }
            }
        })
    }

    /// The fewest levers, those with the largest shares, that settle the point when all of them come
    /// down to one share of what they are; empty where not even all of them do.
    pub(super) fn together(&self) -> Vec<LeverNeed> {
        let mut levers: Vec<(Lever, f64)> = Lever::ALL.map(|lever| (lever, self.share(lever))).to_vec();
        levers.retain(|(_, share)| *share > 0.0);
        levers.sort_by(|a, b| b.1.total_cmp(&a.1));
        let order: Vec<Lever> = levers.into_iter().map(|(lever, _)| lever).collect();
        for count in 2..=order.len() {
            let chosen = &order[..count];
            if let Some(factor) = self.factor(chosen) {
                return chosen
                    .iter()
                    .filter_map(|l| Some(LeverNeed { lever: *l, reach: self.reach_at(*l, Some(factor))? }))
                    .collect();
            }
        }
        Vec::new()
    }

    /// Share of a lever's lines in the variance.
    fn share(&self, lever: Lever) -> f64 {
        let lines = self.uncertainty.budget.lines.iter().zip(&self.uncertainty.combined.shares);
        lines.filter(|(line, _)| lever.moves(line.influence)).map(|(_, share)| share).sum()
    }

    /// The largest share of what they are at which these levers settle the point.
    fn factor(&self, levers: &[Lever]) -> Option<f64> {
        let least = if levers.len() > 1 { LEAST_TOGETHER } else { LEAST_FACTOR };
        let passes = |factor| self.passes(&self.changed(levers, factor));
        passes(least).then(|| last_that_passes(least, 1.0, passes))
    }

    /// The budget with each of these levers at one share of what it is.
    fn changed(&self, levers: &[Lever], factor: f64) -> Budget {
        levers.iter().fold(self.uncertainty.budget.clone(), |budget, lever| match lever {
            Lever::Readings => with_readings(&budget, readings_for(self.point.readings.len(), factor)),
            _ => lever.scaled(&budget, factor),
        })
    }

    /// The fewest readings, more than there are, with which the point passes.
    fn readings(&self) -> Option<usize> {
        let passes = |n| self.passes(&with_readings(&self.uncertainty.budget, n));
        let mut fails = self.point.readings.len().max(2);
        let mut good = fails;
        while !passes(good) {
            if good >= MOST_READINGS {
                return None;
            }
            fails = good;
            good = (good * 2).min(MOST_READINGS);
        }
        while good - fails > 1 {
            let middle = fails.midpoint(good);
            if passes(middle) { good = middle } else { fails = middle }
        }
        Some(good)
    }
}

/// Between a number that passes and one that fails, the last that passes, to a part in 10¹².
pub(super) fn last_that_passes(pass: f64, fail: f64, passes: impl Fn(f64) -> bool) -> f64 {
    let (mut pass, mut fail) = (pass, fail);
    for _ in 0..40 {
        let middle = f64::midpoint(pass, fail);
        if passes(middle) { pass = middle } else { fail = middle }
    }
    pass
}
