//! What is wrong with a pull, in words with the numbers of both sides.

use leverarm_pull::detector::{Flaw, LoadingEnd, LoadingWindow, Mode};

use super::scribe::{Number, Scribe};

/// A name that programs can rely on.
pub(super) const fn name(flaw: &Flaw) -> &'static str {
    match flaw {
        Flaw::TooFast { .. } => "too-fast",
        Flaw::TooSlow { .. } => "too-slow",
        Flaw::TargetNotReached { .. } => "target-not-reached",
        Flaw::Jerky { .. } => "jerky",
        Flaw::DoubleClick { .. } => "double-click",
        Flaw::NeverReleased => "never-released",
        Flaw::Overshoot { .. } => "overshoot",
        Flaw::NoZeroBefore { .. } => "no-zero-before",
        Flaw::NoReturnToZero { .. } => "no-return-to-zero",
        Flaw::ZeroDrifted { .. } => "zero-drifted",
        Flaw::Clipped { .. } => "clipped",
        Flaw::SampledTooSlowly { .. } => "sampled-too-slowly",
        Flaw::Gap { .. } => "gap",
    }
}

/// In a sentence without its full stop.
pub(super) fn words(flaw: &Flaw, scribe: &Scribe) -> String {
    let (torque, seconds) = (|t| scribe.torque(t), |s: f64| scribe.seconds(s));
    match flaw {
        Flaw::TooFast { seconds: s, window } => {
            format!("too fast: {} s from 80 % to 100 % of the target, wanted {}", seconds(*s), span(window))
        }
        Flaw::TooSlow { seconds: s, window } => {
            format!("too slow: {} s from 80 % to 100 % of the target, wanted {}", seconds(*s), span(window))
        }
        Flaw::TargetNotReached { peak } => {
            format!("80 % of the target was not reached: {} at most", torque(*peak))
        }
        Flaw::Jerky { reversals: 1, largest } => {
            format!("jerky: the torque fell by {} and rose again before the reading", torque(*largest))
        }
        Flaw::Jerky { reversals, largest } => format!(
            "jerky: the torque fell and rose again {reversals} times before the reading, by up to {}",
            torque(*largest)
        ),
        Flaw::DoubleClick { first, second } => format!(
            "released twice: at {} ({} s) and at {} ({} s)",
            torque(first.torque),
            seconds(first.time_s),
            torque(second.torque),
            seconds(second.time_s)
        ),
        Flaw::NeverReleased => "never released: no first peak of a setting tool was found".to_owned(),
        Flaw::Overshoot { peak, limit } => {
            format!("went to {}, beyond the limit of {}", torque(*peak), torque(*limit))
        }
        Flaw::NoZeroBefore { samples } => {
            format!("no zero before the pull: {samples} samples are too few to know level and noise")
        }
        Flaw::NoReturnToZero { rest } => format!("did not go back to zero: {} were left", torque(*rest)),
        Flaw::ZeroDrifted { before, after, limit } => format!(
            "the zero moved from {} to {}, by more than {}",
            torque(*before),
            torque(*after),
            torque(*limit)
        ),
        Flaw::Clipped { range } => {
            format!("clipped: the transducer or its display ends at {}", torque(*range))
        }
        Flaw::SampledTooSlowly { advance, limit } => format!(
            "sampled too slowly for a first peak: the torque rose by {} % from sample to sample, at most {} % are wanted",
            Number::figures(advance.value(), 3),
            Number::plain(limit.value())
        ),
        Flaw::Gap { seconds: s } => {
            format!("samples are missing within the pull, for up to {} s", seconds(*s))
        }
    }
}

/// What ended the loading time.
pub(super) const fn end(end: LoadingEnd) -> &'static str {
    match end {
        LoadingEnd::Target => "target",
        LoadingEnd::FirstPeak => "first peak",
        LoadingEnd::Peak => "peak",
    }
}

/// The word of a mode, as the option has it.
pub(super) const fn mode(mode: Mode) -> &'static str {
    match mode {
        Mode::Peak => "peak",
        Mode::FirstPeak => "first-peak",
        Mode::Track => "track",
    }
}

/// `0.5 s to 4 s`, `at least 0.5 s`.
pub(super) fn span(window: &LoadingWindow) -> String {
    let plain = Number::plain;
    match window.seconds_max {
        Some(most) => format!("{} s to {} s", plain(window.seconds_min), plain(most)),
        None => format!("at least {} s", plain(window.seconds_min)),
    }
}

#[cfg(test)]
mod tests {
    use leverarm_metrology::quantity::{Percent, Torque, TorqueUnit};

    use super::*;

    #[test]
    fn every_flaw_has_its_numbers() {
        let nm = Torque::from_newton_metres;
        let scribe = Scribe::new(TorqueUnit::NewtonMetre, nm(120.0));
        let window = LoadingWindow { seconds_min: 0.5, seconds_max: None };
        let advance = Percent::new(0.3412);
        for (flaw, wanted) in [
            (
                Flaw::TooFast { seconds: 0.1234, window },
                "0.123 s from 80 % to 100 % of the target, wanted at least 0.5 s",
            ),
            (Flaw::Jerky { reversals: 3, largest: nm(2.5) }, "3 times before the reading, by up to 2.50 N·m"),
            (
                Flaw::SampledTooSlowly { advance, limit: Percent::new(0.1) },
                "by 0.341 % from sample to sample, at most 0.1 %",
            ),
            (Flaw::NoReturnToZero { rest: nm(-3.0) }, "−3.00 N·m were left"),
        ] {
            let said = words(&flaw, &scribe);
            assert!(said.contains(wanted), "{said}");
        }
    }
}
