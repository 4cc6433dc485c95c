//! A causal Butterworth low-pass of order 2 or 4, and what it does to the height of a peak.
//!
//! The analogue prototype of order n is the product of s² + a s + 1 with a = 2 sin((2k − 1) π / 2n)
//! (S. Butterworth, Wireless Engineer 7, 1930, 536-541; tabulated in any handbook of filters).
//! The bilinear transform with prewarping, s = (1 − z⁻¹) / (K (1 + z⁻¹)) with K = tan(π f_c / f_s),
//! puts the −3.01 dB point exactly at the cut-off (A. V. Oppenheim, R. W. Schafer, Discrete-Time
//! Signal Processing, chapter 7).

use std::f64::consts::{PI, TAU};

pub use leverarm_metrology::low_pass::Order;
use leverarm_metrology::quantity::Percent;
use thiserror::Error;

/// Why there is no such filter.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum FilterError {
    /// The sample rate is not a positive number.
    #[error("a sample rate of {given_hz} Hz is none")]
    SampleRate {
        /// what was given
        given_hz: f64,
    },
    /// The cut-off lies outside what the sample rate can carry.
    #[error(
        "a cut-off of {given_hz} Hz: it must lie above 0 Hz and below half the sample rate, {nyquist_hz} Hz"
    )]
    CutOff {
        /// what was given
        given_hz: f64,
        /// half the sample rate
        nyquist_hz: f64,
    },
}

/// Two poles and two zeros: y = b0 x + b1 x⁻¹ + b2 x⁻² − a1 y⁻¹ − a2 y⁻².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// b0, b1, b2
    pub numerator: [f64; 3],
    /// a1, a2; a0 is 1
    pub denominator: [f64; 2],
}

impl Section {
    fn low_pass(k: f64, a: f64) -> Section {
        let scale = 1.0 / (1.0 + a * k + k * k);
        let b = k * k * scale;
        Section {
            numerator: [b, 2.0 * b, b],
            denominator: [2.0 * (k * k - 1.0) * scale, (1.0 - a * k + k * k) * scale],
        }
    }
}

/// A section with its memory (transposed direct form II).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Stage {
    section: Section,
    first: f64,
    second: f64,
}

impl Stage {
    fn step(&mut self, x: f64) -> f64 {
        let Section { numerator: [b0, b1, b2], denominator: [a1, a2] } = self.section;
        let y = b0 * x + self.first;
        self.first = b1 * x - a1 * y + self.second;
        self.second = b2 * x - a2 * y;
        y
    }

    /// As if `x` had always been there: the gain at rest is 1.
    fn settle(&mut self, x: f64) {
        let Section { numerator: [_, b1, b2], denominator: [a1, a2] } = self.section;
        self.second = (b2 - a2) * x;
        self.first = (b1 - a1) * x + self.second;
    }
}

/// The filter, with its memory.
#[derive(Debug, Clone, PartialEq)]
pub struct Butterworth {
    order: Order,
    cutoff_hz: f64,
    sample_rate_hz: f64,
    stages: Vec<Stage>,
    started: bool,
}

impl Butterworth {
    /// A filter for samples that come at an even rate.
    ///
    /// # Errors
    /// [`FilterError`] where rate or cut-off are no numbers that a filter can have.
    pub fn new(order: Order, cutoff_hz: f64, sample_rate_hz: f64) -> Result<Butterworth, FilterError> {
        if !(sample_rate_hz.is_finite() && sample_rate_hz > 0.0) {
            return Err(FilterError::SampleRate { given_hz: sample_rate_hz });
        }
        let nyquist_hz = sample_rate_hz / 2.0;
        if !(cutoff_hz > 0.0 && cutoff_hz < nyquist_hz) {
            return Err(FilterError::CutOff { given_hz: cutoff_hz, nyquist_hz });
        }
        let k = libm::tan(PI * cutoff_hz / sample_rate_hz);
        let stage = |a: &f64| Stage { section: Section::low_pass(k, *a), first: 0.0, second: 0.0 };
        let stages = order.prototype().iter().map(stage).collect();
        Ok(Butterworth { order, cutoff_hz, sample_rate_hz, stages, started: false })
    }

    /// Its order.
    #[must_use]
    pub fn order(&self) -> Order {
        self.order
    }

    /// Where the gain is 1/√2, in hertz.
    #[must_use]
    pub fn cutoff_hz(&self) -> f64 {
        self.cutoff_hz
    }

    /// The coefficients of each section.
    pub fn sections(&self) -> impl Iterator<Item = Section> + '_ {
        self.stages.iter().map(|stage| stage.section)
    }

    /// One sample in, one out. The first one is taken for the state of rest.
    pub fn step(&mut self, x: f64) -> f64 {
        if !self.started {
            self.rest_at(x);
        }
        self.stages.iter_mut().fold(x, |x, stage| stage.step(x))
    }

    /// Forgets what was before, as if `x` had always been there.
    pub fn rest_at(&mut self, x: f64) {
        self.started = true;
        self.stages.iter_mut().for_each(|stage| stage.settle(x));
    }

    /// The gain at a frequency: 1 / √(1 + (tan(π f / f_s) / K)^2n).
    #[must_use]
    pub fn gain_at(&self, hz: f64) -> f64 {
        let warped = libm::tan(PI * hz / self.sample_rate_hz) / self.warp();
        let square = warped * warped;
        let power = match self.order {
            Order::Second => square * square,
            Order::Fourth => square * square * square * square,
        };
        1.0 / (1.0 + power).sqrt()
    }

    /// By how many seconds an even ramp comes out later than it went in: the group delay at rest,
    /// Σa / (2 f_s K), that of the prototype at the warped cut-off, exact for the digital filter.
    #[must_use]
    pub fn ramp_delay_s(&self) -> f64 {
        self.order.ramp_delay_s(2.0 * self.sample_rate_hz * self.warp())
    }

    /// How far the filtered peak of a pull may lie from the true one, relative to it, when the
    /// torque rises by `rise` of the peak in a second and then stands, turns or drops: the half
    /// width of a budget line, rectangular.
    ///
    /// The filtered ramp lags by rate × delay. After the corner the output goes on towards the
    /// peak; the overshoot of the step response, 4.3 % in order 2 and 10.8 % in order 4, acts only
    /// on that lag. So the lag bounds the error from both sides, whatever the release looks like.
    #[must_use]
    pub fn peak_error(&self, rise_per_second: Percent) -> Percent {
        Percent::new(rise_per_second.value().abs() * self.ramp_delay_s())
    }

    /// What a swing of the torque of this frequency loses of its amplitude: the tremor of a hand,
    /// 8 Hz to 12 Hz, should pass.
    #[must_use]
    pub fn swing_error(&self, hz: f64) -> Percent {
        Percent::new((1.0 - self.gain_at(hz)) * 100.0)
    }

    fn warp(&self) -> f64 {
        libm::tan(PI * self.cutoff_hz / self.sample_rate_hz)
    }
}

/// The lowest cut-off at which a pull of this rise keeps its peak within `error`: the delay Σa / ω_c
/// of the analogue prototype solved for the frequency.
#[must_use]
pub fn cutoff_for(order: Order, rise_per_second: Percent, error: Percent) -> f64 {
    order.ramp_delay_s(TAU) * rise_per_second.value().abs() / error.value().abs()
}
