//! The deviation curve of a tool over its range, with its uncertainty band.

use super::DrawError;
use super::axis::Scale;
use super::pen::{Align, At, INK, Pen, RULE, WIDTH, sheet};
use crate::certificate::chart::{CurveChart, CurveMark};

const LEFT: i32 = 130;
const RIGHT: i32 = WIDTH - 60;
const TOP: i32 = 70;
const BOTTOM: i32 = 430;
const HEIGHT: i32 = 600;

pub(super) fn draw(chart: &CurveChart) -> Result<String, DrawError> {
    let (Some(first), Some(last)) = (chart.band.first(), chart.band.last()) else {
        return Err(DrawError::Empty);
    };
    let width = last.torque - first.torque;
    if !(width > 0.0 && width.is_finite()) {
        return Err(DrawError::NotFinite);
    }
    let air = width * 0.06;
    let across = move |torque: f64| {
        let part = (torque - first.torque + air) / (width + 2.0 * air);
        LEFT + (part * f64::from(RIGHT - LEFT)).round() as i32
    };
    let ends = |mark: &CurveMark| [mark.deviation - mark.expanded, mark.deviation + mark.expanded];
    let values = chart.band.iter().chain(&chart.points).flat_map(ends).chain(chart.limits.each());
    let scale = Scale::holding(values, TOP, BOTTOM)?;
    sheet(HEIGHT, |pen| {
        pen.text(&chart.axis, (0, 24), Align::Left)?;
        band(pen, &scale, chart, &across)?;
        scale.draw(pen, LEFT, RIGHT)?;
        for limit in chart.limits.each() {
            let y = scale.y(limit);
            pen.line((LEFT, y), (RIGHT, y), INK, 6)?;
        }
        let line: Vec<At> = chart.band.iter().map(|m| (across(m.torque), scale.y(m.deviation))).collect();
        pen.polyline(&line, INK, 4)?;
        for point in &chart.points {
            mark(pen, &scale, point, across(point.torque))?;
        }
        legend(pen)
    })
}

/// The band, hatched upright between two fine lines: it hides no mark and no limit.
fn band(
    pen: &mut Pen<'_>,
    scale: &Scale,
    chart: &CurveChart,
    across: &impl Fn(f64) -> i32,
) -> Result<(), DrawError> {
    let edge = |sign: f64| -> Vec<At> {
        let at = |m: &CurveMark| (across(m.torque), scale.y(m.deviation + sign * m.expanded));
        chart.band.iter().map(at).collect()
    };
    let (upper, lower) = (edge(1.0), edge(-1.0));
    for (top, bottom) in upper.iter().zip(&lower) {
        pen.line(*top, *bottom, RULE, 1)?;
    }
    pen.polyline(&upper, INK, 1)?;
    pen.polyline(&lower, INK, 1)
}

/// A mean with its expanded uncertainty, as in the chart of the readings.
fn mark(pen: &mut Pen<'_>, scale: &Scale, point: &CurveMark, x: i32) -> Result<(), DrawError> {
    let (top, bottom) =
        (scale.y(point.deviation + point.expanded), scale.y(point.deviation - point.expanded));
    pen.line((x, top), (x, bottom), INK, 4)?;
    for y in [top, bottom] {
        pen.line((x - 14, y), (x + 14, y), INK, 4)?;
    }
    let y = scale.y(point.deviation);
    pen.rect((x - 10, y - 10), (x + 10, y + 10), INK, true)?;
    pen.text(&point.label, (x, BOTTOM + 34), Align::Centre)
}

fn legend(pen: &mut Pen<'_>) -> Result<(), DrawError> {
    let y = HEIGHT - 40;
    pen.rect((LEFT, y - 10), (LEFT + 20, y + 10), INK, true)?;
    pen.text("mean ± U", (LEFT + 36, y), Align::Left)?;
    let x = LEFT + 260;
    pen.line((x, y), (x + 60, y), INK, 4)?;
    pen.text("curve", (x + 76, y), Align::Left)?;
    let x = LEFT + 480;
    for step in 0..6 {
        let at = x + 12 * step;
        pen.line((at, y - 16), (at, y + 16), RULE, 1)?;
    }
    pen.line((x, y - 16), (x + 60, y - 16), INK, 1)?;
    pen.line((x, y + 16), (x + 60, y + 16), INK, 1)?;
    pen.text("its expanded uncertainty", (x + 80, y), Align::Left)?;
    let x = LEFT + 980;
    pen.line((x, y), (x + 60, y), INK, 6)?;
    pen.text("limit", (x + 76, y), Align::Left)
}
