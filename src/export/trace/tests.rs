//! What a trace looks like, as text, chart and samples.
#![allow(clippy::unwrap_used, clippy::panic)]

use leverarm_metrology::reading::Recorded;
use leverarm_pull::detector::{LoadingWindow, Mode};
use leverarm_pull::trace::{Timing, Trace};

use super::chart::chart;
use super::list::{Row, text as list_text};
use super::text::text;
use super::*;
use crate::certificate::chart::Chart;
use crate::certificate::draw;
use crate::trace_view::analyse::{Wanted, analyse};
use crate::trace_view::facts::{ReadingFacts, facts};
use crate::trace_view::sample;

/// A trace as the command sees it, of a setting wrench.
pub(super) fn seen(trace: Trace, target: Option<&str>) -> Seen {
    let wanted = Wanted {
        mode: Mode::FirstPeak,
        target: target.map(|text| Recorded::parse(text).unwrap()),
        window: Some(LoadingWindow { seconds_min: 0.5, seconds_max: Some(4.0) }),
        resolution: None,
    };
    let analysis = analyse(&trace, wanted);
    let facts = facts("traces/0007.ltrc", &trace, &analysis, None);
    Seen { trace, analysis, facts }
}

fn of_reading(mut seen: Seen, void: Option<&str>) -> Seen {
    seen.facts.reading = Some(ReadingFacts {
        row: 7,
        words: "points, 120 N·m clockwise".into(),
        reference: "118.42 N·m".into(),
        void: void.map(str::to_owned),
    });
    seen
}

#[test]
fn on_a_terminal_of_80_columns() {
    let text = text(&seen(sample::click(), Some("120 N·m")), 80, Charset::Unicode);
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    insta::assert_snapshot!(text);
}

#[test]
fn on_a_terminal_without_unicode() {
    let seen = of_reading(seen(sample::snatch(), Some("120 N·m")), Some("pulled too fast"));
    let text = text(&seen, 80, Charset::Ascii);
    assert!(text.is_ascii() && text.lines().all(|line| line.len() <= 80), "{text}");
    insta::assert_snapshot!(text);
}

#[test]
fn as_a_chart() {
    let svg = draw(&chart(&of_reading(seen(sample::click(), Some("120 N·m")), None))).unwrap();
    assert!(
        svg.contains(
            "<desc>Reading 7, points, 120 N·m clockwise. Torque against time, 4600 samples in 4.599 s"
        ),
        "{svg}"
    );
    // A slow trace keeps the snapshot legible.
    let mut values = vec![0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 20.0, 40.0, 60.0, 80.0];
    values.extend((0..20).map(|i| 96.0 + 1.2 * f64::from(i)));
    values.extend([119.0, 90.0, 60.0, 30.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1]);
    let timing = Timing::Uniform { start_s: 0.0, rate_hz: 20.0 };
    let small = Trace::new(leverarm_metrology::quantity::TorqueUnit::NewtonMetre, timing, values);
    insta::assert_snapshot!(draw(&chart(&seen(small.unwrap(), Some("120 N·m")))).unwrap());
}

/// Every sample that is the extreme of its column of the paper stands in the drawing.
#[test]
fn no_peak_is_lost_on_paper() {
    let mut values = vec![0.0; 200_000];
    values[123_456] = 100.0;
    values[123_460] = -50.0;
    let timing = Timing::Uniform { start_s: 0.0, rate_hz: 10_000.0 };
    let unit = leverarm_metrology::quantity::TorqueUnit::NewtonMetre;
    let seen = seen(Trace::new(unit, timing, values).unwrap(), None);
    let Chart::Trace(chart) = chart(&seen) else { panic!("another chart") };
    let points: Vec<(f64, f64)> = chart.strokes.concat();
    assert!(points.contains(&(12.3456, 100.0)) && points.contains(&(12.346, -50.0)));
    assert!(points.len() < 4 * 1600);
}

#[test]
fn text_of_others_steers_no_terminal_and_no_chart() {
    let mut seen = of_reading(seen(sample::click(), None), Some("a\u{1b}[31m\u{202e}b"));
    seen.facts.file = "a\u{7}.ltrc".into();
    for text in [
        text(&seen, 80, Charset::Unicode),
        draw(&chart(&seen)).unwrap(),
        list_text(&[Row::of(seen.facts.reading.clone().unwrap(), seen)], 0, 80, Charset::Unicode),
    ] {
        assert!(!text.contains(['\u{1b}', '\u{7}', '\u{202e}']), "{text}");
    }
}

#[test]
fn every_trace_of_a_run_on_a_line() {
    let rows = [
        Row::of(reading(7, None), seen(sample::click(), Some("120 N·m"))),
        Row::of(reading(8, Some("pulled too fast")), seen(sample::snatch(), Some("120 N·m"))),
        Row::troubled(reading(9, None), "traces/0009.ltrc".into(), "it is cut off".into()),
    ];
    insta::assert_snapshot!(list_text(&rows, 3, 80, Charset::Unicode));
    assert!(list_text(&rows, 1, 80, Charset::Ascii).is_ascii());
}

fn reading(row: u32, void: Option<&str>) -> ReadingFacts {
    let (words, reference) = ("points, 120 N·m clockwise".into(), "118.42 N·m".into());
    ReadingFacts { row, words, reference, void: void.map(str::to_owned) }
}

#[test]
fn samples_come_back_bit_for_bit() {
    let values = vec![0.1 + 0.2, -1e-17, 123_456.789, 5e-324];
    let timing = Timing::Explicit { times_s: vec![0.0, 1.0 / 3.0, 0.5, 1.7e9] };
    let unit = leverarm_metrology::quantity::TorqueUnit::PoundForceInch;
    let trace = Trace::new(unit, timing, values.clone()).unwrap();
    let mut bytes = Vec::new();
    csv::write(&trace, &mut bytes).unwrap();
    let text = String::from_utf8(bytes).unwrap();
    assert!(
        text.starts_with("time_s,value,unit\n0,0.30000000000000004,lbf·in\n0.3333333333333333,"),
        "{text}"
    );
    let back: Vec<f64> =
        text.lines().skip(1).map(|line| line.split(',').nth(1).unwrap().parse().unwrap()).collect();
    assert_eq!(back, values);
}

#[test]
fn a_single_sample_and_a_million_flat_ones_are_drawn() {
    let unit = leverarm_metrology::quantity::TorqueUnit::NewtonMetre;
    let timing = Timing::Uniform { start_s: 0.0, rate_hz: 10_000.0 };
    for values in [vec![7.0], vec![7.0; 1_000_000], vec![0.0; 10], vec![1e-300, -1e-300]] {
        let seen = seen(Trace::new(unit, timing.clone(), values).unwrap(), None);
        assert!(text(&seen, 80, Charset::Unicode).lines().count() > 18);
        assert!(draw(&chart(&seen)).unwrap().len() < 200_000);
    }
}
