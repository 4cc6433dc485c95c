//! Warnings on how the work was done: many voids, values that were not set or reached.

use super::Rule;
use super::bench::{Bench, Group};
use super::readings::is_credible;
use super::words::{figures, rows};
use crate::finding::{Check, Finding, Place, Severity};
use crate::reading::Reading;
use crate::tool::Acting;

static VOIDS: Check = Check {
    name: "voids-many",
    severity: Severity::Warning,
    about: "No more than a quarter of the readings of a test point were struck out.",
    source: "common practice, no published source",
};
static OFF_TARGET: Check = Check {
    name: "indicated-off-target",
    severity: Severity::Warning,
    about: "A setting tool was set to the target, and an indicating tool pulled to within 5 % of it.",
    source: "common practice, no published source",
};

pub(super) static RULES: &[Rule] =
    &[Rule { check: &VOIDS, look: voids }, Rule { check: &OFF_TARGET, look: off_target }];

/// How far from the target an indicating tool may be read, %.
const NEAR_PERCENT: f64 = 5.0;

fn voids(bench: &Bench) -> Vec<Finding> {
    let finding = |group: &Group| {
        let (all, void) = (group.all.len(), group.all.len() - group.valid.len());
        // One slip in five readings is an ordinary day; all of them void is reported elsewhere.
        if void < 2 || void * 4 <= all || group.valid.is_empty() {
            return None;
        }
        let struck: Vec<&Reading> = group.all.iter().copied().filter(|r| !r.is_valid()).collect();
        Some(
            Finding::new(
                &VOIDS,
                Place::row(struck.first()?.row, "status"),
                format!("{}, {}: {void} of {all} readings were struck out", group.name(), rows(&struck)),
            )
            .given(format!("{void} of {all}"))
            .wanted("a quarter at most")
            .remedy(
                "settle what went wrong at the bench and measure the point again: readings are not chosen",
            ),
        )
    };
    bench.measured().filter_map(finding).collect()
}

fn off_target(bench: &Bench) -> Vec<Finding> {
    let acting = bench.run.tool.class.acting();
    let is_off = |r: &Reading| {
        let (indicated, target) = (r.indicated.torque(), r.target.torque());
        match acting {
            Acting::Setting => !indicated.same_as(target),
            Acting::Indicating => (indicated.percent_of(target).value() - 100.0).abs() > NEAR_PERCENT,
        }
    };
    let finding = |group: &Group| {
        let off: Vec<&Reading> =
            group.valid.iter().copied().filter(|r| is_credible(r) && is_off(r)).collect();
        let first = off.first()?;
        let share = figures(first.indicated.torque().percent_of(group.target.torque()).value());
        let (wanted, remedy) = match acting {
            Acting::Setting => (
                group.target.to_string(),
                "write the value to which the tool was set in both columns; where its scale has no such mark, choose the nearest as target",
            ),
            Acting::Indicating => (
                format!("{} ± {NEAR_PERCENT} %", group.target),
                "pull slowly until the tool shows the target, and read both at that moment",
            ),
        };
        Some(
            Finding::new(
                &OFF_TARGET,
                Place::row(first.row, "indicated"),
                format!(
                    "{}, {}: the tool stood at {}, {share} % of the target",
                    group.name(),
                    rows(&off),
                    first.indicated
                ),
            )
            .given(first.indicated.to_string())
            .wanted(wanted)
            .remedy(remedy),
        )
    };
    bench.measured().filter_map(finding).collect()
}
