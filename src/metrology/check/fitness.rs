//! Warnings on whether tool and reference are fit for the points at which they were used.

use super::Rule;
use super::bench::Bench;
use super::words::{clause, list, percent, rows, torque};
use crate::finding::{Check, Finding, Place, Severity};
use crate::quantity::{Percent, Torque};
use crate::reading::{Reading, Series};

static STEP: Check = Check {
    name: "display-step-coarse",
    severity: Severity::Warning,
    about: "One step of the tool's display or scale is at most its share of the permissible deviation at every test point.",
    source: "ISO 6789-1:2017, 5.1.4 (confirmed)",
};
static ZERO: Check = Check {
    name: "zero-off",
    severity: Severity::Warning,
    about: "The unloaded reference shows no more than the uncertainty at its lowest calibration point.",
    source: "common practice, no published source",
};

pub(super) static RULES: &[Rule] = &[Rule { check: &STEP, look: step }, Rule { check: &ZERO, look: zero }];

fn step(bench: &Bench) -> Vec<Finding> {
    let (Some(limit), Some(resolution)) = (bench.limit, bench.run.tool.resolution) else { return vec![] };
    let share = &bench.rulebook.resolution_share;
    let allowed = Percent::new(limit.value() * share.value / 100.0);
    let step = resolution.torque();
    if allowed.value() <= 0.0 || step <= Torque::ZERO {
        return vec![];
    }
    let fit_from = Torque::from_newton_metres(step.newton_metres() / allowed.fraction());
    let mut coarse: Vec<(Torque, String)> = Vec::new();
    for group in bench.of(Series::Points) {
        let target = group.target.torque();
        let is_known = coarse.iter().any(|(known, _)| known.same_as(target));
        if target > Torque::ZERO && target < fit_from && !target.same_as(fit_from) && !is_known {
            coarse.push((target, format!("{} at {}", percent(step.percent_of(target)), group.target)));
        }
    }
    if coarse.is_empty() {
        return vec![];
    }
    let points: Vec<String> = coarse.into_iter().map(|(_, words)| words).collect();
    let from = torque(fit_from, resolution.unit());
    vec![
        Finding::new(
            &STEP,
            Place::run("tool.resolution"),
            format!(
                "a step of {resolution} is {}; {} % of the permissible ±{limit} are {}, which the tool holds from {from} on",
                list(&points),
                share.value,
                percent(allowed)
            ),
        )
        .given(list(&points))
        .wanted(format!("at most {}", percent(allowed)))
        .remedy(format!("the tool cannot be shown to conform below {from}: say so, or narrow the range with the customer's consent"))
        .clause(clause(&share.from)),
    ]
}

fn zero(bench: &Bench) -> Vec<Finding> {
    let mut found = Vec::new();
    for curve in &bench.reference.curves {
        let Some(allowed) = curve.points().first().map(|point| point.expanded) else { continue };
        let off: Vec<&Reading> = bench
            .run
            .valid(Series::Zero, curve.direction)
            .filter(|r| r.reference.torque().abs() > allowed && !r.reference.torque().abs().same_as(allowed))
            .collect();
        let Some(first) = off.first() else { continue };
        let wanted = torque(allowed, first.reference.unit());
        found.push(
            Finding::new(
                &ZERO,
                Place::row(first.row, "reference"),
                format!("{}: the unloaded reference shows {}, and its least uncertainty is {wanted}", rows(&off), first.reference),
            )
            .given(first.reference.to_string())
            .wanted(format!("at most {wanted}"))
            .remedy("look for a tool that was not lifted off, a side load or a warming amplifier; set the zero and measure again"),
        );
    }
    found
}
