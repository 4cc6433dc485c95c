//! The detector, run over a trace that was kept.

use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::Recorded;
use leverarm_pull::detector::{Flaw, LoadingWindow, Mode, Sense, Settings, SettingsError};
pub use leverarm_pull::stored::Found;
use leverarm_pull::stored::{self, rate_hz};
use leverarm_pull::trace::Trace;
use thiserror::Error;

use super::columns::Dot;
use super::open::since_first_s;

/// What is known of the pull beside its samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// what of the pull is the reading
    pub mode: Mode,
    /// the target; the highest torque stands for it where it is not known
    pub target: Option<Recorded>,
    /// how long the pull may last from 80 % to 100 % of the target
    pub window: Option<LoadingWindow>,
    /// one step of the reference's display
    pub resolution: Option<Torque>,
}

/// Why no pull could be looked for.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum NoSearch {
    /// A single sample.
    #[error("a single sample is no pull")]
    Single,
    /// The target is zero: at a zero reading nothing is pulled.
    #[error("the target is zero, and at a zero reading nothing is pulled")]
    ZeroTarget,
    /// All samples are zero and no target was given.
    #[error("every sample is zero, and no target was given")]
    AllZero,
    /// The detector cannot work with this.
    #[error("no pull was looked for: {0}")]
    Settings(#[from] SettingsError),
}

/// What was found in a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// what was known before
    pub wanted: Wanted,
    /// the lowest sample
    pub lowest: Dot,
    /// the highest sample
    pub highest: Dot,
    /// samples a second, where there is more than one sample
    pub rate_hz: Option<f64>,
    /// the sign of the torque
    pub sense: Sense,
    /// the target, or what stood for it; without sign
    pub target: Torque,
    /// every pull in the order of time
    pub pulls: Vec<Found>,
    /// why none was looked for
    pub no_search: Option<NoSearch>,
}

impl Analysis {
    /// The pull that the trace is of: the one with the highest torque.
    #[must_use]
    pub fn main(&self) -> Option<&Found> {
        stored::greatest(&self.pulls)
    }

    /// `1.0` for a pull that the display shows with positive numbers, else `-1.0`.
    #[must_use]
    pub fn sign(&self) -> f64 {
        if self.sense == Sense::Negative { -1.0 } else { 1.0 }
    }

    /// When the loading time began and ended, in seconds since the first sample.
    #[must_use]
    pub fn loading_span(&self) -> Option<(f64, f64)> {
        let found = self.main()?;
        let from_s = found.eighty_s?;
        Some((from_s, from_s + found.pull.loading?.seconds))
    }
}

/// Looks for the pulls of a trace. Where no target is known the highest torque stands for it, and
/// nothing is said of a loading time.
#[must_use]
pub fn analyse(trace: &Trace, wanted: Wanted) -> Analysis {
    let (lowest, highest) = extremes(trace);
    let sense = stored::sense(trace);
    let farthest = Torque::new(highest.value.max(-lowest.value), trace.unit());
    let target = wanted.target.map_or(farthest, |target| target.torque().abs());
    let rate_hz = rate_hz(trace);
    let mut analysis =
        Analysis { wanted, lowest, highest, rate_hz, sense, target, pulls: Vec::new(), no_search: None };
    match search(trace, &analysis) {
        Ok(pulls) => analysis.pulls = pulls,
        Err(why) => analysis.no_search = Some(why),
    }
    analysis
}

fn search(trace: &Trace, known: &Analysis) -> Result<Vec<Found>, NoSearch> {
    let rate_hz = known.rate_hz.filter(|_| trace.len() > 1).ok_or(NoSearch::Single)?;
    if known.target == Torque::ZERO {
        return Err(if known.wanted.target.is_some() { NoSearch::ZeroTarget } else { NoSearch::AllZero });
    }
    let mut settings = Settings::new(known.wanted.mode, known.target, rate_hz);
    settings.sense = known.sense;
    settings.resolution = known.wanted.resolution;
    settings.window = known.wanted.window.filter(|_| known.wanted.target.is_some());
    let mut pulls = stored::pulls(trace, settings)?;
    if known.wanted.target.is_none() {
        pulls.iter_mut().for_each(forget_the_target);
    }
    Ok(pulls)
}

/// What rests on a target that nobody gave is not said.
fn forget_the_target(found: &mut Found) {
    found.eighty_s = None;
    found.pull.loading = None;
    found.pull.flaws.retain(|flaw| {
        !matches!(flaw, Flaw::TargetNotReached { .. } | Flaw::TooFast { .. } | Flaw::TooSlow { .. })
    });
}

fn extremes(trace: &Trace) -> (Dot, Dot) {
    let start = Dot { time_s: 0.0, value: trace.values().first().copied().unwrap_or_default() };
    let (mut lowest, mut highest) = ((0, start.value), (0, start.value));
    for (index, value) in trace.values().iter().enumerate() {
        if *value < lowest.1 {
            lowest = (index, *value);
        }
        if *value > highest.1 {
            highest = (index, *value);
        }
    }
    let dot = |(index, value)| Dot { time_s: since_first_s(trace, index), value };
    (dot(lowest), dot(highest))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use leverarm_metrology::quantity::TorqueUnit;
    use leverarm_pull::trace::Timing;

    use super::super::sample;
    use super::*;

    fn wanted(mode: Mode, target: Option<&str>) -> Wanted {
        let target = target.map(|text| Recorded::parse(text).unwrap());
        let window = Some(LoadingWindow { seconds_min: 0.5, seconds_max: Some(4.0) });
        Wanted { mode, target, window, resolution: None }
    }

    #[test]
    fn a_click_is_found_where_it_was_drawn() {
        let analysis = analyse(&sample::click(), wanted(Mode::FirstPeak, Some("120 N·m")));
        let found = analysis.main().unwrap();
        assert_eq!((analysis.pulls.len(), found.pull.flaws.as_slice()), (1, &[][..]));
        let click = found.pull.click.unwrap();
        assert!((click.peak.torque.newton_metres() - sample::CLICK_NM).abs() < 0.1, "{click:?}");
        assert!((click.peak.time_s - sample::CLICK_S).abs() < 0.003, "{click:?}");
        let (from_s, to_s) = analysis.loading_span().unwrap();
        assert!((from_s - sample::EIGHTY_S).abs() < 0.01 && (to_s - sample::CLICK_S).abs() < 0.01);
    }

    /// The same samples, each with its own time, in another unit and pulled the other way.
    #[test]
    fn timing_unit_and_sense_make_no_difference() {
        let even = sample::click();
        let even_found = analyse(&even, wanted(Mode::FirstPeak, Some("120 N·m")));
        let times_s = (0..even.len()).map(|i| 1.7e9 + since_first_s(&even, i)).collect();
        let values = even.values().iter().map(|value| -value * 100.0).collect();
        let other = Trace::new(TorqueUnit::CentinewtonMetre, Timing::Explicit { times_s }, values).unwrap();
        let found = analyse(&other, wanted(Mode::FirstPeak, Some("120 N·m")));
        assert_eq!(found.sense, Sense::Negative);
        let of = |analysis: &Analysis| analysis.main().unwrap().pull.clone();
        let (a, b) = (of(&even_found), of(&found));
        let (a_click, b_click) = (a.click.unwrap().peak, b.click.unwrap().peak);
        assert!((a_click.torque + b_click.torque).abs().newton_metres() < 0.02, "{a_click:?} {b_click:?}");
        assert!((a_click.time_s - b_click.time_s).abs() < 1e-3);
        assert!((a.loading.unwrap().seconds - b.loading.unwrap().seconds).abs() < 2e-3);
        assert_eq!(b.flaws, []);
    }

    #[test]
    fn without_a_target_nothing_is_said_of_the_loading_time() {
        let analysis = analyse(&sample::click(), wanted(Mode::FirstPeak, None));
        let found = analysis.main().unwrap();
        assert!((found.pull.click.unwrap().peak.torque.newton_metres() - sample::CLICK_NM).abs() < 0.1);
        assert_eq!((found.pull.loading, found.eighty_s, analysis.loading_span()), (None, None, None));
        assert_eq!(found.pull.flaws, []);
    }

    #[test]
    fn what_is_no_pull_says_why() {
        let even = |rate_hz| Timing::Uniform { start_s: 0.0, rate_hz };
        let of = |rate_hz, values: Vec<f64>, target| {
            let trace = Trace::new(TorqueUnit::NewtonMetre, even(rate_hz), values).unwrap();
            analyse(&trace, wanted(Mode::Peak, target))
        };
        assert_eq!(of(100.0, vec![1.0], None).no_search, Some(NoSearch::Single));
        assert_eq!(of(100.0, vec![0.0; 9], None).no_search, Some(NoSearch::AllZero));
        assert_eq!(of(100.0, vec![0.1; 9], Some("0 N·m")).no_search, Some(NoSearch::ZeroTarget));
        assert!(matches!(of(5.0, vec![0.1; 9], None).no_search, Some(NoSearch::Settings(_))));
        let flat = of(1000.0, vec![2.0; 1_000_000], Some("100 N·m"));
        assert_eq!((flat.pulls.len(), flat.no_search), (0, None));
        // Above the start of a pull from the first sample on: a pull without a zero before it.
        let loaded = of(1000.0, vec![7.0; 1_000_000], Some("100 N·m"));
        assert!(loaded.pulls[0].pull.flaws.contains(&Flaw::NoZeroBefore { samples: 0 }), "{loaded:?}");
    }
}
