//! A computed torque in the digits of the display.

use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::Recorded;
use rust_decimal::{Decimal, RoundingStrategy};

/// No display shows more.
const LARGEST: f64 = 1e12;

/// A torque as the display would show it: the nearest multiple of its step, in its unit and with its
/// decimals, a tie going to the even one. `None` where the step is none, or the torque is beyond all
/// displays.
pub(crate) fn at_step(torque: Torque, step: Recorded) -> Option<Recorded> {
    let value = torque.in_unit(step.unit());
    let is_shown = value.abs() < LARGEST;
    if !is_shown || step.digits() <= Decimal::ZERO {
        return None;
    }
    // Six digits beyond the step: what conversion between units does to the last digits of a double
    // must not decide a tie.
    let exact = Decimal::from_str_exact(&format!("{value:.14}")).ok()?.round_dp(step.decimals() + 6);
    let steps =
        exact.checked_div(step.digits())?.round_dp_with_strategy(0, RoundingStrategy::MidpointNearestEven);
    let mut rounded = steps.checked_mul(step.digits())?;
    rounded.rescale(step.decimals());
    // a zero has no sign
    if rounded.is_zero() {
        rounded.set_sign_positive(true);
    }
    Recorded::new(&rounded.to_string(), step.unit()).ok()
}

/// The same in words; without a display's digits, as a plain number.
pub(crate) fn words(torque: Torque, step: Recorded) -> String {
    match at_step(torque, step) {
        Some(recorded) => recorded.to_string(),
        None => format!("{:.3} {}", torque.in_unit(step.unit()), step.unit()),
    }
}

/// A torque in the unit of a target, with the digits that a screen needs: those of the display where
/// the units are one, otherwise four significant ones of the target.
pub(crate) fn in_unit_of(target: Recorded, torque: Torque, step: Recorded) -> String {
    let unit = target.unit();
    if unit == step.unit() {
        return at_step(torque, step).map_or_else(|| "?".to_owned(), |r| r.digits().to_string());
    }
    let leading = if target.value() > 0.0 { target.value().log10().floor().clamp(-9.0, 9.0) } else { 0.0 };
    let decimals = (3.0 - leading).clamp(0.0, 9.0) as usize;
    format!("{:.*}", decimals, torque.in_unit(unit))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use leverarm_metrology::quantity::TorqueUnit;

    use super::*;

    fn step(digits: &str, unit: TorqueUnit) -> Recorded {
        Recorded::new(digits, unit).unwrap()
    }

    /// Oracle: rounding half to even by hand.
    #[test]
    fn a_torque_takes_the_digits_of_the_display() {
        let hundredth = step("0.01", TorqueUnit::NewtonMetre);
        let shown = |value: f64, step: Recorded| {
            at_step(Torque::new(value, step.unit()), step).unwrap().digits().to_string()
        };
        assert_eq!(shown(200.926, hundredth), "200.93");
        assert_eq!(shown(0.125, hundredth), "0.12");
        assert_eq!(shown(0.135, hundredth), "0.14");
        assert_eq!(shown(-0.001, hundredth), "0.00");
        assert_eq!(shown(100.04, step("0.05", TorqueUnit::NewtonMetre)), "100.05");
        assert_eq!(shown(147.4999, step("1", TorqueUnit::PoundForceFoot)), "147");
        assert_eq!(at_step(Torque::from_newton_metres(f64::NAN), hundredth), None);
        assert_eq!(at_step(Torque::from_newton_metres(1.0), step("0", TorqueUnit::NewtonMetre)), None);
    }
}
