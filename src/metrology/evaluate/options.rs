//! What an evaluation may do beyond the GUM.

use std::num::NonZeroUsize;

use crate::rounding::Figures;

/// What an evaluation may do beyond the GUM. The default does nothing beyond it, which is what a
/// batch of many tools wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Options {
    /// Monte Carlo behind every point
    pub monte_carlo: Option<MonteCarloPlan>,
}

/// How Monte Carlo is done (JCGM 101, 7.9 and clause 8).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MonteCarloPlan {
    /// seed of the first point; each further point takes the next
    pub seed: u64,
    /// on how many threads; changes no result
    pub threads: NonZeroUsize,
    /// how many digits of the standard uncertainty the GUM's interval must be right to
    pub figures: Figures,
    /// when to give up becoming stable
    pub most_trials: usize,
}

impl MonteCarloPlan {
    /// Two digits, at most two million trials a point.
    #[must_use]
    pub const fn new(seed: u64, threads: NonZeroUsize) -> MonteCarloPlan {
        MonteCarloPlan { seed, threads, figures: Figures::Two, most_trials: 2_000_000 }
    }
}
