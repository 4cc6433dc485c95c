//! Checks of the loadings before the readings.

use super::Rule;
use super::bench::Bench;
use super::tool::has_sound_range;
use super::words::{clause, counted, rows};
use crate::finding::{Check, Document, Finding, Place, Severity};
use crate::reading::{Direction, Reading, Series};
use crate::rulebook::PreloadRow;

static TOO_FEW: Check = Check {
    name: "preloads-too-few",
    severity: Severity::Gap,
    about: "The tool was preloaded in each direction as often as the rulebook asks.",
    source: "the rulebook's preloads",
};
static LATE: Check = Check {
    name: "preloads-late",
    severity: Severity::Gap,
    about: "The preloads of a direction came before its readings.",
    source: "the rulebook's preloads",
};
static NOT_AT_MAXIMUM: Check = Check {
    name: "preloads-not-at-maximum",
    severity: Severity::Gap,
    about: "The preloads were made at the maximum of the tool, neither below nor above it.",
    source: "the rulebook's preloads",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &TOO_FEW, look: too_few },
    Rule { check: &LATE, look: late },
    Rule { check: &NOT_AT_MAXIMUM, look: not_at_maximum },
];

/// How far the target of a preload may lie from the maximum: scales in two units print rounded ends.
const NEAR: f64 = 0.01;

struct Preloads<'a> {
    row: &'a PreloadRow,
    direction: Direction,
    /// the valid ones with their place in the record
    made: Vec<(usize, &'a Reading)>,
    /// place in the record of the first reading at a test point of the direction
    first_reading: Option<(usize, &'a Reading)>,
}

impl Preloads<'_> {
    fn wanted(&self) -> usize {
        self.row.count as usize
    }

    fn in_time(&self) -> usize {
        let before = |place: usize| self.first_reading.is_none_or(|(first, _)| place < first);
        self.made.iter().filter(|(place, _)| before(*place)).count()
    }
}

/// The preloads of each direction that has readings at test points.
fn preloads<'a>(bench: &Bench<'a>) -> Vec<Preloads<'a>> {
    let Some(row) = bench.rulebook.preload_for(bench.run.tool.class) else { return vec![] };
    let of = |direction| Preloads {
        row,
        direction,
        made: bench.recorded(Series::Preload, direction).filter(|(_, r)| r.is_valid()).collect(),
        first_reading: bench.recorded(Series::Points, direction).next(),
    };
    bench.run.directions().into_iter().map(of).collect()
}

fn too_few(bench: &Bench) -> Vec<Finding> {
    preloads(bench)
        .into_iter()
        .filter(|p| p.made.len() < p.wanted())
        .map(|p| {
            let place = match p.made.first() {
                Some((_, first)) => Place::row(first.row, "series"),
                None => Place::Whole(Document::Readings),
            };
            let (made, wanted) = (counted(p.made.len(), "preload"), p.wanted());
            Finding::new(&TOO_FEW, place, format!("{made} {}, and {wanted} at the maximum are asked", p.direction))
                .given(made)
                .wanted(counted(wanted, "preload"))
                .remedy("preload the tool and measure this direction again; preloads that were made and not written down cannot be shown")
                .clause(clause(&p.row.from))
        })
        .collect()
}

fn late(bench: &Bench) -> Vec<Finding> {
    preloads(bench)
        .into_iter()
        .filter(|p| p.made.len() >= p.wanted() && p.in_time() < p.wanted())
        .filter_map(|p| {
            let (first, in_time, wanted) = (p.first_reading?.1, p.in_time(), p.wanted());
            Some(
                Finding::new(
                    &LATE,
                    Place::row(first.row, "series"),
                    format!(
                        "{}: the readings start with reading {} after {}, and {wanted} are asked before them",
                        p.direction,
                        first.row,
                        counted(in_time, "preload")
                    ),
                )
                .given(format!("{} before the readings", counted(in_time, "preload")))
                .wanted(format!("{} before the readings", counted(wanted, "preload")))
                .remedy("rows stand in the order of the work; if the work went that way, preload and measure this direction again")
                .clause(clause(&p.row.from)),
            )
        })
        .collect()
}

fn not_at_maximum(bench: &Bench) -> Vec<Finding> {
    let upper = bench.run.tool.range.upper;
    let maximum = upper.torque().newton_metres();
    let is_off = |r: &Reading| (r.target.torque().newton_metres() - maximum).abs() > NEAR * maximum.abs();
    preloads(bench)
        .into_iter()
        .filter(|_| has_sound_range(bench))
        .filter_map(|p| {
            let off: Vec<&Reading> = p.made.iter().map(|(_, r)| *r).filter(|r| is_off(r)).collect();
            let first = off.first()?;
            Some(
                Finding::new(
                    &NOT_AT_MAXIMUM,
                    Place::row(first.row, "target"),
                    format!(
                        "{}, {}: preload at {}, and the maximum of the tool is {upper}",
                        p.direction,
                        rows(&off),
                        first.target
                    ),
                )
                .given(first.target.to_string())
                .wanted(upper.to_string())
                .remedy(
                    "preload at the maximum of the tool, never above it, and measure this direction again",
                )
                .clause(clause(&p.row.from)),
            )
        })
        .collect()
}
