//! The pipeline: a run, its rulebook and its reference become an evaluation.
//!
//! [`evaluate`] is a pure function. It expects what [`crate::check::check`] found without an error;
//! what it cannot compute it refuses with [`EvaluateError`], never with a guess.

mod lines;
mod options;
mod point;
mod trials;
mod variation;

use thiserror::Error;

use crate::budget::{Budget, Combined, Expanded, Influence};
use crate::coverage::CoverageError;
use crate::decision::{DecisionRule, Guard, Sides, Uncertainty, Verdict, Zone};
use crate::floor::{Floor, floor};
use crate::quantity::{Percent, Torque};
use crate::reading::{Direction, Recorded};
use crate::reference::{Reference, ReferenceError};
use crate::risk::{GlobalRisk, Prior, SpecificRisk};
use crate::rulebook::{GoverningLimit, LimitError, Purpose, Rulebook};
use crate::run::Run;
use crate::statistics::SampleError;

pub use options::{MonteCarloPlan, Options};
pub use trials::{Framework, MonteCarloCheck, ReportedInterval, TrialsFailure};
pub use variation::VariationResult;

/// A reading with its deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingResult {
    /// the row of the record
    pub row: u32,
    /// what the tool said or was set to
    pub indicated: Recorded,
    /// what the reference showed
    pub shown: Recorded,
    /// the reference torque: what it showed, corrected
    pub reference: Torque,
    /// relative deviation
    pub deviation: Percent,
    /// whether it lies within the limits, limits included
    pub within: bool,
}

/// Uncertainty of the mean deviation at a point.
#[derive(Debug, Clone, PartialEq)]
pub struct PointUncertainty {
    /// the budget
    pub budget: Budget,
    /// combined
    pub combined: Combined,
    /// expanded
    pub expanded: Expanded,
    /// relative uncertainty interval W′ = |ā| + W + |b_ep|; b_ep is zero here, since the
    /// reference's deviation is corrected
    pub interval: Percent,
    /// the same by Monte Carlo, where it was asked for
    pub monte_carlo: Option<MonteCarloCheck>,
    /// the interval that holds the true deviation with the coverage probability
    pub reported: ReportedInterval,
}

impl PointUncertainty {
    /// What a decision needs to know of it.
    #[must_use]
    pub fn known(&self) -> Uncertainty {
        Uncertainty {
            expanded: self.expanded.expanded,
            standard: self.combined.standard,
            freedom: self.combined.freedom,
        }
    }
}

/// One test point in one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct PointResult {
    /// the direction
    pub direction: Direction,
    /// the test point, as its first valid reading names it
    pub target: Recorded,
    /// the valid readings, in the order of recording
    pub readings: Vec<ReadingResult>,
    /// rows of the readings that were struck out
    pub voided: Vec<u32>,
    /// mean of the corrected reference torques
    pub mean_reference: Torque,
    /// mean of the deviations
    pub mean_deviation: Percent,
    /// experimental standard deviation of a deviation; `None` for a single reading
    pub standard_deviation: Option<Percent>,
    /// greatest less least deviation
    pub spread: Percent,
    /// the uncertainty; `None` under a rulebook of conformance testing
    pub uncertainty: Option<PointUncertainty>,
    /// the permissible deviation
    pub limit: Percent,
    /// on which sides it limits
    pub sides: Sides,
    /// the guard band, where the rule and the budget give one
    pub guard: Option<Guard>,
    /// where the judged deviation lies: the mean, or under `each-reading` the farthest reading
    pub zone: Option<Zone>,
    /// what the rule says
    pub verdict: Verdict,
    /// probability that the mean deviation's true value is within the limits, by Student's t at the
    /// effective degrees of freedom
    pub conformity_probability: Option<f64>,
    /// probability that this verdict is wrong
    pub specific_risk: Option<SpecificRisk>,
    /// risks over all such tools under the stated prior
    pub global_risk: Option<GlobalRisk>,
    /// half the tolerance over the expanded uncertainty; `None` for a limit on one side only
    pub uncertainty_ratio: Option<f64>,
}

impl PointResult {
    /// The limit less the guard band: what a deviation may be to be accepted. Below zero, where
    /// the guard band is wider than the limit; `None` where no result is accepted or none judged.
    #[must_use]
    pub fn acceptance_limit(&self) -> Option<Percent> {
        self.guard.and_then(|guard| guard.acceptance(self.limit))
    }

    /// Whether the rule would not accept even a deviation of nothing. With limits on both sides that
    /// is no result at all; inside one limit alone a deviation far on the safe side may still pass.
    #[must_use]
    pub fn nothing_accepted(&self) -> bool {
        self.guard.is_some_and(|guard| guard.acceptance(self.limit).is_none_or(|a| a.value() < 0.0))
    }

    /// Whether the rule would accept no result at all. Inside one limit alone there always is a
    /// deviation far enough from it.
    #[must_use]
    pub fn no_result_accepted(&self) -> bool {
        let narrow = self.sides == Sides::Both && self.nothing_accepted();
        narrow || self.guard == Some(Guard::NothingAccepted)
    }

    /// How many single readings lie outside the limits.
    #[must_use]
    pub fn readings_outside(&self) -> usize {
        self.readings.iter().filter(|r| !r.within).count()
    }

    /// Probability that this verdict is a wrong acceptance, where the point was accepted.
    #[must_use]
    pub fn false_acceptance(&self) -> Option<f64> {
        match self.specific_risk {
            Some(SpecificRisk::Consumer(p)) => Some(p),
            Some(SpecificRisk::Producer(_)) | None => None,
        }
    }

    /// Probability that this verdict is a wrong rejection, where the point was rejected.
    #[must_use]
    pub fn false_rejection(&self) -> Option<f64> {
        match self.specific_risk {
            Some(SpecificRisk::Producer(p)) => Some(p),
            Some(SpecificRisk::Consumer(_)) | None => None,
        }
    }
}

/// What comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluation {
    /// the permissible deviation and who set it
    pub limit: GoverningLimit,
    /// the decision rule, where one was agreed
    pub rule: Option<DecisionRule>,
    /// on which sides the permissible deviation limits
    pub sides: Sides,
    /// every point, clockwise first, rising
    pub points: Vec<PointResult>,
    /// the variations that were measured in this run
    pub variations: Vec<VariationResult>,
    /// what the rule says of the tool
    pub verdict: Verdict,
    /// the lowest torque at which this tool can be shown to conform
    pub floor: Floor,
}

impl Evaluation {
    /// The budget lines that are missing at some point.
    #[must_use]
    pub fn missing(&self) -> Vec<Influence> {
        let mut missing: Vec<Influence> = self
            .points
            .iter()
            .filter_map(|p| p.uncertainty.as_ref())
            .flat_map(|u| u.budget.missing.iter().copied())
            .collect();
        missing.sort_unstable();
        missing.dedup();
        missing
    }
}

/// Why a run cannot be evaluated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum EvaluateError {
    /// No reading counts.
    #[error("there is no valid reading at any test point")]
    NoReadings,
    /// Every reading of a point was struck out.
    #[error("no reading at {target} {direction} is valid")]
    EmptyPoint {
        /// the test point
        target: Recorded,
        /// the direction
        direction: Direction,
    },
    /// A torque of nothing has no relative deviation.
    #[error("row {row} has no torque to relate a deviation to")]
    NoTorque {
        /// the row of the record
        row: u32,
    },
    /// There is no limit for the tool.
    #[error(transparent)]
    Limit(#[from] LimitError),
    /// The reference has no value there.
    #[error("row {row}: {error}")]
    Reference {
        /// the row of the record
        row: u32,
        /// why
        error: ReferenceError,
    },
    /// No coverage factor.
    #[error(transparent)]
    Coverage(#[from] CoverageError),
    /// A deviation that is not finite.
    #[error(transparent)]
    Sample(#[from] SampleError),
    /// The trials of a point gave no result.
    #[error("at {target} the trials gave no result: {error}")]
    Trials {
        /// the test point
        target: Recorded,
        /// why
        error: TrialsFailure,
    },
}

/// Evaluates a run under a rulebook with its reference.
///
/// Deviations are relative, in percent; torques are corrected for the reference's own deviation
/// (ISO 6789-2:2017, clause 6; Röske, Acta IMEKO 3(2), 2014). The mean of a point is the mean of
/// the deviations, not the deviation of the mean.
///
/// # Errors
/// [`EvaluateError`] when a point has no valid reading, the reference says nothing at a reading, or
/// the rulebook has no limit for the tool.
pub fn evaluate(run: &Run, rulebook: &Rulebook, reference: &Reference) -> Result<Evaluation, EvaluateError> {
    evaluate_with(run, rulebook, reference, &Options::default())
}

/// The same, with Monte Carlo behind each point where the options ask for it.
///
/// # Errors
/// [`EvaluateError`] as [`evaluate`], and when the trials give no result.
pub fn evaluate_with(
    run: &Run,
    rulebook: &Rulebook,
    reference: &Reference,
    options: &Options,
) -> Result<Evaluation, EvaluateError> {
    let limit = rulebook.governing_limit(&run.tool)?;
    let rule = run.agreement.map(|agreement| agreement.rule);
    let limits = run.sides.limits(limit.permissible);
    let prior = run.prior.as_ref().zip(limits).and_then(|(stated, limits)| stated.statement.prior(&limits));
    let context = Context { run, rulebook, reference, limit: limit.permissible, rule, prior, options };
    let variations = variation::measure(&context)?;
    let mut points = Vec::new();
    for direction in run.directions() {
        for target in run.targets(direction) {
            let number = points.len();
            points.push(point::evaluate_point(&context, direction, target, &variations, number)?);
        }
    }
    if points.is_empty() {
        return Err(EvaluateError::NoReadings);
    }
    let verdict = Verdict::of_all(points.iter().map(|p| p.verdict));
    let floor = floor(run, rulebook, reference, limit.permissible, rule, prior.as_ref(), &points);
    Ok(Evaluation { limit, rule, sides: run.sides, points, variations, verdict, floor })
}

/// What every step of an evaluation looks at.
struct Context<'a> {
    run: &'a Run,
    rulebook: &'a Rulebook,
    reference: &'a Reference,
    limit: Percent,
    rule: Option<DecisionRule>,
    prior: Option<Prior>,
    options: &'a Options,
}

impl Context<'_> {
    fn is_calibration(&self) -> bool {
        self.rulebook.purpose == Purpose::Calibration
    }
}
