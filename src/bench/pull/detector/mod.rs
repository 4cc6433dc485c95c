//! Samples in, events out, in constant memory: zero, start, first peak, peak, end, judgement.
//!
//! The samples go in as they come from the instrument, unfiltered: the detector measures their
//! noise at zero and averages as much as the pull allows. Behind a low-pass of narrow band the
//! first peak is that of the filtered torque, and [`crate::butterworth::Butterworth::peak_error`]
//! belongs into the budget.

mod block;
mod click;
mod event;
mod judge;
mod progress;
mod release;
mod settings;
mod top;
mod zero;

use leverarm_metrology::quantity::Torque;

pub use event::{Click, Event, Flaw, Loading, LoadingEnd, Point, Pull, Tracked, Zero};
pub use settings::{LoadingWindow, Mode, Sense, Settings, SettingsError, Thresholds};

use self::block::{Block, Blocks};
use self::click::{ClickFinder, Fall, Ground};
use self::judge::{Seen, ZERO_SAMPLES};
use self::progress::{Hold, Jerks, LoadingTime, PeakFinder};
use self::release::Recent;
use self::top::Grain;
use self::zero::{Level, ZeroPhase};
use crate::notch::Notch;
use crate::trace::Sample;

/// So much zero makes ready for a pull, in seconds.
const READY_S: f64 = 0.25;
/// After the end of a pull the bench may swing for so long, in seconds.
const SWING_S: f64 = 0.1;
/// Within half a second a flat zero moves by this share of what the zero may drift over a pull.
const FLAT: f64 = 0.5;
/// The pull ends at this share of the torque at which it began, so that noise cannot begin it anew.
const END: f64 = 0.8;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Phase {
    Zero,
    Pull,
    Settle { since_s: f64 },
}

/// What is gathered of the pull in progress.
#[derive(Debug, Clone)]
struct Draft {
    level: Level,
    noise: f64,
    least_noise: f64,
    block_noise: f64,
    start_s: f64,
    end_s: f64,
    finder: ClickFinder,
    peak: PeakFinder,
    loading: LoadingTime,
    jerks: Jerks,
    click: Option<Click>,
    tracked: Option<Tracked>,
    plateau: Hold,
    seen: Seen,
}

/// The detector.
#[derive(Debug, Clone)]
pub struct Detector {
    settings: Settings,
    sign: f64,
    target: f64,
    notch: Option<Notch>,
    blocks: Blocks,
    recent: Recent,
    zero: ZeroPhase,
    phase: Phase,
    ready: bool,
    draft: Option<Draft>,
    key: Option<Hold>,
    last: Option<(f64, f64)>,
    finest: f64,
}

impl Detector {
    /// A detector for pulls of one kind.
    ///
    /// # Errors
    /// [`SettingsError`] where target or sample rate are none.
    pub fn new(settings: Settings) -> Result<Detector, SettingsError> {
        settings.check()?;
        let rate = settings.sample_rate_hz;
        let target = settings.target.newton_metres();
        Ok(Detector {
            settings,
            sign: settings.sense.sign(),
            target,
            notch: settings.mains_hz.and_then(|hz| Notch::new(hz, rate)),
            blocks: Blocks::new(rate),
            recent: Recent::new(rate),
            zero: ZeroPhase::new(FLAT * settings.thresholds.zero_drift.fraction() * target),
            phase: Phase::Zero,
            ready: false,
            draft: None,
            key: None,
            last: None,
            finest: f64::INFINITY,
        })
    }

    /// One sample; what it brings to light is added to `events`. A sample that is no number, or
    /// is not later than the one before it, is passed over.
    pub fn push(&mut self, sample: Sample, events: &mut Vec<Event>) {
        let time_s = sample.time_s;
        let raw = sample.torque.newton_metres() * self.sign;
        if !(raw.is_finite() && time_s.is_finite() && self.last.is_none_or(|(last, _)| time_s > last)) {
            return;
        }
        if let Some((last_s, last)) = self.last {
            let step = (raw - last).abs();
            if step > 0.0 {
                self.finest = self.finest.min(step);
            }
            self.watch_gap(time_s - last_s);
        }
        self.last = Some((time_s, raw));
        let clipped = self.settings.sensor_range.is_some_and(|range| raw >= range.newton_metres() * 0.9995);
        if let Some(draft) = self.draft.as_mut().filter(|_| clipped) {
            draft.seen.clipped = true;
        }
        let x = self.notch.as_mut().map_or(raw, |notch| notch.step(raw));
        self.recent.push(time_s, x);
        if let Some(key) = &mut self.key {
            key.add(time_s, x);
        }
        if self.phase != Phase::Pull {
            self.zero.sample(time_s, x);
        }
        if let Some(block) = self.blocks.push(time_s, x) {
            self.step(block, events);
        }
    }

    /// The stream ended: a pull that is under way is judged as it stands.
    pub fn finish(&mut self, events: &mut Vec<Event>) {
        if let (Some(draft), Some((time_s, torque))) = (&mut self.draft, self.last) {
            if self.phase == Phase::Pull {
                draft.end_s = time_s;
            }
            draft.seen.rest = Some(torque);
            self.conclude(events);
        }
    }

    /// The key that takes a tracked value goes down.
    pub fn press(&mut self) {
        self.key = Some(Hold::default());
    }

    /// The key comes up: what was tracked in between.
    pub fn release(&mut self, events: &mut Vec<Event>) {
        if let Some(hold) = self.key.take().filter(|hold| !hold.is_empty()) {
            let tracked = tracked(&hold, self.sign);
            if let Some(draft) = &mut self.draft {
                draft.tracked = Some(tracked);
            }
            events.push(Event::Tracked(tracked));
        }
    }

    fn watch_gap(&mut self, seconds: f64) {
        let Some(draft) = self.draft.as_mut().filter(|_| self.phase == Phase::Pull) else { return };
        if seconds * self.settings.sample_rate_hz > 3.0 {
            draft.seen.gap_s = draft.seen.gap_s.max(seconds);
        }
    }

    fn step(&mut self, block: Block, events: &mut Vec<Event>) {
        let lines = self.settings.thresholds;
        let begin = lines.start.fraction() * self.target;
        match self.phase {
            Phase::Zero => {
                self.zero.block(block.torque);
                let level = self.zero.flat();
                if !self.ready && level.seconds() >= READY_S {
                    self.ready = true;
                    events.push(Event::Ready(self.zero_of(&level)));
                }
                let least = begin.max(8.0 * level.blocks.deviation());
                if block.torque - level.samples.mean > least {
                    self.begin(block, level, events);
                }
            }
            Phase::Pull => self.follow(block, begin, events),
            Phase::Settle { since_s } => {
                let settled = block.time_s - since_s >= SWING_S;
                if block.torque - self.zero_mean() > begin {
                    // it only dipped: the pull goes on
                    self.phase = Phase::Pull;
                    self.zero.clear();
                    self.follow(block, begin, events);
                } else if !settled {
                    self.zero.clear();
                } else {
                    self.zero.block(block.torque);
                    if self.zero.level().seconds() >= READY_S {
                        self.conclude(events);
                    }
                }
            }
        }
    }

    fn begin(&mut self, block: Block, level: Level, events: &mut Vec<Event>) {
        let draft = Draft {
            level,
            noise: 0.0,
            least_noise: 0.0,
            block_noise: 0.0,
            start_s: block.time_s,
            end_s: block.time_s,
            finder: ClickFinder::new(self.settings.thresholds, self.blocks.step_s()),
            peak: PeakFinder::new(self.recent.capacity()),
            loading: LoadingTime::default(),
            jerks: Jerks::default(),
            click: None,
            tracked: None,
            plateau: Hold::default(),
            seen: Seen { zero_samples: level.samples.count as usize, ..Seen::default() },
        };
        self.draft = Some(draft);
        self.hear();
        self.zero.clear();
        self.phase = Phase::Pull;
        self.ready = false;
        events.push(Event::Started(self.point(block)));
    }

    /// The noise: that of the zero, and at least what rounding makes of a sample, step/√12. A zero
    /// that always shows the same number hides its step: it is the finest that the pull shows, and
    /// becomes known with the samples. Among values that are not rounded that is small.
    fn hear(&mut self) {
        let step = self.settings.resolution.map_or(self.finest, Torque::newton_metres);
        let rounding = if step.is_finite() { step / 12.0_f64.sqrt() } else { 0.0 };
        let least = rounding.max(1e-7 * self.target);
        let size = self.blocks.size() as f64;
        let Some(draft) = &mut self.draft else { return };
        draft.least_noise = least;
        draft.noise = draft.level.samples.deviation().max(least);
        draft.block_noise = draft.level.blocks.deviation().max(draft.noise / size.sqrt());
    }

    fn follow(&mut self, block: Block, begin: f64, events: &mut Vec<Event>) {
        let lines = self.settings.thresholds;
        let (target, sign) = (self.target, self.sign);
        let at = self.point(block);
        self.hear();
        let Some(draft) = &mut self.draft else { return };
        let zero = draft.level.samples.mean;
        draft.peak.push(&self.blocks, &self.recent, draft.block_noise);
        if draft.loading.push(block, zero + 0.8 * target, zero + target) {
            events.push(Event::Slowly(at));
        }
        let ground = Ground { noise: draft.block_noise, zero, from: lines.click_from.fraction() * target };
        let fall = draft.finder.push(&self.blocks, ground);
        if draft.click.is_none() && !draft.finder.is_falling() && fall.is_none() {
            let least = (lines.jerk.fraction() * target).max(8.0 * draft.block_noise);
            draft.jerks.push(block.torque, least, zero + lines.jerk_from.fraction() * target);
        }
        if (block.torque - zero - target).abs() <= lines.plateau.fraction() * target {
            draft.plateau.add(block.time_s, block.torque);
        } else {
            let held = std::mem::take(&mut draft.plateau);
            let wanted = self.settings.mode == Mode::Track && draft.tracked.is_none();
            if wanted && held.seconds() >= lines.plateau_s {
                let tracked = tracked(&held, sign);
                draft.tracked = Some(tracked);
                events.push(Event::Tracked(tracked));
            }
        }
        if block.torque - zero < END * begin {
            draft.end_s = block.time_s;
            draft.peak.close(&self.recent);
            self.phase = Phase::Settle { since_s: block.time_s };
            self.zero.clear();
            events.push(Event::Ended { time_s: block.time_s });
        } else if let Some(fall) = fall {
            self.clicked(&fall, events);
        }
    }

    fn clicked(&mut self, fall: &Fall, events: &mut Vec<Event>) {
        let delay_s = self.notch.as_ref().map_or(0.0, Notch::delay_s);
        let Some(draft) = &mut self.draft else { return };
        let Some(found) = self.recent.locate(fall, draft.noise) else { return };
        let torque = found.peak.value + found.slope.max(0.0) * delay_s;
        let signed = |torque: f64| Torque::from_newton_metres(torque * self.sign);
        let click = Click {
            peak: Point { time_s: found.time_s, torque: signed(torque) },
            drop: signed(found.drop).abs(),
            standard_noise: signed(found.peak.standard).abs(),
            advance: signed(found.slope / self.settings.sample_rate_hz),
        };
        if draft.click.is_none() {
            draft.click = Some(click);
            events.push(Event::FirstPeak(click));
        } else {
            draft.seen.again.get_or_insert(click);
            events.push(Event::Again(click));
        }
    }

    fn conclude(&mut self, events: &mut Vec<Event>) {
        let Some(mut draft) = self.draft.take() else { return };
        self.phase = Phase::Zero;
        draft.peak.close(&self.recent);
        let after = self.zero.level();
        let delay_s = self.notch.as_ref().map_or(0.0, Notch::delay_s);
        let grain = Grain {
            sample: draft.noise,
            least: draft.least_noise,
            block: draft.block_noise,
            size: self.blocks.size(),
            step_s: 1.0 / self.settings.sample_rate_hz,
            delay_s,
        };
        let highest = draft.peak.peak(&grain).unwrap_or(Block { time_s: draft.start_s, torque: 0.0 });
        let mut peak = self.point(highest);
        if let Some(click) = draft.click.filter(|_| self.settings.mode == Mode::FirstPeak) {
            let same = (click.peak.time_s - peak.time_s).abs() < self.settings.thresholds.fall_s;
            if same || click.peak.torque.abs() > peak.torque.abs() {
                peak = click.peak;
            }
        }
        draft.seen.reversals = draft.jerks.count;
        draft.seen.largest = draft.jerks.largest;
        draft.seen.rest = draft.seen.rest.filter(|_| after.samples.count < ZERO_SAMPLES as f64);
        draft.seen.rest = draft.seen.rest.map(|rest| rest * self.sign);
        let known = |level: &Level| level.samples.count >= ZERO_SAMPLES as f64;
        let mut pull = Pull {
            mode: self.settings.mode,
            zero_before: known(&draft.level).then(|| self.zero_of(&draft.level)),
            start_s: draft.start_s,
            peak,
            click: draft.click,
            tracked: draft.tracked,
            loading: draft.loading.loading(draft.click.map(|click| click.peak.time_s), peak.time_s),
            end_s: draft.end_s,
            zero_after: known(&after).then(|| self.zero_of(&after)),
            flaws: Vec::new(),
        };
        pull.flaws = judge::flaws(&pull, &draft.seen, &self.settings);
        events.push(Event::Done(Box::new(pull)));
    }

    fn zero_mean(&self) -> f64 {
        self.draft.as_ref().map_or(0.0, |draft| draft.level.samples.mean)
    }

    fn zero_of(&self, level: &Level) -> Zero {
        Zero {
            torque: Torque::from_newton_metres(level.samples.mean * self.sign),
            noise: Torque::from_newton_metres(level.samples.deviation()),
            samples: level.samples.count as usize,
        }
    }

    fn point(&self, block: Block) -> Point {
        Point { time_s: block.time_s, torque: Torque::from_newton_metres(block.torque * self.sign) }
    }
}

fn tracked(hold: &Hold, sign: f64) -> Tracked {
    let (mean, scatter, from_s, to_s) = hold.value();
    let torque = Torque::from_newton_metres(mean * sign);
    Tracked { torque, scatter: Torque::from_newton_metres(scatter), from_s, to_s }
}
