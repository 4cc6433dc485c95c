//! The time of each sample: by the clock of the display where it gives one, by the stated rate
//! otherwise, and by the arrival where neither is known.

/// A display that shows midnight goes on from zero.
const DAY_S: f64 = 86_400.0;
/// A count of samples that is so far from the arrival has lost some, in seconds.
const SLIP_S: f64 = 0.5;

/// Gives each sample its time, always later than the one before.
#[derive(Debug, Clone)]
pub struct SampleClock {
    step_s: Option<f64>,
    last_s: Option<f64>,
    shown_s: Option<f64>,
    base_s: f64,
    is_fresh: bool,
}

impl SampleClock {
    /// A clock for samples at a stated rate, in hertz.
    #[must_use]
    pub fn new(rate_hz: Option<f64>) -> SampleClock {
        let step_s = rate_hz.filter(|rate| rate.is_finite() && *rate > 0.0).map(f64::recip);
        SampleClock { step_s, last_s: None, shown_s: None, base_s: 0.0, is_fresh: true }
    }

    /// The time of a sample that arrived at `arrived_s` and of which the display says `shown_s`.
    ///
    /// Lines arrive in bundles, so their arrival says little: samples are counted at the stated rate,
    /// and the count is set right where it has left the arrival by more than half a second, which is
    /// then a gap in the samples.
    pub fn time(&mut self, arrived_s: f64, shown_s: Option<f64>) -> f64 {
        let time = match (shown_s, self.step_s, self.last_s) {
            (Some(shown), _, last) => self.by_display(shown, arrived_s, last),
            (None, Some(step), Some(last)) if !self.is_fresh => {
                let counted = last + step;
                if (counted - arrived_s).abs() > SLIP_S { arrived_s.max(counted) } else { counted }
            }
            (None, _, _) => arrived_s,
        };
        // two lines of one read have one arrival: the later one is later all the same
        let time = self.last_s.map_or(time, |last| if time > last { time } else { last + 1e-6 });
        self.last_s = Some(time);
        self.is_fresh = false;
        time
    }

    /// The connection was lost: a new count begins at the next arrival.
    pub fn interrupted(&mut self) {
        self.shown_s = None;
        self.is_fresh = true;
    }

    fn by_display(&mut self, shown: f64, arrived_s: f64, last: Option<f64>) -> f64 {
        match self.shown_s {
            // its own clock goes on
            Some(before) if shown >= before => {}
            // past midnight
            Some(before) if before - shown > DAY_S / 2.0 => self.base_s += DAY_S,
            // the first one, or one that was switched off and on: its zero is put at the arrival
            _ => self.base_s = last.map_or(0.0, |last| (arrived_s - shown).max(last - shown + 1e-6)),
        }
        self.shown_s = Some(shown);
        self.base_s + shown
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::float_cmp)]

    use proptest::prelude::*;

    use super::*;

    #[test]
    fn the_clock_of_the_display_is_kept() {
        let mut clock = SampleClock::new(Some(100.0));
        assert_eq!(clock.time(7.0, Some(0.00)), 0.00);
        assert_eq!(clock.time(7.0, Some(0.01)), 0.01);
        assert_eq!(clock.time(7.3, Some(0.05)), 0.05);
    }

    #[test]
    fn past_midnight_it_goes_on() {
        let mut clock = SampleClock::new(None);
        clock.time(0.0, Some(86_399.99));
        let next = clock.time(0.01, Some(0.0));
        assert!((next - 86_400.0).abs() < 1e-9);
    }

    #[test]
    fn bundled_lines_are_spread_at_the_rate() {
        let mut clock = SampleClock::new(Some(50.0));
        let times: Vec<f64> = [1.0, 1.0, 1.0, 1.06, 1.06].map(|at| clock.time(at, None)).to_vec();
        for (time, wanted) in times.iter().zip([1.0, 1.02, 1.04, 1.06, 1.08]) {
            assert!((time - wanted).abs() < 1e-9);
        }
    }

    #[test]
    fn lost_samples_are_a_gap() {
        let mut clock = SampleClock::new(Some(50.0));
        clock.time(1.0, None);
        assert_eq!(clock.time(3.0, None), 3.0);
    }

    #[test]
    fn a_lost_connection_is_a_gap_however_short() {
        let mut clock = SampleClock::new(Some(50.0));
        clock.time(1.0, None);
        clock.interrupted();
        assert_eq!(clock.time(1.4, None), 1.4);
    }

    proptest! {
        #[test]
        fn times_rise(samples in proptest::collection::vec(
            (0.0..1e5_f64, proptest::option::of(0.0..1e5_f64)), 1..60), rate in proptest::option::of(1.0..1e4_f64)
        ) {
            let mut clock = SampleClock::new(rate);
            let mut last = f64::NEG_INFINITY;
            for (arrived, shown) in samples {
                let time = clock.time(arrived, shown);
                prop_assert!(time > last);
                last = time;
            }
        }
    }
}
