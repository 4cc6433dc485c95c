//! The thread: commands in, samples made when they are due, lines out as the reader takes them.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::sync::mpsc::Receiver;
use std::time::{Duration, Instant};

use leverarm_rig::line::{GREETING, LONGEST, Speaker};
use leverarm_rig::{Command, Rig, Sample};

use super::door::{Side, Wrote};
use super::pace::{Clock, Pace};
use super::{Shared, Told};

/// Samples made at once at most: what a command has to wait for, and what memory they take.
const BATCH: u64 = 256;
/// The longest wait without a look at whether to stop.
const PATIENCE: Duration = Duration::from_millis(20);
/// The wait for a reader who is slow, or has not come.
const MOMENT: Duration = Duration::from_millis(1);

/// What the thread holds.
pub(super) struct Work {
    rig: Rig,
    speaker: Speaker,
    side: Side,
    clock: Clock,
    ordered: Receiver<Command>,
    shared: Arc<Shared>,
    /// lines that the reader has not taken yet, and how much of them he has
    lines: Vec<u8>,
    taken: usize,
    /// the connection is lost, because the physics ordered it
    is_cut: bool,
    told: Told,
    ended_s: Option<f64>,
}

impl Work {
    pub(super) fn new(
        rig: Rig,
        side: Side,
        pace: Pace,
        ordered: Receiver<Command>,
        shared: Arc<Shared>,
    ) -> Work {
        let rate_hz = f64::from(rig.settings().sample_rate_hz);
        Work {
            speaker: Speaker::new(rig.settings()),
            rig,
            side,
            clock: Clock::new(pace, rate_hz, Instant::now()),
            ordered,
            shared,
            lines: Vec::with_capacity((BATCH as usize + 1) * LONGEST),
            taken: 0,
            is_cut: false,
            told: Told::default(),
            ended_s: None,
        }
    }

    /// Runs until it is told to stop.
    pub(super) fn run(mut self) {
        while !self.shared.stops.load(Ordering::Relaxed) {
            while let Ok(command) = self.ordered.try_recv() {
                // it was checked when it was sent
                let _ = self.rig.command(command);
            }
            if let Some(wait) = self.step() {
                std::thread::park_timeout(wait.min(PATIENCE));
            }
        }
    }

    /// One step; how long there is nothing to do.
    fn step(&mut self) -> Option<Duration> {
        if !self.is_cut {
            let (is_there, is_new) = self.side.reader();
            if !is_there {
                return Some(MOMENT);
            }
            if is_new {
                self.begin_anew();
            }
            if self.taken < self.lines.len() {
                return self.hand_over();
            }
        }
        if self.taken >= self.lines.len() {
            self.lines.clear();
            self.taken = 0;
        }
        match self.clock.due(Instant::now(), BATCH) {
            Err(wait) => Some(wait),
            Ok(due) => {
                self.make(due);
                None
            }
        }
    }

    fn hand_over(&mut self) -> Option<Duration> {
        match self.side.write(self.lines.get(self.taken..).unwrap_or(&[])) {
            Wrote::Bytes(count) => {
                self.taken = self.taken.saturating_add(count);
                None
            }
            Wrote::Full | Wrote::Gone => Some(MOMENT),
        }
    }

    /// For a new reader: a greeting, and then the line of which the last reader had only a part.
    fn begin_anew(&mut self) {
        self.rewind();
        self.lines.splice(..0, GREETING.iter().copied());
    }

    /// Back to the beginning of the line of which the reader had a part.
    fn rewind(&mut self) {
        let taken = self.lines.get(..self.taken).unwrap_or(&[]);
        let whole = taken.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        self.lines.drain(..whole.min(self.lines.len()));
        self.taken = 0;
    }

    fn make(&mut self, due: u64) {
        for made in 1..=due {
            let sample = self.rig.next_sample();
            if sample.is_cut != self.is_cut {
                self.turn(&sample);
                self.clock.count(made);
                return self.tell();
            }
            self.say(&sample);
        }
        self.clock.count(due);
        self.tell();
    }

    fn say(&mut self, sample: &Sample) {
        if sample.is_dropped {
            self.told.dropped = self.told.dropped.saturating_add(1);
        } else {
            self.told.sent = self.told.sent.saturating_add(1);
            self.speaker.write(sample, &mut self.lines);
        }
    }

    /// The connection gets lost in the middle of a line, or comes back.
    fn turn(&mut self, sample: &Sample) {
        if sample.is_cut {
            self.told.dropped = self.told.dropped.saturating_add(1);
            self.flush();
            if self.taken < self.lines.len() {
                // the reader went before: the next one gets the rest
                self.rewind();
            } else {
                self.lines.clear();
                self.taken = 0;
                self.break_off(sample);
            }
            self.side.hang_up();
            self.is_cut = true;
        } else {
            self.is_cut = false;
            self.say(sample);
        }
    }

    /// Half of the line that gets lost, where the reader can see why it has no end.
    fn break_off(&mut self, sample: &Sample) {
        if self.side.can_hang_up() {
            let mut line = Vec::with_capacity(LONGEST);
            self.speaker.write(sample, &mut line);
            let _ = self.side.write(line.get(..line.len() / 2).unwrap_or(&[]));
        }
    }

    /// What was said before the loss has been said: waits for the reader, but not for ever.
    fn flush(&mut self) {
        while self.taken < self.lines.len() && !self.shared.stops.load(Ordering::Relaxed) {
            if !self.side.reader().0 {
                return;
            }
            if let Some(wait) = self.hand_over() {
                std::thread::park_timeout(wait);
            }
        }
    }

    fn tell(&mut self) {
        self.told.time_s = self.rig.time_s();
        self.told.is_pulling = self.rig.is_pulling() || self.rig.is_ordered();
        let truth = self.rig.truth();
        let ended_s = truth.map(|truth| truth.end_s);
        let mut told = self.shared.told();
        if ended_s != self.ended_s {
            self.ended_s = ended_s;
            told.truth = truth;
            told.stored = self.rig.stored().copied().collect();
        }
        (told.time_s, told.is_pulling) = (self.told.time_s, self.told.is_pulling);
        (told.sent, told.dropped) = (self.told.sent, self.told.dropped);
    }
}
