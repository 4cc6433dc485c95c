//! Zones, priors and floors in words.

use leverarm_metrology::decision::Zone;
use leverarm_metrology::finding::joined;
use leverarm_metrology::floor::{Floor, FloorCause, Height};
use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::rounding::{RoundingError, round_figures};
use leverarm_metrology::run::{PriorStatement, StatedPrior};

/// Where a deviation lies, in words.
#[must_use]
pub const fn zone_words(zone: Zone) -> &'static str {
    match zone {
        Zone::Accepted => "within the acceptance limits",
        Zone::GuardBand => "in the guard band: conformity not shown",
        Zone::Outside => "outside the limits",
    }
}

/// A stated prior in one sentence.
#[must_use]
pub fn prior_words(prior: &StatedPrior) -> String {
    let what = match prior.statement {
        PriorStatement::InTolerance(share) => {
            format!("deviations of such tools are normal and centred, {share} of them within the limits")
        }
        PriorStatement::Normal { mean, standard_deviation } => format!(
            "deviations of such tools are normal, with mean {mean} and standard deviation {standard_deviation}"
        ),
    };
    format!("{what} ({})", prior.source)
}

/// The floor in one short sentence, in a unit: for the terminal.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn floor_words(floor: &Floor, unit: TorqueUnit) -> Result<String, RoundingError> {
    let cause = floor.binding.map_or("", |cause| cause.words());
    Ok(match floor.height {
        Height::BelowRange => {
            "Deviation apart, it could be shown to hold the limit over its whole range.".to_owned()
        }
        Height::From(torque) => format!(
            "Deviation apart, it could be shown to hold the limit from {} {unit} on, not below: {cause}.",
            round_figures(torque.in_unit(unit), 3)?
        ),
        Height::AboveRange => {
            format!("Deviation apart, it could nowhere in its range be shown to hold the limit: {cause}.")
        }
    })
}

/// The floor in one sentence, naming what is to be held: for paper. It speaks of any tool that steps
/// and scatters like this one, whatever its deviation, so that it never contradicts a verdict.
///
/// # Errors
/// [`RoundingError`] when the number has no printable digits.
pub fn floor_sentence(floor: &Floor, unit: TorqueUnit, held: &str) -> Result<String, RoundingError> {
    let names: Vec<&str> = floor.parts.iter().map(|part| floor_name(part.cause)).collect();
    let names = joined(&names, "and");
    let cause = floor.binding.map_or("", |cause| cause.words());
    let tool = format!("Apart from its deviation, a tool with this {names} could");
    Ok(match floor.height {
        Height::BelowRange => format!("{tool} be shown to hold {held} over the whole range."),
        Height::From(torque) => format!(
            "{tool} be shown to hold {held} from {}\u{a0}{unit} on; below, {cause} does not allow it.",
            round_figures(torque.in_unit(unit), 3)?
        ),
        Height::AboveRange => {
            format!("{tool} nowhere in the range be shown to hold {held}: {cause} does not allow it.")
        }
    })
}

const fn floor_name(cause: FloorCause) -> &'static str {
    match cause {
        FloorCause::Step => "step",
        FloorCause::Scatter => "scatter",
        FloorCause::Reference => "reference",
        FloorCause::GuardBand => "guard band",
    }
}
