//! What every check looks at: the run with its readings sorted into groups, the rulebook and the
//! reference.

use crate::quantity::{Percent, Torque};
use crate::reading::{Direction, Reading, Recorded, Series};
use crate::reference::Reference;
use crate::rulebook::Rulebook;
use crate::run::Run;

/// The run as the checks see it.
pub(super) struct Bench<'a> {
    pub run: &'a Run,
    pub rulebook: &'a Rulebook,
    pub reference: &'a Reference,
    /// readings of one series, direction and target, in the order of recording
    pub groups: Vec<Group<'a>>,
    /// the permissible deviation that governs; `None` where the rulebook has none for the tool
    pub limit: Option<Percent>,
}

/// Readings of one series, direction and target.
pub(super) struct Group<'a> {
    pub series: Series,
    pub direction: Direction,
    pub target: Recorded,
    /// voided ones too, in the order of recording; never empty
    pub all: Vec<&'a Reading>,
    pub valid: Vec<&'a Reading>,
}

impl Group<'_> {
    fn holds(&self, reading: &Reading) -> bool {
        self.series == reading.series
            && self.direction == reading.direction
            && self.target.torque().same_as(reading.target.torque())
    }

    /// `120 N·m clockwise`, with the series where it is not the one at the test points.
    pub(super) fn name(&self) -> String {
        match self.series {
            Series::Points => format!("{} {}", self.target, self.direction),
            other => format!("{} {}, series {other}", self.target, self.direction),
        }
    }

    /// The first row, valid or not.
    pub(super) fn first_row(&self) -> u32 {
        self.all.first().map_or(0, |r| r.row)
    }
}

impl<'a> Bench<'a> {
    pub(super) fn new(run: &'a Run, rulebook: &'a Rulebook, reference: &'a Reference) -> Bench<'a> {
        let mut groups: Vec<Group> = Vec::new();
        // Neighbouring rows are mostly of one group, so the last group is asked first.
        for reading in &run.readings {
            let known = groups.iter().rposition(|group| group.holds(reading));
            let at = known.unwrap_or_else(|| {
                groups.push(Group {
                    series: reading.series,
                    direction: reading.direction,
                    target: reading.target,
                    all: Vec::new(),
                    valid: Vec::new(),
                });
                groups.len() - 1
            });
            if let Some(group) = groups.get_mut(at) {
                group.all.push(reading);
                if reading.is_valid() {
                    group.valid.push(reading);
                }
            }
        }
        let limit = rulebook.governing_limit(&run.tool).ok().map(|governing| governing.permissible);
        let limit = limit.filter(|limit| limit.value() > 0.0 && limit.value().is_finite());
        Bench { run, rulebook, reference, groups, limit }
    }

    /// The groups of a series.
    pub(super) fn of(&self, series: Series) -> impl Iterator<Item = &Group<'a>> {
        self.groups.iter().filter(move |group| group.series == series)
    }

    /// The groups whose readings are compared with the reference: everything but preloads and zeros.
    pub(super) fn measured(&self) -> impl Iterator<Item = &Group<'a>> {
        self.groups.iter().filter(|group| !matches!(group.series, Series::Preload | Series::Zero))
    }

    /// The directions in which the tool was to be calibrated, each once.
    pub(super) fn directions(&self) -> impl Iterator<Item = Direction> {
        [Direction::Clockwise, Direction::CounterClockwise]
            .into_iter()
            .filter(|direction| self.run.tool.directions.contains(direction))
    }

    /// The readings of a series in a direction with their place in the record, voided ones too.
    pub(super) fn recorded(
        &self,
        series: Series,
        direction: Direction,
    ) -> impl Iterator<Item = (usize, &'a Reading)> {
        let run = self.run;
        run.readings.iter().enumerate().filter(move |(_, r)| r.series == series && r.direction == direction)
    }

    /// The deviation of a reading in percent as the rulebook defines it, the reference corrected;
    /// `None` where there is no finite one.
    pub(super) fn deviation(&self, reading: &Reading) -> Option<f64> {
        let at = self.reference.curve(reading.direction).ok()?.at(reading.reference.torque()).ok()?;
        self.rulebook.deviation.value.relative(reading.indicated.torque(), at.torque).map(Percent::value)
    }

    /// One step of the coarser of tool and reference: differences below it say nothing.
    pub(super) fn step(&self) -> Torque {
        let reference = self.reference.resolution.torque().abs();
        let tool = self.run.tool.resolution.map_or(Torque::ZERO, |r| r.torque().abs());
        // What a setting tool is set to does not change within a group, so its scale adds no step.
        match self.run.tool.class.acting() {
            crate::tool::Acting::Indicating if tool > reference => tool,
            _ => reference,
        }
    }
}
