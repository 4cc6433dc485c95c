//! Checks of the test points: which, how many readings at each, in which order.

use super::Rule;
use super::bench::Bench;
use super::tool::has_sound_range;
use super::words::{clause, counted, list, torque};
use crate::finding::{Check, Document, Finding, Place, Severity};
use crate::quantity::Torque;
use crate::reading::{Reading, Series};
use crate::rulebook::PointsRow;

static NONE: Check = Check {
    name: "readings-none",
    severity: Severity::Error,
    about: "There are readings at test points, and at each of them at least one counts.",
    source: "leverarm",
};
static SINGLE: Check = Check {
    name: "reading-single",
    severity: Severity::Error,
    about: "At no test point is there one valid reading only, since one reading has no standard deviation.",
    source: "JCGM 100:2008, 4.2",
};
static DIRECTION: Check = Check {
    name: "direction-not-measured",
    severity: Severity::Gap,
    about: "Every direction in which the tool was to be calibrated has readings.",
    source: "the rulebook's test points",
};
static MISSING: Check = Check {
    name: "point-missing",
    severity: Severity::Gap,
    about: "Every test point that the rulebook asks was measured in each direction.",
    source: "the rulebook's test points",
};
static TOO_FEW: Check = Check {
    name: "readings-too-few",
    severity: Severity::Gap,
    about: "Each test point has as many valid readings in each direction as the rulebook asks.",
    source: "the rulebook's test points",
};
static ORDER: Check = Check {
    name: "points-order",
    severity: Severity::Gap,
    about: "The test points of a direction were measured ascending.",
    source: "ISO 6789-1:2017, 6.5 (confirmed)",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &NONE, look: none },
    Rule { check: &SINGLE, look: single },
    Rule { check: &DIRECTION, look: direction },
    Rule { check: &MISSING, look: missing },
    Rule { check: &TOO_FEW, look: too_few },
    Rule { check: &ORDER, look: order },
];

fn row_for<'a>(bench: &Bench<'a>) -> Option<&'a PointsRow> {
    bench.rulebook.points_for(bench.run.tool.class)
}

fn none(bench: &Bench) -> Vec<Finding> {
    if bench.of(Series::Points).next().is_none() {
        return vec![
            Finding::new(&NONE, Place::Whole(Document::Readings), "there is no reading at any test point")
                .given("no row with series points")
                .wanted("the readings at the test points")
                .remedy("write the readings at the test points with points in the column series"),
        ];
    }
    bench
        .of(Series::Points)
        .filter(|group| group.valid.is_empty())
        .map(|group| {
            let voided = counted(group.all.len(), "reading");
            Finding::new(
                &NONE,
                Place::row(group.first_row(), "status"),
                format!("{}: of {voided} none counts, all are void", group.name()),
            )
            .given(format!("{voided}, all void"))
            .wanted("readings that count")
            .remedy("take the readings at this point again")
        })
        .collect()
}

fn single(bench: &Bench) -> Vec<Finding> {
    let one = bench.of(Series::Points).filter_map(|group| match group.valid.as_slice() {
        [only] => Some((group, *only)),
        _ => None,
    });
    one.map(|(group, only)| {
        Finding::new(
            &SINGLE,
            Place::row(only.row, "target"),
            format!("{}: one valid reading, which has no standard deviation", group.name()),
        )
        .given("1 reading")
        .wanted("2 readings to compute anything, and as many as the rulebook asks to certify it")
        .remedy("take the missing readings; if the target of this row is a slip, mend it")
    })
    .collect()
}

fn direction(bench: &Bench) -> Vec<Finding> {
    if bench.of(Series::Points).next().is_none() {
        return vec![];
    }
    bench
        .directions()
        .filter(|direction| bench.of(Series::Points).all(|group| group.direction != *direction))
        .map(|direction| {
            Finding::new(
                &DIRECTION,
                Place::run("tool.direction"),
                format!(
                    "the tool was to be calibrated {direction}, and no reading at a test point is {direction}"
                ),
            )
            .given("no reading")
            .wanted(format!("readings {direction}"))
            .remedy(
                "measure this direction too, or take it out of tool.direction with the customer's consent",
            )
        })
        .collect()
}

fn missing(bench: &Bench) -> Vec<Finding> {
    let Some(row) = row_for(bench).filter(|_| has_sound_range(bench)) else { return vec![] };
    let tool = &bench.run.tool;
    let mut found = Vec::new();
    for direction in bench.directions() {
        let targets: Vec<Torque> = bench
            .of(Series::Points)
            .filter(|g| g.direction == direction)
            .map(|g| g.target.torque())
            .collect();
        if targets.is_empty() {
            continue;
        }
        let absent: Vec<String> = row
            .points
            .iter()
            .filter(|point| !targets.iter().any(|target| row.accepts(**point, tool, *target)))
            .map(|point| torque(point.torque(tool), tool.range.upper.unit()))
            .collect();
        if absent.is_empty() {
            continue;
        }
        let unit = tool.range.upper.unit();
        let given: Vec<String> = bench.run.targets(direction).into_iter().map(|t| torque(t, unit)).collect();
        found.push(
            Finding::new(
                &MISSING,
                Place::Whole(Document::Readings),
                format!("no readings {direction} at {}; there are some at {}", list(&absent), list(&given)),
            )
            .given(list(&given))
            .wanted(format!("readings at {} too", list(&absent)))
            .remedy("measure the missing point; the run cannot be mended without the tool")
            .clause(clause(&row.from)),
        );
    }
    found
}

fn too_few(bench: &Bench) -> Vec<Finding> {
    let Some(row) = row_for(bench) else { return vec![] };
    let wanted = row.readings as usize;
    bench
        .of(Series::Points)
        .filter(|group| (2..wanted).contains(&group.valid.len()))
        .map(|group| {
            let voided = group.all.len() - group.valid.len();
            let aside = if voided == 0 { String::new() } else { format!(" and {voided} void") };
            Finding::new(
                &TOO_FEW,
                Place::row(group.first_row(), "target"),
                format!(
                    "{}: {}{aside}, and {wanted} are asked",
                    group.name(),
                    counted(group.valid.len(), "valid reading")
                ),
            )
            .given(counted(group.valid.len(), "reading"))
            .wanted(counted(wanted, "reading"))
            .remedy("take the missing readings; a void is replaced by a new reading at the same point")
            .clause(clause(&row.readings_from))
        })
        .collect()
}

fn order(bench: &Bench) -> Vec<Finding> {
    let mut found = Vec::new();
    for direction in bench.run.directions() {
        let mut highest: Option<&Reading> = None;
        let mut fallen: Option<(&Reading, &Reading)> = None;
        for reading in bench.run.valid(Series::Points, direction) {
            let target = reading.target.torque();
            match highest {
                Some(before)
                    if target < before.target.torque() && !target.same_as(before.target.torque()) =>
                {
                    fallen = fallen.or(Some((reading, before)));
                }
                _ => highest = Some(reading),
            }
        }
        let Some((reading, before)) = fallen else { continue };
        found.push(
            Finding::new(
                &ORDER,
                Place::row(reading.row, "target"),
                format!(
                    "{direction}: {} in reading {} comes after {} in reading {}",
                    reading.target, reading.row, before.target, before.row
                ),
            )
            .given(format!("{} after {}", reading.target, before.target))
            .wanted("the points from the lowest to the highest, in the order of recording")
            .remedy("rows stand in the order of the work; if the work went that way, measure the direction again from its lowest point"),
        );
    }
    found
}
