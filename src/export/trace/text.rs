//! A trace on a terminal: a picture in characters, and the facts beneath it.

use std::fmt::Write;

use unicode_width::UnicodeWidthStr;

use super::canvas::Canvas;
use super::chart::{levels, marks, time_end, torque_ends};
use super::{Charset, Seen};
use crate::diagnose::harmless;
use crate::export::lines;
use crate::trace_view::columns::{column_of, columns, gap_s, strokes};
use crate::trace_view::facts::{Facts, PullFacts, ZeroFacts};
use crate::trace_view::ticks::{Tick, ticks};

/// Lines of the picture.
const ROWS: usize = 16;
/// Columns to the right of the picture, for the names of the levels.
const RIGHT: usize = 7;
/// A terminal is taken to be so wide, whatever it says.
const WIDTH: std::ops::RangeInclusive<usize> = 40..=240;
/// Columns of a label beneath the picture.
const LABEL: usize = 12;

/// Picture and facts in lines of at most `width` columns.
#[must_use]
pub fn text(seen: &Seen, width: usize, charset: Charset) -> String {
    let width = width.clamp(*WIDTH.start(), *WIDTH.end());
    let mut out = String::new();
    heading(&mut out, &seen.facts, width);
    picture(&mut out, seen, width, charset);
    out.push('\n');
    facts(&mut out, &seen.facts, width);
    charset.of(out)
}

/// From time and torque to the dots of a canvas.
struct Ground {
    end_s: f64,
    low: f64,
    high: f64,
    width: usize,
    height: usize,
}

impl Ground {
    fn x(&self, time_s: f64) -> usize {
        column_of(time_s, self.end_s, self.width)
    }

    fn y(&self, torque: f64) -> usize {
        let part = ((torque - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        // A part from 0 to 1 of some dozens of dots.
        ((1.0 - part) * self.height.saturating_sub(1) as f64).round() as usize
    }
}

/// The trace in dots: the extremes of each of their columns are among them.
fn plot(seen: &Seen, canvas: &mut Canvas, ground: &Ground) {
    for stroke in strokes(&columns(&seen.trace, ground.width), gap_s(&seen.trace)) {
        let dots: Vec<(usize, usize)> =
            stroke.iter().map(|dot| (ground.x(dot.time_s), ground.y(dot.value))).collect();
        if let [alone] = dots.as_slice() {
            canvas.set(alone.0, alone.1);
        }
        for pair in dots.windows(2) {
            if let [from, to] = pair {
                canvas.line(*from, *to);
            }
        }
    }
}

fn picture(out: &mut String, seen: &Seen, width: usize, charset: Charset) {
    let (low, high) = torque_ends(seen);
    let scale = ticks(low, high, 8);
    let left = scale.iter().map(|tick| tick.label.width()).max().unwrap_or(0).max(4);
    let mut canvas = Canvas::new(charset, width.saturating_sub(left + 2 + RIGHT).max(10), ROWS);
    let ground = Ground { end_s: time_end(seen), low, high, width: canvas.width(), height: canvas.height() };
    plot(seen, &mut canvas, &ground);
    let levels: Vec<(usize, &str, usize)> = levels(seen)
        .iter()
        .zip([("target", 1), ("80 %", 2)])
        .map(|((torque, _), (name, step))| (canvas.row_of(ground.y(*torque)), name, step))
        .collect();
    let pad = " ".repeat(left);
    let unit = seen.facts.unit.symbol();
    line(out, &format!("{unit:>left$}  {}", lettered(seen, &canvas, &ground)));
    for row in 0..ROWS {
        let tick = scale.iter().find(|tick| canvas.row_of(ground.y(tick.at)) == row);
        let (label, edge) = tick.map_or((pad.clone(), '│'), |tick| (tick.label.clone(), '┤'));
        let level = levels.iter().find(|level| level.0 == row);
        let beneath = |column: usize| match level {
            Some((_, _, step)) if column.is_multiple_of(*step) => '–',
            _ => ' ',
        };
        let name = level.map_or("", |level| level.1);
        let gap = " ".repeat(left.saturating_sub(label.width()));
        line(out, &format!("{gap}{label} {edge}{} {name}", canvas.row(row, beneath)));
    }
    time_axis(out, seen, &canvas, &ground, &pad);
    line(out, &format!("{pad}  {}", foot(seen, &canvas, &ground)));
}

/// The letters of the marks, each over its place.
fn lettered(seen: &Seen, canvas: &Canvas, ground: &Ground) -> String {
    let mut places = Vec::new();
    for mark in marks(seen) {
        place(&mut places, canvas.column_of(ground.x(mark.time_s)), mark.letter);
    }
    places.into_iter().collect()
}

/// Puts a letter at a place, or beside it where another one stands.
fn place(places: &mut Vec<char>, at: usize, letter: char) {
    let mut at = at;
    while places.get(at).is_some_and(|taken| *taken != ' ') {
        at += 1;
    }
    if places.len() <= at {
        places.resize(at + 1, ' ');
    }
    if let Some(free) = places.get_mut(at) {
        *free = letter;
    }
}

/// Start, loading time and end of the pull beneath their places.
fn foot(seen: &Seen, canvas: &Canvas, ground: &Ground) -> String {
    let column = |time_s: f64| canvas.column_of(ground.x(time_s));
    let mut places: Vec<char> = Vec::new();
    if let Some((from_s, to_s)) = seen.analysis.loading_span() {
        let (from, to) = (column(from_s), column(to_s));
        places.resize(to + 1, ' ');
        for (at, free) in places.iter_mut().enumerate().skip(from) {
            *free = match at {
                at if at == from => '├',
                at if at == to => '┤',
                _ => '─',
            };
        }
    }
    if let Some(found) = seen.analysis.main() {
        place(&mut places, column(found.pull.start_s), 'S');
        place(&mut places, column(found.pull.end_s), 'E');
    }
    places.into_iter().collect()
}

fn time_axis(out: &mut String, seen: &Seen, canvas: &Canvas, ground: &Ground, pad: &str) {
    let columns = canvas.column_of(canvas.width().saturating_sub(1)) + 1;
    let scale: Vec<Tick> = ticks(0.0, time_end(seen), (columns / 9).max(2));
    let at: Vec<usize> = scale.iter().map(|tick| canvas.column_of(ground.x(tick.at))).collect();
    let axis: String = (0..columns).map(|column| if at.contains(&column) { '┬' } else { '─' }).collect();
    line(out, &format!("{pad} └{axis} s"));
    let mut labels = String::new();
    for (tick, at) in scale.iter().zip(at) {
        let start = at.saturating_sub(tick.label.chars().count() / 2);
        let used = labels.chars().count();
        if start >= used {
            labels.push_str(&" ".repeat(start - used));
            labels.push_str(&tick.label);
        }
    }
    line(out, &format!("{pad}  {labels}"));
}

fn heading(out: &mut String, facts: &Facts, width: usize) {
    if let Some(reading) = &facts.reading {
        lines::wrapped(
            out,
            "",
            "  ",
            &harmless(&format!("Reading {}: {}", reading.row, reading.words)),
            width,
        );
        if let Some(reason) = &reading.void {
            lines::wrapped(out, "STRUCK OUT: ", "  ", &harmless(reason), width);
        }
    }
    lines::wrapped(out, "", "  ", &harmless(&facts.file), width);
    out.push('\n');
}

fn facts(out: &mut String, facts: &Facts, width: usize) {
    let mut fact = |label: &str, value: &str| {
        lines::wrapped(out, &format!("{label:<LABEL$} "), &" ".repeat(LABEL + 1), &harmless(value), width);
    };
    let unit = facts.unit;
    let rate = match &facts.rate_hz {
        Some(rate) if facts.timing == "even rate" => format!(" at {rate} Hz"),
        Some(rate) => format!(", each with its own time, about {rate} Hz"),
        None => String::new(),
    };
    fact("samples", &format!("{} in {} s{rate}", facts.samples, facts.duration_s));
    fact(
        "extremes",
        &format!(
            "{} {unit} at {} s, {} {unit} at {} s",
            facts.lowest.torque, facts.lowest.time_s, facts.highest.torque, facts.highest.time_s
        ),
    );
    if let Some(reading) = &facts.reading {
        fact("recorded", &reading.reference);
    }
    match &facts.target {
        Some(target) => fact("target", target),
        None => fact("target", "none given (--target): nothing is said of the loading time"),
    }
    match (&facts.pull, &facts.without) {
        (Some(pull), _) => of_pull(&mut fact, facts, pull),
        (None, Some(why)) => fact("pull", why),
        (None, None) => {}
    }
}

fn of_pull(fact: &mut impl FnMut(&str, &str), facts: &Facts, pull: &PullFacts) {
    let unit = facts.unit;
    if facts.pulls > 1 {
        fact(
            "pulls",
            &format!("{} in this trace; the one with the highest torque is described", facts.pulls),
        );
    }
    let zero = |zero: &Option<ZeroFacts>| match zero {
        Some(ZeroFacts { torque, noise, samples }) => {
            format!("{torque} {unit}, noise {noise} {unit} (standard deviation of {samples} samples)")
        }
        None => "none".to_owned(),
    };
    fact("zero before", &zero(&pull.zero_before));
    fact("S start", &format!("{} s", pull.start_s));
    match &pull.first_peak {
        Some(first) => fact(
            "F first peak",
            &format!(
                "{} {unit} at {} s, ± {} {unit} by noise; then down by {} {unit}",
                first.torque, first.time_s, first.standard_noise, first.drop
            ),
        ),
        None => fact("  first peak", "none"),
    }
    fact("P peak", &format!("{} {unit} at {} s", pull.peak.torque, pull.peak.time_s));
    if let Some(tracked) = &pull.tracked {
        fact(
            "  tracked",
            &format!(
                "{} {unit}, scatter {} {unit}, {} s to {} s",
                tracked.torque, tracked.scatter, tracked.from_s, tracked.to_s
            ),
        );
    }
    let wanted = facts.window.as_ref().map_or_else(String::new, |window| format!(", wanted {window}"));
    match &pull.loading {
        Some(loading) => {
            fact("loading", &format!("{} s from 80 % to the {}{wanted}", loading.seconds, loading.end));
        }
        None if facts.target.is_some() => fact("loading", "80 % of the target was not reached"),
        None => {}
    }
    fact("E end", &format!("{} s", pull.end_s));
    fact("zero after", &zero(&pull.zero_after));
    let value = match (&pull.value, &pull.value_less_zero) {
        (Some(value), Some(net)) => format!("{value} {unit}; less the zero before {net} {unit}"),
        (Some(value), None) => format!("{value} {unit}"),
        (None, _) => "none".to_owned(),
    };
    fact("reading", &format!("{value} (mode {})", facts.mode));
    if pull.flaws.is_empty() {
        fact("judgement", "nothing is wrong with the pull");
    }
    for (flaw, i) in pull.flaws.iter().zip(0..) {
        fact(if i == 0 { "wrong" } else { "" }, &flaw.words);
    }
}

fn line(out: &mut String, text: &str) {
    // Writing to a string does not fail.
    let _ = writeln!(out, "{}", text.trim_end());
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use leverarm_metrology::quantity::TorqueUnit;
    use leverarm_pull::trace::{Timing, Trace};
    use proptest::prelude::*;

    use super::super::tests::seen;
    use super::*;

    proptest! {
        /// The oracle places every sample by itself.
        #[test]
        fn no_peak_is_lost_on_the_terminal(
            values in prop::collection::vec(-100.0..100.0_f64, 2..900),
            is_ascii in any::<bool>(),
        ) {
            let timing = Timing::Uniform { start_s: 0.0, rate_hz: 50.0 };
            let seen = seen(Trace::new(TorqueUnit::NewtonMetre, timing, values.clone()).unwrap(), None);
            let charset = if is_ascii { Charset::Ascii } else { Charset::Unicode };
            let mut canvas = Canvas::new(charset, 60, ROWS);
            let (low, high) = torque_ends(&seen);
            let (width, height) = (canvas.width(), canvas.height());
            let ground = Ground { end_s: time_end(&seen), low, high, width, height };
            plot(&seen, &mut canvas, &ground);
            for column in 0..width {
                let within = values.iter().enumerate().filter(|(i, _)| ground.x(*i as f64 / 50.0) == column);
                let ys: Vec<usize> = within.map(|(_, value)| ground.y(*value)).collect();
                for extreme in [ys.iter().min(), ys.iter().max()].into_iter().flatten() {
                    prop_assert!(canvas.is_set(column, *extreme), "column {column} row {extreme}");
                }
            }
        }
    }
}
