//! The watch on the torque while a pull is awaited: filter, detector, and the samples that become the
//! trace. In bounded memory, whatever comes.

use std::collections::VecDeque;

use leverarm_metrology::reading::{Recorded, Series};
use leverarm_metrology::sequence::Readings;
use leverarm_pull::butterworth::Butterworth;
use leverarm_pull::codec;
use leverarm_pull::detector::{Detector, Event, Mode, Pull};
use leverarm_pull::trace::{Sample, Timing, Trace};

use crate::plan::{Plan, PlanError};
use crate::view::Phase;

/// A trace begins so long before its pull, in seconds.
const LEAD_S: f64 = 0.5;
/// The start of a pull is known so much later than it is, at most.
const LAG_S: f64 = 0.2;
/// Samples of a pull at most: 100 s at 10 kHz. What lasts longer is ended.
const SAMPLES_MAX: usize = 1_000_000;
/// After the key was pressed the torque is averaged for so long, in seconds: common practice, no
/// published source.
const KEY_S: f64 = 0.1;
/// A clock that goes back by more than this has begun anew, in seconds.
const BACK_S: f64 = 1.0;
/// A torque the other way counts as one from this share of the target on.
const WRONG_WAY: f64 = 0.1;

/// Whether a step is one of pulls.
pub(crate) fn is_pulled(readings: &Readings) -> bool {
    readings.series != Series::Zero
}

/// What a sample brought, besides events.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Alarm {
    /// the torque is beyond the limit
    Limit,
    /// the torque goes the other way
    WrongWay,
    /// the samples are too many for one pull
    TooLong,
    /// the clock of the instrument began anew
    Clock,
}

/// The watch.
#[derive(Debug, Clone)]
pub(crate) struct Watch {
    detector: Detector,
    filter: Option<Butterworth>,
    mode: Mode,
    sign: f64,
    /// in the unit of the display, without sign
    target: f64,
    limit: f64,
    step: Recorded,
    samples: VecDeque<(f64, f64)>,
    started_s: Option<f64>,
    slowly_s: Option<f64>,
    reached_s: Option<f64>,
    pressed_s: Option<f64>,
    pub(crate) was_pressed: bool,
    pub(crate) phase: Phase,
    now: f64,
    now_s: f64,
    highest: f64,
    is_above: bool,
    is_backward: bool,
    /// what the display stood at when the watch began
    first: Option<f64>,
}

impl Watch {
    pub(crate) fn new(plan: &Plan, readings: &Readings) -> Result<Watch, PlanError> {
        let step = plan.instrument.step;
        Ok(Watch {
            detector: Detector::new(plan.settings(readings))?,
            filter: plan.filter()?,
            mode: plan.mode(readings),
            sign: plan.sign(readings.direction),
            target: readings.target.torque().in_unit(step.unit()).abs(),
            limit: plan.limit.torque.in_unit(step.unit()),
            step,
            samples: VecDeque::new(),
            started_s: None,
            slowly_s: None,
            reached_s: None,
            pressed_s: None,
            was_pressed: false,
            phase: Phase::Settling,
            now: 0.0,
            now_s: f64::NEG_INFINITY,
            highest: 0.0,
            is_above: false,
            is_backward: false,
            first: None,
        })
    }

    /// One sample.
    pub(crate) fn push(&mut self, time_s: f64, recorded: Recorded, events: &mut Vec<Event>) -> Option<Alarm> {
        let is_later = time_s > self.now_s && time_s.is_finite();
        if !is_later {
            return (self.now_s - time_s > BACK_S).then_some(Alarm::Clock);
        }
        let value = recorded.value();
        self.now_s = time_s;
        self.now = value * self.sign;
        self.first.get_or_insert(self.now);
        self.samples.push_back((time_s, value));
        let mut torque = recorded.torque();
        if let Some(filter) = &mut self.filter {
            torque =
                leverarm_metrology::quantity::Torque::from_newton_metres(filter.step(torque.newton_metres()));
        }
        self.detector.push(Sample { time_s, torque }, events);
        if self.pressed_s.is_some_and(|pressed_s| time_s - pressed_s >= KEY_S) {
            self.pressed_s = None;
            self.detector.release(events);
        }
        if self.started_s.is_none() {
            let from_s = time_s - LEAD_S - LAG_S;
            while self.samples.front().is_some_and(|(at_s, _)| *at_s < from_s) {
                self.samples.pop_front();
            }
        } else {
            self.highest = self.highest.max(self.now);
            if self.mode != Mode::FirstPeak && self.reached_s.is_none() && self.now >= self.target {
                self.reached_s = Some(time_s);
            }
        }
        self.alarm()
    }

    fn alarm(&mut self) -> Option<Alarm> {
        if self.samples.len() > SAMPLES_MAX {
            return Some(Alarm::TooLong);
        }
        let is_above = self.now.abs() > self.limit;
        let is_backward = self.now < -WRONG_WAY * self.target;
        let alarm = if is_above && !self.is_above {
            Some(Alarm::Limit)
        } else if is_backward && !self.is_backward && self.started_s.is_none() {
            Some(Alarm::WrongWay)
        } else {
            None
        };
        // said again only after the torque was back
        self.is_above = is_above || (self.is_above && self.now.abs() > 0.9 * self.limit);
        self.is_backward = is_backward || (self.is_backward && self.now < -0.5 * WRONG_WAY * self.target);
        alarm
    }

    /// Follows an event.
    pub(crate) fn note(&mut self, event: &Event) {
        match event {
            Event::Ready(_) => {
                self.phase = Phase::Ready;
                self.first = Some(0.0);
            }
            Event::Started(point) => {
                self.started_s = Some(point.time_s);
                self.highest = self.now;
                self.phase = Phase::Pulling;
            }
            Event::Slowly(point) => {
                self.slowly_s = Some(point.time_s);
                self.phase = Phase::Slowly;
            }
            Event::FirstPeak(click) if self.mode == Mode::FirstPeak => {
                self.reached_s.get_or_insert(click.peak.time_s);
                self.phase = Phase::LetGo;
            }
            Event::Tracked(_) if self.was_pressed => self.phase = Phase::LetGo,
            Event::Ended { time_s } => {
                self.reached_s.get_or_insert(*time_s);
                self.phase = Phase::LetGo;
            }
            _ => {}
        }
    }

    /// The key that takes the value at the target.
    pub(crate) fn press(&mut self) -> bool {
        let may = self.mode == Mode::Track && self.started_s.is_some() && !self.was_pressed;
        if may {
            self.was_pressed = true;
            self.pressed_s = Some(self.now_s);
            self.detector.press();
        }
        may
    }

    /// The pull ends here, whatever it is.
    pub(crate) fn finish(&mut self, events: &mut Vec<Event>) {
        if self.pressed_s.take().is_some() {
            self.detector.release(events);
        }
        self.detector.finish(events);
    }

    /// The trace of a pull, and ready for the next one.
    pub(crate) fn take_trace(&mut self, pull: &Pull) -> Vec<u8> {
        let from_s = pull.start_s - LEAD_S;
        let (mut times_s, mut values) = (Vec::new(), Vec::new());
        for (time_s, value) in self.samples.iter().filter(|(time_s, _)| *time_s >= from_s) {
            times_s.push(*time_s);
            values.push(*value);
        }
        let trace = Trace::new(self.step.unit(), Timing::Explicit { times_s }, values);
        self.started_s = None;
        self.slowly_s = None;
        self.reached_s = None;
        self.pressed_s = None;
        self.was_pressed = false;
        self.highest = 0.0;
        self.phase = Phase::Settling;
        // the times rise and all values are finite, so there is a trace
        trace.map(|trace| codec::encode(&trace)).unwrap_or_default()
    }

    /// Whether there was a load when the watch began: then what the detector takes for a pull is none.
    pub(crate) fn began_loaded(&self, share: f64) -> bool {
        self.first.is_some_and(|first| first.abs() > share * self.target)
    }

    /// Whether a pull is under way.
    pub(crate) fn is_pulling(&self) -> bool {
        self.started_s.is_some()
    }

    pub(crate) fn is_above(&self) -> bool {
        self.is_above
    }

    /// The highest torque of the pull, in the unit of the display and the sense of the pull.
    pub(crate) fn highest(&self) -> f64 {
        self.highest
    }

    /// Seconds since 80 % of the target, and whether they still run.
    pub(crate) fn loading(&self) -> (f64, bool) {
        match (self.slowly_s, self.reached_s) {
            (Some(from_s), Some(to_s)) => ((to_s - from_s).max(0.0), false),
            (Some(from_s), None) => ((self.now_s - from_s).max(0.0), true),
            (None, _) => (0.0, false),
        }
    }
}

/// Whether the unloaded display stands still, and at what: the last half second.
#[derive(Debug, Clone, Default)]
pub(crate) struct Rest {
    samples: VecDeque<(f64, f64)>,
}

/// So much of it is looked at, in seconds; more than the detector's own zero of 0.25 s.
const REST_S: f64 = 0.5;
/// Fewer samples say nothing.
const REST_SAMPLES: usize = 8;
/// More are not kept: 1 s at 10 kHz.
const REST_SAMPLES_MAX: usize = 10_000;

impl Rest {
    pub(crate) fn push(&mut self, time_s: f64, value: f64) {
        let last_s = self.samples.back().map_or(f64::NEG_INFINITY, |(last_s, _)| *last_s);
        let is_later = time_s > last_s && time_s.is_finite();
        if !is_later {
            if last_s - time_s > BACK_S {
                self.samples.clear();
            }
            return;
        }
        self.samples.push_back((time_s, value));
        while self.samples.len() > REST_SAMPLES_MAX
            || self.samples.front().is_some_and(|(at_s, _)| time_s - at_s > REST_S)
        {
            self.samples.pop_front();
        }
    }

    pub(crate) fn clear(&mut self) {
        self.samples.clear();
    }

    /// The mean, where it stands still: both halves agree within a step of the display or what their
    /// scatter explains, and there is no gap.
    pub(crate) fn level(&self, step: f64) -> Option<f64> {
        let count = self.samples.len();
        let span = self.samples.back()?.0 - self.samples.front()?.0;
        if count < REST_SAMPLES || span < 0.8 * REST_S {
            return None;
        }
        let mean = |from: usize, to: usize| {
            let sum: f64 = self.samples.range(from..to).map(|(_, value)| value).sum();
            sum / (to - from) as f64
        };
        let half = count / 2;
        let (early, late, all) = (mean(0, half), mean(half, count), mean(0, count));
        let square: f64 = self.samples.iter().map(|(_, value)| (value - all) * (value - all)).sum();
        let standard = (square / (count - 1) as f64).sqrt() * 2.0 / (count as f64).sqrt();
        ((late - early).abs() <= step.max(4.0 * standard)).then_some(all)
    }
}
