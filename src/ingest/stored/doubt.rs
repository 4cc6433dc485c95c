//! Why a pairing is refused: with the numbers of both sides, and where they stand.

use std::fmt;

use leverarm_metrology::reading::Direction;
use serde::Serialize;
use thiserror::Error;

use super::table::CellPlace;

/// A reading of the bench, as a doubt names it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchSide {
    /// the number of the reading
    pub reading: u32,
    /// its test point
    pub target: String,
    /// what the reference showed
    pub reference: String,
}

/// A stored value, as a doubt names it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToolSide {
    /// where it stands
    pub place: CellPlace,
    /// what the tool stored
    pub value: String,
}

impl fmt::Display for BenchSide {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "reading {} (reference {} at {})", self.reading, self.reference, self.target)
    }
}

impl fmt::Display for ToolSide {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} at {}", self.value, self.place)
    }
}

/// Why a pairing is not certain.
#[derive(Debug, Clone, PartialEq, Error, Serialize)]
#[serde(tag = "doubt", rename_all = "kebab-case")]
pub enum Doubt {
    /// Not as many stored values as readings.
    #[error(
        "{readings} readings{} wait for an indicated value, the tool stored {stored}; without a partner, most probably: {}",
        of(direction),
        partnerless(bench, tool)
    )]
    Count {
        /// the direction, where the tool tells it
        direction: Option<Direction>,
        /// the readings
        readings: usize,
        /// the stored values
        stored: usize,
        /// readings without a partner in the closest pairing
        bench: Vec<BenchSide>,
        /// stored values without a partner in the closest pairing
        tool: Vec<ToolSide>,
    },
    /// More than are paired.
    #[error("{readings} readings and {stored} stored values: at most {limit} are paired")]
    TooMany {
        /// the readings
        readings: usize,
        /// the stored values
        stored: usize,
        /// the most
        limit: usize,
    },
    /// A part fits better when it is moved.
    #[error(
        "from {bench} on the stored values fit better moved by {by}: there the row by order is {tool}, the better one {better}; misfit {cost:.1} by order, {cost_moved:.1} moved"
    )]
    Shift {
        /// by how many rows the better partner comes later
        by: i64,
        /// the first reading that is concerned
        bench: BenchSide,
        /// its partner by order
        tool: ToolSide,
        /// the partner that fits better
        better: ToolSide,
        /// misfit of the pairing by order
        cost: f64,
        /// misfit of the better one
        cost_moved: f64,
    },
    /// Two values that fit better exchanged.
    #[error(
        "two stored values seem to be exchanged: {first_bench} has {first_tool}, {second_bench} has {second_tool}; the reference differs by {reference_difference:+.3} N·m, the tool by {stored_difference:+.3} N·m, and the noise explains {noise:.3} N·m"
    )]
    Swap {
        /// the first reading
        first_bench: BenchSide,
        /// its partner
        first_tool: ToolSide,
        /// the second reading
        second_bench: BenchSide,
        /// its partner
        second_tool: ToolSide,
        /// the second reference reading less the first, N·m
        reference_difference: f64,
        /// the second stored value less the first, N·m
        stored_difference: f64,
        /// so much may be noise, N·m
        noise: f64,
    },
    /// A pair that cannot be one.
    #[error("{bench} and {tool} differ by {deviation_percent:+.1} %; a pair may differ by {limit_percent} %")]
    Implausible {
        /// the reading
        bench: BenchSide,
        /// its partner by order
        tool: ToolSide,
        /// their difference in percent of the reading
        deviation_percent: f64,
        /// the largest that a pair may have
        limit_percent: f64,
    },
    /// A pair that is far from the others of its test point.
    #[error(
        "{bench} and {tool} are {distance:+.3} N·m from the other pairs of that test point, {misfit:.1} times the noise; {limit} times are believed"
    )]
    Apart {
        /// the reading
        bench: BenchSide,
        /// its partner by order
        tool: ToolSide,
        /// distance from the middle of the others, N·m
        distance: f64,
        /// the same in units of the noise
        misfit: f64,
        /// the largest that is believed, in units of the noise
        limit: f64,
    },
    /// A pair whose times do not fit the others.
    #[error(
        "{bench} and {tool}: the clock of the tool is {difference_s:+.1} s from that of the bench, in the other pairs {common_s:+.1} s; {tolerance_s} s are allowed between them"
    )]
    Time {
        /// the reading
        bench: BenchSide,
        /// its partner by order
        tool: ToolSide,
        /// tool less bench in this pair, s
        difference_s: f64,
        /// tool less bench in the middle of all pairs, s
        common_s: f64,
        /// how far a pair may be from it, s
        tolerance_s: f64,
    },
    /// Another pairing is nearly as good.
    #[error(
        "moved by {by} the stored values{} fit nearly as well as by order (misfit {misfit_moved:.2} against {misfit:.2} of the noise): neither the values nor the times tell which pull is which; the first pair is {bench} with {tool}",
        of(direction)
    )]
    Ambiguous {
        /// the direction, where the tool tells it
        direction: Option<Direction>,
        /// by how many rows
        by: i64,
        /// the first reading
        bench: BenchSide,
        /// its partner by order
        tool: ToolSide,
        /// misfit by order, in units of the noise
        misfit: f64,
        /// misfit of the other pairing
        misfit_moved: f64,
    },
}

fn of(direction: &Option<Direction>) -> String {
    direction.map(|direction| format!(" ({direction})")).unwrap_or_default()
}

fn partnerless(bench: &[BenchSide], tool: &[ToolSide]) -> String {
    const SHOWN: usize = 6;
    let all: Vec<String> =
        bench.iter().map(ToString::to_string).chain(tool.iter().map(ToString::to_string)).collect();
    let mut words: Vec<String> = all.iter().take(SHOWN).cloned().collect();
    if all.len() > SHOWN {
        words.push(format!("{} more", all.len() - SHOWN));
    }
    if words.is_empty() { "none that stands out".to_owned() } else { words.join("; ") }
}

impl Doubt {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Doubt::Count { .. } => "pairing-count",
            Doubt::TooMany { .. } => "pairing-size",
            Doubt::Shift { .. } => "pairing-shift",
            Doubt::Swap { .. } => "pairing-swap",
            Doubt::Implausible { .. } => "pairing-implausible",
            Doubt::Apart { .. } => "pairing-apart",
            Doubt::Time { .. } => "pairing-time",
            Doubt::Ambiguous { .. } => "pairing-ambiguous",
        }
    }

    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Doubt::Count { .. } => {
                "take only the rows of this run (--rows FIRST-LAST); a pull that only one side knows is entered as void with its reason, never left out in silence"
            }
            Doubt::TooMany { .. } => "take only the rows of this run (--rows FIRST-LAST)",
            Doubt::Shift { .. } => {
                "see whether a pull was stored before the first reading or was not stored, and take the rows of this run (--rows FIRST-LAST)"
            }
            Doubt::Swap { .. } => {
                "see whether a table was sorted or a row was moved; where the tool itself scatters so much, write its noise into [pairing] noise_percent of the mapping, and the doubt is on record"
            }
            Doubt::Implausible { .. } => {
                "see whether rows, unit and columns are the right ones; a tool that is truly so far off needs [pairing] deviation_percent_max"
            }
            Doubt::Apart { .. } => {
                "see whether a pull is missing on both sides; where the tool itself scatters so much, write its noise into [pairing] noise_percent of the mapping"
            }
            Doubt::Time { .. } => {
                "see whether this pull was repeated, or the clock of one side was set meanwhile; a slow hand needs [pairing] time_tolerance_s"
            }
            Doubt::Ambiguous { .. } => {
                "give the tool's times out with its values and map their column; else type the indicated values"
            }
        }
    }
}
