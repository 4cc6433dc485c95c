//! How quickly the screen follows the instrument.

use std::time::Duration;

/// Times from 0 ms up to here are told apart; what is longer counts as this.
const MS_MAX: usize = 2000;

/// Times from the arrival of the newest sample to the end of the frame that shows it.
#[derive(Debug, Clone)]
pub struct Figures {
    counts: Vec<u32>,
    frames: u64,
    samples: u64,
}

impl Default for Figures {
    fn default() -> Figures {
        Figures { counts: vec![0; MS_MAX + 1], frames: 0, samples: 0 }
    }
}

impl Figures {
    /// Samples came in.
    pub fn heard(&mut self, samples: usize) {
        self.samples = self.samples.saturating_add(samples as u64);
    }

    /// A frame with a new sample is on the screen.
    pub fn drawn(&mut self, after: Duration) {
        // a started millisecond is a whole one: no figure is better than the truth
        let ms = usize::try_from(after.as_micros().div_ceil(1000)).unwrap_or(MS_MAX).min(MS_MAX);
        if let Some(count) = self.counts.get_mut(ms) {
            *count = count.saturating_add(1);
        }
        self.frames = self.frames.saturating_add(1);
    }

    /// Samples in all.
    #[must_use]
    pub fn samples(&self) -> u64 {
        self.samples
    }

    /// The time in milliseconds that this share of the frames did not exceed; none without a frame.
    #[must_use]
    pub fn quantile_ms(&self, share: f64) -> Option<usize> {
        let wanted = (self.frames as f64 * share).ceil().max(1.0) as u64;
        let mut seen = 0_u64;
        self.counts.iter().position(|count| {
            seen = seen.saturating_add(u64::from(*count));
            seen >= wanted
        })
    }

    /// In a sentence; none without a frame.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let (half, most) = (self.quantile_ms(0.5)?, self.quantile_ms(0.99)?);
        Some(format!(
            "{} samples; from a sample to the screen at most {half} ms in half, {most} ms in 99 % of {} frames",
            self.samples, self.frames
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_of_the_frames() {
        let mut figures = Figures::default();
        assert_eq!(figures.quantile_ms(0.99), None);
        (1..=100).for_each(|ms| figures.drawn(Duration::from_millis(ms)));
        assert_eq!(figures.quantile_ms(0.5), Some(50));
        assert_eq!(figures.quantile_ms(0.99), Some(99));
        figures.drawn(Duration::from_secs(60));
        assert_eq!(figures.quantile_ms(1.0), Some(MS_MAX));
    }

    #[test]
    fn a_started_millisecond_is_whole() {
        let mut figures = Figures::default();
        figures.drawn(Duration::from_micros(3001));
        assert_eq!(figures.quantile_ms(0.5), Some(4));
    }
}
