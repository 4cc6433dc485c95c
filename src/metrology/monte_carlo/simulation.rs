//! A fixed number of trials, and what they say (JCGM 101, 7.2 to 7.7).

use std::num::NonZeroUsize;

use thiserror::Error;

use super::coverage::{Coverage, TrialsError, coverage};
use super::model::Model;
use super::moments::{Exist, Moments};
use super::stream::{Stream, Streams};
use super::workers::each;

/// What a simulation is run with, besides its model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// the seed: part of the record, since it makes the result again
    pub seed: u64,
    /// on how many threads; changes how long it takes and nothing else
    pub threads: NonZeroUsize,
}

/// Why trials have no result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum SimulationError {
    /// No trial, no result.
    #[error("a simulation needs at least one trial")]
    NoTrials,
    /// The model gave something that is not a number.
    #[error("the model gives no finite value in trial {trial}")]
    NotFinite {
        /// which, from 1
        trial: usize,
    },
    /// Each value is finite, their squares are not.
    #[error("the values of the model are too large to square")]
    TooLarge,
}

/// The values of a model and what they say.
#[derive(Debug, Clone, PartialEq)]
pub struct Simulation {
    values: Vec<f64>,
    moments: Moments,
    exist: Exist,
}

/// How many trials are drawn at once. Part of the result: another size gives other trials.
const BLOCK: usize = 4096;

/// Draws trials from one stream, block by block, while each is still at hand for its sums.
pub(super) fn draw<M: Model + ?Sized>(model: &M, mut stream: Stream, values: &mut [f64]) -> Moments {
    values.chunks_mut(BLOCK).fold(Moments::default(), |sum, block| {
        model.draw(&mut stream, block);
        sum.and(Moments::of(block))
    })
}

/// A fixed number of trials of a model.
///
/// # Errors
/// [`SimulationError`] for no trials, or when the model gives a value that is not finite.
pub fn simulate<M: Model + ?Sized>(
    model: &M,
    trials: usize,
    run: Run,
) -> Result<Simulation, SimulationError> {
    let mut values = vec![0.0; trials];
    let mut streams = Streams::of_seed(run.seed);
    let blocks = values.chunks_mut(BLOCK).map(|block| (streams.next(), block)).collect();
    let sums = each(blocks, run.threads, |(stream, block)| draw(model, stream, block));
    let moments = sums.into_iter().fold(Moments::default(), Moments::and);
    Simulation::new(values, moments, model.exist())
}

impl Simulation {
    pub(super) fn new(
        values: Vec<f64>,
        moments: Moments,
        exist: Exist,
    ) -> Result<Simulation, SimulationError> {
        if values.is_empty() {
            return Err(SimulationError::NoTrials);
        }
        if !moments.is_finite() {
            let trial = values.iter().position(|v| !v.is_finite());
            return Err(
                trial.map_or(SimulationError::TooLarge, |i| SimulationError::NotFinite { trial: i + 1 })
            );
        }
        Ok(Simulation { values, moments, exist })
    }

    /// How many trials.
    #[must_use]
    pub fn trials(&self) -> usize {
        self.values.len()
    }

    /// The values of the model, in the order in which they were drawn.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The estimate: their mean (7.6, equation 16). `None` where the measurand has no mean, since
    /// that of some trials would then tell nothing; the intervals stand.
    #[must_use]
    pub fn estimate(&self) -> Option<f64> {
        (self.exist >= Exist::Mean).then(|| self.moments.mean())
    }

    /// The standard uncertainty: their standard deviation (7.6, equation 17). `None` where the
    /// measurand has no variance: an input is a t with two degrees of freedom or fewer.
    #[must_use]
    pub fn standard_uncertainty(&self) -> Option<f64> {
        (self.exist >= Exist::MeanAndVariance).then(|| self.moments.standard_deviation())
    }

    /// The coverage intervals for a probability in percent.
    ///
    /// # Errors
    /// [`TrialsError`] for a probability outside 0 % to 100 %, or too few trials for it.
    pub fn coverage(&self, percent: f64, threads: NonZeroUsize) -> Result<Coverage, TrialsError> {
        coverage(&self.values, percent, threads)
    }
}
