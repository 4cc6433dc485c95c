//! Checks of the series from which reproducibility and the effects of drive, interface and loading
//! point are found.

use super::Rule;
use super::bench::{Bench, Group};
use super::words::{clause, counted, list, rows, torque};
use crate::budget::Variation;
use crate::finding::{Check, Document, Finding, Place, Severity};
use crate::reading::{Direction, Reading, Series};
use crate::rulebook::VariationPlan;

static MISSING: Check = Check {
    name: "variation-missing",
    severity: Severity::Gap,
    about: "Every variation that the budget asks was measured, or a type study has it.",
    source: "ISO 6789-2:2017, 6.2 (from memory)",
};
static POSITIONS: Check = Check {
    name: "variation-positions",
    severity: Severity::Gap,
    about: "Each variation was measured in as many sequences or positions as the rulebook asks, each with its name.",
    source: "ISO 6789-2:2017, 6.2 (from memory)",
};
static READINGS: Check = Check {
    name: "variation-readings",
    severity: Severity::Gap,
    about: "Each sequence or position of a variation has as many valid readings as the rulebook asks.",
    source: "ISO 6789-2:2017, 6.2 (from memory)",
};
static LOWEST: Check = Check {
    name: "variation-not-at-lowest-point",
    severity: Severity::Gap,
    about: "Each variation was measured at the lowest test point.",
    source: "ISO 6789-2:2017, 6.2 (from memory)",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &MISSING, look: missing },
    Rule { check: &POSITIONS, look: positions },
    Rule { check: &READINGS, look: readings },
    Rule { check: &LOWEST, look: lowest },
];

pub(super) const fn series(variation: Variation) -> Series {
    match variation {
        Variation::Reproducibility => Series::Reproducibility,
        Variation::Drive => Series::Drive,
        Variation::Interface => Series::Interface,
        Variation::LoadingPoint => Series::Grip,
    }
}

/// The variations that the rulebook asks for this tool.
pub(super) fn plans<'a>(bench: &Bench<'a>) -> Vec<&'a VariationPlan> {
    let (rulebook, class) = (bench.rulebook, bench.run.tool.class);
    Variation::ALL.into_iter().filter_map(|v| rulebook.variation_plan(v, class)).collect()
}

/// Whether there is a valid reading of a variation.
pub(super) fn was_measured(bench: &Bench, variation: Variation) -> bool {
    bench.of(series(variation)).any(|group| !group.valid.is_empty())
}

/// Valid readings of one sequence or position.
struct Position<'a> {
    name: &'a str,
    readings: Vec<&'a Reading>,
}

/// One variation in one direction, by position in the order of recording.
struct Measured<'a> {
    plan: &'a VariationPlan,
    direction: Direction,
    positions: Vec<Position<'a>>,
}

impl Measured<'_> {
    fn name(&self) -> String {
        format!("{} {}", self.plan.variation.words(), self.direction)
    }

    fn first_row(&self) -> u32 {
        self.positions.first().and_then(|p| p.readings.first()).map_or(0, |r| r.row)
    }
}

fn measured<'a>(bench: &Bench<'a>) -> Vec<Measured<'a>> {
    let mut found = Vec::new();
    for plan in plans(bench) {
        for direction in [Direction::Clockwise, Direction::CounterClockwise] {
            let mut positions: Vec<Position> = Vec::new();
            for reading in bench.run.valid(series(plan.variation), direction) {
                let name = reading.position.trim();
                match positions.iter_mut().find(|position| position.name == name) {
                    Some(position) => position.readings.push(reading),
                    None => positions.push(Position { name, readings: vec![reading] }),
                }
            }
            if !positions.is_empty() {
                found.push(Measured { plan, direction, positions });
            }
        }
    }
    found
}

fn missing(bench: &Bench) -> Vec<Finding> {
    let study = bench.run.study.as_ref();
    plans(bench)
        .into_iter()
        .filter(|plan| !was_measured(bench, plan.variation))
        .filter(|plan| study.and_then(|study| study.width(plan.variation)).is_none())
        .map(|plan| {
            let (word, what) = (series(plan.variation).word(), plan.variation.words());
            let aside =
                study.map_or_else(String::new, |study| format!(", nor does study {} have it", study.id));
            Finding::new(
                &MISSING,
                Place::Whole(Document::Readings),
                format!("the budget asks for {what}, and there is no series {word}{aside}"),
            )
            .given(format!("no series {word}"))
            .wanted(wanted(plan))
            .remedy(format!(
                "measure the series {word} at the lowest point, or name a type study of the model that has it"
            ))
            .clause(clause(&plan.from))
        })
        .collect()
}

fn wanted(plan: &VariationPlan) -> String {
    format!(
        "{} of {}",
        counted(plan.positions as usize, "position"),
        counted(plan.readings as usize, "reading")
    )
}

fn positions(bench: &Bench) -> Vec<Finding> {
    measured(bench)
        .into_iter()
        .filter(|m| m.positions.len() < m.plan.positions as usize)
        .map(|m| {
            let names: Vec<String> =
                m.positions.iter().map(|p| if p.name.is_empty() { "without a name".to_owned() } else { p.name.to_owned() }).collect();
            let given = format!("{} ({})", counted(names.len(), "position"), list(&names));
            Finding::new(
                &POSITIONS,
                Place::row(m.first_row(), "position"),
                format!("{}: {given}, and {} are asked", m.name(), m.plan.positions),
            )
            .given(given)
            .wanted(wanted(m.plan))
            .remedy("name each sequence, angle or place of the hand in the column position, and measure those that are missing")
            .clause(clause(&m.plan.from))
        })
        .collect()
}

fn readings(bench: &Bench) -> Vec<Finding> {
    let mut found = Vec::new();
    for m in measured(bench) {
        let asked = m.plan.readings as usize;
        let short: Vec<&Position> = m.positions.iter().filter(|p| p.readings.len() < asked).collect();
        let Some(first) = short.first().and_then(|p| p.readings.first()) else { continue };
        let each: Vec<String> = short
            .iter()
            .map(|p| {
                let name = if p.name.is_empty() { "without a name" } else { p.name };
                format!("{} in position {name}", counted(p.readings.len(), "reading"))
            })
            .collect();
        found.push(
            Finding::new(
                &READINGS,
                Place::row(first.row, "position"),
                format!("{}: {}, and {asked} in each are asked", m.name(), list(&each)),
            )
            .given(list(&each))
            .wanted(wanted(m.plan))
            .remedy("take the missing readings in the same position")
            .clause(clause(&m.plan.from)),
        );
    }
    found
}

/// The lowest test point of a direction, or of the other one where it has none.
fn lowest_of<'a, 'b>(bench: &'b Bench<'a>, direction: Direction) -> Option<&'b Group<'a>> {
    let rising = |a: &&Group, b: &&Group| {
        a.target.torque().newton_metres().total_cmp(&b.target.torque().newton_metres())
    };
    let own = bench.of(Series::Points).filter(|g| g.direction == direction).min_by(rising);
    own.or_else(|| bench.of(Series::Points).min_by(rising))
}

fn lowest(bench: &Bench) -> Vec<Finding> {
    let mut found = Vec::new();
    for m in measured(bench) {
        let Some(lowest) = lowest_of(bench, m.direction) else { continue };
        let off: Vec<&Reading> = m
            .positions
            .iter()
            .flat_map(|p| p.readings.iter().copied())
            .filter(|r| !r.target.torque().same_as(lowest.target.torque()))
            .collect();
        let Some(first) = off.first() else { continue };
        let unit = first.target.unit();
        found.push(
            Finding::new(
                &LOWEST,
                Place::row(first.row, "target"),
                format!(
                    "{}, {}: measured at {}, and the lowest test point is {}",
                    m.name(),
                    rows(&off),
                    first.target,
                    lowest.target
                ),
            )
            .given(first.target.to_string())
            .wanted(torque(lowest.target.torque(), unit))
            .remedy("measure the series at the lowest point; if the target is a slip, mend it")
            .clause(clause(&m.plan.from)),
        );
    }
    found
}
