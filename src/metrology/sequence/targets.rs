//! The targets of the test points: torques that can be set and read, near enough to the points.

use rust_decimal::Decimal;

use super::SequenceError;
use crate::quantity::{Percent, Torque};
use crate::reading::Recorded;
use crate::rounding::round_figures;
use crate::rulebook::{PointsRow, TestPoint};
use crate::tool::Tool;

/// How much of the tolerance of a point the wish for a round number may use.
const SHARE_OF_TOLERANCE: f64 = 0.2;

/// A target and, where it is not the rulebook's point, why.
pub(super) struct Target {
    pub at: Recorded,
    pub remark: Option<String>,
}

/// The targets of a tool, rising, each once.
pub(super) fn targets(tool: &Tool, row: &PointsRow) -> Result<Vec<Target>, SequenceError> {
    let mut found: Vec<Target> = Vec::new();
    for point in &row.points {
        found.push(target(tool, row, *point)?);
    }
    found.sort_by(|a, b| a.at.torque().newton_metres().total_cmp(&b.at.torque().newton_metres()));
    found.dedup_by(|later, kept| {
        let is_same = later.at.torque().same_as(kept.at.torque());
        if is_same {
            kept.remark = kept.remark.take().or_else(|| later.remark.take());
        }
        is_same
    });
    Ok(found)
}

fn target(tool: &Tool, row: &PointsRow, point: TestPoint) -> Result<Target, SequenceError> {
    let plain = |at| Ok(Target { at, remark: None });
    let (lower, upper) = (tool.range.lower, tool.range.upper);
    let share = match point {
        TestPoint::LowerLimit => return plain(lower),
        TestPoint::SetValue => return plain(upper),
        TestPoint::OfMaximum(share) => share,
    };
    let wanted = point.torque(tool);
    if wanted.same_as(upper.torque()) {
        return plain(upper);
    }
    let moved = |at: Recorded, beyond: &str| {
        let remark = format!(
            "{share} of the maximum lies {beyond} the range: taken at {at}, and a deviation from the method"
        );
        Ok(Target { at, remark: Some(remark) })
    };
    if wanted > upper.torque() {
        return moved(upper, "above");
    }
    if wanted < lower.torque() {
        // A lower end within the tolerance of the point is the point.
        return if row.accepts(point, tool, lower.torque()) { plain(lower) } else { moved(lower, "below") };
    }
    near(tool, row, point).and_then(plain)
}

/// A torque near a point between the ends of the range: the roundest that lies well within the
/// tolerance and can be set, else the nearest step of the tool, else the point itself.
fn near(tool: &Tool, row: &PointsRow, point: TestPoint) -> Result<Recorded, SequenceError> {
    let unit = tool.range.upper.unit();
    let wanted = point.torque(tool).in_unit(unit);
    let impossible = || SequenceError::Target { value: wanted, unit };
    let exact = round_figures(wanted, 9).map_err(|_| impossible())?.decimal();
    let resolution = tool
        .resolution
        .filter(|step| tool.class.has_scale() && step.unit() == unit && step.value() > 0.0)
        .map(|step| step.digits());
    let within = |room: Percent, at: Decimal| {
        let at = recorded(at, tool)?;
        let off = (at.torque() - Torque::new(wanted, unit)).abs();
        let is_near = off <= Torque::new(wanted, unit).share(room).abs();
        (is_near && tool.range.contains(at.torque()) && row.accepts(point, tool, at.torque())).then_some(at)
    };
    let tolerance = row.tolerance_at(point);
    let close = Percent::new(tolerance.value() * SHARE_OF_TOLERANCE);
    let round = round_steps(wanted)
        .filter(|step| resolution.is_none_or(|fine| is_multiple(*step, fine)))
        .find_map(|step| within(close, nearest(exact, step)?));
    let on_scale = || resolution.and_then(|step| within(tolerance, nearest(exact, step)?));
    round.or_else(on_scale).or_else(|| recorded(exact, tool)).ok_or_else(impossible)
}

/// 5, 2 and 1 times each power of ten from the one below a number downward.
fn round_steps(wanted: f64) -> impl Iterator<Item = Decimal> {
    let top = if wanted > 0.0 { wanted.log10().floor().clamp(-20.0, 20.0) as i32 } else { 0 };
    (0..6).flat_map(move |down| {
        [5, 2, 1].into_iter().filter_map(move |digit| {
            let place = top - down;
            match u32::try_from(-place) {
                Ok(decimals) => Decimal::try_from_i128_with_scale(digit, decimals).ok(),
                Err(_) => {
                    let power = 10_i128.checked_pow(place.unsigned_abs())?;
                    Decimal::try_from_i128_with_scale(digit.checked_mul(power)?, 0).ok()
                }
            }
        })
    })
}

fn is_multiple(step: Decimal, of: Decimal) -> bool {
    step.checked_rem(of).is_some_and(|rest| rest.is_zero())
}

fn nearest(value: Decimal, step: Decimal) -> Option<Decimal> {
    value.checked_div(step)?.round().checked_mul(step)
}

/// With as many decimals as the maximum has, or as many more as it needs.
fn recorded(value: Decimal, tool: &Tool) -> Option<Recorded> {
    let upper = tool.range.upper;
    let mut digits = value.normalize();
    if digits.scale() < upper.decimals() {
        digits.rescale(upper.decimals());
    }
    Recorded::new(&digits.to_string(), upper.unit()).ok()
}
