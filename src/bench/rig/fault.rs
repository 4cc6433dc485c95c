//! What gets lost on the way: single samples, and the connection.

use crate::chance::{Chance, DROPOUTS, LOSSES};

/// How often what gets lost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Faults {
    /// probability that samples begin to be missing at a sample, 0 to 0.1
    pub dropout_share: f64,
    /// how many are missing at most, one after the other
    pub dropout_longest: u32,
    /// how often the connection is lost, per hour
    pub losses_per_hour: f64,
    /// for how long at most, s; at least a quarter of it
    pub loss_s: f64,
}

impl Default for Faults {
    /// None.
    fn default() -> Faults {
        Faults { dropout_share: 0.0, dropout_longest: 1, losses_per_hour: 0.0, loss_s: 1.0 }
    }
}

/// Draws the gaps between the faults, so that a sample without one costs a comparison.
#[derive(Debug, Clone)]
pub(crate) struct Losing {
    faults: Faults,
    rate_hz: f64,
    dropouts: Chance,
    losses: Chance,
    dropout: (u64, u64),
    loss: (u64, u64),
}

impl Losing {
    pub(crate) fn new(faults: Faults, seed: u64, rate_hz: f64) -> Losing {
        let mut losing = Losing {
            faults,
            rate_hz,
            dropouts: Chance::new(seed, DROPOUTS),
            losses: Chance::new(seed, LOSSES),
            dropout: (0, 0),
            loss: (0, 0),
        };
        losing.next_dropout(0);
        losing.next_loss(0);
        losing
    }

    /// Whether the sample is missing, and whether the connection is lost.
    pub(crate) fn at(&mut self, index: u64) -> (bool, bool) {
        if index >= self.dropout.1 {
            self.next_dropout(index);
        }
        if index >= self.loss.1 {
            self.next_loss(index);
        }
        let is_cut = index >= self.loss.0;
        (is_cut || index >= self.dropout.0, is_cut)
    }

    fn next_dropout(&mut self, now: u64) {
        if self.faults.dropout_share <= 0.0 {
            self.dropout = (u64::MAX, u64::MAX);
            return;
        }
        let wait = self.dropouts.wait(1.0 / self.faults.dropout_share) as u64;
        let length = self.dropouts.even(1.0, f64::from(self.faults.dropout_longest) + 1.0) as u64;
        let from = now.saturating_add(1).saturating_add(wait);
        self.dropout = (from, from.saturating_add(length));
    }

    fn next_loss(&mut self, now: u64) {
        if self.faults.losses_per_hour <= 0.0 {
            self.loss = (u64::MAX, u64::MAX);
            return;
        }
        let wait_s = self.losses.wait(3600.0 / self.faults.losses_per_hour);
        let length_s = self.losses.even(0.25, 1.0) * self.faults.loss_s;
        let from = now.saturating_add(1).saturating_add((wait_s * self.rate_hz) as u64);
        self.loss = (from, from.saturating_add((length_s * self.rate_hz) as u64).saturating_add(1));
    }
}
