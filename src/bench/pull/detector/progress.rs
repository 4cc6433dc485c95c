//! How the pull goes: the highest torque, the loading time, the jerks, the plateau.

use super::block::{Block, Blocks};
use super::event::{Loading, LoadingEnd};
use super::release::Recent;
use super::top::{self, Grain};
use super::zero::Moments;

/// The samples about the top are kept from so long before it to so long after it, in seconds, and so
/// many of them at least.
const BEFORE_S: f64 = 0.060;
const AFTER_S: f64 = 0.040;
const ASIDE: f64 = 12.0;
/// Means of so many blocks are compared to find the top.
const SPANS: [usize; 5] = [1, 2, 4, 8, 16];
/// What a mean must exceed the others by, in its standard deviations, beyond what the highest of
/// many owes to chance: of 256 blocks, half a second.
const PENALTY: f64 = 2.0;
const RIVALS: f64 = 256.0;

/// The highest torque so far: where it was, and the samples around it.
///
/// The mean over any stretch of a pull is never above its highest torque. So each mean less a few of
/// its standard deviations bounds the highest torque from below, and the stretch with the highest
/// bound is where the top lies: a long one of a held top, a short one of a peak.
#[derive(Debug, Clone)]
pub(super) struct PeakFinder {
    bound: f64,
    from_s: f64,
    to_s: f64,
    around: Vec<(f64, f64)>,
    is_open: bool,
}

impl PeakFinder {
    pub(super) fn new(capacity: usize) -> PeakFinder {
        let around = Vec::with_capacity(capacity);
        PeakFinder { bound: f64::NEG_INFINITY, from_s: 0.0, to_s: 0.0, around, is_open: false }
    }

    pub(super) fn push(&mut self, blocks: &Blocks, recent: &Recent, noise: f64) {
        let Some(now) = blocks.back(0) else { return };
        // a stretch that ends far below the bound is better without its end
        if now.torque > self.bound - 3.0 * noise {
            let mut sum = 0.0;
            let mut count = 0;
            for span in SPANS {
                while let Some(block) = blocks.back(count).filter(|_| count < span) {
                    sum += block.torque;
                    count += 1;
                }
                if count < span {
                    break;
                }
                let n = span as f64;
                let penalty = PENALTY + (2.0 * libm::log(RIVALS / n)).sqrt();
                let bound = sum / n - penalty * noise / n.sqrt();
                if bound > self.bound {
                    self.bound = bound;
                    self.from_s = blocks.back(span - 1).map_or(now.time_s, |block| block.time_s);
                    self.to_s = now.time_s;
                    self.is_open = true;
                }
            }
        }
        if self.is_open && now.time_s - self.to_s >= aside_s(AFTER_S, recent) {
            self.close(recent);
        }
    }

    /// Keeps the samples around the top, if they are not kept yet.
    pub(super) fn close(&mut self, recent: &Recent) {
        if !std::mem::take(&mut self.is_open) {
            return;
        }
        let from_s = self.from_s - aside_s(BEFORE_S, recent);
        self.around.clear();
        self.around.extend(recent.between(from_s, self.to_s + aside_s(AFTER_S, recent)));
    }

    /// The highest torque, and when it was.
    pub(super) fn peak(&self, grain: &Grain) -> Option<Block> {
        top::estimate(&self.around, grain)
    }
}

fn aside_s(seconds: f64, recent: &Recent) -> f64 {
    seconds.max(ASIDE * recent.step_s())
}

/// The time from 80 % of the target on.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct LoadingTime {
    before: Option<Block>,
    from_s: Option<f64>,
    to_s: Option<f64>,
}

impl LoadingTime {
    /// True when the torque passes 80 %.
    pub(super) fn push(&mut self, block: Block, eighty: f64, target: f64) -> bool {
        let crossing = |level: f64| {
            let before = self.before.filter(|before| before.torque < level && block.torque >= level)?;
            let share = (level - before.torque) / (block.torque - before.torque);
            Some(before.time_s + share * (block.time_s - before.time_s))
        };
        let (from_s, to_s) = (crossing(eighty), crossing(target));
        self.before = Some(block);
        let passed = self.from_s.is_none() && from_s.is_some();
        self.from_s = self.from_s.or(from_s);
        self.to_s = self.to_s.or(to_s);
        passed
    }

    /// The loading time, ended by the target or, below it, by the release or the peak.
    pub(super) fn loading(&self, click_s: Option<f64>, peak_s: f64) -> Option<Loading> {
        let from = self.from_s?;
        let target = self.to_s.map(|to| (to, LoadingEnd::Target));
        let click = click_s.map(|to| (to, LoadingEnd::FirstPeak));
        let (to, end) = match (target, click) {
            (Some(target), Some(click)) if click.0 < target.0 => click,
            (Some(target), _) => target,
            (None, Some(click)) => click,
            (None, None) => (peak_s, LoadingEnd::Peak),
        };
        (to > from).then_some(Loading { seconds: to - from, end })
    }
}

/// Falls that rise again: extremes in turn, as a zigzag.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Jerks {
    high: f64,
    low: Option<f64>,
    pub(super) count: u32,
    pub(super) largest: f64,
}

impl Jerks {
    pub(super) fn push(&mut self, torque: f64, least: f64, from: f64) {
        match self.low {
            None => {
                self.high = self.high.max(torque);
                if self.high - torque > least && self.high > from {
                    self.low = Some(torque);
                }
            }
            Some(low) => {
                let low = low.min(torque);
                self.low = Some(low);
                // a fall that far is the end of the pull, or another one
                if torque - low > least && low > 0.5 * self.high {
                    self.count += 1;
                    self.largest = self.largest.max(self.high - low);
                    (self.high, self.low) = (torque, None);
                }
            }
        }
    }
}

/// A value while the torque stays where it should, or while a key is down.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Hold {
    moments: Moments,
    from_s: f64,
    to_s: f64,
}

impl Hold {
    pub(super) fn add(&mut self, time_s: f64, torque: f64) {
        if self.moments.count == 0.0 {
            self.from_s = time_s;
        }
        self.to_s = time_s;
        self.moments.add(torque);
    }

    pub(super) fn seconds(&self) -> f64 {
        self.to_s - self.from_s
    }

    pub(super) fn is_empty(&self) -> bool {
        self.moments.count == 0.0
    }

    /// Mean, standard deviation, from, to.
    pub(super) fn value(&self) -> (f64, f64, f64, f64) {
        (self.moments.mean, self.moments.deviation(), self.from_s, self.to_s)
    }
}
