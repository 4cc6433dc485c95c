//! What was found in a trace, with every digit chosen.

use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_pull::detector::{Flaw, Point, Pull, Zero};
use leverarm_pull::trace::{Timing, Trace};
use serde::Serialize;

use super::analyse::{Analysis, Found};
use super::columns::Dot;
use super::open::duration_s;
use super::scribe::{Number, Scribe};
use super::words;

/// Version of what `leverarm trace --json` prints.
pub const FACTS_VERSION: u32 = 1;

/// The facts of one trace. Torques are in the unit of the trace as they were indicated, with the zero
/// not taken off; times are seconds since the first sample.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Facts {
    /// `leverarm trace`
    pub format: &'static str,
    /// [`FACTS_VERSION`]
    pub version: u32,
    /// version of the program
    pub program: &'static str,
    /// the file
    pub file: String,
    /// the reading of the run that it belongs to
    pub reading: Option<ReadingFacts>,
    /// unit of every torque
    pub unit: TorqueUnit,
    /// how many samples
    pub samples: usize,
    /// `even rate` or `own times`
    pub timing: &'static str,
    /// samples a second; the median where each sample has its own time
    pub rate_hz: Option<Number>,
    /// the time of the first sample on the trace's own clock
    pub first_sample_s: f64,
    /// from the first sample to the last
    pub duration_s: Number,
    /// the lowest sample
    pub lowest: At,
    /// the highest sample
    pub highest: At,
    /// what of the pull is the reading
    pub mode: &'static str,
    /// the target as it was given, with its unit
    pub target: Option<String>,
    /// how long the pull may last, in words
    pub window: Option<String>,
    /// how many pulls were found; the one with the highest torque is described
    pub pulls: usize,
    /// the pull
    pub pull: Option<PullFacts>,
    /// why there is none
    pub without: Option<String>,
}

/// The reading of a run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReadingFacts {
    /// its row among the readings, from 1
    pub row: u32,
    /// series, position, target and direction in words
    pub words: String,
    /// the reference's value as recorded, with its unit
    pub reference: String,
    /// the reason why it was struck out
    pub void: Option<String>,
}

/// A torque at a time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct At {
    /// when
    pub time_s: Number,
    /// the torque
    pub torque: Number,
}

/// A level without load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ZeroFacts {
    /// its mean
    pub torque: Number,
    /// standard deviation of a sample
    pub noise: Number,
    /// from how many samples
    pub samples: usize,
}

/// The release.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FirstPeak {
    /// when
    pub time_s: Number,
    /// the torque just before
    pub torque: Number,
    /// by how much it fell
    pub drop: Number,
    /// what noise makes of the peak: one standard deviation
    pub standard_noise: Number,
}

/// A tracked torque.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TrackedFacts {
    /// its mean
    pub torque: Number,
    /// standard deviation of the samples
    pub scatter: Number,
    /// from when
    pub from_s: Number,
    /// to when
    pub to_s: Number,
}

/// The time from 80 % of the target to its end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LoadingFacts {
    /// how long
    pub seconds: Number,
    /// what ended it: `target`, `first peak` or `peak`
    pub end: &'static str,
}

/// What is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FlawFacts {
    /// its name
    pub flaw: &'static str,
    /// with the numbers of both sides
    pub words: String,
}

/// The pull.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PullFacts {
    /// the zero before
    pub zero_before: Option<ZeroFacts>,
    /// when the torque left zero
    pub start_s: Number,
    /// the release, where there was one
    pub first_peak: Option<FirstPeak>,
    /// the highest torque
    pub peak: At,
    /// the tracked torque, where there was one
    pub tracked: Option<TrackedFacts>,
    /// the loading time, where a target is known and 80 % of it were passed
    pub loading: Option<LoadingFacts>,
    /// when the torque was back
    pub end_s: Number,
    /// the zero after
    pub zero_after: Option<ZeroFacts>,
    /// the reading by the mode, as indicated
    pub value: Option<Number>,
    /// the reading less the zero before
    pub value_less_zero: Option<Number>,
    /// what is wrong; empty when nothing is
    pub flaws: Vec<FlawFacts>,
}

/// The scribe of a trace.
#[must_use]
pub fn scribe(trace: &Trace, analysis: &Analysis) -> Scribe {
    let farthest = analysis.highest.value.max(-analysis.lowest.value);
    Scribe::new(trace.unit(), Torque::new(farthest, trace.unit()))
}

/// Says what was found; `file` names the trace.
#[must_use]
pub fn facts(file: &str, trace: &Trace, analysis: &Analysis, reading: Option<ReadingFacts>) -> Facts {
    let scribe = scribe(trace, analysis);
    let wanted = &analysis.wanted;
    let dot = |dot: Dot| At {
        time_s: scribe.seconds(dot.time_s),
        torque: scribe.number(Torque::new(dot.value, trace.unit())),
    };
    let without = match (&analysis.no_search, analysis.pulls.is_empty()) {
        (Some(why), _) => Some(why.to_string()),
        (None, true) => Some(
            "no pull was found: the detector saw no rise out of a steady zero to 5 % of the target"
                .to_owned(),
        ),
        (None, false) => None,
    };
    Facts {
        format: "leverarm trace",
        version: FACTS_VERSION,
        program: env!("CARGO_PKG_VERSION"),
        file: file.to_owned(),
        reading,
        unit: trace.unit(),
        samples: trace.len(),
        timing: match trace.timing() {
            Timing::Uniform { .. } => "even rate",
            Timing::Explicit { .. } => "own times",
        },
        rate_hz: analysis.rate_hz.map(Number::plain),
        first_sample_s: trace.time_s(0).unwrap_or_default(),
        duration_s: scribe.seconds(duration_s(trace)),
        lowest: dot(analysis.lowest),
        highest: dot(analysis.highest),
        mode: words::mode(wanted.mode),
        target: wanted.target.map(|target| target.to_string()),
        window: wanted.window.filter(|_| wanted.target.is_some()).map(|window| words::span(&window)),
        pulls: analysis.pulls.len(),
        pull: analysis.main().map(|Found { pull, .. }| of_pull(pull, &scribe)),
        without,
    }
}

fn of_pull(pull: &Pull, scribe: &Scribe) -> PullFacts {
    let at = |point: Point| At { time_s: scribe.seconds(point.time_s), torque: scribe.number(point.torque) };
    let zero = |zero: Zero| ZeroFacts {
        torque: scribe.number(zero.torque),
        noise: scribe.small(zero.noise),
        samples: zero.samples,
    };
    PullFacts {
        zero_before: pull.zero_before.map(zero),
        start_s: scribe.seconds(pull.start_s),
        first_peak: pull.click.map(|click| FirstPeak {
            time_s: scribe.seconds(click.peak.time_s),
            torque: scribe.number(click.peak.torque),
            drop: scribe.number(click.drop),
            standard_noise: scribe.small(click.standard_noise),
        }),
        peak: at(pull.peak),
        tracked: pull.tracked.map(|tracked| TrackedFacts {
            torque: scribe.number(tracked.torque),
            scatter: scribe.small(tracked.scatter),
            from_s: scribe.seconds(tracked.from_s),
            to_s: scribe.seconds(tracked.to_s),
        }),
        loading: pull.loading.map(|loading| LoadingFacts {
            seconds: scribe.seconds(loading.seconds),
            end: words::end(loading.end),
        }),
        end_s: scribe.seconds(pull.end_s),
        zero_after: pull.zero_after.map(zero),
        value: pull.reading().map(|torque| scribe.number(torque)),
        value_less_zero: pull.net_reading().map(|torque| scribe.number(torque)),
        flaws: pull.flaws.iter().map(|flaw| of_flaw(flaw, scribe)).collect(),
    }
}

fn of_flaw(flaw: &Flaw, scribe: &Scribe) -> FlawFacts {
    FlawFacts { flaw: words::name(flaw), words: words::words(flaw, scribe) }
}
