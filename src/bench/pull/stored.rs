//! The detector, run over a trace that was kept.

use leverarm_metrology::quantity::Torque;

use crate::detector::{Detector, Event, Pull, Sense, Settings, SettingsError};
use crate::trace::{Sample, Timing, Trace};

/// The rate is the median over stretches of so many samples.
const STRETCH: usize = 64;

/// A pull that was found in a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// what the detector says of it; its times are seconds since the first sample of the trace
    pub pull: Pull,
    /// when 80 % of the target was passed, in seconds since the first sample
    pub eighty_s: Option<f64>,
}

/// Samples a second: as the trace says, or the median over stretches of 64 samples, which neither
/// gaps nor samples that come in bursts disturb. `None` for a single sample.
#[must_use]
pub fn rate_hz(trace: &Trace) -> Option<f64> {
    let times_s = match trace.timing() {
        Timing::Uniform { rate_hz, .. } => return Some(*rate_hz),
        Timing::Explicit { times_s } => times_s,
    };
    let steps = times_s.len().checked_sub(1).filter(|steps| *steps > 0)?;
    let stretch = steps.min(STRETCH);
    let ends = times_s.iter().skip(stretch).step_by(stretch);
    let mut lengths: Vec<f64> =
        times_s.iter().step_by(stretch).zip(ends).map(|(from, to)| to - from).collect();
    let middle = lengths.len() / 2;
    if middle >= lengths.len() {
        return None;
    }
    let (_, median, _) = lengths.select_nth_unstable_by(middle, f64::total_cmp);
    Some(stretch as f64 / *median).filter(|rate| rate.is_finite() && *rate > 0.0)
}

/// The sign of the torque that is farthest from zero: a display may show either direction with
/// either sign.
#[must_use]
pub fn sense(trace: &Trace) -> Sense {
    let (low, high) = trace
        .values()
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(*value), high.max(*value)));
    if -low > high { Sense::Negative } else { Sense::Positive }
}

/// All pulls of a trace, in the order of time. What is under way at its end is judged as it stands.
///
/// # Errors
/// [`SettingsError`] where the detector cannot work with these settings.
pub fn pulls(trace: &Trace, settings: Settings) -> Result<Vec<Found>, SettingsError> {
    let mut detector = Detector::new(settings)?;
    let (mut events, mut found, mut eighty_s) = (Vec::new(), Vec::new(), None);
    let mut take = |events: &mut Vec<Event>| {
        for event in events.drain(..) {
            match event {
                Event::Started(_) => eighty_s = None,
                Event::Slowly(point) => eighty_s = Some(point.time_s),
                Event::Done(pull) => found.push(Found { pull: *pull, eighty_s }),
                _ => {}
            }
        }
    };
    let mut push = |time_s: f64, value: f64| {
        detector.push(Sample { time_s, torque: Torque::new(value, trace.unit()) }, &mut events);
        take(&mut events);
    };
    // counted from the first sample, lest a clock that counts from long ago costs digits
    match trace.timing() {
        Timing::Uniform { rate_hz, .. } => {
            for (index, value) in trace.values().iter().enumerate() {
                push(index as f64 / rate_hz, *value);
            }
        }
        Timing::Explicit { times_s } => {
            let first = times_s.first().copied().unwrap_or_default();
            for (time_s, value) in times_s.iter().zip(trace.values()) {
                push(time_s - first, *value);
            }
        }
    }
    detector.finish(&mut events);
    take(&mut events);
    Ok(found)
}

/// The one with the highest torque: the pull that a trace is of.
#[must_use]
pub fn greatest(pulls: &[Found]) -> Option<&Found> {
    let height = |found: &Found| found.pull.peak.torque.abs().newton_metres();
    pulls.iter().max_by(|a, b| height(a).total_cmp(&height(b)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use leverarm_metrology::quantity::TorqueUnit;

    use super::*;
    use crate::detector::Mode;

    /// Zero, up to 100 in a second and a half, at once back to zero; twice, the second to 110. The
    /// oracle is in the corners.
    fn two(times_s: impl Fn(usize) -> f64) -> Trace {
        let torque = |t: f64| match t % 3.0 {
            t if t < 0.8 => 0.0,
            t if t < 2.3 => (t - 0.8) / 1.5,
            _ => 0.0,
        };
        let value = |i: usize| {
            let t = i as f64 * 1e-3;
            torque(t) * if t < 3.0 { -100.0 } else { -110.0 }
        };
        let timing = Timing::Explicit { times_s: (0..6000).map(times_s).collect() };
        Trace::new(TorqueUnit::NewtonMetre, timing, (0..6000).map(value).collect()).unwrap()
    }

    #[test]
    fn each_pull_once_on_any_clock() {
        let trace = two(|i| 1.7e9 + i as f64 * 1e-3);
        assert!((rate_hz(&trace).unwrap() - 1000.0).abs() < 0.01);
        assert_eq!(sense(&trace), Sense::Negative);
        let target = Torque::from_newton_metres(100.0);
        let mut settings = Settings::new(Mode::Peak, target, 1000.0);
        settings.sense = sense(&trace);
        let found = pulls(&trace, settings).unwrap();
        let peak = |found: &Found| found.pull.peak.torque.newton_metres();
        assert_eq!(found.len(), 2);
        assert!((peak(&found[0]) + 100.0).abs() < 0.08, "{}", peak(&found[0]));
        assert!((peak(greatest(&found).unwrap()) + 110.0).abs() < 0.08);
        assert!((found[1].eighty_s.unwrap() - (3.8 + 80.0 / 110.0 * 1.5)).abs() < 0.005);
    }

    #[test]
    fn the_rate_neither_of_gaps_nor_of_bursts() {
        let bursts = two(|i| (i / 16) as f64 * 0.016 + (i % 16) as f64 * 1e-6);
        assert!((rate_hz(&bursts).unwrap() - 1000.0).abs() < 1.0);
        let gap = two(|i| i as f64 * 1e-3 + if i < 90 { 0.0 } else { 20.0 });
        assert!((rate_hz(&gap).unwrap() - 1000.0).abs() < 1e-3);
        let one = Timing::Explicit { times_s: vec![1.0] };
        assert_eq!(rate_hz(&Trace::new(TorqueUnit::NewtonMetre, one, vec![1.0]).unwrap()), None);
    }
}
