//! Checks: what a careful person at the bench would look at before believing a run.
//!
//! Each check has a name, looks at the whole run, and returns everything that it found. An error
//! means that the record contradicts itself; a gap, that a standard or the rulebook asks a
//! certificate for something that is not there; a warning goes on the record and changes no number.
//! A fault that repeats over the rows of a group is one finding, placed at its first row.

mod agreement;
mod bench;
mod digits;
mod environment;
mod fitness;
mod handling;
pub mod outcome;
mod paper;
mod points;
mod preloads;
mod prior;
mod pulls;
mod reach;
mod readings;
mod reference;
mod scatter;
mod study;
mod times;
mod tool;
mod variations;
mod words;

#[cfg(test)]
mod fuzz;
#[cfg(test)]
mod sample;
#[cfg(test)]
mod spoiled;
#[cfg(test)]
mod tests;

use crate::finding::{Check, Finding};
use crate::reference::Reference;
use crate::rulebook::Rulebook;
use crate::run::Run;

use bench::Bench;

pub use paper::AS_FOUND_ABSENT;

/// A check and the function that carries it out.
struct Rule {
    check: &'static Check,
    look: fn(&Bench) -> Vec<Finding>,
}

/// The checks of each subject, in the order in which they are reported.
static SUBJECTS: &[&[Rule]] = &[
    tool::RULES,
    reference::RULES,
    reach::RULES,
    environment::RULES,
    readings::RULES,
    points::RULES,
    preloads::RULES,
    times::RULES,
    pulls::RULES,
    variations::RULES,
    study::RULES,
    paper::RULES,
    agreement::RULES,
    prior::RULES,
    fitness::RULES,
    scatter::RULES,
    digits::RULES,
    handling::RULES,
];

const fn count() -> usize {
    let (mut total, mut i) = (0, 0);
    while i < SUBJECTS.len() {
        total += SUBJECTS[i].len();
        i += 1;
    }
    total
}

/// Evaluated by the compiler, so that the catalogue can neither miss a check nor list one twice.
static FLAT: [&Check; count()] = {
    let mut flat = [SUBJECTS[0][0].check; count()];
    let (mut next, mut i) = (0, 0);
    while i < SUBJECTS.len() {
        let mut j = 0;
        while j < SUBJECTS[i].len() {
            flat[next] = SUBJECTS[i][j].check;
            next += 1;
            j += 1;
        }
        i += 1;
    }
    flat
};

/// Every check of a run, by subject.
pub static CATALOGUE: &[&Check] = &FLAT;

/// Everything that is wrong, missing or suspicious in a run, by subject in the order of
/// [`CATALOGUE`].
#[must_use]
pub fn check(run: &Run, rulebook: &Rulebook, reference: &Reference) -> Vec<Finding> {
    let bench = Bench::new(run, rulebook, reference);
    SUBJECTS.iter().copied().flatten().flat_map(|rule| carry_out(rule, &bench)).collect()
}

/// What one check finds; `None` when no check has that name.
#[must_use]
pub fn check_alone(
    name: &str,
    run: &Run,
    rulebook: &Rulebook,
    reference: &Reference,
) -> Option<Vec<Finding>> {
    let rule = SUBJECTS.iter().copied().flatten().find(|rule| rule.check.name == name)?;
    Some(carry_out(rule, &Bench::new(run, rulebook, reference)))
}

fn carry_out(rule: &Rule, bench: &Bench) -> Vec<Finding> {
    let mut findings = (rule.look)(bench);
    for finding in &mut findings {
        finding.message = words::sentence(&finding.message);
    }
    findings
}
