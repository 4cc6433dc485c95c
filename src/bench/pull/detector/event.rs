//! What the detector says.

use leverarm_metrology::quantity::{Percent, Torque};

use super::settings::{LoadingWindow, Mode};

/// A torque at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// seconds, on the clock of the samples
    pub time_s: f64,
    /// as indicated: the zero is not taken off
    pub torque: Torque,
}

/// The level without load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zero {
    /// its mean
    pub torque: Torque,
    /// standard deviation of a sample, the mains hum taken out
    pub noise: Torque,
    /// how many samples it was taken from
    pub samples: usize,
}

/// The release of a setting tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Click {
    /// the torque just before the first momentary reduction
    pub peak: Point,
    /// by how much the torque fell
    pub drop: Torque,
    /// what noise makes of the peak: one standard deviation
    pub standard_noise: Torque,
    /// by how much the torque rose from sample to sample just before: half of it is what the moment
    /// of the release, unknown between two samples, makes of the peak at most
    pub advance: Torque,
}

/// The value of a tracked torque.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tracked {
    /// its mean
    pub torque: Torque,
    /// standard deviation of the samples
    pub scatter: Torque,
    /// from when
    pub from_s: f64,
    /// to when
    pub to_s: f64,
}

/// What ends the loading time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoadingEnd {
    /// the torque reached the target
    Target,
    /// the tool released below the target
    FirstPeak,
    /// the pull turned back below the target
    Peak,
}

/// The time from 80 % of the target to its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loading {
    /// how long it took
    pub seconds: f64,
    /// what ended it
    pub end: LoadingEnd,
}

/// What is wrong with a pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flaw {
    /// From 80 % to 100 % in less time than the rulebook wants.
    TooFast {
        /// how long it took
        seconds: f64,
        /// what the rulebook wants
        window: LoadingWindow,
    },
    /// In more time.
    TooSlow {
        /// how long it took
        seconds: f64,
        /// what the rulebook wants
        window: LoadingWindow,
    },
    /// 80 % of the target was never reached.
    TargetNotReached {
        /// the highest torque
        peak: Torque,
    },
    /// The torque fell and rose again before the reading.
    Jerky {
        /// how often
        reversals: u32,
        /// the largest fall
        largest: Torque,
    },
    /// The tool released more than once.
    DoubleClick {
        /// the first
        first: Point,
        /// the second
        second: Point,
    },
    /// A setting tool that never released.
    NeverReleased,
    /// The torque went beyond the limit that was set.
    Overshoot {
        /// the highest torque
        peak: Torque,
        /// the limit
        limit: Torque,
    },
    /// There was no zero before the pull to measure noise and level from.
    NoZeroBefore {
        /// how many samples there were
        samples: usize,
    },
    /// The torque did not go back to zero.
    NoReturnToZero {
        /// what was left
        rest: Torque,
    },
    /// The zero after is not the zero before.
    ZeroDrifted {
        /// the zero before
        before: Torque,
        /// the zero after
        after: Torque,
        /// by how much they may differ
        limit: Torque,
    },
    /// The transducer or its display was at its end.
    Clipped {
        /// where it ends
        range: Torque,
    },
    /// The torque rose too far from one sample to the next for a first peak to be known.
    SampledTooSlowly {
        /// by so much of the torque a sample
        advance: Percent,
        /// at most so much
        limit: Percent,
    },
    /// Samples were missing within the pull.
    Gap {
        /// the longest time without a sample
        seconds: f64,
    },
}

/// A pull from zero to zero, and what is to be thought of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pull {
    /// what of it is the reading
    pub mode: Mode,
    /// the zero before, where there was one
    pub zero_before: Option<Zero>,
    /// when the torque left zero
    pub start_s: f64,
    /// the highest torque
    pub peak: Point,
    /// the release, where there was one
    pub click: Option<Click>,
    /// the tracked value, where there was one
    pub tracked: Option<Tracked>,
    /// the loading time
    pub loading: Option<Loading>,
    /// when the torque was back
    pub end_s: f64,
    /// the zero after
    pub zero_after: Option<Zero>,
    /// what is wrong with it; empty when nothing is
    pub flaws: Vec<Flaw>,
}

impl Pull {
    /// The reading, by the mode: as indicated, the zero not taken off.
    #[must_use]
    pub fn reading(&self) -> Option<Torque> {
        match self.mode {
            Mode::Peak => Some(self.peak.torque),
            Mode::FirstPeak => self.click.map(|click| click.peak.torque),
            Mode::Track => self.tracked.map(|tracked| tracked.torque),
        }
    }

    /// The reading less the zero before.
    #[must_use]
    pub fn net_reading(&self) -> Option<Torque> {
        Some(self.reading()? - self.zero_before?.torque)
    }
}

/// What the detector says, while the samples go in.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// Zero and noise are known: the pull may begin.
    Ready(Zero),
    /// The torque left zero.
    Started(Point),
    /// The torque passed 80 % of the target: from here, slowly.
    Slowly(Point),
    /// The tool released for the first time.
    FirstPeak(Click),
    /// And again.
    Again(Click),
    /// A tracked value is there.
    Tracked(Tracked),
    /// The torque is back below the start.
    Ended {
        /// when
        time_s: f64,
    },
    /// The pull is over and judged.
    Done(Box<Pull>),
}
