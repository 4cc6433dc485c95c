//! The zero phase: its level and its noise, without the hand that is already closing on the grip.
//!
//! A slow pull must not be taken for a drift of the zero, nor a drift for a pull. The zero is taken
//! over a second at most, and only while that second is flat: else the last flat one stands. So the
//! zero follows the drift of hours, and a hand that pulls up slowly leaves it behind.

use std::collections::VecDeque;

/// Length of a bucket, in seconds.
const BUCKET_S: f64 = 0.05;
/// How many are kept: a second of zero is enough.
const KEPT: usize = 24;
/// How many of the newest are left out when a pull begins.
const LEFT_OUT: usize = 3;
/// How many of the newest may show the hand that closes on the grip.
const FELT: usize = 6;
/// It is felt when they are louder by this factor than the rest, which has so many samples at least.
const LOUDER: f64 = 1.3;
const ENOUGH: f64 = 8.0;
/// So many standard deviations of noise are no drift.
const BY_NOISE: f64 = 6.0;

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

/// One bucket.
#[derive(Debug, Clone, Copy)]
struct Bucket {
    from_s: f64,
    samples: Moments,
    blocks: Moments,
    /// sum of the squares of the differences from sample to sample
    steps: f64,
}

/// Buckets of samples and of block means.
#[derive(Debug, Clone)]
pub(super) struct ZeroPhase {
    buckets: VecDeque<Bucket>,
    last: Option<f64>,
    flat: Option<Level>,
    /// by how much the later half of a flat zero may differ from the earlier
    drift: f64,
}

/// What the zero phase showed.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Level {
    pub(super) samples: Moments,
    pub(super) blocks: Moments,
    /// over how many buckets
    buckets: usize,
}

impl Level {
    fn with(self, bucket: &Bucket) -> Level {
        Level {
            samples: self.samples.merge(bucket.samples),
            blocks: self.blocks.merge(bucket.blocks),
            buckets: self.buckets + 1,
        }
    }

    /// Over how many seconds it was taken.
    pub(super) fn seconds(&self) -> f64 {
        self.buckets as f64 * BUCKET_S
    }
}

impl ZeroPhase {
    /// A zero whose later half may differ from its earlier by `drift`, in N·m.
    pub(super) fn new(drift: f64) -> ZeroPhase {
        ZeroPhase { buckets: VecDeque::with_capacity(KEPT), last: None, flat: None, drift }
    }

    /// Forgets all.
    pub(super) fn clear(&mut self) {
        self.buckets.clear();
        (self.last, self.flat) = (None, None);
    }

    pub(super) fn sample(&mut self, time_s: f64, x: f64) {
        if self.buckets.back().is_none_or(|bucket| time_s - bucket.from_s >= BUCKET_S) {
            if self.is_flat() {
                self.flat = Some(self.quiet());
            }
            if self.buckets.len() == KEPT {
                self.buckets.pop_front();
            }
            let none = Moments::default();
            self.buckets.push_back(Bucket { from_s: time_s, samples: none, blocks: none, steps: 0.0 });
        }
        let step = self.last.replace(x).map_or(0.0, |last| x - last);
        if let Some(bucket) = self.buckets.back_mut() {
            bucket.samples.add(x);
            bucket.steps += step * step;
        }
    }

    pub(super) fn block(&mut self, x: f64) {
        if let Some(bucket) = self.buckets.back_mut() {
            bucket.blocks.add(x);
        }
    }

    /// The last flat zero, the newest buckets left out; empty where there was none.
    pub(super) fn flat(&self) -> Level {
        self.flat.unwrap_or_default()
    }

    /// Level and noise, flat or not, the newest buckets left out.
    pub(super) fn level(&self) -> Level {
        self.without(LEFT_OUT)
    }

    /// A hand that closes slowly is felt before it is seen: where the last quarter of a second is
    /// louder than what was before, it does not count.
    fn quiet(&self) -> Level {
        let (all, early) = (self.without(LEFT_OUT - 1), self.without(FELT));
        let is_louder = all.samples.deviation() > LOUDER * early.samples.deviation();
        if early.samples.count >= ENOUGH && is_louder { early } else { all }
    }

    fn without(&self, newest: usize) -> Level {
        let used = self.buckets.len().saturating_sub(newest);
        self.buckets.iter().take(used).fold(Level::default(), |sum, bucket| sum.with(bucket))
    }

    /// Whether the later half of the buckets, the newest among them, stands where the earlier does.
    /// The noise is taken from the steps between samples (J. von Neumann, Annals of Mathematical
    /// Statistics 12, 1941, 367-395), which a ramp hardly touches.
    fn is_flat(&self) -> bool {
        let half = self.buckets.len() / 2;
        if self.buckets.len() < LEFT_OUT {
            return false;
        }
        let sum = |from: usize, to: usize| {
            self.buckets.range(from..to).fold(Moments::default(), |sum, bucket| sum.merge(bucket.samples))
        };
        let (early, late) = (sum(0, half), sum(half, self.buckets.len()));
        let steps: f64 = self.buckets.iter().map(|bucket| bucket.steps).sum();
        let variance = 0.5 * steps / (early.count + late.count);
        let noise = (variance * (1.0 / early.count + 1.0 / late.count)).sqrt();
        (late.mean - early.mean).abs() <= self.drift.max(BY_NOISE * noise)
    }
}
