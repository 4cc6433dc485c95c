//! As left less as found: what an adjustment or a repair changed.

use super::{Combination, CovarianceError, JointBudget, Member};
use crate::evaluate::PointResult;
use crate::quantity::Percent;
use crate::reading::{Direction, Recorded};
use crate::reference::Reference;

/// The change of a point from one run to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Shift {
    /// the direction
    pub direction: Direction,
    /// the test point, as the first run names it
    pub target: Recorded,
    /// mean deviation after less mean deviation before
    pub change: Percent,
    /// its uncertainty, with what both runs have in common taken out
    pub uncertainty: Combination,
}

/// The change of every point that both runs measured. Under one calibration of one reference its
/// errors cancel, as far as they have the same size in both runs (GUM 5.2.4, F.1.2.3); the tool was
/// put on anew, so its own variations do not.
///
/// # Errors
/// [`CovarianceError::NoBudget`] for a point without a complete budget, [`CovarianceError::Empty`]
/// when a run has no points.
pub fn shifts(
    before: (&Reference, &[PointResult]),
    after: (&Reference, &[PointResult]),
) -> Result<Vec<Shift>, CovarianceError> {
    let mut members = Member::of_run(0, before.0, before.1)?;
    let offset = members.len();
    members.extend(Member::of_run(1, after.0, after.1)?);
    let joint = JointBudget::new(&members)?;
    let mut shifts = Vec::new();
    for (i, old) in before.1.iter().enumerate() {
        let same = |new: &PointResult| {
            new.direction == old.direction && new.target.torque().same_as(old.target.torque())
        };
        let Some((j, new)) = after.1.iter().enumerate().find(|(_, new)| same(new)) else { continue };
        shifts.push(Shift {
            direction: old.direction,
            target: old.target,
            change: Percent::new(new.mean_deviation.value() - old.mean_deviation.value()),
            uncertainty: joint.difference(offset + j, i)?,
        });
    }
    Ok(shifts)
}
