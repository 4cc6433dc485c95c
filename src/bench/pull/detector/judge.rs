//! What is to be thought of a pull.

use leverarm_metrology::quantity::{Percent, Torque};

use super::event::{Click, Flaw, Loading, Point, Pull};
use super::settings::{Mode, Settings};

/// A zero phase needs so many samples.
pub(super) const ZERO_SAMPLES: usize = 8;

/// What the detector saw besides the pull itself.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Seen {
    pub(super) zero_samples: usize,
    pub(super) reversals: u32,
    pub(super) largest: f64,
    pub(super) again: Option<Click>,
    pub(super) clipped: bool,
    pub(super) gap_s: f64,
    pub(super) rest: Option<f64>,
}

/// All that is wrong, in the order of the pull.
pub(super) fn flaws(pull: &Pull, seen: &Seen, settings: &Settings) -> Vec<Flaw> {
    let target = settings.target;
    let lines = &settings.thresholds;
    let mut flaws = Vec::new();
    if seen.zero_samples < ZERO_SAMPLES {
        flaws.push(Flaw::NoZeroBefore { samples: seen.zero_samples });
    }
    if seen.gap_s > 0.0 {
        flaws.push(Flaw::Gap { seconds: seen.gap_s });
    }
    loading(pull.loading, pull.peak, settings, &mut flaws);
    if seen.reversals > 0 {
        let largest = Torque::from_newton_metres(seen.largest);
        flaws.push(Flaw::Jerky { reversals: seen.reversals, largest });
    }
    if settings.mode == Mode::FirstPeak {
        click(pull.click, seen.again, lines.advance, &mut flaws);
    }
    let peak = pull.peak.torque;
    if let Some(limit) = settings.torque_limit.filter(|limit| peak.abs() > limit.abs()) {
        flaws.push(Flaw::Overshoot { peak, limit });
    }
    if let Some(range) = settings.sensor_range.filter(|_| seen.clipped) {
        flaws.push(Flaw::Clipped { range });
    }
    let zero = pull.zero_before.map_or(Torque::ZERO, |zero| zero.torque);
    let after = pull.zero_after.map(|zero| zero.torque);
    let rest = seen.rest.map(Torque::from_newton_metres).or(after).map(|torque| torque - zero);
    match rest {
        Some(rest) if rest.abs() > target.share(lines.zero_return) => {
            flaws.push(Flaw::NoReturnToZero { rest })
        }
        Some(rest) => drift(pull, rest, target.share(lines.zero_drift), &mut flaws),
        None => {}
    }
    flaws
}

fn drift(pull: &Pull, rest: Torque, limit: Torque, flaws: &mut Vec<Flaw>) {
    let Some((before, after)) = pull.zero_before.zip(pull.zero_after) else { return };
    if rest.abs() > limit {
        flaws.push(Flaw::ZeroDrifted { before: before.torque, after: after.torque, limit });
    }
}

fn loading(loading: Option<Loading>, peak: Point, settings: &Settings, flaws: &mut Vec<Flaw>) {
    let Some(Loading { seconds, .. }) = loading else {
        flaws.push(Flaw::TargetNotReached { peak: peak.torque });
        return;
    };
    let Some(window) = settings.window else { return };
    if seconds < window.seconds_min {
        flaws.push(Flaw::TooFast { seconds, window });
    }
    if window.seconds_max.is_some_and(|most| seconds > most) {
        flaws.push(Flaw::TooSlow { seconds, window });
    }
}

fn click(click: Option<Click>, again: Option<Click>, limit: Percent, flaws: &mut Vec<Flaw>) {
    let Some(first) = click else {
        flaws.push(Flaw::NeverReleased);
        return;
    };
    let advance = first.advance.abs().percent_of(first.peak.torque.abs());
    if advance > limit {
        flaws.push(Flaw::SampledTooSlowly { advance, limit });
    }
    if let Some(second) = again {
        flaws.push(Flaw::DoubleClick { first: first.peak, second: second.peak });
    }
}
