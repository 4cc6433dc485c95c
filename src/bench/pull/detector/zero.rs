//! The zero phase: its level and its noise, without the hand that is already closing on the grip.

use std::collections::VecDeque;

/// Length of a bucket, in seconds.
const BUCKET_S: f64 = 0.05;
/// How many are kept: a second of zero is enough.
const KEPT: usize = 24;
/// How many of the newest are left out when a pull begins.
const LEFT_OUT: usize = 3;

/// Count, mean and sum of squares about it (B. P. Welford, Technometrics 4, 1962, 419-420; merged
/// as by T. F. Chan, G. H. Golub, R. J. LeVeque, American Statistician 37, 1983, 242-247).
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Moments {
    pub(super) count: f64,
    pub(super) mean: f64,
    square: f64,
}

impl Moments {
    pub(super) fn add(&mut self, x: f64) {
        self.count += 1.0;
        let from = x - self.mean;
        self.mean += from / self.count;
        self.square += from * (x - self.mean);
    }

    fn merge(self, other: Moments) -> Moments {
        let count = self.count + other.count;
        if count == 0.0 {
            return self;
        }
        let between = other.mean - self.mean;
        Moments {
            count,
            mean: self.mean + between * other.count / count,
            square: self.square + other.square + between * between * self.count * other.count / count,
        }
    }

    pub(super) fn deviation(&self) -> f64 {
        if self.count > 1.0 { (self.square / (self.count - 1.0)).sqrt() } else { 0.0 }
    }
}

/// Buckets of samples and of block means.
#[derive(Debug, Clone, Default)]
pub(super) struct ZeroPhase {
    buckets: VecDeque<(f64, Moments, Moments)>,
}

/// What the zero phase showed.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Level {
    pub(super) samples: Moments,
    pub(super) blocks: Moments,
}

impl ZeroPhase {
    pub(super) fn sample(&mut self, time_s: f64, x: f64) {
        if self.buckets.back().is_none_or(|(from, ..)| time_s - from >= BUCKET_S) {
            if self.buckets.len() == KEPT {
                self.buckets.pop_front();
            }
            self.buckets.push_back((time_s, Moments::default(), Moments::default()));
        }
        if let Some((_, samples, _)) = self.buckets.back_mut() {
            samples.add(x);
        }
    }

    pub(super) fn block(&mut self, x: f64) {
        if let Some((.., blocks)) = self.buckets.back_mut() {
            blocks.add(x);
        }
    }

    /// Level and noise, the newest buckets left out.
    pub(super) fn level(&self) -> Level {
        let used = self.buckets.len().saturating_sub(LEFT_OUT);
        self.buckets.iter().take(used).fold(Level::default(), |sum, (_, samples, blocks)| Level {
            samples: sum.samples.merge(*samples),
            blocks: sum.blocks.merge(*blocks),
        })
    }

    /// How many seconds of zero there are, the newest left out.
    pub(super) fn seconds(&self) -> f64 {
        self.buckets.len().saturating_sub(LEFT_OUT) as f64 * BUCKET_S
    }
}
