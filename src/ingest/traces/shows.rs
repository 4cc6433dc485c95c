//! Whether a trace shows what its row says.

use leverarm_metrology::low_pass::LowPass;
use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::{LoadingTime, Reading};
use leverarm_metrology::rounding::round_decimals;
use leverarm_metrology::tool::{Acting, ToolClass};
use leverarm_pull::detector::{Mode, Pull, Sense, Settings};
use leverarm_pull::stored::{self, rate_hz, sense};
use leverarm_pull::trace::Trace;

/// The bench may have taken out the hum of the mains, at 50 Hz or 60 Hz, or nothing.
const MAINS_HZ: [Option<f64>; 3] = [None, Some(50.0), Some(60.0)];
/// The detector gathers samples into blocks of this length, in seconds.
const BLOCK_S: f64 = 0.002;
/// The kept trace begins half a second before the pull: zero, noise and notch have settled on less than
/// at the bench, and the torque found anew may differ by so many steps of the display and this share of
/// the torque. Set by what a thousand simulated pulls showed; common practice, no published source.
const STEPS: f64 = 3.0;
const SETTLING: f64 = 5e-4;

/// What the rows of a run are held against.
#[derive(Debug, Clone, Copy)]
pub(super) struct Expected {
    /// the tool under test
    pub(super) class: ToolClass,
    /// the low-pass of the chain
    pub(super) filter: Option<LowPass>,
    /// one step of the display of the reference
    pub(super) step: Option<Torque>,
}

/// In what a trace differs from its row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Differs {
    /// what it shows and what the row says
    pub(super) said: String,
    /// what it should show
    pub(super) wanted: String,
}

impl Expected {
    /// Holds a trace against its row.
    ///
    /// The reading of a setting tool is the first peak, found anew, as indicated or less the zero
    /// before it; that of an indicating tool may be any torque of the pull, since the hand may stop
    /// where the tool shows its value, so it must not lie above the peak. Either may differ by [`STEPS`]
    /// steps of the display, by [`SETTLING`], and by what a low-pass does to a peak.
    pub(super) fn hold(&self, trace: &Trace, reading: &Reading) -> Result<(), Differs> {
        let said = MAINS_HZ.map(|mains_hz| self.hold_once(trace, reading, mains_hz));
        let [first, ..] = &said;
        if said.iter().any(Result::is_ok) { Ok(()) } else { first.clone() }
    }

    fn hold_once(&self, trace: &Trace, reading: &Reading, mains_hz: Option<f64>) -> Result<(), Differs> {
        let recorded = reading.reference.torque();
        let tolerance = self.tolerance(reading);
        let sense = sense(trace);
        let highest = highest(trace, sense);
        let Some(pull) = pull(trace, reading, self.mode(), sense, mains_hz) else {
            // Too slow, or too short, for the detector: the highest sample still bounds the reading.
            return bounded(highest, recorded, tolerance, reading);
        };
        let magnitude = |torque: Torque| match sense {
            Sense::Positive => torque,
            Sense::Negative => Torque::ZERO - torque,
        };
        match self.mode() {
            Mode::FirstPeak => {
                let shown = [pull.reading(), pull.net_reading()].into_iter().flatten().map(magnitude);
                let shown: Vec<Torque> = shown.collect();
                let Some(first) = shown.first() else {
                    return Err(Differs {
                        said: format!("shows no release, and the row says {}", reading.reference),
                        wanted: format!("a pull that releases at {}", reading.reference),
                    });
                };
                if shown.iter().all(|torque| (*torque - recorded).abs() > tolerance) {
                    return Err(other(*first, reading));
                }
            }
            Mode::Peak | Mode::Track => {
                bounded(magnitude(pull.peak.torque), recorded, tolerance, reading)?;
            }
        }
        time(trace, pull.loading.map(|loading| loading.seconds), reading, tolerance)
    }

    fn mode(&self) -> Mode {
        match self.class.acting() {
            Acting::Setting => Mode::FirstPeak,
            Acting::Indicating => Mode::Peak,
        }
    }

    fn tolerance(&self, reading: &Reading) -> Torque {
        let recorded = reading.reference;
        // Without the reference's file the last digit stands for the step.
        let last_digit = 0.1_f64.powi(i32::try_from(recorded.decimals()).unwrap_or(0));
        let step = self.step.unwrap_or_else(|| Torque::new(last_digit, recorded.unit()));
        let lag = match (self.filter, reading.loading_time) {
            (Some(filter), Some(time)) => filter.peak_error(reading.target.torque(), time.seconds()),
            _ => Torque::ZERO,
        };
        let settling = recorded.torque().newton_metres().abs() * SETTLING;
        Torque::from_newton_metres(STEPS * step.abs().newton_metres() + settling) + lag
    }
}

/// The greatest pull of a trace; `None` where the detector finds none, or cannot be made.
fn pull(trace: &Trace, reading: &Reading, mode: Mode, sense: Sense, mains_hz: Option<f64>) -> Option<Pull> {
    let mut settings = Settings::new(mode, reading.target.torque(), rate_hz(trace)?);
    settings.sense = sense;
    settings.mains_hz = mains_hz;
    let pulls = stored::pulls(trace, settings).ok()?;
    stored::greatest(&pulls).map(|found| found.pull.clone())
}

fn highest(trace: &Trace, sense: Sense) -> Torque {
    let sign = if sense == Sense::Negative { -1.0 } else { 1.0 };
    let highest = trace.values().iter().map(|value| value * sign).fold(0.0, f64::max);
    Torque::new(highest, trace.unit())
}

/// To the digits of what it is compared with.
fn digits(value: f64, decimals: u32) -> String {
    round_decimals(value, decimals).map_or_else(|_| value.to_string(), |rounded| rounded.to_string())
}

fn written(torque: Torque, reading: &Reading) -> String {
    let recorded = reading.reference;
    format!("{} {}", digits(torque.in_unit(recorded.unit()), recorded.decimals()), recorded.unit())
}

fn other(shown: Torque, reading: &Reading) -> Differs {
    Differs {
        said: format!("shows {}, and the row says {}", written(shown, reading), reading.reference),
        wanted: format!("a pull that reads {}", reading.reference),
    }
}

fn bounded(peak: Torque, recorded: Torque, tolerance: Torque, reading: &Reading) -> Result<(), Differs> {
    if recorded - peak <= tolerance {
        return Ok(());
    }
    Err(Differs {
        said: format!("goes up to {}, and the row says {}", written(peak, reading), reading.reference),
        wanted: format!("a pull up to {} at least", reading.reference),
    })
}

/// A time may differ by its last digit, by a sample at either end, by a block of the detector, and by what
/// the torque may differ by where it passes 80 % and 100 % with the mean slope of the pull.
fn time(trace: &Trace, shown: Option<f64>, reading: &Reading, torque: Torque) -> Result<(), Differs> {
    let Some(recorded): Option<LoadingTime> = reading.loading_time else { return Ok(()) };
    let rise = 0.2 * reading.target.torque().newton_metres().abs();
    let slope_s = if rise > 0.0 { recorded.seconds() / rise } else { 0.0 };
    let sample_s = rate_hz(trace).map_or(0.0, |rate| 1.0 / rate);
    let crossings_s = 2.0 * torque.newton_metres() * slope_s;
    let tolerance = recorded.step_s() + 2.0 * sample_s + 2.0 * BLOCK_S + crossings_s;
    let wanted = format!("{recorded} from 80 % to 100 % of the target");
    match shown {
        Some(seconds) if (seconds - recorded.seconds()).abs() <= tolerance => Ok(()),
        Some(seconds) => Err(Differs {
            said: format!(
                "takes {} s from 80 % to 100 % of the target, and the row says {recorded}",
                digits(seconds, recorded.digits().scale())
            ),
            wanted,
        }),
        None => Err(Differs {
            said: format!("does not come from 80 % to 100 % of the target, and the row says {recorded}"),
            wanted,
        }),
    }
}
