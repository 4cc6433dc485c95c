//! The transducer and its amplifier.

use std::f64::consts::TAU;

use leverarm_metrology::quantity::Torque;

use crate::chance::{Chance, NOISE, PHASES};

/// The temperature at which gain and zero are as adjusted, °C.
pub(crate) const REFERENCE_C: f64 = 20.0;

/// A transducer with its amplifier. Shares marked "of the range" are percentages of [`Transducer::range`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transducer {
    /// where it ends; a tenth above it the display says overload
    pub range: Torque,
    /// it shows more than the torque by so much, %
    pub gain_percent: f64,
    /// its gain goes with the temperature, % per kelvin from 20 °C on
    pub gain_percent_per_k: f64,
    /// what it shows without torque
    pub zero: Torque,
    /// its zero goes with the temperature, % of the range per kelvin
    pub zero_percent_per_k: f64,
    /// its zero goes with time, % of the range per hour
    pub zero_percent_per_h: f64,
    /// standard deviation of a sample, % of the range
    pub noise_percent: f64,
    /// amplitude of the mains hum, % of the range
    pub hum_percent: f64,
    /// the mains frequency, Hz
    pub mains_hz: f64,
    /// time constant of its first-order response, s; 0 for none
    pub tau_s: f64,
}

impl Transducer {
    /// One in fair state.
    #[must_use]
    pub fn fair(range: Torque) -> Transducer {
        Transducer {
            range,
            gain_percent: 0.02,
            gain_percent_per_k: 0.002,
            zero: Torque::from_newton_metres(0.0002 * range.newton_metres()),
            zero_percent_per_k: 0.002,
            zero_percent_per_h: 0.005,
            noise_percent: 0.004,
            hum_percent: 0.004,
            mains_hz: 50.0,
            tau_s: 0.0005,
        }
    }

    /// One that shows the torque as it is: no deviation, drift, noise, hum or lag.
    #[must_use]
    pub fn ideal(range: Torque) -> Transducer {
        Transducer {
            range,
            gain_percent: 0.0,
            gain_percent_per_k: 0.0,
            zero: Torque::ZERO,
            zero_percent_per_k: 0.0,
            zero_percent_per_h: 0.0,
            noise_percent: 0.0,
            hum_percent: 0.0,
            mains_hz: 50.0,
            tau_s: 0.0,
        }
    }
}

/// A sine by rotation: no call of a sine for each step.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wave {
    turn: (f64, f64),
    at: (f64, f64),
}

impl Wave {
    pub(crate) fn new(hz: f64, step_s: f64, phase: f64) -> Wave {
        let angle = TAU * hz * step_s;
        Wave { turn: (libm::cos(angle), libm::sin(angle)), at: (libm::cos(phase), libm::sin(phase)) }
    }

    /// The sine one step on.
    pub(crate) fn step(&mut self) -> f64 {
        let (cosine, sine) = self.at;
        let (c, s) = (cosine * self.turn.0 - sine * self.turn.1, sine * self.turn.0 + cosine * self.turn.1);
        // first-order correction of the length, so that rounding does not add up over days
        let length = 1.5 - 0.5 * (c * c + s * s);
        self.at = (c * length, s * length);
        self.at.1
    }
}

/// What the amplifier adds at each sample.
#[derive(Debug, Clone)]
pub(crate) struct Amplifier {
    of: Transducer,
    range: f64,
    zero: f64,
    noise: f64,
    hum: f64,
    wave: Wave,
    chance: Chance,
}

impl Amplifier {
    pub(crate) fn new(of: Transducer, seed: u64, step_s: f64) -> Amplifier {
        let range = of.range.newton_metres();
        let phase = Chance::new(seed, PHASES).even(0.0, TAU);
        Amplifier {
            of,
            range,
            zero: of.zero.newton_metres(),
            noise: 0.01 * of.noise_percent * range,
            hum: 0.01 * of.hum_percent * range,
            wave: Wave::new(of.mains_hz, step_s, phase),
            chance: Chance::new(seed, NOISE),
        }
    }

    /// The signal in N·m: `felt` is the torque behind the first-order response.
    pub(crate) fn signal(&mut self, felt: f64, time_s: f64, temperature_c: f64) -> f64 {
        let of = &self.of;
        let kelvin = temperature_c - REFERENCE_C;
        let gain = 1.0 + 0.01 * (of.gain_percent + of.gain_percent_per_k * kelvin);
        let drift = of.zero_percent_per_k * kelvin + of.zero_percent_per_h * time_s / 3600.0;
        let zero = self.zero + 0.01 * drift * self.range;
        felt * gain + zero + self.hum * self.wave.step() + self.noise * self.chance.normal()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// After a day at 10 kHz the wave is still the sine of its angle, within what the rounding of the
    /// angle itself leaves (2⁻⁵³ of a turn at each step).
    #[test]
    fn a_wave_keeps_height_and_frequency() {
        let step_s = 1e-4;
        let mut wave = Wave::new(50.0, step_s, 0.3);
        let (mut last, steps) = (0.0, 5_000_000_u32);
        for _ in 0..steps {
            last = wave.step();
        }
        let exact = (0.3 + TAU * (50.0 * step_s * f64::from(steps)).fract()).sin();
        assert!((last - exact).abs() < 1e-6, "{last} {exact}");
        assert!((wave.at.0.hypot(wave.at.1) - 1.0).abs() < 1e-12);
    }
}
