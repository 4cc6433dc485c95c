//! Takes the mains hum out of a stream and leaves the pull in it.
//!
//! A notch of second order, H(s) = (s² + ω²) / (s² + B s + ω²), by the bilinear transform with
//! prewarping. It is narrow, so that it delays a ramp by only B/ω² (0.13 ms at 50 Hz) and keeps
//! the tremor of a hand, 8 Hz to 12 Hz, to a hundredth of its amplitude.

use std::f64::consts::{PI, TAU};

/// Width between the −3 dB points, in hertz: mains frequency keeps within a tenth of it.
const WIDTH_HZ: f64 = 2.0;

/// The notch, with its memory.
#[derive(Debug, Clone)]
pub(crate) struct Notch {
    b: [f64; 2],
    a: [f64; 2],
    state: [f64; 2],
    started: bool,
    delay_s: f64,
}

impl Notch {
    /// None where the samples come too slowly to tell hum from torque.
    pub(crate) fn new(mains_hz: f64, sample_rate_hz: f64) -> Option<Notch> {
        if !(mains_hz > 0.0 && sample_rate_hz >= 3.0 * mains_hz) {
            return None;
        }
        let k = libm::tan(PI * mains_hz / sample_rate_hz);
        let width = k * WIDTH_HZ / mains_hz;
        let scale = 1.0 / (1.0 + width + k * k);
        let b0 = (1.0 + k * k) * scale;
        let a1 = 2.0 * (k * k - 1.0) * scale;
        Some(Notch {
            b: [b0, a1],
            a: [a1, (1.0 - width + k * k) * scale],
            state: [0.0; 2],
            started: false,
            delay_s: WIDTH_HZ / (TAU * mains_hz * mains_hz),
        })
    }

    /// By how much a ramp comes out later.
    pub(crate) fn delay_s(&self) -> f64 {
        self.delay_s
    }

    pub(crate) fn step(&mut self, x: f64) -> f64 {
        let ([b0, b1], [a1, a2]) = (self.b, self.a);
        if !self.started {
            self.started = true;
            self.state[1] = (b0 - a2) * x;
            self.state[0] = (b1 - a1) * x + self.state[1];
        }
        let y = b0 * x + self.state[0];
        self.state[0] = b1 * x - a1 * y + self.state[1];
        self.state[1] = b0 * x - a2 * y;
        y
    }
}
