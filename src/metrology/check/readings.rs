//! Checks of single readings: values that can be, targets in range, directions, reasons of voids.

use super::Rule;
use super::bench::{Bench, Group};
use super::tool::has_sound_range;
use super::words::{blank, either, figures, list, rows, torque};
use crate::finding::{Check, Finding, Place, Severity};
use crate::quantity::{Torque, TorqueUnit};
use crate::reading::{Direction, Reading, Recorded, Status};

static NOT_POSITIVE: Check = Check {
    name: "reading-not-positive",
    severity: Severity::Error,
    about: "Every valid reading has torques above zero, in both directions.",
    source: "leverarm",
};
static IMPLAUSIBLE: Check = Check {
    name: "reading-implausible",
    severity: Severity::Error,
    about: "No valid reading is so far from its target that a slip of the unit or of the decimal sign is likelier, unless its note says that the tool really did this.",
    source: "common practice, no published source",
};
static TARGET: Check = Check {
    name: "target-outside-range",
    severity: Severity::Error,
    about: "Every target lies within the range of the tool.",
    source: "leverarm",
};
static DIRECTION: Check = Check {
    name: "reading-direction",
    severity: Severity::Error,
    about: "Readings are in a direction that the tool declares.",
    source: "leverarm",
};
static VOID: Check = Check {
    name: "void-without-reason",
    severity: Severity::Error,
    about: "A reading that was struck out has its reason in the note.",
    source: "ISO/IEC 17025:2017, 7.5.2",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &NOT_POSITIVE, look: not_positive },
    Rule { check: &IMPLAUSIBLE, look: implausible },
    Rule { check: &TARGET, look: target },
    Rule { check: &DIRECTION, look: direction },
    Rule { check: &VOID, look: void },
];

/// The two torques of a row, by the names of their columns.
type Column = (&'static str, &'static str, fn(&Reading) -> Recorded);
const COLUMNS: [Column; 2] =
    [("indicated", "tool", |r| r.indicated), ("reference", "reference", |r| r.reference)];

/// Whether both torques of a reading can be taken at their word. Other checks leave out a reading
/// that cannot, so that one slip is not reported under five names.
pub(super) fn is_credible(reading: &Reading) -> bool {
    COLUMNS.iter().all(|(_, _, value)| {
        let value = value(reading);
        value.torque() > Torque::ZERO && !is_far(reading, value)
    })
}

/// More than a third away from the target; or more than a fifth, and then within a twentieth of it
/// in another unit, as pound-force feet are that were written as newton metres.
fn is_far(reading: &Reading, value: Recorded) -> bool {
    let target = reading.target.torque();
    if target <= Torque::ZERO || !blank(&reading.note) {
        return false;
    }
    let off = (value.torque().newton_metres() / target.newton_metres() - 1.0).abs();
    off > 1.0 / 3.0 || (off > 0.2 && fitting_unit(value, target, 0.05).is_some())
}

/// The unit in which the number would come nearest to the target, within a tolerance.
fn fitting_unit(value: Recorded, target: Torque, within: f64) -> Option<TorqueUnit> {
    let off = |unit: TorqueUnit| {
        (Torque::new(value.value(), unit).newton_metres() / target.newton_metres() - 1.0).abs()
    };
    TorqueUnit::ALL
        .into_iter()
        .filter(|unit| *unit != value.unit() && off(*unit) <= within)
        .min_by(|a, b| off(*a).total_cmp(&off(*b)))
}

fn slips(value: Recorded, target: Torque) -> String {
    let mut fits = Vec::new();
    if let Some(unit) = fitting_unit(value, target, 0.1) {
        fits.push(format!("{} {unit}", value.digits()));
    }
    for shift in [10.0, 100.0, 1000.0] {
        for factor in [shift, 1.0 / shift] {
            let moved = value.value() * factor;
            let off = (Torque::new(moved, value.unit()).newton_metres() / target.newton_metres() - 1.0).abs();
            if off <= 0.1 {
                fits.push(format!("{} {}", figures(moved), value.unit()));
            }
        }
    }
    if fits.is_empty() { String::new() } else { format!("; {} would fit", either(&fits)) }
}

fn not_positive(bench: &Bench) -> Vec<Finding> {
    let mut found = Vec::new();
    for group in bench.measured() {
        for (column, whose, value) in COLUMNS {
            let wrong: Vec<&Reading> =
                group.valid.iter().copied().filter(|r| value(r).torque() <= Torque::ZERO).collect();
            let Some(first) = wrong.first() else { continue };
            found.push(
                Finding::new(
                    &NOT_POSITIVE,
                    Place::row(first.row, column),
                    format!("{}, {}: the value of the {whose} is {}", group.name(), rows(&wrong), value(first)),
                )
                .given(value(first).to_string())
                .wanted("a torque above zero")
                .remedy("write magnitudes in both directions: the direction has its own column; a reading that went wrong is voided with its reason"),
            );
        }
    }
    found
}

fn implausible(bench: &Bench) -> Vec<Finding> {
    let mut found = Vec::new();
    for group in bench.measured() {
        for (column, whose, value) in COLUMNS {
            let far: Vec<&Reading> = group
                .valid
                .iter()
                .copied()
                .filter(|r| value(r).torque() > Torque::ZERO && is_far(r, value(r)))
                .collect();
            let Some(first) = far.first() else { continue };
            let (given, target) = (value(first), group.target.torque());
            found.push(
                Finding::new(
                    &IMPLAUSIBLE,
                    Place::row(first.row, column),
                    format!(
                        "{}, {}: the value of the {whose} is {given}, {} % of the target{}",
                        group.name(),
                        rows(&far),
                        figures(given.torque().percent_of(target).value()),
                        slips(given, target)
                    ),
                )
                .given(given.to_string())
                .wanted(format!("about {}", group.target))
                .remedy("mend the unit or the digits from the original record; if the tool really did this, say so in the row's note; if the reading went wrong, void it with its reason"),
            );
        }
    }
    found
}

fn target(bench: &Bench) -> Vec<Finding> {
    if !has_sound_range(bench) {
        return vec![];
    }
    let tool = &bench.run.tool;
    let range = &tool.range;
    // Scales in two units print rounded ends: what the rulebook takes for a test point is inside.
    let is_point = |target| {
        let row = bench.rulebook.points_for(tool.class);
        row.is_some_and(|row| row.points.iter().any(|point| row.accepts(*point, tool, target)))
    };
    bench
        .measured()
        .filter(|group| !range.contains(group.target.torque()) && !is_point(group.target.torque()))
        .map(|group| {
            let unit = group.target.unit();
            Finding::new(
                &TARGET,
                Place::row(group.first_row(), "target"),
                format!(
                    "{}, {}: the target is outside the tool's range of {range}",
                    group.name(),
                    rows(&group.all)
                ),
            )
            .given(group.target.to_string())
            .wanted(format!(
                "{} to {}",
                torque(range.lower.torque(), unit),
                torque(range.upper.torque(), unit)
            ))
            .remedy("mend the target or the range; a tool is calibrated only where its maker lets it be used")
        })
        .collect()
}

fn direction(bench: &Bench) -> Vec<Finding> {
    let declared: Vec<String> = bench.directions().map(|d| d.to_string()).collect();
    let declared = if declared.is_empty() { "no direction".to_owned() } else { list(&declared) };
    [Direction::Clockwise, Direction::CounterClockwise]
        .into_iter()
        .filter(|direction| !bench.run.tool.directions.contains(direction))
        .filter_map(|direction| {
            let readings: Vec<&Reading> =
                bench.run.readings.iter().filter(|r| r.direction == direction).collect();
            let first = readings.first()?;
            Some(
                Finding::new(
                    &DIRECTION,
                    Place::row(first.row, "direction"),
                    format!("{}: {direction}, and the tool declares {declared}", rows(&readings)),
                )
                .given(direction.word())
                .wanted(declared.clone())
                .remedy("mend the column direction, or add the direction to tool.direction"),
            )
        })
        .collect()
}

fn is_unexplained(reading: &Reading) -> bool {
    matches!(&reading.status, Status::Void { reason } if blank(reason))
}

fn void(bench: &Bench) -> Vec<Finding> {
    let finding = |group: &Group| {
        let silent: Vec<&Reading> = group.all.iter().copied().filter(|r| is_unexplained(r)).collect();
        let first = silent.first()?;
        Some(
            Finding::new(
                &VOID,
                Place::row(first.row, "note"),
                format!("{}, {}: struck out without a reason", group.name(), rows(&silent)),
            )
            .given("void, and no reason")
            .wanted("the reason in the column note")
            .remedy("write what went wrong at the bench; a value that merely looks bad is no reason"),
        )
    };
    bench.groups.iter().filter_map(finding).collect()
}
