//! The adaptive procedure: trials in batches until the results are stable to the digits that are
//! meant (JCGM 101, 7.9).

use std::num::NonZeroUsize;

use schemars::JsonSchema;
use serde::Serialize;
use thiserror::Error;

use super::coverage::{Coverage, IntervalKind, TrialsError, coverage};
use super::model::Model;
use super::moments::{Exist, Moments};
use super::simulation::{Run, Simulation, SimulationError, draw};
use super::stream::Streams;
use super::tolerance::{ToleranceError, numerical_tolerance};
use super::workers::each;
use crate::rounding::Figures;

/// What the adaptive procedure is to reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adaptive {
    /// coverage probability, %
    pub percent: f64,
    /// whose ends must be stable
    pub kind: IntervalKind,
    /// how many digits of u(y) are to be right
    pub figures: Figures,
    /// the share of the numerical tolerance that may be used up: 1 by itself (7.9.4), a fifth when
    /// the GUM's interval is to be validated (8.2)
    pub share: f64,
    /// when to give up
    pub most_trials: usize,
}

/// Twice the standard deviation of the average over the batches, of each of the four results.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Stability {
    /// 2 s of y
    pub estimate: f64,
    /// 2 s of u(y)
    pub standard: f64,
    /// 2 s of the lower end
    pub low: f64,
    /// 2 s of the upper end
    pub high: f64,
}

impl Stability {
    /// The largest of the four.
    #[must_use]
    pub fn worst(&self) -> f64 {
        self.estimate.max(self.standard).max(self.low).max(self.high)
    }
}

/// Whether it was reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// none of the four exceeds the tolerance
    Stable,
    /// the most trials that were allowed did not do
    OutOfTrials,
}

/// What the adaptive procedure found.
#[derive(Debug, Clone, PartialEq)]
pub struct AdaptiveResult {
    /// all trials together
    pub simulation: Simulation,
    /// the intervals from all of them
    pub coverage: Coverage,
    /// how many batches
    pub batches: usize,
    /// the tolerance that was asked at the end: δ of u(y) times the share
    pub tolerance: f64,
    /// how stable it is
    pub stability: Stability,
    /// whether that is enough
    pub outcome: Outcome,
}

/// Why the adaptive procedure has no result.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum AdaptiveError {
    /// No variance, hence no u(y) to be stable: a fixed number of trials still gives intervals.
    #[error(
        "an input has no variance (t with two degrees of freedom or fewer), so that u(y) cannot become stable"
    )]
    NoVariance,
    /// Two batches are the least.
    #[error("{most} trials are too few: {needed} are two batches")]
    TooFew {
        /// what was allowed
        most: usize,
        /// what two batches take
        needed: usize,
    },
    /// The share of the tolerance is above zero.
    #[error("the share of the numerical tolerance is above zero: {share} was given")]
    Share {
        /// what was given
        share: f64,
    },
    /// The model fails.
    #[error(transparent)]
    Simulation(#[from] SimulationError),
    /// No interval.
    #[error(transparent)]
    Trials(#[from] TrialsError),
    /// No tolerance.
    #[error(transparent)]
    Tolerance(#[from] ToleranceError),
}

/// The results of one batch: y, u(y), lower and upper end.
type Results = [f64; 4];

/// A running mean and sum of squares of the results of the batches.
#[derive(Default)]
struct Averages {
    batches: usize,
    moments: Moments,
    means: Results,
    squares: Results,
}

impl Averages {
    fn take(&mut self, moments: Moments, results: Results) {
        self.moments = self.moments.and(moments);
        self.batches += 1;
        for ((mean, squares), result) in self.means.iter_mut().zip(&mut self.squares).zip(results) {
            let step = result - *mean;
            *mean += step / self.batches as f64;
            *squares += step * (result - *mean);
        }
    }

    /// 2 s with s² = Σ (y⁽ʳ⁾ − y)²/(h(h − 1)) (7.9.4, steps g and h).
    fn stability(&self) -> Stability {
        let h = self.batches as f64;
        let [estimate, standard, low, high] =
            self.squares.map(|squares| 2.0 * (squares / (h * (h - 1.0))).sqrt());
        Stability { estimate, standard, low, high }
    }
}

/// The size of a batch: M = max(J, 10⁴), J the smallest integer not below 100/(1 − p) (7.9.4, b).
fn batch_size(percent: f64) -> Result<usize, AdaptiveError> {
    if !(percent > 0.0 && percent < 100.0) {
        return Err(TrialsError::Probability { percent }.into());
    }
    Ok(((10_000.0 / (100.0 - percent)).ceil() as usize).max(10_000))
}

/// Trials in batches until y, u(y) and both ends are stable (7.9.4).
///
/// Batches are drawn some ahead of the decision, which is taken for one after the other: how many
/// were drawn ahead changes no result.
///
/// # Errors
/// [`AdaptiveError`] when the model, the probability or the limits allow no result. To run out of
/// trials is an [`Outcome`], not an error.
pub fn adaptive<M: Model + ?Sized>(
    model: &M,
    wanted: Adaptive,
    run: Run,
) -> Result<AdaptiveResult, AdaptiveError> {
    let size = batch_size(wanted.percent)?;
    let most = wanted.most_trials / size;
    if most < 2 {
        return Err(AdaptiveError::TooFew { most: wanted.most_trials, needed: 2 * size });
    }
    if !(wanted.share.is_finite() && wanted.share > 0.0) {
        return Err(AdaptiveError::Share { share: wanted.share });
    }
    if model.exist() < Exist::MeanAndVariance {
        return Err(AdaptiveError::NoVariance);
    }
    let mut streams = Streams::of_seed(run.seed);
    let mut values: Vec<f64> = Vec::new();
    let mut averages = Averages::default();
    let mut ahead = 2;
    loop {
        let fresh = values.len();
        values.resize(fresh + ahead * size, 0.0);
        let work = values[fresh..].chunks_mut(size).map(|batch| (streams.next(), batch)).collect();
        let drawn = each(work, run.threads, |(stream, batch)| {
            let moments = draw(model, stream, batch);
            let interval =
                coverage(batch, wanted.percent, NonZeroUsize::MIN).map(|c| c.interval(wanted.kind));
            (moments, interval)
        });
        for (moments, interval) in drawn {
            if !moments.is_finite() {
                // Says which trial it is.
                Simulation::new(values.clone(), moments, model.exist())?;
            }
            let interval = interval?;
            averages
                .take(moments, [moments.mean(), moments.standard_deviation(), interval.low, interval.high]);
            if averages.batches < 2 {
                continue;
            }
            let tolerance =
                wanted.share * numerical_tolerance(averages.moments.standard_deviation(), wanted.figures)?;
            let stability = averages.stability();
            let stable = stability.worst() <= tolerance;
            if stable || averages.batches == most {
                values.truncate(averages.batches * size);
                let simulation = Simulation::new(values, averages.moments, model.exist())?;
                let coverage = simulation.coverage(wanted.percent, run.threads)?;
                let outcome = if stable { Outcome::Stable } else { Outcome::OutOfTrials };
                return Ok(AdaptiveResult {
                    simulation,
                    coverage,
                    batches: averages.batches,
                    tolerance,
                    stability,
                    outcome,
                });
            }
            ahead =
                next_batches(averages.batches, stability.worst() / tolerance).min(most - averages.batches);
        }
    }
}

/// How many batches to draw next: as many as seem to be missing, since s falls with √h, and at most
/// as many as there are, since after a few batches s is known badly.
fn next_batches(batches: usize, excess: f64) -> usize {
    let needed = batches as f64 * excess * excess;
    ((needed - batches as f64).ceil().max(1.0) as usize).min(batches)
}
