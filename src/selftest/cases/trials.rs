//! JCGM 101, 9.2: the additive model, by trials with a fixed seed.
//!
//! A value found by trials has a standard error of its own, estimated from the same trials: u/√M for
//! the estimate, u/√(2M) for the standard uncertainty (of a normal measurand; less for those here that
//! have shorter tails), √(p(1 − p)/M) over the density for an end of the interval.

use std::num::NonZeroUsize;

use leverarm_metrology::monte_carlo::{
    Distribution, DistributionError, GumResult, Input, Interval, LinearModel, Model, Run, simulate, validate,
};
use leverarm_metrology::rounding::Figures;

use super::{MONTE_CARLO, Mark, Planned};
use crate::selftest::case::{Agreement, Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "jcgm-101-9-2-2",
        source: "JCGM 101:2008, 9.2.2",
        about: "The sum of four standard normal quantities, 95 %.",
        exercises: MONTE_CARLO,
        mark: Mark::Reproduced,
        compute: four_normal,
    },
    Planned {
        id: "jcgm-101-9-2-3",
        source: "JCGM 101:2008, 9.2.3",
        about: "The sum of four rectangular quantities of standard deviation 1, 95 %.",
        exercises: MONTE_CARLO,
        mark: Mark::Reproduced,
        compute: four_rectangular,
    },
    Planned {
        id: "jcgm-101-9-2-4",
        source: "JCGM 101:2008, 9.2.4",
        about: "The same, one of them ten times as wide: the interval of the GUM is not valid.",
        exercises: MONTE_CARLO,
        mark: Mark::Reproduced,
        compute: one_dominates,
    },
];

const TRIALS: usize = 1_000_000;

/// The seed was not chosen by what it gives; the number of threads changes no bit of the result.
pub(super) const fn seeded() -> Run {
    Run { seed: 101, threads: NonZeroUsize::MIN.saturating_add(1) }
}

/// What the trials of a model give, and the standard errors of it.
pub(super) struct Found {
    pub estimate: f64,
    pub standard: f64,
    pub interval: Interval,
    pub trials: f64,
    /// of either end of the interval
    ends_error: [f64; 2],
}

impl Found {
    pub(super) fn new(model: &impl Model, trials: usize) -> Result<Found, Stopped> {
        let threads = seeded().threads;
        let simulation = simulate(model, trials, seeded())?;
        let interval = |percent| simulation.coverage(percent, threads).map(|c| c.symmetric);
        // Between the ends of these two lies half a percent on either side: it tells the density.
        let (inner, outer) = (interval(94.5)?, interval(95.5)?);
        let error = |width: f64| (0.025 * 0.975 / trials as f64).sqrt() * width / 0.005;
        Ok(Found {
            estimate: simulation.estimate().ok_or("there is no mean")?,
            standard: simulation.standard_uncertainty().ok_or("there is no variance")?,
            interval: interval(95.0)?,
            trials: trials as f64,
            ends_error: [error(inner.low - outer.low), error(outer.high - inner.high)],
        })
    }

    pub(super) fn estimate_error(&self) -> f64 {
        self.standard / self.trials.sqrt()
    }

    pub(super) fn standard_error(&self) -> f64 {
        self.estimate_error() / 2f64.sqrt()
    }

    fn hold(&self, case: &mut Case, printed: [&str; 4]) {
        let [estimate, standard, low, high] = printed;
        let [low_error, high_error] = self.ends_error;
        case.holds("estimate", estimate, Agreement::Trials(self.estimate_error()), self.estimate);
        let error = self.standard_error();
        case.holds("standard uncertainty", standard, Agreement::Trials(error), self.standard);
        case.holds("low end of the interval", low, Agreement::Trials(low_error), self.interval.low);
        case.holds("high end of the interval", high, Agreement::Trials(high_error), self.interval.high);
    }

    /// Against the exact half width, without the rounding of print.
    fn hold_exact(&self, case: &mut Case, half_width: &str) {
        let [low_error, high_error] = self.ends_error;
        let exact = Agreement::TrialsOfExact;
        case.mark(Mark::Derivable);
        case.holds("low end, reversed, exact value", half_width, exact(low_error), -self.interval.low);
        case.holds("high end, exact value", half_width, exact(high_error), self.interval.high);
    }

    /// Clause 8: whether the interval of the GUM is valid to two digits.
    fn validation(&self, standard: f64) -> Result<&'static str, Stopped> {
        let gum = GumResult { estimate: 0.0, standard, expanded: 1.959_964 * standard };
        let valid = validate(gum, self.interval, Figures::Two)?.is_valid();
        Ok(if valid { "valid" } else { "not valid" })
    }
}

fn sum(of: [Result<Distribution, DistributionError>; 4]) -> Result<LinearModel, Stopped> {
    let mut inputs = Vec::new();
    for distribution in of {
        inputs.push(Input { distribution: distribution?, sensitivity: 1.0 });
    }
    Ok(LinearModel::new(0.0, &inputs))
}

fn four_normal(case: &mut Case) -> Result<(), Stopped> {
    let found = Found::new(&sum([(); 4].map(|()| Distribution::normal(0.0, 1.0)))?, TRIALS)?;
    found.hold(case, ["0.00", "2.00", "-3.92", "3.92"]);
    case.reads("the interval of the GUM, two digits", "valid", found.validation(2.0)?);
    found.hold_exact(case, "3.919928");
    Ok(())
}

/// A rectangle about zero.
fn rectangle(standard: f64) -> Result<Distribution, DistributionError> {
    let half_width = standard * 3f64.sqrt();
    Distribution::rectangular(-half_width, half_width)
}

fn four_rectangular(case: &mut Case) -> Result<(), Stopped> {
    let found = Found::new(&sum([1.0; 4].map(rectangle))?, TRIALS)?;
    found.hold(case, ["0.00", "2.00", "-3.88", "3.88"]);
    case.reads("the interval of the GUM, two digits", "valid", found.validation(2.0)?);
    found.hold_exact(case, "3.879407");
    Ok(())
}

fn one_dominates(case: &mut Case) -> Result<(), Stopped> {
    let found = Found::new(&sum([1.0, 1.0, 1.0, 10.0].map(rectangle))?, TRIALS)?;
    found.hold(case, ["0.0", "10.1", "-17.0", "17.0"]);
    case.reads("the interval of the GUM, two digits", "not valid", found.validation(103f64.sqrt())?);
    found.hold_exact(case, "17.015814");
    Ok(())
}
