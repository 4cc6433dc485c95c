//! The peaks that an electronic tool keeps.

use std::collections::VecDeque;

use leverarm_metrology::quantity::Torque;

/// A peak that an electronic tool keeps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stored {
    /// its number in the tool, from 1
    pub number: u64,
    /// when it was, in the time of the rig, s
    pub time_s: f64,
    /// what the tool showed
    pub indicated: Torque,
}

/// The memory of the tool: when it is full the oldest is forgotten.
#[derive(Debug, Clone)]
pub(crate) struct Memory {
    room: usize,
    count: u64,
    peaks: VecDeque<Stored>,
}

impl Memory {
    pub(crate) fn new(room: usize) -> Memory {
        Memory { room, count: 0, peaks: VecDeque::new() }
    }

    pub(crate) fn keep(&mut self, time_s: f64, indicated: Torque) {
        if self.room == 0 {
            return;
        }
        if self.peaks.len() >= self.room {
            self.peaks.pop_front();
        }
        self.count = self.count.saturating_add(1);
        self.peaks.push_back(Stored { number: self.count, time_s, indicated });
    }

    pub(crate) fn peaks(&self) -> impl Iterator<Item = &Stored> {
        self.peaks.iter()
    }
}
