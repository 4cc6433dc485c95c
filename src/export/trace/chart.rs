//! The chart of a trace: its lines reduced to the paper, its words chosen.

use leverarm_pull::detector::Mode;

use super::Seen;
use crate::certificate::chart::{Chart, TraceChart, TraceMark, TraceSpan};
use crate::diagnose::harmless;
use crate::trace_view::columns::{columns, gap_s, strokes};
use crate::trace_view::facts::{PullFacts, ReadingFacts};
use crate::trace_view::open::duration_s;
use crate::trace_view::ticks::ticks;

/// A column for each unit of the drawing's width.
const COLUMNS: usize = 1530;
/// An axis has some length, whatever the trace.
const SPAN_MIN: f64 = 1e-6;

/// Ends of the axis of torque: zero, every sample and the target, with some air.
pub(super) fn torque_ends(seen: &Seen) -> (f64, f64) {
    let mut values = vec![0.0, seen.analysis.lowest.value, seen.analysis.highest.value];
    values.extend(levels(seen).into_iter().map(|(torque, _)| torque));
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let air = ((high - low) * 0.04).max(SPAN_MIN);
    (low - air, high + air)
}

/// From the first sample to the last, in seconds.
pub(super) fn time_end(seen: &Seen) -> f64 {
    duration_s(&seen.trace).max(SPAN_MIN)
}

/// Target and 80 % of it over the zero before, as the loading time is measured.
pub(super) fn levels(seen: &Seen) -> Vec<(f64, String)> {
    let Some(target) = seen.analysis.wanted.target else { return Vec::new() };
    let unit = seen.trace.unit();
    let zero = seen.analysis.main().and_then(|found| found.pull.zero_before);
    let zero = zero.map_or(0.0, |zero| zero.torque.in_unit(unit));
    let level = target.torque().abs().in_unit(unit) * seen.analysis.sign();
    if level.abs() > 0.0 {
        vec![(zero + level, format!("target {target}")), (zero + 0.8 * level, "80 %".to_owned())]
    } else {
        Vec::new()
    }
}

/// A point of the pull: when, how much, what it is.
pub(super) struct Mark {
    pub(super) time_s: f64,
    pub(super) torque: f64,
    pub(super) letter: char,
    pub(super) name: &'static str,
    pub(super) is_reading: bool,
}

/// First peak and peak, or both in one where they are the same.
pub(super) fn marks(seen: &Seen) -> Vec<Mark> {
    let Some(found) = seen.analysis.main() else { return Vec::new() };
    let (unit, mode) = (seen.trace.unit(), seen.analysis.wanted.mode);
    let pull = &found.pull;
    let of = |point: leverarm_pull::detector::Point, letter, name, is_reading| Mark {
        time_s: point.time_s,
        torque: point.torque.in_unit(unit),
        letter,
        name,
        is_reading,
    };
    let peak = |name| of(pull.peak, 'P', name, mode == Mode::Peak);
    let mut marks = match pull.click {
        Some(click) if click.peak == pull.peak => {
            vec![of(click.peak, 'F', "first peak and peak", mode != Mode::Track)]
        }
        Some(click) => vec![of(click.peak, 'F', "first peak", mode == Mode::FirstPeak), peak("peak")],
        None => vec![peak("peak")],
    };
    marks.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    marks
}

/// The chart of a trace.
#[must_use]
pub fn chart(seen: &Seen) -> Chart {
    let (low, high) = torque_ends(seen);
    let end = time_end(seen);
    let unit = seen.facts.unit;
    let labelled = |low, high, most| ticks(low, high, most).into_iter().map(|t| (t.at, t.label)).collect();
    let strokes = strokes(&columns(&seen.trace, COLUMNS), gap_s(&seen.trace));
    let pull = seen.facts.pull.as_ref();
    let digits = |mark: &Mark| {
        let at = pull.map(|pull| match &pull.first_peak {
            Some(first) if mark.letter == 'F' => (&first.torque, &first.time_s),
            _ => (&pull.peak.torque, &pull.peak.time_s),
        });
        at.map_or_else(String::new, |(torque, time_s)| format!(" {torque} {unit} at {time_s} s"))
    };
    Chart::Trace(TraceChart {
        title: title(seen),
        alternative: alternative(seen),
        time_axis: "Time since the first sample, s".to_owned(),
        torque_axis: format!("Torque, {unit}"),
        time: (0.0, end),
        torque: (low, high),
        time_ticks: labelled(0.0, end, 9),
        torque_ticks: labelled(low, high, 9),
        strokes: strokes
            .into_iter()
            .map(|stroke| stroke.into_iter().map(|dot| (dot.time_s, dot.value)).collect())
            .collect(),
        levels: levels(seen),
        span: span(seen),
        marks: marks(seen)
            .into_iter()
            .map(|mark| TraceMark {
                time_s: mark.time_s,
                torque: mark.torque,
                label: format!("{}{}", mark.name, digits(&mark)),
                is_reading: mark.is_reading,
            })
            .collect(),
    })
}

fn span(seen: &Seen) -> Option<TraceSpan> {
    let (from_s, to_s) = seen.analysis.loading_span()?;
    let loading = seen.facts.pull.as_ref()?.loading.as_ref()?;
    let levels = levels(seen);
    let (target, eighty) = (levels.first()?.0, levels.get(1)?.0);
    let pull = &seen.analysis.main()?.pull;
    let unit = seen.trace.unit();
    let top = match (loading.end, pull.click) {
        ("first peak", Some(click)) => click.peak.torque.in_unit(unit),
        ("peak", _) => pull.peak.torque.in_unit(unit),
        _ => target,
    };
    let wanted = seen.facts.window.as_ref().map_or_else(String::new, |window| format!(", wanted {window}"));
    let label = format!("80 % to {}: {} s{wanted}", loading.end, loading.seconds);
    Some(TraceSpan { from: (from_s, eighty), to: (to_s, top), label })
}

/// Cut where it is long: it stands on one line of the paper.
fn shortened(text: &str, most: usize) -> String {
    let text = harmless(text);
    if text.chars().count() <= most {
        return text;
    }
    text.chars().take(most - 1).chain(['…']).collect()
}

fn title(seen: &Seen) -> String {
    match &seen.facts.reading {
        Some(ReadingFacts { row, words, void, .. }) => {
            let struck = void.as_ref().map_or_else(String::new, |why| format!(", struck out: {why}"));
            shortened(&format!("Reading {row}, {words}{struck}"), 96)
        }
        None => shortened(&format!("Trace {}", seen.facts.file), 96),
    }
}

/// The chart in words, with its numbers.
fn alternative(seen: &Seen) -> String {
    let facts = &seen.facts;
    let unit = facts.unit;
    let mut said = match &facts.reading {
        Some(ReadingFacts { row, words, .. }) => harmless(&format!("Reading {row}, {words}. ")),
        None => String::new(),
    };
    if let Some(why) = facts.reading.as_ref().and_then(|reading| reading.void.as_ref()) {
        said.push_str(&harmless(&format!("Struck out: {why}. ")));
    }
    said.push_str(&format!(
        "Torque against time, {} samples in {} s, from {} {unit} to {} {unit}.",
        facts.samples, facts.duration_s, facts.lowest.torque, facts.highest.torque
    ));
    if let Some(target) = &facts.target {
        said.push_str(&format!(" The target is {target}."));
    }
    if let Some(pull) = &facts.pull {
        said.push_str(&pull_in_words(pull, unit.symbol()));
    }
    if let Some(why) = &facts.without {
        said.push_str(&format!(" {}.", harmless(why)));
    }
    said
}

fn pull_in_words(pull: &PullFacts, unit: &str) -> String {
    let mut said = format!(" The pull begins at {} s and ends at {} s.", pull.start_s, pull.end_s);
    if let Some(first) = &pull.first_peak {
        said.push_str(&format!(
            " The first peak is {} {unit} at {} s, the torque falls by {} {unit} after it.",
            first.torque, first.time_s, first.drop
        ));
    }
    said.push_str(&format!(" The peak is {} {unit} at {} s.", pull.peak.torque, pull.peak.time_s));
    if let Some(loading) = &pull.loading {
        said.push_str(&format!(" From 80 % to the {} it took {} s.", loading.end, loading.seconds));
    }
    for flaw in &pull.flaws {
        said.push_str(&format!(" Wrong with it: {}.", flaw.words));
    }
    said
}
