//! Checks of what came out: nothing here is wrong, and all of it is worth a second look.

use super::words::{clause, figures, list, percent};
use crate::budget::{Influence, Scope};
use crate::coverage::Freedom;
use crate::evaluate::{Evaluation, Framework, PointResult, PointUncertainty};
use crate::finding::{Check, Finding, Place, Severity};
use crate::quantity::Percent;
use crate::rulebook::{CoverageRule, Rulebook};

static COVERAGE_FACTOR: Check = Check {
    name: "coverage-factor-low",
    severity: Severity::Warning,
    about: "A fixed coverage factor is near the one that the effective degrees of freedom ask for.",
    source: "JCGM 100:2008, G.6.4",
};
static DOMINANT: Check = Check {
    name: "budget-line-dominant",
    severity: Severity::Warning,
    about: "No single line makes more than four fifths of the variance of a result.",
    source: "common practice, no published source; JCGM 100:2008, G.2.2 names what it does to the distribution",
};
static MONTE_CARLO: Check = Check {
    name: "monte-carlo-disagrees",
    severity: Severity::Warning,
    about: "The stated expanded uncertainty falls short of what Monte Carlo finds by no more than a tenth.",
    source: "JCGM 101:2008, clause 8",
};
static UNREACHABLE: Check = Check {
    name: "rule-unreachable",
    severity: Severity::Warning,
    about: "The decision rule leaves room for a tool without any deviation to pass.",
    source: "ILAC-G8:09/2019, 4.2; JCGM 106:2012, 8.3",
};
static REFERENCE: Check = Check {
    name: "reference-holds-back",
    severity: Severity::Warning,
    about: "All that comes from the reference, its drift and interpolation too, stays within its share of the limit.",
    source: "the rulebook's share of the reference",
};

/// Every check of an evaluation.
pub static CATALOGUE: &[&Check] = &[&COVERAGE_FACTOR, &DOMINANT, &MONTE_CARLO, &UNREACHABLE, &REFERENCE];

/// Everything worth a second look in an evaluation, one finding a check.
#[must_use]
pub fn outcome(evaluation: &Evaluation, rulebook: &Rulebook) -> Vec<Finding> {
    let points: Vec<(&PointResult, &PointUncertainty)> = evaluation
        .points
        .iter()
        .filter_map(|p| p.uncertainty.as_ref().filter(|u| u.budget.is_complete()).map(|u| (p, u)))
        .collect();
    [
        coverage_factor(&points, rulebook),
        dominant(&points),
        monte_carlo(&points),
        unreachable(evaluation),
        reference(&points, evaluation.limit.permissible, rulebook),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// One finding over the points that a look calls out, placed at the first reading of the first.
fn over_points(
    check: &'static Check,
    found: &[(&PointResult, String)],
    say: impl FnOnce(String) -> String,
) -> Option<Finding> {
    let (first, _) = found.first()?;
    let row = first.readings.first().map_or(1, |r| r.row);
    let each: Vec<String> = found.iter().map(|(p, what)| format!("{what} at {}", name(p))).collect();
    let each = list(&each);
    Some(Finding::new(check, Place::row(row, "target"), say(each.clone())).given(each))
}

fn name(point: &PointResult) -> String {
    format!("{} {}", point.target, point.direction)
}

type Points<'a> = [(&'a PointResult, &'a PointUncertainty)];

fn coverage_factor(points: &Points, rulebook: &Rulebook) -> Option<Finding> {
    let plan = rulebook.budget.as_ref()?;
    let CoverageRule::Fixed(fixed) = plan.coverage.value else { return None };
    let found: Vec<_> = points
        .iter()
        .filter(|(_, u)| u.expanded.k_effective > fixed * 1.2)
        .map(|(p, u)| {
            let freedom = match u.combined.freedom {
                Freedom::Finite(nu) => figures(nu),
                Freedom::Infinite => "infinite".to_owned(),
            };
            (*p, format!("k = {} for {freedom} degrees of freedom", figures(u.expanded.k_effective)))
        })
        .collect();
    let say =
        |each| format!("The rulebook fixes k = {fixed}, and the degrees of freedom ask for more: {each}.");
    Some(
        over_points(&COVERAGE_FACTOR, &found, say)?
            .wanted(format!("within a fifth of {fixed}"))
            .remedy("take more readings, or say on the certificate what k would have been")
            .clause(clause(&plan.coverage.from)),
    )
}

fn dominant(points: &Points) -> Option<Finding> {
    const SHARE: f64 = 0.8;
    let found: Vec<_> = points
        .iter()
        .filter_map(|(p, u)| {
            let (line, share) =
                u.budget.lines.iter().zip(&u.combined.shares).find(|(_, share)| **share > SHARE)?;
            Some((*p, format!("{} with {} %", line.influence, figures(share * 100.0))))
        })
        .collect();
    let say = |each| format!("One line makes nearly the whole budget: {each}.");
    Some(
        over_points(&DOMINANT, &found, say)?
            .wanted("at most 80 % of the variance")
            .remedy("look whether that line is right: every effort elsewhere is lost while it stands"),
    )
}

/// By how much of the stated uncertainty Monte Carlo must exceed it before anybody is told: less is
/// on the record, and the interval that is reported already follows Monte Carlo.
const NOTICEABLE: f64 = 0.1;

fn monte_carlo(points: &Points) -> Option<Finding> {
    let found: Vec<_> = points
        .iter()
        .filter_map(|(p, u)| {
            let check = u.monte_carlo.as_ref().filter(|_| u.reported.from == Framework::MonteCarlo)?;
            let half = (check.symmetric.high - check.symmetric.low) / 2.0;
            let short = half - u.expanded.expanded.value();
            (short > NOTICEABLE * u.expanded.expanded.value()).then(|| {
                let stated = percent(u.expanded.expanded);
                (*p, format!("{} against the stated {stated}", percent(Percent::new(half))))
            })
        })
        .collect();
    let say = |each| format!("Monte Carlo finds more than is stated: {each}.");
    Some(
        over_points(&MONTE_CARLO, &found, say)?
            .wanted("an expanded uncertainty that covers what it says")
            .remedy("the interval that covers it is on the certificate; take more readings to bring both together"),
    )
}

fn unreachable(evaluation: &Evaluation) -> Option<Finding> {
    let rule = evaluation.rule?;
    let found: Vec<_> = evaluation
        .points
        .iter()
        .filter(|p| p.nothing_accepted())
        .map(|p| {
            let band =
                p.guard.and_then(|g| g.width()).map_or("no guard band is wide enough".to_owned(), |w| {
                    format!("a guard band of {} in a limit of {}", percent(w), percent(p.limit))
                });
            (p, band)
        })
        .collect();
    let say =
        |each| format!("Under the rule {rule} not even a tool without any deviation could pass: {each}.");
    Some(
        over_points(&UNREACHABLE, &found, say)?
            .wanted("a guard band narrower than the limit")
            .remedy("'leverarm evaluate --under all' says which line of the budget holds the point back"),
    )
}

fn reference(points: &Points, limit: Percent, rulebook: &Rulebook) -> Option<Finding> {
    let share = Percent::new(limit.value() * rulebook.reference_share.value / 100.0);
    let found: Vec<_> = points
        .iter()
        .filter_map(|(p, u)| {
            let variance: f64 = u
                .budget
                .lines
                .iter()
                .filter(|line| line.scope == Scope::Common && is_of_reference(line.influence))
                .map(|line| line.standard().value().powi(2))
                .sum();
            let expanded = Percent::new(2.0 * variance.sqrt());
            (expanded > share).then(|| (*p, percent(expanded)))
        })
        .collect();
    let say =
        |each| format!("The reference with its drift and interpolation takes more than its share: {each}.");
    Some(
        over_points(&REFERENCE, &found, say)?
            .wanted(format!("at most {}", percent(share)))
            .remedy("have the reference calibrated anew or with more points, or use a better one")
            .clause(clause(&rulebook.reference_share.from)),
    )
}

const fn is_of_reference(influence: Influence) -> bool {
    matches!(
        influence,
        Influence::Reference
            | Influence::ReferenceResolution
            | Influence::ReferenceDrift
            | Influence::ReferenceInterpolation
            | Influence::Temperature
    )
}
