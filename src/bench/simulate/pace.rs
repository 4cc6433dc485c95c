//! How fast the time of the bench goes.

use std::time::{Duration, Instant};

use super::StartError;

/// How fast the time of the bench goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pace {
    /// as the clock does
    RealTime,
    /// so many times as fast
    Times(f64),
    /// as fast as the reader reads
    AtSpeed,
}

/// What the reader, or the scheduler, is behind by more than this is not caught up: time stood still.
const BEHIND: Duration = Duration::from_millis(100);
/// Samples are not handed over one by one at high rates: never more often than this.
const TICK: Duration = Duration::from_millis(1);

impl Pace {
    pub(super) fn check(self) -> Result<(), StartError> {
        match self {
            Pace::Times(given) if !(given > 0.0 && given <= 1e6) => Err(StartError::Pace { given }),
            _ => Ok(()),
        }
    }
}

/// Says when the next samples are due.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clock {
    /// samples a second of the wall clock; none for as many as are read
    rate: Option<f64>,
    origin: Instant,
    done: u64,
}

impl Clock {
    pub(super) fn new(pace: Pace, sample_rate_hz: f64, now: Instant) -> Clock {
        let rate = match pace {
            Pace::RealTime => Some(sample_rate_hz),
            Pace::Times(times) => Some(sample_rate_hz * times),
            Pace::AtSpeed => None,
        };
        Clock { rate, origin: now, done: 0 }
    }

    /// How many samples are due, at most `most`; or how long to wait for the next ones.
    pub(super) fn due(&mut self, now: Instant, most: u64) -> Result<u64, Duration> {
        let Some(rate) = self.rate else { return Ok(most) };
        let elapsed_s = now.saturating_duration_since(self.origin).as_secs_f64();
        let due = ((elapsed_s * rate) as u64).saturating_sub(self.done);
        let catches_up = ((BEHIND.as_secs_f64() * rate) as u64).max(1);
        if due > catches_up {
            self.origin = now;
            self.done = 0;
            return Ok(catches_up.min(most));
        }
        if due > 0 {
            return Ok(due.min(most));
        }
        let next_s = (self.done as f64 + 1.0) / rate - elapsed_s;
        Err(Duration::try_from_secs_f64(next_s).unwrap_or(TICK).max(TICK))
    }

    /// So many samples were made.
    pub(super) fn count(&mut self, made: u64) {
        self.done = self.done.saturating_add(made);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_due_by_the_clock() {
        let now = Instant::now();
        let mut clock = Clock::new(Pace::Times(10.0), 100.0, now);
        assert_eq!(clock.due(now, 50), Err(Duration::from_millis(1)));
        assert_eq!(clock.due(now + Duration::from_millis(50), 500), Ok(50));
        clock.count(50);
        assert!(clock.due(now + Duration::from_millis(50), 500).is_err());
        assert_eq!(clock.due(now + Duration::from_millis(80), 7), Ok(7));
    }

    /// After a stop of ten seconds a tenth of a second is caught up, and the rest has not been.
    #[test]
    fn time_stood_still_while_nobody_read() {
        let now = Instant::now();
        let mut clock = Clock::new(Pace::RealTime, 1000.0, now);
        let later = now + Duration::from_secs(10);
        assert_eq!(clock.due(later, 512), Ok(100));
        clock.count(100);
        assert!(clock.due(later + Duration::from_millis(99), 512).is_err());
        assert_eq!(clock.due(later + Duration::from_millis(150), 512), Ok(50));
    }

    #[test]
    fn a_pace_is_above_zero() {
        for given in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(Pace::Times(given).check().is_err(), "{given}");
        }
        assert_eq!(Pace::Times(0.5).check(), Ok(()));
        let mut clock = Clock::new(Pace::AtSpeed, 20.0, Instant::now());
        assert_eq!(clock.due(Instant::now(), 512), Ok(512));
    }
}
