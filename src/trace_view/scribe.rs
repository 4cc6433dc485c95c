//! The digits of what was found in a trace, chosen once: the terminal, the chart and the JSON say the
//! same.

use std::fmt;

use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::rounding::{round_decimals, round_figures};
use serde::{Serialize, Serializer};

use crate::printed::trimmed;

/// A number with its digits chosen: a text on paper, a number in JSON.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Number(String);

impl Number {
    /// Rounded to so many decimals, halves away from zero.
    #[must_use]
    pub fn decimals(value: f64, decimals: u32) -> Number {
        match round_decimals(value, decimals) {
            Ok(digits) => Number(digits.to_string()),
            // Not reached by what `open` lets pass; a number without digits is shown as it is.
            Err(_) => Number(format!("{value:e}")),
        }
    }

    /// With no more decimals than it needs, up to four.
    #[must_use]
    pub fn plain(value: f64) -> Number {
        Number(trimmed(value).unwrap_or_else(|_| format!("{value:e}")))
    }

    /// Rounded to so many significant figures. What is smaller than any display shows is nothing.
    #[must_use]
    pub fn figures(value: f64, count: u32) -> Number {
        let value = if value.abs() < 1e-12 { 0.0 } else { value };
        match round_figures(value, count) {
            Ok(digits) => Number(digits.to_string()),
            Err(_) => Number(format!("{value:e}")),
        }
    }
}

impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.replace('-', "\u{2212}"))
    }
}

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.0.parse().unwrap_or(f64::NAN))
    }
}

/// Writes the torques and times of one trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scribe {
    unit: TorqueUnit,
    decimals: u32,
}

impl Scribe {
    /// For a trace in this unit whose largest torque is this one: five figures of it.
    #[must_use]
    pub fn new(unit: TorqueUnit, largest: Torque) -> Scribe {
        let largest = largest.abs().in_unit(unit);
        let leading = if largest > 0.0 { largest.log10().floor() } else { 0.0 };
        Scribe { unit, decimals: (4.0 - leading).clamp(0.0, 12.0) as u32 }
    }

    /// Its unit.
    #[must_use]
    pub fn unit(&self) -> TorqueUnit {
        self.unit
    }

    /// The digits of a torque.
    #[must_use]
    pub fn number(&self, torque: Torque) -> Number {
        Number::decimals(torque.in_unit(self.unit), self.decimals)
    }

    /// A torque with its unit.
    #[must_use]
    pub fn torque(&self, torque: Torque) -> String {
        format!("{} {}", self.number(torque), self.unit)
    }

    /// The digits of a scatter or another small torque: two significant figures.
    #[must_use]
    pub fn small(&self, torque: Torque) -> Number {
        Number::figures(torque.in_unit(self.unit), 2)
    }

    /// The digits of a time: milliseconds.
    #[must_use]
    pub fn seconds(&self, seconds: f64) -> Number {
        Number::decimals(seconds, 3)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn five_figures_of_the_largest() {
        let unit = TorqueUnit::NewtonMetre;
        let nm = Torque::from_newton_metres;
        let digits = |largest: f64, value: f64| Scribe::new(unit, nm(largest)).torque(nm(value));
        assert_eq!(digits(118.4, 118.4159), "118.42 N·m");
        assert_eq!(digits(118.4, -0.004), "0.00 N·m");
        assert_eq!(digits(-0.52, -0.123_456), "−0.12346 N·m");
        assert_eq!(digits(0.0, 0.0), "0.0000 N·m");
        assert_eq!(digits(250_000.0, 12.3), "12 N·m");
    }

    #[test]
    fn paper_and_json_say_the_same() {
        let number = Number::decimals(-118.415_9, 2);
        assert_eq!(number.to_string(), "−118.42");
        assert_eq!(serde_json::to_string(&number).unwrap(), "-118.42");
        assert_eq!(Number::plain(1000.0).to_string(), "1000");
        assert_eq!(serde_json::to_string(&Number::decimals(f64::NAN, 2)).unwrap(), "null");
    }
}
