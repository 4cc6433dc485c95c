//! Deviation of every reading at every test point.

use super::DrawError;
use super::axis::Scale;
use super::pen::{Align, INK, Pen, RULE, WIDTH, share, sheet, text_width};
use crate::certificate::chart::{DeviationChart, DeviationPoint, Ends};

const LEFT: i32 = 130;
const RIGHT: i32 = WIDTH - 10;
const TOP: i32 = 70;
const BOTTOM: i32 = 460;
const HEIGHT: i32 = 630;

pub(super) fn draw(chart: &DeviationChart) -> Result<String, DrawError> {
    if chart.points.is_empty() {
        return Err(DrawError::Empty);
    }
    let scale = Scale::holding(chart.points.iter().flat_map(positions), TOP, BOTTOM)?;
    let count = i32::try_from(chart.points.len()).map_err(|_| DrawError::Empty)?;
    let cell = ((RIGHT - LEFT) / count).max(1);
    sheet(HEIGHT, |pen| {
        pen.text(&chart.axis, (0, 24), Align::Left)?;
        for (point, left) in chart.points.iter().zip((LEFT..).step_by(cell.unsigned_abs() as usize)) {
            band(pen, &scale, point, left, left + cell)?;
        }
        scale.draw(pen, LEFT, LEFT + cell * count)?;
        for (point, left) in chart.points.iter().zip((LEFT..).step_by(cell.unsigned_abs() as usize)) {
            limits(pen, &scale, point, left, left + cell)?;
            marks(pen, &scale, point, left, cell)?;
            pen.text(&point.label, (left + cell / 2, BOTTOM + 34), Align::Centre)?;
            pen.text(&point.result, (left + cell / 2, BOTTOM + 72), Align::Centre)?;
        }
        legend(pen, chart)
    })
}

/// Everything that has to fit on the scale.
fn positions(point: &DeviationPoint) -> impl Iterator<Item = f64> + '_ {
    let expanded = point.expanded.unwrap_or(0.0);
    let mean = [point.mean - expanded, point.mean + expanded];
    point.readings.iter().copied().chain(point.limits.each()).chain(mean)
}

/// The guard band, hatched, between acceptance limit and permissible deviation.
fn band(
    pen: &mut Pen<'_>,
    scale: &Scale,
    point: &DeviationPoint,
    left: i32,
    right: i32,
) -> Result<(), DrawError> {
    let Some(acceptance) = point.acceptance else {
        return Ok(());
    };
    // A band wider than the tolerance leaves nothing to accept: all is hatched.
    if let (Some(limit), Some(accepted)) = (point.limits.high, acceptance.high) {
        let accepted = point.limits.low.map_or(accepted, |low| accepted.max(low));
        pen.hatch((left, scale.y(limit)), (right, scale.y(accepted)))?;
    }
    if let (Some(limit), Some(accepted)) = (point.limits.low, acceptance.low) {
        let accepted = point.limits.high.map_or(accepted, |high| accepted.min(high));
        pen.hatch((left, scale.y(accepted)), (right, scale.y(limit)))?;
    }
    Ok(())
}

fn limits(
    pen: &mut Pen<'_>,
    scale: &Scale,
    point: &DeviationPoint,
    left: i32,
    right: i32,
) -> Result<(), DrawError> {
    for limit in point.limits.each() {
        let y = scale.y(limit);
        pen.line((left, y), (right, y), INK, 6)?;
    }
    let room = |ends: &Ends| ends.low.zip(ends.high).is_none_or(|(low, high)| low <= high);
    for accepted in point.acceptance.filter(room).into_iter().flat_map(Ends::each) {
        pen.dashed((left, right), scale.y(accepted), 4)?;
    }
    pen.line((right, TOP), (right, BOTTOM), RULE, 1)
}

fn marks(
    pen: &mut Pen<'_>,
    scale: &Scale,
    point: &DeviationPoint,
    left: i32,
    cell: i32,
) -> Result<(), DrawError> {
    let centre = left + cell / 2;
    let spread = (cell * 3 / 8).min(220);
    let count = point.readings.len() as u64;
    for (reading, i) in point.readings.iter().zip(0_u64..) {
        let x = centre - spread + share(2 * i + 1, 4 * count, spread * 3);
        let at = (x, scale.y(*reading));
        if outside(point, *reading) {
            pen.diamond(at, 16)?;
        } else {
            pen.ring(at, 10)?;
        }
    }
    let x = centre + spread * 3 / 4;
    let y = scale.y(point.mean);
    if let Some(expanded) = point.expanded {
        let (low, high) = (scale.y(point.mean - expanded), scale.y(point.mean + expanded));
        pen.line((x, low), (x, high), INK, 5)?;
        pen.line((x - 16, low), (x + 16, low), INK, 5)?;
        pen.line((x - 16, high), (x + 16, high), INK, 5)?;
    }
    pen.rect((x - 13, y - 13), (x + 13, y + 13), INK, true)
}

fn outside(point: &DeviationPoint, reading: f64) -> bool {
    point.limits.exclude(reading)
}

/// One line that says what each stroke means, with only what the chart shows.
fn legend(pen: &mut Pen<'_>, chart: &DeviationChart) -> Result<(), DrawError> {
    let y = HEIGHT - 40;
    let mut x = LEFT;
    pen.ring((x + 10, y), 10)?;
    x = entry(pen, x + 32, y, "reading")?;
    if chart.points.iter().any(|p| p.readings.iter().any(|r| outside(p, *r))) {
        pen.diamond((x + 14, y), 16)?;
        x = entry(pen, x + 40, y, "beyond the limit")?;
    }
    pen.rect((x, y - 13), (x + 26, y + 13), INK, true)?;
    let expanded = chart.points.iter().any(|p| p.expanded.is_some());
    x = entry(pen, x + 40, y, if expanded { "mean ± U" } else { "mean" })?;
    pen.line((x, y), (x + 70, y), INK, 6)?;
    x = entry(pen, x + 84, y, "limit")?;
    if chart.points.iter().any(|p| p.acceptance.is_some()) {
        pen.hatch((x, y - 2), (x + 70, y - 20))?;
        pen.dashed((x, x + 70), y, 4)?;
        entry(pen, x + 90, y, "acceptance limit, guard band hatched")?;
    }
    Ok(())
}

fn entry(pen: &mut Pen<'_>, x: i32, y: i32, text: &str) -> Result<i32, DrawError> {
    pen.text(text, (x, y), Align::Left)?;
    Ok(x + text_width(text) + 40)
}
