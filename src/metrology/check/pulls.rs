//! Checks of the pulls: how long they took from 80 % to 100 % of the target.

use super::Rule;
use super::bench::{Bench, Group};
use super::words::{clause, figures, rows};
use crate::finding::{Check, Finding, Place, Severity};
use crate::reading::{LoadingTime, Reading, Series};
use crate::rulebook::{PullRow, Purpose};

static TOO_SHORT: Check = Check {
    name: "pull-too-short",
    severity: Severity::Gap,
    about: "No valid reading was pulled in less time than the rulebook asks for.",
    source: "the rulebook's pulls",
};
static TOO_LONG: Check = Check {
    name: "pull-too-long",
    severity: Severity::Gap,
    about: "No valid reading was pulled in more time than the rulebook allows.",
    source: "the rulebook's pulls",
};
static MISSING: Check = Check {
    name: "loading-time-missing",
    severity: Severity::Gap,
    about: "Where a low-pass filter stands in the chain, every valid reading at a test point has its loading time, without which the error of the filter is not known.",
    source: "JCGM 100:2008, 3.2.4 (from memory); ISO 6789-2 names no filter",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &TOO_SHORT, look: too_short },
    Rule { check: &TOO_LONG, look: too_long },
    Rule { check: &MISSING, look: missing },
];

/// The valid readings of a group whose loading time is wrong, in the order of recording.
fn wrong<'a>(group: &Group<'a>, is_wrong: impl Fn(LoadingTime) -> bool) -> Vec<(&'a Reading, LoadingTime)> {
    group
        .valid
        .iter()
        .filter_map(|reading| Some((*reading, reading.loading_time?)))
        .filter(|(_, time)| is_wrong(*time))
        .collect()
}

/// How long a pull on the tool may last.
fn asked<'a>(bench: &Bench<'a>) -> Option<&'a PullRow> {
    bench.rulebook.pull_for(bench.run.tool.class, bench.run.tool.range.upper.torque())
}

/// One finding a group. A pull that was struck out does not count: it was taken again.
fn over_groups(
    bench: &Bench,
    row: &PullRow,
    is_wrong: impl Fn(LoadingTime) -> bool,
    finding: impl Fn(Place, String) -> Finding,
) -> Vec<Finding> {
    bench
        .measured()
        .filter_map(|group| {
            let off = wrong(group, &is_wrong);
            let (first, time) = off.first()?;
            let readings: Vec<&Reading> = off.iter().map(|(reading, _)| *reading).collect();
            let message =
                format!("{}, {}: {time} from 80 % to 100 % of the target", group.name(), rows(&readings));
            let found = finding(Place::row(first.row, "seconds"), message);
            Some(found.given(time.to_string()).clause(clause(&row.from)))
        })
        .collect()
}

fn too_short(bench: &Bench) -> Vec<Finding> {
    let Some(row) = asked(bench) else { return vec![] };
    let wanted = format!("{} s at least", figures(row.seconds_min));
    over_groups(
        bench,
        row,
        |time| time.seconds() < row.seconds_min,
        |place, message| {
            Finding::new(&TOO_SHORT, place, format!("{message}, and the rulebook asks for {wanted}"))
            .wanted(&wanted)
            .remedy("strike the reading out with its reason and take it again, more slowly: a tool that is pulled fast releases, and is read, at another torque")
        },
    )
}

fn too_long(bench: &Bench) -> Vec<Finding> {
    let Some(row) = asked(bench) else { return vec![] };
    let Some(most) = row.seconds_max else { return vec![] };
    let wanted = format!("{} s at most", figures(most));
    over_groups(
        bench,
        row,
        |time| time.seconds() > most,
        |place, message| {
            Finding::new(&TOO_LONG, place, format!("{message}, and the rulebook asks for {wanted}"))
                .wanted(&wanted)
                .remedy("strike the reading out with its reason and take it again in one even pull")
        },
    )
}

fn missing(bench: &Bench) -> Vec<Finding> {
    let Some(filter) = bench.run.chain.as_ref().and_then(|chain| chain.filter) else { return vec![] };
    if bench.rulebook.budget.is_none() || bench.rulebook.purpose != Purpose::Calibration {
        return vec![];
    }
    bench
        .of(Series::Points)
        .filter_map(|group| {
            let without: Vec<&Reading> =
                group.valid.iter().copied().filter(|reading| reading.loading_time.is_none()).collect();
            let first = without.first()?;
            let message = format!(
                "{}, {}: no loading time, without which the error of the {filter}, is not known",
                group.name(),
                rows(&without)
            );
            Some(
                Finding::new(&MISSING, Place::row(first.row, "seconds"), message)
                    .given("no loading time")
                    .wanted("the seconds from 80 % to 100 % of the target in the column seconds")
                    .remedy("take the loading times from the traces; where none was kept, take the point again, or measure without the filter"),
            )
        })
        .collect()
}
