//! Traces drawn by hand for the tests: their truth is in the corners.
#![allow(clippy::unwrap_used)]

use leverarm_metrology::quantity::TorqueUnit;
use leverarm_pull::trace::{Timing, Trace};

pub(crate) const CLICK_NM: f64 = 118.4;
pub(crate) const CLICK_S: f64 = 2.9;
/// 80 % of 120 N·m is passed at 96 N·m.
pub(crate) const EIGHTY_S: f64 = 1.1;

/// Corners of time and torque joined by straight lines, as a display with two decimals says them at
/// 1 kHz, with a ripple of 0.02 N·m in the place of noise.
pub(crate) fn line(corners: &[(f64, f64)]) -> Trace {
    let end = corners.last().unwrap().0;
    let torque = |t: f64| {
        let pair = corners.windows(2).find(|pair| t < pair[1].0).unwrap();
        pair[0].1 + (pair[1].1 - pair[0].1) * (t - pair[0].0) / (pair[1].0 - pair[0].0)
    };
    let values = (0..(end * 1000.0) as u32)
        .map(|i| torque(f64::from(i) / 1000.0) + 0.02 * (f64::from(i) * 2.399).sin())
        .map(|value| (value * 100.0).round() / 100.0)
        .collect();
    Trace::new(TorqueUnit::NewtonMetre, Timing::Uniform { start_s: 0.0, rate_hz: 1000.0 }, values).unwrap()
}

/// Released at 118.4 N·m by 7, then pulled on to 124.
pub(crate) fn click() -> Trace {
    line(&[
        (0.0, 0.0),
        (0.6, 0.0),
        (EIGHTY_S, 96.0),
        (CLICK_S, CLICK_NM),
        (CLICK_S + 0.006, CLICK_NM - 7.0),
        (3.05, 112.0),
        (3.6, 124.0),
        (3.8, 0.0),
        (4.6, 0.0),
    ])
}

/// Up in a tenth of a second and down again: too fast, and it never released.
pub(crate) fn snatch() -> Trace {
    line(&[(0.0, 0.0), (0.6, 0.0), (0.9, 96.0), (1.0, 121.0), (1.3, 121.5), (1.5, 0.0), (2.2, 0.0)])
}
