//! Samples in blocks of two milliseconds, so that what follows looks at five hundred numbers a
//! second at most, whatever the sample rate.

use std::collections::VecDeque;

/// Length of a block, in seconds.
const BLOCK_S: f64 = 0.002;
/// How many are kept.
const KEPT: usize = 96;

/// A mean with its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Block {
    pub(super) time_s: f64,
    pub(super) torque: f64,
}

/// The blocks, and the one in the making.
#[derive(Debug, Clone)]
pub(super) struct Blocks {
    size: usize,
    count: usize,
    time_sum: f64,
    torque_sum: f64,
    base_s: f64,
    done: VecDeque<Block>,
    step_s: f64,
}

impl Blocks {
    pub(super) fn new(sample_rate_hz: f64) -> Blocks {
        let size = ((sample_rate_hz * BLOCK_S).round() as usize).max(1);
        Blocks {
            size,
            count: 0,
            time_sum: 0.0,
            torque_sum: 0.0,
            base_s: 0.0,
            done: VecDeque::with_capacity(KEPT),
            step_s: size as f64 / sample_rate_hz,
        }
    }

    /// The time from block to block.
    pub(super) fn step_s(&self) -> f64 {
        self.step_s
    }

    /// How many samples make a block.
    pub(super) fn size(&self) -> usize {
        self.size
    }

    /// A block, whenever one is full.
    pub(super) fn push(&mut self, time_s: f64, torque: f64) -> Option<Block> {
        if self.count == 0 {
            self.base_s = time_s;
        }
        self.count += 1;
        self.time_sum += time_s - self.base_s;
        self.torque_sum += torque;
        if self.count < self.size {
            return None;
        }
        let n = self.count as f64;
        let block = Block { time_s: self.base_s + self.time_sum / n, torque: self.torque_sum / n };
        (self.count, self.time_sum, self.torque_sum) = (0, 0.0, 0.0);
        if self.done.len() == KEPT {
            self.done.pop_front();
        }
        self.done.push_back(block);
        Some(block)
    }

    /// The block so many steps ago.
    pub(super) fn back(&self, steps: usize) -> Option<Block> {
        self.done.len().checked_sub(steps + 1).and_then(|index| self.done.get(index)).copied()
    }

    /// Mean torque and time of `count` blocks, the newest of them `steps` ago.
    pub(super) fn mean(&self, steps: usize, count: usize) -> Option<Block> {
        let last = self.done.len().checked_sub(steps + count)?;
        let n = count as f64;
        let mut mean = Block { time_s: 0.0, torque: 0.0 };
        for block in self.done.range(last..last + count) {
            mean.time_s += block.time_s / n;
            mean.torque += block.torque / n;
        }
        Some(mean)
    }
}
