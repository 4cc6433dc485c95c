//! What the reference torque may be at a target under a permissible deviation.

use crate::decision::Sides;
use crate::quantity::{Percent, Torque};
use crate::rulebook::{Denominator, DeviationDefinition, DeviationSign};

/// The lowest and the highest reference torque that keep a tool, which is set to a target or shows it,
/// within its permissible deviation; an end is absent where nothing limits on that side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// no lower than this
    pub lowest: Option<Torque>,
    /// no higher than this
    pub highest: Option<Torque>,
}

impl Window {
    /// The window of a target; `None` where the permissible deviation is none from 0 % to below 100 %.
    #[must_use]
    pub fn of(
        target: Torque,
        permissible: Percent,
        definition: &DeviationDefinition,
        sides: Sides,
    ) -> Option<Window> {
        let p = permissible.fraction();
        if !(0.0..1.0).contains(&p) {
            return None;
        }
        let x = target.newton_metres();
        // The sign exchanges the two ends, which are the same pair under either.
        let (low, high) = match definition.denominator {
            Denominator::Reference => (x / (1.0 + p), x / (1.0 - p)),
            Denominator::Tool => (x * (1.0 - p), x * (1.0 + p)),
        };
        // A torque that is too low is a deviation upward where the tool is the minuend.
        let upward_is_low = definition.sign == DeviationSign::ToolMinusReference;
        let (has_low, has_high) = match sides {
            Sides::Both => (true, true),
            Sides::Upper => (upward_is_low, !upward_is_low),
            Sides::Lower => (!upward_is_low, upward_is_low),
        };
        let end = |is_there: bool, at: f64| is_there.then(|| Torque::from_newton_metres(at));
        Some(Window { lowest: end(has_low, low), highest: end(has_high, high) })
    }
}
