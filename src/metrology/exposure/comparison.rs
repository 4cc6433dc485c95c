//! Two evaluations of one run, point by point.

use crate::decision::{Verdict, Zone};
use crate::evaluate::{Evaluation, PointResult};
use crate::quantity::Percent;
use crate::reading::{Direction, Recorded};

/// What became of a verdict, the gravest last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Change {
    /// it is the same
    Stands,
    /// conformity was not stated, and is now
    ToPass,
    /// a statement was made, and now neither it nor its opposite can be: the result lies within the
    /// guard band, or the rule lacks what it needs
    Undecided,
    /// the result now lies outside the limits
    ToFail,
}

impl Change {
    /// Every case.
    pub const ALL: [Change; 4] = [Change::Stands, Change::ToPass, Change::Undecided, Change::ToFail];

    /// Its name in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Change::Stands => "stands",
            Change::ToPass => "to-pass",
            Change::Undecided => "no-longer-decided",
            Change::ToFail => "to-fail",
        }
    }

    fn of(before: Verdict, after: Verdict, zone: Option<Zone>) -> Change {
        match (after, zone) {
            _ if before == after => Change::Stands,
            (Verdict::Pass, _) => Change::ToPass,
            (Verdict::Fail, Some(Zone::Outside)) => Change::ToFail,
            _ => Change::Undecided,
        }
    }
}

/// One test point before and after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointComparison<'a> {
    /// the direction
    pub direction: Direction,
    /// the test point
    pub target: Recorded,
    /// as it was evaluated
    pub before: &'a PointResult,
    /// as it is known now
    pub after: &'a PointResult,
    /// by how much the mean deviation moved
    pub shift: Percent,
    /// what became of the verdict
    pub change: Change,
}

/// A run before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison<'a> {
    /// every point
    pub points: Vec<PointComparison<'a>>,
    /// what became of the verdict of the tool
    pub tool: Change,
    /// the gravest change at a point or of the tool
    pub gravest: Change,
    /// the largest shift, with its sign
    pub largest_shift: Percent,
}

/// Holds two evaluations of one run side by side. A point that only one of them has is left out;
/// evaluations of one run under one rulebook have the same points.
#[must_use]
pub fn compare<'a>(before: &'a Evaluation, after: &'a Evaluation) -> Comparison<'a> {
    let same = |a: &PointResult, b: &PointResult| {
        a.direction == b.direction && a.target.torque().same_as(b.target.torque())
    };
    let points: Vec<PointComparison<'a>> = before
        .points
        .iter()
        .filter_map(|b| Some((b, after.points.iter().find(|a| same(b, a))?)))
        .map(|(b, a)| PointComparison {
            direction: b.direction,
            target: b.target,
            before: b,
            after: a,
            shift: Percent::new(a.mean_deviation.value() - b.mean_deviation.value()),
            change: Change::of(b.verdict, a.verdict, a.zone),
        })
        .collect();
    let is_outside = after.points.iter().any(|p| p.verdict == Verdict::Fail && p.zone == Some(Zone::Outside));
    let zone = if is_outside { Zone::Outside } else { Zone::GuardBand };
    let tool = Change::of(before.verdict, after.verdict, Some(zone));
    let gravest = points.iter().map(|p| p.change).chain([tool]).max().unwrap_or(Change::Stands);
    let farther = |a: &Percent, b: &Percent| a.abs().value().total_cmp(&b.abs().value());
    let largest_shift = points.iter().map(|p| p.shift).max_by(farther).unwrap_or(Percent::ZERO);
    Comparison { points, tool, gravest, largest_shift }
}
