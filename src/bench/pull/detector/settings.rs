//! What the detector is told before the pull.

use leverarm_metrology::quantity::{Percent, Torque};
use thiserror::Error;

/// What of the pull is the reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mode {
    /// the highest torque: indicating tools
    Peak,
    /// the torque just before the first momentary reduction: setting tools
    FirstPeak,
    /// the torque while a key is held down, or on a plateau at the target
    Track,
}

/// The sign of the torque in the direction of the pull.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sense {
    /// the display shows positive numbers
    Positive,
    /// the display shows negative numbers
    Negative,
}

impl Sense {
    pub(crate) fn sign(self) -> f64 {
        match self {
            Sense::Positive => 1.0,
            Sense::Negative => -1.0,
        }
    }
}

/// How long the pull may last from 80 % of the target to the target, by the rulebook.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadingWindow {
    /// at least so many seconds
    pub seconds_min: f64,
    /// at most so many seconds
    pub seconds_max: Option<f64>,
}

/// Where the lines are drawn. [`Thresholds::default`] holds what `standards-notes/first-peak.md`
/// was made with; common practice, no published source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thresholds {
    /// a pull begins and ends at this share of the target
    pub start: Percent,
    /// a click is looked for from this share of the target on
    pub click_from: Percent,
    /// a click drops by at least this share of the torque
    pub drop_min: Percent,
    /// and by at most this one: a hand that lets go drops further
    pub drop_max: Percent,
    /// and by more than this many standard deviations of the noise
    pub drop_noise: f64,
    /// and, within 20 ms, by more than this many times the unrest of the hand before it: a tremor of
    /// amplitude A at 10 Hz shows 2.8 A, root mean square, and falls by 1.2 A in that time
    pub drop_unrest: f64,
    /// a click falls within this time, in seconds
    pub fall_s: f64,
    /// a fall by this share of the target before the reading, and a rise after it, is a jerk
    pub jerk: Percent,
    /// jerks count from this share of the target on
    pub jerk_from: Percent,
    /// the zero after may differ from the zero before by this share of the target
    pub zero_drift: Percent,
    /// beyond this share of the target it is no zero at all
    pub zero_return: Percent,
    /// one sample may advance by this share of the torque, and no more, where a first peak is read
    pub advance: Percent,
    /// a plateau keeps within this share of the target
    pub plateau: Percent,
    /// for so long, in seconds
    pub plateau_s: f64,
}

impl Default for Thresholds {
    fn default() -> Thresholds {
        Thresholds {
            start: Percent::new(5.0),
            click_from: Percent::new(30.0),
            drop_min: Percent::new(0.5),
            drop_max: Percent::new(35.0),
            drop_noise: 7.0,
            drop_unrest: 1.0,
            fall_s: 0.030,
            jerk: Percent::new(1.5),
            jerk_from: Percent::new(50.0),
            zero_drift: Percent::new(0.2),
            zero_return: Percent::new(1.0),
            advance: Percent::new(0.1),
            plateau: Percent::new(1.0),
            plateau_s: 0.5,
        }
    }
}

/// What the detector is told before the pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// what of the pull is the reading
    pub mode: Mode,
    /// the target of the pull, without sign
    pub target: Torque,
    /// the sign of the torque
    pub sense: Sense,
    /// samples a second
    pub sample_rate_hz: f64,
    /// one step of the display, where it is known; it is found from the samples otherwise
    pub resolution: Option<Torque>,
    /// the mains frequency, whose hum is taken out; the torque is left as it is where there is none
    pub mains_hz: Option<f64>,
    /// how long the pull may last
    pub window: Option<LoadingWindow>,
    /// no pull may go higher
    pub torque_limit: Option<Torque>,
    /// where the transducer or its display ends
    pub sensor_range: Option<Torque>,
    /// where the lines are drawn
    pub thresholds: Thresholds,
}

impl Settings {
    /// Settings with the default thresholds, and nothing known of limits, mains and display.
    #[must_use]
    pub fn new(mode: Mode, target: Torque, sample_rate_hz: f64) -> Settings {
        Settings {
            mode,
            target: target.abs(),
            sense: if target.newton_metres() < 0.0 { Sense::Negative } else { Sense::Positive },
            sample_rate_hz,
            resolution: None,
            mains_hz: None,
            window: None,
            torque_limit: None,
            sensor_range: None,
            thresholds: Thresholds::default(),
        }
    }

    pub(super) fn check(&self) -> Result<(), SettingsError> {
        let target = self.target.newton_metres();
        if !(target.is_finite() && target > 0.0) {
            return Err(SettingsError::Target { given: self.target });
        }
        if !(20.0..=1.0e6).contains(&self.sample_rate_hz) {
            return Err(SettingsError::SampleRate { given_hz: self.sample_rate_hz });
        }
        Ok(())
    }
}

/// Why there can be no detector.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum SettingsError {
    /// The target is no torque above zero.
    #[error("a target of {} N·m: it must be above zero; the sign belongs to the sense of the pull", given.newton_metres())]
    Target {
        /// what was given
        given: Torque,
    },
    /// Too slow for a pull, or beyond all instruments.
    #[error("a sample rate of {given_hz} Hz: a pull needs 20 Hz at least, and 1 MHz is the most")]
    SampleRate {
        /// what was given
        given_hz: f64,
    },
}
