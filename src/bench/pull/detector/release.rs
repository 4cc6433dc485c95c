//! The torque just before a release, from the samples around it.

use std::collections::VecDeque;

use super::click::Fall;
use crate::fit::{Estimate, local};

/// The longest stretch that the fit before a release may use, in seconds, and in samples at least.
const REACH_S: f64 = 0.12;
const REACH: usize = 12;
/// From the times at which 20 % and 50 % of the drop are gone back to its beginning, in units of
/// their distance: 2.4 for a swing that starts from rest, 2.0 for one that creeps to its end.
const BACK: f64 = 2.2;
/// The same distance of a step that a running mean has smeared, as a share of the mean's width.
const SMEARED: f64 = 0.3;
/// A fall whose distance from 20 % to 50 % is shorter than this, in samples, is coarsely sampled.
const COARSE: f64 = 3.0;
/// The widest running mean, in seconds.
const SMOOTH_S: f64 = 0.003;

/// The samples of the last quarter of a second.
#[derive(Debug, Clone)]
pub(super) struct Recent {
    samples: VecDeque<(f64, f64)>,
    capacity: usize,
    step_s: f64,
}

/// A release that was located.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Located {
    pub(super) time_s: f64,
    pub(super) peak: Estimate,
    pub(super) drop: f64,
    /// the rise before it, per second
    pub(super) slope: f64,
}

impl Recent {
    pub(super) fn new(sample_rate_hz: f64) -> Recent {
        let capacity = ((sample_rate_hz * 0.25) as usize).max(48);
        Recent { samples: VecDeque::with_capacity(capacity), capacity, step_s: 1.0 / sample_rate_hz }
    }

    pub(super) fn push(&mut self, time_s: f64, torque: f64) {
        if self.samples.len() == self.capacity {
            self.samples.pop_front();
        }
        self.samples.push_back((time_s, torque));
    }

    /// How many samples are not later than this.
    pub(super) fn until(&self, time_s: f64) -> usize {
        self.samples.partition_point(|(time, _)| *time <= time_s)
    }

    /// The torque at a moment, from the samples before it alone.
    pub(super) fn before(&self, count: usize, at_s: f64, noise: f64) -> Option<Estimate> {
        let reach = ((REACH_S / self.step_s) as usize).max(REACH);
        let samples = self.samples.range(..count.min(self.samples.len())).rev().take(reach);
        local(samples.copied(), at_s, self.step_s, noise)
    }

    /// How many are kept at most.
    pub(super) fn capacity(&self) -> usize {
        self.capacity
    }

    /// From one sample to the next, in seconds.
    pub(super) fn step_s(&self) -> f64 {
        self.step_s
    }

    /// The samples from one moment to another.
    pub(super) fn between(&self, from_s: f64, to_s: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        let to = self.until(to_s);
        let from = self.samples.partition_point(|(time, _)| *time < from_s).min(to);
        self.samples.range(from..to).copied()
    }

    /// Mean of `width` samples about the sample `index`.
    fn smooth(&self, index: usize, width: usize) -> f64 {
        let from = index.saturating_sub(width / 2);
        let to = (index + width / 2 + 1).min(self.samples.len());
        let sum: f64 = self.samples.range(from..to).map(|(_, torque)| torque).sum();
        sum / (to - from) as f64
    }

    /// Going back from the sample `from`, where the torque was last at `level` or above: the index
    /// of that sample and the time of the crossing after it.
    fn last_above(&self, from: usize, level: f64, width: usize) -> Option<(usize, f64)> {
        let mut later = self.smooth(from, width);
        for index in (0..from).rev() {
            let torque = self.smooth(index, width);
            if torque >= level {
                let (time, next) = (self.samples[index].0, self.samples[index + 1].0);
                let share = if torque > later { (torque - level) / (torque - later) } else { 0.0 };
                return Some((index, time + share.clamp(0.0, 1.0) * (next - time)));
            }
            later = torque;
        }
        None
    }

    /// Where the fall began and how high the torque was there.
    pub(super) fn locate(&self, fall: &Fall, noise: f64) -> Option<Located> {
        let bottom = self.until(fall.low_s).checked_sub(1)?;
        let drop = fall.top - fall.low;
        if drop <= 0.0 {
            return None;
        }
        let want = (12.0 * noise / drop) * (12.0 * noise / drop);
        let most = (SMOOTH_S / self.step_s).max(1.0);
        let width = want.clamp(1.0, most) as usize | 1;
        let mut peak = Estimate { value: fall.top, standard: noise };
        let mut onset = (0, fall.top_s);
        for _ in 0..3 {
            onset = self.onset(bottom, peak.value, fall.low, width, noise)?;
            peak = self.before(onset.0, onset.1, noise)?;
            // it released when the torque was higher than ever before: no sample lies above the peak
            // but by its noise
            peak.value = peak.value.max(self.highest(bottom) - 3.5 * noise);
            if peak.value <= fall.low {
                return None;
            }
        }
        let (count, time_s) = onset;
        let slope = self.slope(count);
        Some(Located { time_s, peak, drop: peak.value - fall.low, slope })
    }

    fn highest(&self, count: usize) -> f64 {
        let recent = ((0.1 / self.step_s) as usize).max(REACH);
        let range = count.saturating_sub(recent)..count.min(self.samples.len());
        self.samples.range(range).map(|(_, torque)| *torque).fold(f64::NEG_INFINITY, f64::max)
    }

    /// How many samples precede the beginning of the fall, and when it was.
    fn onset(&self, bottom: usize, top: f64, low: f64, width: usize, noise: f64) -> Option<(usize, f64)> {
        let drop = top - low;
        let (_, half_s) = self.last_above(bottom, top - 0.5 * drop, width)?;
        let (last, fifth_s) = self.last_above(bottom, top - 0.2 * drop, width)?;
        let smeared = SMEARED * (width - 1) as f64 * self.step_s;
        let spread = half_s - fifth_s;
        let spread = (spread * spread - smeared * smeared).max(0.0).sqrt();
        if spread < COARSE * self.step_s {
            let safe = self.until(fifth_s - 2.0 * spread - 1.1 * self.step_s);
            if let Some(onset) = self.coarse_onset(safe, last + 3, low, noise) {
                return Some(onset);
            }
        }
        let time_s = half_s - BACK * spread;
        Some((self.until(time_s), time_s))
    }

    /// The same where the fall takes a few samples only: sample by sample, as long as each is where
    /// those before it say; then back from the first that is not, along half a cosine.
    fn coarse_onset(&self, safe: usize, end: usize, low: f64, noise: f64) -> Option<(usize, f64)> {
        let bend = self.bend(safe);
        let safe = safe.max(2);
        let end = end.min(self.samples.len());
        let mut count = (safe..end).find(|index| {
            // the fall may have begun within the last two samples: they must not foretell the next
            let early = index.saturating_sub(2).max(safe);
            self.falls(*index, early, bend, noise, 1.0) || self.falls(*index, *index, bend, noise, 1.0)
        })?;
        let early = count.saturating_sub(2).max(safe);
        while count > early && self.falls(count - 1, early, bend, noise, 0.5) {
            count -= 1;
        }
        let time = self.samples[count].0;
        let top = self.before(count, time, noise)?.value;
        let share = |torque: f64| ((top - torque) / (top - low)).clamp(0.0, 1.0);
        let (first, second) = (share(self.samples[count].1), share(self.samples.get(count + 1)?.1));
        let back_s = half_cosine(first, second) * (time - self.samples[count - 1].0);
        Some((count, time - back_s))
    }

    /// Whether this sample lies below what those before `early` say of it.
    fn falls(&self, index: usize, early: usize, bend: f64, noise: f64, share: f64) -> bool {
        let (time, torque) = self.samples[index];
        let Some(expected) = self.before(early, time, noise) else { return false };
        let steps = (index - early + 1) as f64;
        let by_noise = 4.0 * (noise * noise + expected.standard * expected.standard).sqrt();
        // what one cannot foresee of a tremor
        let by_bend = (1.2 * bend - 6.0 * noise) * steps * (steps + 1.0) / 2.0;
        let tolerance = by_noise.max(by_bend).max(2e-4 * expected.value.abs());
        torque < expected.value - share * tolerance
    }

    /// The largest second difference of the samples before: what one cannot foresee of the next.
    fn bend(&self, count: usize) -> f64 {
        let from = count.saturating_sub(10);
        (from + 2..count)
            .map(|i| (self.samples[i].1 - 2.0 * self.samples[i - 1].1 + self.samples[i - 2].1).abs())
            .fold(0.0, f64::max)
    }

    /// The rise per second over the last stretch of so many samples.
    fn slope(&self, count: usize) -> f64 {
        let back = ((0.05 / self.step_s) as usize).max(4).min(count.saturating_sub(1));
        let half = (back / 2).max(1);
        let mean = |from: usize| {
            let mut sum = (0.0, 0.0);
            for (time, torque) in self.samples.range(from..(from + half).min(self.samples.len())) {
                sum = (sum.0 + time, sum.1 + torque);
            }
            (sum.0 / half as f64, sum.1 / half as f64)
        };
        if count < back + 1 || back < 2 {
            return 0.0;
        }
        let (early, late) = (mean(count - back), mean(count - half));
        (late.1 - early.1) / (late.0 - early.0)
    }
}

/// How many samples before the first low one the fall began, from the shares of the drop that it
/// and the next one have gone: as if it were half a cosine.
fn half_cosine(first: f64, second: f64) -> f64 {
    let angle = |share: f64| libm::acos(1.0 - 2.0 * share);
    if first > 0.8 {
        0.5
    } else if second < 0.9 && second > first {
        (angle(first) / (angle(second) - angle(first))).min(0.95)
    } else {
        (0.7 * angle(first) / (2.5 - angle(first)).max(0.1)).min(0.5)
    }
}
