//! Takes the mains hum out of a stream and leaves the pull in it.
//!
//! A notch of second order, H(s) = (s² + ω²) / (s² + B s + ω²), by the bilinear transform with
//! prewarping. It is narrow, so that it delays a ramp by only B/ω² (0.13 ms at 50 Hz) and keeps
//! the tremor of a hand, 8 Hz to 12 Hz, to a hundredth of its amplitude.
//!
//! A narrow notch takes long to learn the hum, 1/(π B) = 0.16 s to a third, and what is left of it
//! would count as noise of the zero. So it begins wide and narrows as 1/t: after 0.3 s a thousandth
//! of the hum is left.

use std::f64::consts::{PI, TAU};

/// Width between the −3 dB points, in hertz: mains frequency keeps within a tenth of it.
const WIDTH_HZ: f64 = 2.0;

/// At the beginning it is as wide as this share of the mains frequency.
const WIDEST: f64 = 0.8;

/// The notch, with its memory.
#[derive(Debug, Clone)]
pub(crate) struct Notch {
    mains_hz: f64,
    step_s: f64,
    k: f64,
    b: [f64; 2],
    a: [f64; 2],
    state: [f64; 2],
    /// the first value: what is filtered is the rest, so that a level passes a changing notch
    base: Option<f64>,
    count: u32,
    is_narrow: bool,
}

impl Notch {
    /// None where the samples come too slowly to tell hum from torque.
    pub(crate) fn new(mains_hz: f64, sample_rate_hz: f64) -> Option<Notch> {
        if !(mains_hz > 0.0 && sample_rate_hz >= 3.0 * mains_hz) {
            return None;
        }
        Some(Notch {
            mains_hz,
            step_s: 1.0 / sample_rate_hz,
            k: libm::tan(PI * mains_hz / sample_rate_hz),
            b: [0.0; 2],
            a: [0.0; 2],
            state: [0.0; 2],
            base: None,
            count: 0,
            is_narrow: false,
        })
    }

    /// By how much a ramp comes out later, once it is narrow.
    pub(crate) fn delay_s(&self) -> f64 {
        WIDTH_HZ / (TAU * self.mains_hz * self.mains_hz)
    }

    fn narrow(&mut self) {
        self.count += 1;
        let wanted = 1.0 / (f64::from(self.count) * self.step_s);
        let width_hz = wanted.min(WIDEST * self.mains_hz).max(WIDTH_HZ);
        self.is_narrow = wanted <= WIDTH_HZ;
        let (k, width) = (self.k, self.k * width_hz / self.mains_hz);
        let scale = 1.0 / (1.0 + width + k * k);
        let (b0, a1) = ((1.0 + k * k) * scale, 2.0 * (k * k - 1.0) * scale);
        self.b = [b0, a1];
        self.a = [a1, (1.0 - width + k * k) * scale];
    }

    pub(crate) fn step(&mut self, x: f64) -> f64 {
        if !self.is_narrow {
            self.narrow();
        }
        let ([b0, b1], [a1, a2]) = (self.b, self.a);
        let base = *self.base.get_or_insert(x);
        let x = x - base;
        let y = b0 * x + self.state[0];
        self.state[0] = b1 * x - a1 * y + self.state[1];
        self.state[1] = b0 * x - a2 * y;
        y + base
    }
}
