//! A low-pass in the chain between transducer and reading, and what it does to the height of a pull.
//!
//! A Butterworth low-pass of order n follows an even ramp with a lag of Σa / ω_c seconds, where Σa is
//! the sum of the coefficients of s in the factors s² + a s + 1 of its prototype, a = 2 sin((2k − 1) π
//! / 2n), and ω_c its cut-off in radians a second (S. Butterworth, Wireless Engineer 7, 1930, 536-541;
//! the sums 1.4142 and 2.6131 are the coefficients of s in the tabulated polynomials). A filter that
//! was made from the prototype by the bilinear transform lags by Σa / (2 f_s tan(π f_c / f_s)), which
//! is less: where only order and cut-off are stated, the prototype bounds every such filter.

use std::f64::consts::TAU;
use std::fmt;

use crate::quantity::{Hertz, Torque};

/// The order of the filter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Order {
    /// 12 dB an octave
    Second,
    /// 24 dB an octave
    Fourth,
}

impl Order {
    /// The order of a number, where it is 2 or 4.
    #[must_use]
    pub const fn of(number: u64) -> Option<Order> {
        match number {
            2 => Some(Order::Second),
            4 => Some(Order::Fourth),
            _ => None,
        }
    }

    /// As a number: 2 or 4.
    #[must_use]
    pub const fn number(self) -> u64 {
        match self {
            Order::Second => 2,
            Order::Fourth => 4,
        }
    }

    /// The coefficients a of s in the factors s² + a s + 1 of the prototype.
    #[must_use]
    pub fn prototype(self) -> &'static [f64] {
        // 2 sin(π/4); 2 sin(3π/8) and 2 sin(π/8)
        const SECOND: [f64; 1] = [std::f64::consts::SQRT_2];
        const FOURTH: [f64; 2] = [1.847_759_065_022_573_5, 0.765_366_864_730_179_6];
        match self {
            Order::Second => &SECOND,
            Order::Fourth => &FOURTH,
        }
    }

    /// By how many seconds an even ramp comes out later than it went in, for a cut-off in radians a
    /// second: Σa / ω_c.
    #[must_use]
    pub fn ramp_delay_s(self, cut_off_radians_per_second: f64) -> f64 {
        let sum: f64 = self.prototype().iter().sum();
        sum / cut_off_radians_per_second
    }
}

/// A Butterworth low-pass, as its maker or the bench states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LowPass {
    /// its order
    pub order: Order,
    /// where its gain is 1/√2; above zero
    pub cut_off: Hertz,
}

impl LowPass {
    /// By how many seconds an even ramp comes out later than it went in.
    #[must_use]
    pub fn ramp_delay_s(&self) -> f64 {
        self.order.ramp_delay_s(TAU * self.cut_off.0)
    }

    /// How far the filtered peak of a pull may lie from the true one, on either side: the lag of the
    /// ramp from 80 % to 100 % of the target, rise a second times delay. After the corner the output
    /// goes on towards the peak, and the overshoot of the step response acts on that lag only, so that
    /// the lag bounds the error whatever the release looks like.
    #[must_use]
    pub fn peak_error(&self, target: Torque, loading_s: f64) -> Torque {
        Torque::from_newton_metres(
            RISE * target.abs().newton_metres() / loading_s.abs() * self.ramp_delay_s(),
        )
    }
}

/// The rise within the loading time: from 80 % to 100 % of the target.
const RISE: f64 = 0.2;

impl fmt::Display for LowPass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Butterworth low-pass of order {}, cut-off {}", self.order.number(), self.cut_off)
    }
}

/// What stands between the transducer and the recorded reading.
#[derive(Debug, Clone, PartialEq)]
pub struct SignalChain {
    /// the name of the instrument's description
    pub instrument: String,
    /// samples a second
    pub rate: Hertz,
    /// its low-pass, where one is stated
    pub filter: Option<LowPass>,
    /// the file of the session's journal, relative to the run folder
    pub journal: Option<String>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Coefficients of s in the Butterworth polynomials as handbooks of filters tabulate them:
    /// 1.4142 (order 2), 2.6131 (order 4).
    #[test]
    fn the_lag_is_the_tabulated_coefficient_over_the_cut_off() {
        let rounded = |order: Order| format!("{:.4}", order.ramp_delay_s(1.0));
        assert_eq!([Order::Second, Order::Fourth].map(rounded), ["1.4142", "2.6131"]);
    }

    /// By hand: order 2 at 50 Hz lags by 1.4142 / 314.16 s = 4.5016 ms; 100 N·m rises by 20 N·m in 2 s.
    #[test]
    fn the_peak_error_is_rise_times_delay() {
        let filter = LowPass { order: Order::Second, cut_off: Hertz(50.0) };
        let error = filter.peak_error(Torque::from_newton_metres(100.0), 2.0);
        assert!((error.newton_metres() - 0.045_016).abs() < 1e-6);
        assert_eq!(filter.to_string(), "Butterworth low-pass of order 2, cut-off 50 Hz");
    }
}
