//! The options of Monte Carlo, shared by the commands that evaluate.

use std::num::NonZeroUsize;

use clap::Args;
use leverarm_metrology::evaluate::{MonteCarloPlan, Options};

/// Monte Carlo behind each test point (JCGM 101).
#[derive(Debug, Clone, Copy, Args)]
pub struct Trials {
    /// seed of the Monte Carlo trials; it stands in the record, and the same seed gives the same result
    #[arg(long, value_name = "NUMBER", default_value_t = SEED)]
    seed: u64,
    /// leave Monte Carlo out
    #[arg(long)]
    gum_only: bool,
}

/// Any number does; this one makes two laboratories agree without agreeing.
const SEED: u64 = 6789;

impl Trials {
    /// What the evaluation is to do. Threads change how long it takes and nothing else.
    #[must_use]
    pub fn options(self) -> Options {
        let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
        let plan = (!self.gum_only).then(|| MonteCarloPlan::new(self.seed, threads));
        Options { monte_carlo: plan }
    }
}
