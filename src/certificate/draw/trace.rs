//! Torque against time during a pull, with the target, the loading time, the first peak and the peak.

use super::DrawError;
use super::pen::{self, Align, At, INK, PAPER, Pen, RULE, WIDTH, sheet, text_width};
use crate::certificate::chart::{TraceChart, TraceMark, TraceSpan};

const LEFT: i32 = 150;
const RIGHT: i32 = WIDTH - 20;
const TITLE: i32 = 24;
const AXIS_TITLE: i32 = 70;
/// The first of the lines on which the marks are named.
const NAMES: i32 = 116;
const LINE: i32 = 40;
const PLOT: i32 = 560;
/// So many marks have a line of their own for their names.
const MARKS_MAX: usize = 4;

pub(super) fn draw(chart: &TraceChart) -> Result<String, DrawError> {
    let ground = Ground::new(chart)?;
    let height = ground.bottom + if chart.span.is_some() { 170 } else { 100 };
    let svg = sheet(height, |pen| {
        pen.text(&chart.title, (0, TITLE), Align::Left)?;
        pen.text(&chart.torque_axis, (0, AXIS_TITLE), Align::Left)?;
        axes(pen, chart, &ground)?;
        for (torque, label) in &chart.levels {
            let y = ground.y(*torque);
            pen.dashed((LEFT, RIGHT), y, 2)?;
            let middle = if y - 22 > ground.top { y - 22 } else { y + 22 };
            let end = LEFT + 18 + text_width(label);
            pen.rect((LEFT + 10, middle - 16), (end, middle + 16), PAPER, true)?;
            pen.text(label, (LEFT + 14, middle), Align::Left)?;
        }
        if let Some(span) = &chart.span {
            loading(pen, span, &ground)?;
        }
        for stroke in &chart.strokes {
            line(pen, stroke, &ground)?;
        }
        // The first mark is named lowest and to its left: no line to a name crosses another name.
        for (mark, above) in chart.marks.iter().take(MARKS_MAX).rev().zip(0..) {
            point(pen, mark, &ground, above)?;
        }
        Ok(())
    })?;
    Ok(pen::spoken(&svg, &chart.title, &chart.alternative))
}

/// From time and torque to paper.
struct Ground {
    time: (f64, f64),
    torque: (f64, f64),
    top: i32,
    bottom: i32,
}

impl Ground {
    fn new(chart: &TraceChart) -> Result<Ground, DrawError> {
        if chart.strokes.iter().all(Vec::is_empty) {
            return Err(DrawError::Empty);
        }
        let is_span = |(low, high): (f64, f64)| (high - low).is_finite() && high > low;
        let points = chart.strokes.iter().flatten().copied();
        let marks = chart.marks.iter().map(|mark| (mark.time_s, mark.torque));
        let spans = chart.span.iter().flat_map(|span| [span.from, span.to]);
        let levels = chart.levels.iter().map(|level| (0.0, level.0));
        let ticks = chart.time_ticks.iter().chain(&chart.torque_ticks).map(|tick| (0.0, tick.0));
        let mut places = points.chain(marks).chain(spans).chain(levels).chain(ticks);
        let is_finite = places.all(|(time_s, torque)| time_s.is_finite() && torque.is_finite());
        if !(is_finite && is_span(chart.time) && is_span(chart.torque)) {
            return Err(DrawError::NotFinite);
        }
        let names = i32::try_from(chart.marks.len().min(MARKS_MAX)).unwrap_or(0);
        let top = NAMES + names * LINE;
        Ok(Ground { time: chart.time, torque: chart.torque, top, bottom: top + PLOT })
    }

    fn x(&self, time_s: f64) -> i32 {
        let part = ((time_s - self.time.0) / (self.time.1 - self.time.0)).clamp(0.0, 1.0);
        LEFT + (part * f64::from(RIGHT - LEFT)).round() as i32
    }

    fn y(&self, torque: f64) -> i32 {
        let part = ((torque - self.torque.0) / (self.torque.1 - self.torque.0)).clamp(0.0, 1.0);
        self.bottom - (part * f64::from(self.bottom - self.top)).round() as i32
    }

    fn at(&self, (time_s, torque): (f64, f64)) -> At {
        (self.x(time_s), self.y(torque))
    }
}

fn axes(pen: &mut Pen<'_>, chart: &TraceChart, ground: &Ground) -> Result<(), DrawError> {
    for (torque, label) in &chart.torque_ticks {
        let y = ground.y(*torque);
        pen.line((LEFT, y), (RIGHT, y), RULE, 1)?;
        pen.line((LEFT - 20, y), (LEFT, y), INK, 2)?;
        pen.text(label, (LEFT - 30, y), Align::Right)?;
    }
    for (time_s, label) in &chart.time_ticks {
        let x = ground.x(*time_s);
        pen.line((x, ground.bottom), (x, ground.bottom + 14), INK, 2)?;
        pen.text(label, (x, ground.bottom + 36), Align::Centre)?;
    }
    pen.line((LEFT, ground.top), (LEFT, ground.bottom), INK, 2)?;
    pen.line((LEFT, ground.bottom), (RIGHT, ground.bottom), INK, 2)?;
    pen.text(&chart.time_axis, (RIGHT, ground.bottom + 76), Align::Right)
}

fn line(pen: &mut Pen<'_>, stroke: &[(f64, f64)], ground: &Ground) -> Result<(), DrawError> {
    let mut points: Vec<At> = stroke.iter().map(|place| ground.at(*place)).collect();
    points.dedup();
    match points.as_slice() {
        [] => Ok(()),
        [alone] => pen.disc(*alone, 2),
        points => pen.polyline(points, INK, 3),
    }
}

/// From the ends of the loading time down to a bracket beneath the axis.
fn loading(pen: &mut Pen<'_>, span: &TraceSpan, ground: &Ground) -> Result<(), DrawError> {
    let y = ground.bottom + 116;
    let (from, to) = (ground.at(span.from), ground.at(span.to));
    for (x, high) in [from, to] {
        pen.line((x, high), (x, ground.bottom), RULE, 2)?;
        pen.line((x, y - 14), (x, y + 14), INK, 3)?;
    }
    pen.line((from.0, y), (to.0, y), INK, 3)?;
    let width = text_width(&span.label);
    if to.0 + 20 + width < RIGHT {
        pen.text(&span.label, (to.0 + 20, y), Align::Left)
    } else if from.0 - 20 - width > 0 {
        pen.text(&span.label, (from.0 - 20, y), Align::Right)
    } else {
        pen.text(&span.label, (RIGHT, y + 38), Align::Right)
    }
}

/// A ring, or a disc where it is the reading, under its name; `line` counts the names from above.
fn point(pen: &mut Pen<'_>, mark: &TraceMark, ground: &Ground, line: i32) -> Result<(), DrawError> {
    let (at, y) = (ground.at((mark.time_s, mark.torque)), NAMES + line * LINE);
    pen.line((at.0, y + 16), (at.0, at.1 - 10), RULE, 2)?;
    if mark.is_reading {
        pen.disc(at, 11)?;
    } else {
        pen.ring(at, 10)?;
    }
    let width = text_width(&mark.label);
    match at.0 {
        x if line > 0 && x + 14 - width > LEFT => pen.text(&mark.label, (x + 14, y), Align::Right),
        x if x + width / 2 > RIGHT => pen.text(&mark.label, (RIGHT, y), Align::Right),
        x if x - width / 2 < LEFT => pen.text(&mark.label, (LEFT, y), Align::Left),
        x => pen.text(&mark.label, (x, y), Align::Centre),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn chart(strokes: Vec<Vec<(f64, f64)>>) -> TraceChart {
        TraceChart {
            title: "a < b".into(),
            alternative: "in words".into(),
            time_axis: "s".into(),
            torque_axis: "N·m".into(),
            time: (0.0, 1.0),
            torque: (0.0, 100.0),
            time_ticks: vec![(0.0, "0".into())],
            torque_ticks: vec![(50.0, "50".into())],
            strokes,
            levels: vec![(80.0, "80 %".into())],
            span: Some(TraceSpan { from: (0.2, 80.0), to: (0.9, 100.0), label: "0.7 s".into() }),
            marks: vec![TraceMark { time_s: 0.9, torque: 100.0, label: "peak".into(), is_reading: true }],
        }
    }

    #[test]
    fn every_point_is_on_the_paper_and_the_chart_speaks() {
        let svg = draw(&chart(vec![vec![(0.0, 0.0), (0.5, 100.0), (1.0, 0.0)], vec![(0.7, 10.0)]])).unwrap();
        let top = NAMES + LINE;
        let bottom = top + PLOT;
        let middle = (LEFT + RIGHT) / 2;
        assert!(svg.contains(&format!("{LEFT},{bottom} {middle},{top} {RIGHT},{bottom}")), "{svg}");
        assert!(svg.contains("<title>a &lt; b</title>\n<desc>in words</desc>"));
        assert_eq!(svg.matches("<text").count(), svg.matches("font-family=\"Noto Sans\"").count());
    }

    #[test]
    fn what_cannot_be_placed_is_refused() {
        assert_eq!(draw(&chart(vec![vec![]])), Err(DrawError::Empty));
        assert_eq!(draw(&chart(vec![vec![(f64::NAN, 0.0)]])), Err(DrawError::NotFinite));
        let flat = TraceChart { torque: (1.0, 1.0), ..chart(vec![vec![(0.0, 0.0)]]) };
        assert_eq!(draw(&flat), Err(DrawError::NotFinite));
    }
}
