//! The examples, one file a subject. Each computes with the same functions that a run goes through.

mod correlation;
mod coverage;
mod decision;
mod ea_4_02;
mod gum;
mod outliers;
mod risk;
mod rounding;
mod rulebook;
mod strd;
mod torque;
mod trials;
mod trials_more;

use leverarm_metrology::budget::{Budget, BudgetLine, Combined};
use leverarm_metrology::coverage::Freedom;

use super::case::{Case, Mark, Stopped};

/// An example that is to be computed.
struct Planned {
    id: &'static str,
    source: &'static str,
    about: &'static str,
    exercises: &'static str,
    mark: Mark,
    compute: fn(&mut Case) -> Result<(), Stopped>,
}

const STATISTICS: &str = "mean, standard deviation, autocorrelation, analysis of variance, outlier test";
const BUDGET: &str = "combination of a budget, effective degrees of freedom, expanded uncertainty";
const QUANTILES: &str = "coverage factors of the normal and of Student's t distribution";
const COVARIANCE: &str = "covariance of simultaneous observations and its propagation";
const CURVE: &str = "straight lines by least squares, with their uncertainty";
const MONTE_CARLO: &str = "propagation of distributions by Monte Carlo";
const ROUNDING: &str = "rounding of a result and of its uncertainty";
const TORQUE: &str = "units of torque, deviation in percent, correction of the reference";
const RISK: &str = "probability of conformity, specific and global risks, guard bands";
const DATA: &str = "permissible deviations in the built-in rulebooks (a check of data, not of computing)";

/// Computes every example. One that stops before its end has a value that does not agree.
#[must_use]
pub fn run() -> Vec<Case> {
    let all = [
        gum::CASES,
        rounding::CASES,
        correlation::CASES,
        coverage::CASES,
        ea_4_02::CASES,
        strd::CASES,
        outliers::CASES,
        trials::CASES,
        trials_more::CASES,
        decision::CASES,
        risk::CASES,
        torque::CASES,
        rulebook::CASES,
    ];
    all.into_iter().flatten().map(computed).collect()
}

fn computed(planned: &Planned) -> Case {
    let mut case = Case::new(planned.id, planned.source, planned.about, planned.exercises, planned.mark);
    if let Err(reason) = (planned.compute)(&mut case) {
        case.stopped(&reason);
    }
    case
}

/// Combines budget lines.
fn combine(lines: Vec<BudgetLine>) -> Combined {
    Budget { lines, missing: vec![] }.combine()
}

/// Degrees of freedom where they are finite.
const fn finite(freedom: Freedom) -> Option<f64> {
    match freedom {
        Freedom::Finite(nu) => Some(nu),
        Freedom::Infinite => None,
    }
}
