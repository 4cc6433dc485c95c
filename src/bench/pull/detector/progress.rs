//! How the pull goes: the highest torque, the loading time, the jerks, the plateau.

use super::block::Block;
use super::event::{Loading, LoadingEnd};
use super::release::Recent;
use super::zero::Moments;

/// Half the width of the fit about the highest torque, in seconds.
const PEAK_S: f64 = 0.020;

/// The highest torque so far.
#[derive(Debug, Clone, Default)]
pub(super) struct PeakFinder {
    highest: Option<Block>,
    fitted: Option<Block>,
    open: bool,
}

impl PeakFinder {
    pub(super) fn push(&mut self, block: Block, step_s: f64, recent: &Recent, noise: f64) {
        if self.highest.is_none_or(|highest| block.torque > highest.torque) {
            self.highest = Some(block);
            self.open = true;
        }
        if self.open && self.highest.is_some_and(|top| block.time_s - top.time_s >= PEAK_S.max(2.0 * step_s))
        {
            self.close(step_s, recent, noise);
        }
    }

    /// Fits what is still open.
    pub(super) fn close(&mut self, step_s: f64, recent: &Recent, noise: f64) {
        let Some(top) = self.highest.filter(|_| self.open) else { return };
        self.open = false;
        let reach_s = PEAK_S.max(2.5 * step_s);
        let fit = recent.around(top.time_s, reach_s, noise).map_or(top.torque, |fit| fit.value);
        // the newest is the highest of all block means: it stands, whatever the fit of an older one
        self.fitted = Some(Block { time_s: top.time_s, torque: fit });
    }

    pub(super) fn peak(&self) -> Option<Block> {
        self.fitted.or(self.highest)
    }
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
