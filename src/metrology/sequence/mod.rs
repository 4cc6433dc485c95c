//! The sequence of the work: what is to be done at the bench for one tool under one rulebook, in
//! order, so that the record passes every check of points, preloads, counts and variations. The bench
//! sheet prints it; a guided session follows it.

mod targets;
#[cfg(test)]
mod tests;
mod window;

use schemars::JsonSchema;
use serde::Serialize;
use thiserror::Error;

use crate::budget::Variation;
use crate::decision::Sides;
use crate::quantity::TorqueUnit;
use crate::reading::{Direction, Recorded, Series};
use crate::rulebook::{LimitError, PointsRow, Rulebook, VariationPlan};
use crate::study::TypeStudy;
use crate::tool::{Tool, ToolClass};

use targets::Target;
pub use window::Window;

/// One step of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// what is done
    pub action: Action,
    /// what to mind and to acknowledge before it
    pub cautions: Vec<String>,
}

/// What is done in a step.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// Temperature and humidity are written down.
    Environment(Moment),
    /// Readings are taken.
    Readings(Readings),
}

/// When the surroundings are written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Moment {
    /// before the first reading
    Start,
    /// after the last one
    End,
}

/// Readings of one series, direction, target and position.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// the series
    pub series: Series,
    /// the position as `readings.csv` names it; empty where there is one only
    pub position: String,
    /// the sense of rotation
    pub direction: Direction,
    /// the torque, in the unit of the tool's range
    pub target: Recorded,
    /// how many valid readings
    pub count: u32,
    /// how long each pull may last from 80 % to 100 % of the target
    pub pull: Option<PullTime>,
    /// what the reference torque may be when the tool is set to the target or shows it; none for
    /// preload and zero, which are not compared
    pub window: Option<Window>,
    /// how the position is made, or why the target is not the rulebook's point
    pub how: Option<String>,
}

/// The time of a pull from 80 % to 100 % of the target, in seconds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct PullTime {
    /// at least
    pub seconds_min: f64,
    /// at most, where the rulebook says so
    pub seconds_max: Option<f64>,
}

/// Why there is no sequence.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SequenceError {
    /// The rulebook has no test points for the class.
    #[error("rulebook {rulebook} has no test points for class {class}")]
    NoPoints {
        /// the class of the tool
        class: ToolClass,
        /// the rulebook's name
        rulebook: String,
    },
    /// The rulebook has no limit for the tool, or its claim is none.
    #[error(transparent)]
    Limit(#[from] LimitError),
    /// The range is empty, or does not lie above zero.
    #[error("the range {lower} .. {upper} is not one that a tool can have")]
    Range {
        /// its lower end
        lower: Recorded,
        /// its upper end
        upper: Recorded,
    },
    /// No direction was asked for.
    #[error("the tool is to be calibrated in no direction")]
    NoDirection,
    /// A test point that cannot be written in decimal digits.
    #[error("a test point of {value} {unit} cannot be written in decimal digits")]
    Target {
        /// its value
        value: f64,
        /// the unit of the range
        unit: TorqueUnit,
    },
}

impl SequenceError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            SequenceError::NoPoints { .. } => "choose a rulebook that covers this class, or mend tool.kind",
            SequenceError::Limit(error) => error.remedy(),
            SequenceError::Range { .. } => {
                "mend tool.range: from the lowest torque above zero to the highest, such as 40 N·m .. 200 N·m"
            }
            SequenceError::NoDirection => "write direction = \"clockwise\" or \"both\" in [tool]",
            SequenceError::Target { .. } => "see whether tool.range is in the right unit",
        }
    }
}

/// The work on a tool under a rulebook. A study stands in for the variations that it covers.
///
/// # Errors
/// [`SequenceError`] when the rulebook does not cover the tool, or its range is unsound.
pub fn sequence(
    tool: &Tool,
    rulebook: &Rulebook,
    study: Option<&TypeStudy>,
) -> Result<Vec<Step>, SequenceError> {
    sequence_on(tool, rulebook, study, Sides::Both)
}

/// The same where the permissible deviation limits on one side only.
///
/// # Errors
/// As [`sequence`].
pub fn sequence_on(
    tool: &Tool,
    rulebook: &Rulebook,
    study: Option<&TypeStudy>,
    sides: Sides,
) -> Result<Vec<Step>, SequenceError> {
    let plan = Plan::new(tool, rulebook, study, sides)?;
    let mut steps = vec![Step::plain(Action::Environment(Moment::Start))];
    for direction in Direction::both().filter(|direction| tool.directions.contains(direction)) {
        plan.direction(direction, &mut steps);
    }
    if steps.len() == 1 {
        return Err(SequenceError::NoDirection);
    }
    steps.push(Step::plain(Action::Environment(Moment::End)));
    Ok(steps)
}

impl Step {
    fn plain(action: Action) -> Step {
        Step { action, cautions: Vec::new() }
    }

    /// The readings of the step, where it has any.
    #[must_use]
    pub fn readings(&self) -> Option<&Readings> {
        match &self.action {
            Action::Readings(readings) => Some(readings),
            Action::Environment(_) => None,
        }
    }
}

impl Direction {
    /// Both, in the order of the work.
    fn both() -> impl Iterator<Item = Direction> {
        [Direction::Clockwise, Direction::CounterClockwise].into_iter()
    }
}

/// What the steps of each direction are made from.
struct Plan<'a> {
    tool: &'a Tool,
    rulebook: &'a Rulebook,
    row: &'a PointsRow,
    targets: Vec<Target>,
    zero: Recorded,
    pull: Option<PullTime>,
    permissible: crate::quantity::Percent,
    sides: Sides,
    variations: Vec<&'a VariationPlan>,
}

impl<'a> Plan<'a> {
    fn new(
        tool: &'a Tool,
        rulebook: &'a Rulebook,
        study: Option<&TypeStudy>,
        sides: Sides,
    ) -> Result<Plan<'a>, SequenceError> {
        let (lower, upper) = (tool.range.lower, tool.range.upper);
        let (low, high) = (lower.torque().newton_metres(), upper.torque().newton_metres());
        let is_sound = low > 0.0 && high.is_finite() && high >= low;
        if !is_sound || tool.class.is_fixed() != lower.torque().same_as(upper.torque()) {
            return Err(SequenceError::Range { lower, upper });
        }
        let row = rulebook
            .points_for(tool.class)
            .ok_or_else(|| SequenceError::NoPoints { class: tool.class, rulebook: rulebook.name.clone() })?;
        let unit = upper.unit();
        let pull = rulebook
            .pull_for(tool.class, upper.torque())
            .map(|row| PullTime { seconds_min: row.seconds_min, seconds_max: row.seconds_max });
        Ok(Plan {
            tool,
            rulebook,
            row,
            targets: targets::targets(tool, row)?,
            zero: Recorded::new("0", unit).map_err(|_| SequenceError::Target { value: 0.0, unit })?,
            pull,
            permissible: rulebook.governing_limit(tool)?.permissible,
            sides,
            variations: Variation::ALL
                .into_iter()
                .filter_map(|variation| rulebook.variation_plan(variation, tool.class))
                .filter(|plan| !study.is_some_and(|s| stands_in(s, tool, rulebook, plan.variation)))
                .collect(),
        })
    }

    fn direction(&self, direction: Direction, steps: &mut Vec<Step>) {
        let mut add = |readings: Readings, cautions: Vec<String>| {
            steps.push(Step { action: Action::Readings(readings), cautions });
        };
        if let Some(row) = self.rulebook.preload_for(self.tool.class).filter(|row| row.count > 0) {
            let preload = self.unjudged(Series::Preload, direction, self.tool.range.upper, row.count);
            add(preload, self.rulebook.cautions.clone());
        }
        add(self.unjudged(Series::Zero, direction, self.zero, 1), vec![]);
        for target in &self.targets {
            add(
                Readings {
                    how: target.remark.clone(),
                    ..self.judged(Series::Points, direction, target.at, self.row.readings)
                },
                vec![],
            );
        }
        add(self.unjudged(Series::Zero, direction, self.zero, 1), vec![]);
        let Some(lowest) = self.targets.first() else { return };
        for plan in &self.variations {
            for (position, how) in positions(plan, self.tool) {
                let readings = self.judged(series(plan.variation), direction, lowest.at, plan.readings);
                add(Readings { position, how: Some(how), ..readings }, vec![]);
            }
        }
    }

    fn unjudged(&self, series: Series, direction: Direction, target: Recorded, count: u32) -> Readings {
        let position = String::new();
        Readings { series, position, direction, target, count, pull: None, window: None, how: None }
    }

    fn judged(&self, series: Series, direction: Direction, target: Recorded, count: u32) -> Readings {
        let definition = &self.rulebook.deviation.value;
        Readings {
            pull: self.pull,
            window: Window::of(target.torque(), self.permissible, definition, self.sides),
            ..self.unjudged(series, direction, target, count)
        }
    }
}

/// Whether a study may stand in for a measurement, as the checks ask: the rulebook allows it, it rests
/// on enough tools, it is of this model and has the width.
fn stands_in(study: &TypeStudy, tool: &Tool, rulebook: &Rulebook, variation: Variation) -> bool {
    let least = rulebook.budget.as_ref().and_then(|plan| plan.study_tools_min.as_ref());
    least.is_some_and(|least| study.tools >= least.value)
        && study.is_of(tool)
        && study.width(variation).is_some_and(|width| (0.0..100.0).contains(&width.value()))
}

const fn series(variation: Variation) -> Series {
    match variation {
        Variation::Reproducibility => Series::Reproducibility,
        Variation::Drive => Series::Drive,
        Variation::Interface => Series::Interface,
        Variation::LoadingPoint => Series::Grip,
    }
}

/// The positions of a variation with their names and how each is made (ISO 6789-2:2017, 6.2, from
/// memory: angles 90° apart, for a hexagon 60°; 10 mm on each side of the mark on the grip).
fn positions(plan: &VariationPlan, tool: &Tool) -> Vec<(String, String)> {
    let count = plan.positions;
    let is_hexagon = tool.drive.as_ref().is_some_and(|drive| drive.to_lowercase().contains("hex"));
    let angle = |i: u32, step: u32| match count.saturating_mul(step) {
        0..=360 => i.saturating_mul(step),
        _ => i.saturating_mul(360) / count.max(1),
    };
    (0..count)
        .map(|i| match plan.variation {
            Variation::Reproducibility => {
                (format!("{}", i + 1), "tool taken off and put back before these readings".to_owned())
            }
            Variation::Drive => {
                let degrees = angle(i, if is_hexagon { 60 } else { 90 });
                (degrees.to_string(), format!("output drive turned to {degrees}°"))
            }
            Variation::Interface => {
                let degrees = angle(i, 90);
                (degrees.to_string(), format!("adaptor of the device turned to {degrees}°"))
            }
            Variation::LoadingPoint => loading_point(i, count),
        })
        .collect()
}

fn loading_point(i: u32, count: u32) -> (String, String) {
    let named = |name: &str, how: &str| (name.to_owned(), how.to_owned());
    match (count, i) {
        (2 | 3, 0) => named("inside", "hand 10 mm inside the mark on the grip"),
        (2, 1) | (3, 2) => named("outside", "hand 10 mm outside the mark on the grip"),
        (3, 1) => named("mark", "hand at the mark on the grip"),
        _ => (format!("{}", i + 1), format!("hand at place {} of {count} on the grip", i + 1)),
    }
}
