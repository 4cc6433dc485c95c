//! Which errors two results have in common.

use super::Member;
use crate::budget::{BudgetLine, Influence, Scope};

/// How far one error of a line reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reach {
    /// this result alone
    Result,
    /// the same direction of the same run: the tool stays as it was put on
    Mounting,
    /// all of the run
    Run,
    /// the same torque and direction under the same calibration of the reference
    Spot,
    /// all that was measured under the same calibration of the reference
    Calibration,
}

/// How far the error of a line reaches.
///
/// Where it is not known whether an error is the same, it is taken as another one: a difference is
/// then stated with a larger uncertainty than it has, never with a smaller one.
fn reach(line: &BudgetLine) -> Reach {
    if line.scope == Scope::PerReading {
        return Reach::Result;
    }
    match line.influence {
        Influence::Reference | Influence::ReferenceDrift => Reach::Calibration,
        // What a straight line misses has another size and sign between other calibration points.
        Influence::ReferenceInterpolation => Reach::Spot,
        // The line holds the size of the temperature difference, not its sign: another run may lie
        // on the other side of the temperature of calibration.
        Influence::Temperature => Reach::Run,
        // One filter and one kind of release in all of the run; another run is pulled in other times.
        Influence::Filter => Reach::Run,
        // Found at one point and carried to the others of the run. Another run, and the other
        // direction, put the tool, its drive and the hand on anew.
        Influence::Reproducibility | Influence::Drive | Influence::Interface | Influence::LoadingPoint => {
            Reach::Mounting
        }
        // Rounding differs from one indication to the next.
        Influence::ReferenceResolution | Influence::Resolution | Influence::Repeatability => Reach::Result,
    }
}

/// Whether the error of a line of one result is also that of the same line of another.
pub(super) fn is_shared(line: &BudgetLine, one: &Member, other: &Member) -> bool {
    let calibration = one.reference == other.reference && one.certificate == other.certificate;
    match reach(line) {
        Reach::Result => false,
        Reach::Mounting => one.run == other.run && one.direction == other.direction,
        Reach::Run => one.run == other.run && calibration,
        Reach::Spot => calibration && one.direction == other.direction && one.torque.same_as(other.torque),
        Reach::Calibration => calibration,
    }
}
