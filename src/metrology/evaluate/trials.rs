//! Monte Carlo behind a point: the same budget propagated as distributions, and the judgement of
//! the GUM's interval by it (JCGM 101, clause 8).

use schemars::JsonSchema;
use serde::Serialize;
use thiserror::Error;

use super::options::MonteCarloPlan;
use crate::budget::{Budget, Combined, Expanded};
use crate::monte_carlo::{
    Adaptive, AdaptiveError, Coverage, DistributionError, GumResult, Interval, IntervalKind, LinearModel,
    Outcome, Run, Simulation, SimulationError, ToleranceError, TrialsError, Validation, adaptive, simulate,
    validate,
};
use crate::quantity::Percent;
use crate::rulebook::CoverageRule;

/// What Monte Carlo says of a point. Deviations in percent.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct MonteCarloCheck {
    /// the seed: with it the same trials come again
    pub seed: u64,
    /// how many trials
    pub trials: usize,
    /// whether the adaptive procedure became stable; `None` where a line with two degrees of freedom
    /// or fewer has no variance to become stable, and a fixed number of trials was made
    pub outcome: Option<Outcome>,
    /// mean of the trials, where the distribution has one
    pub estimate: Option<Percent>,
    /// their standard deviation, where the distribution has one
    pub standard: Option<Percent>,
    /// the probabilistically symmetric interval
    pub symmetric: Interval,
    /// the shortest interval
    pub shortest: Interval,
    /// whether the GUM's interval, at the coverage factor of its degrees of freedom, is valid
    pub validation: Validation,
}

/// Which framework an interval comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Framework {
    /// the GUM uncertainty framework, JCGM 100
    Gum,
    /// propagation of distributions by Monte Carlo, JCGM 101
    MonteCarlo,
}

/// The interval that holds the true deviation with the coverage probability. From Monte Carlo where
/// the GUM's was found not valid to the digits that are stated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct ReportedInterval {
    /// its lower end, %
    pub low: Percent,
    /// its upper end, %
    pub high: Percent,
    /// where it comes from
    pub from: Framework,
}

/// What is to be tried.
pub(super) struct Trial<'a> {
    pub budget: &'a Budget,
    pub combined: &'a Combined,
    pub expanded: &'a Expanded,
    pub mean: Percent,
    /// coverage probability, %
    pub probability: f64,
}

/// Seeds of neighbouring points lie far apart, so that runs with neighbouring seeds share none.
const SEED_STEP: u64 = 0x9E37_79B9_7F4A_7C15;

/// The trials of a point; `Ok(None)` for a budget without any uncertainty.
pub(super) fn check(
    trial: &Trial,
    plan: &MonteCarloPlan,
    number: usize,
) -> Result<Option<MonteCarloCheck>, TrialsFailure> {
    let gum = GumResult {
        estimate: trial.mean.value(),
        standard: trial.combined.standard.value(),
        expanded: trial.expanded.k_effective * trial.combined.standard.value(),
    };
    if gum.standard <= 0.0 {
        return Ok(None);
    }
    let model = LinearModel::of_budget(trial.budget, trial.mean)?;
    let number = u64::try_from(number).unwrap_or(u64::MAX);
    let seed = plan.seed.wrapping_add(number.wrapping_mul(SEED_STEP));
    let run = Run { seed, threads: plan.threads };
    let found = decided(&model, trial.probability, plan, run, gum)?;
    Ok(Some(MonteCarloCheck {
        seed,
        trials: found.simulation.trials(),
        outcome: found.outcome,
        estimate: found.simulation.estimate().map(Percent::new),
        standard: found.simulation.standard_uncertainty().map(Percent::new),
        symmetric: found.coverage.symmetric,
        shortest: found.coverage.shortest,
        validation: found.validation,
    }))
}

/// Trials enough to decide.
struct Decided {
    simulation: Simulation,
    coverage: Coverage,
    outcome: Option<Outcome>,
    validation: Validation,
}

/// Why the trials of a point gave no result.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum TrialsFailure {
    /// A line of the budget makes no distribution.
    #[error(transparent)]
    Distribution(#[from] DistributionError),
    /// The adaptive procedure has no result.
    #[error(transparent)]
    Adaptive(#[from] AdaptiveError),
    /// A fixed number of trials has no result.
    #[error(transparent)]
    Fixed(#[from] SimulationError),
    /// The trials give no interval.
    #[error(transparent)]
    Interval(#[from] TrialsError),
    /// There is no numerical tolerance to validate by.
    #[error(transparent)]
    Tolerance(#[from] ToleranceError),
}

/// First as many trials as make the ends stable to their own digits (7.9.4); then, only where their
/// scatter could still decide the validation, as many as make them stable to a fifth of it (8.2).
fn decided(
    model: &LinearModel,
    percent: f64,
    plan: &MonteCarloPlan,
    run: Run,
    gum: GumResult,
) -> Result<Decided, TrialsFailure> {
    let wanted = |share| Adaptive {
        percent,
        kind: IntervalKind::Symmetric,
        figures: plan.figures,
        share,
        most_trials: plan.most_trials,
    };
    let mut found = match adaptive(model, wanted(1.0), run) {
        Ok(found) => found,
        Err(AdaptiveError::NoVariance) => {
            let simulation = simulate(model, FIXED_TRIALS.min(plan.most_trials), run)?;
            let coverage = simulation.coverage(percent, plan.threads)?;
            let validation = validate(gum, coverage.symmetric, plan.figures)?;
            return Ok(Decided { simulation, coverage, outcome: None, validation });
        }
        Err(error) => return Err(error.into()),
    };
    let mut validation = validate(gum, found.coverage.symmetric, plan.figures)?;
    let comparison = validation.comparison();
    let nearest = [comparison.low_difference, comparison.high_difference]
        .into_iter()
        .map(|difference| (difference - comparison.tolerance).abs())
        .fold(f64::INFINITY, f64::min);
    if nearest < found.stability.low.max(found.stability.high) {
        found = adaptive(model, wanted(0.2), run)?;
        validation = validate(gum, found.coverage.symmetric, plan.figures)?;
    }
    Ok(Decided {
        simulation: found.simulation,
        coverage: found.coverage,
        outcome: Some(found.outcome),
        validation,
    })
}

/// Trials where the adaptive procedure has nothing to watch.
const FIXED_TRIALS: usize = 1_000_000;

/// The interval to report: the GUM's, unless Monte Carlo found it not valid.
pub(super) fn reported(trial: &Trial, check: Option<&MonteCarloCheck>) -> ReportedInterval {
    match check {
        Some(check) if !check.validation.is_valid() => ReportedInterval {
            low: Percent::new(check.symmetric.low),
            high: Percent::new(check.symmetric.high),
            from: Framework::MonteCarlo,
        },
        _ => {
            let half = trial.expanded.k_effective * trial.combined.standard.value();
            ReportedInterval {
                low: Percent::new(trial.mean.value() - half),
                high: Percent::new(trial.mean.value() + half),
                from: Framework::Gum,
            }
        }
    }
}

/// The expanded uncertainty to state. A rulebook that fixes k prescribes W = k w whatever the
/// distribution; where k follows from the degrees of freedom, W is half of the reported interval.
pub(super) fn stated(trial: &Trial, rule: CoverageRule, reported: &ReportedInterval) -> Expanded {
    match (rule, reported.from) {
        (CoverageRule::Effective, Framework::MonteCarlo) => {
            let half =
                (reported.high.value() - trial.mean.value()).max(trial.mean.value() - reported.low.value());
            Expanded {
                k: half / trial.combined.standard.value(),
                k_effective: trial.expanded.k_effective,
                expanded: Percent::new(half),
            }
        }
        _ => *trial.expanded,
    }
}
