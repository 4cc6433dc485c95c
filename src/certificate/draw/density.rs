//! Probability density of a deviation over its limits: what is accepted is blank, what lies within
//! the limits and is not accepted is hatched, what lies outside is cross-hatched.

use super::DrawError;
use super::pen::{self, Align, INK, Pen, RULE, WIDTH, sheet, text_width};
use crate::certificate::chart::{Accepted, DensityChart, DensityPanel, Ends};
use crate::metrology::rounding::round_decimals;

const LEFT: i32 = 20;
const RIGHT: i32 = WIDTH - 20;
const TOP: i32 = 80;
const PANEL: i32 = 350;
/// From the top of a panel to its axis, and how much of it the curve may take.
const BASE: i32 = 270;
const CURVE: i32 = 190;
const LEGEND: i32 = 150;
/// Distance of the lines of a hatching.
const HATCH: usize = 16;

pub(super) fn draw(chart: &DensityChart) -> Result<String, DrawError> {
    if chart.panels.is_empty() {
        return Err(DrawError::Empty);
    }
    let count = i32::try_from(chart.panels.len()).map_err(|_| DrawError::Empty)?;
    let height = TOP + count * PANEL + LEGEND;
    let svg = sheet(height, |pen| {
        pen.text(&chart.title, (LEFT, 24), Align::Left)?;
        for (panel, i) in chart.panels.iter().zip(0..) {
            draw_panel(pen, panel, TOP + i * PANEL)?;
        }
        pen.text(&chart.axis, (RIGHT, height - LEGEND + 14), Align::Right)?;
        legend(pen, height - 84)
    })?;
    Ok(pen::spoken(&svg, &chart.title, &chart.alternative))
}

/// A level scale, and the height of the curve over each of its places.
struct Ground {
    low: f64,
    high: f64,
    heights: Vec<i32>,
}

impl Ground {
    fn new(panel: &DensityPanel) -> Result<Ground, DrawError> {
        let (Some((low, _)), Some((high, _))) = (panel.curve.first(), panel.curve.last()) else {
            return Err(DrawError::Empty);
        };
        let finite = panel.curve.iter().all(|(x, density)| x.is_finite() && density.is_finite());
        if !(finite && low < high && panel.mean.is_finite() && panel.limits.each().all(f64::is_finite)) {
            return Err(DrawError::NotFinite);
        }
        let mut ground = Ground { low: *low, high: *high, heights: Vec::new() };
        let peak = panel.curve.iter().map(|(_, density)| *density).fold(0.0, f64::max);
        if peak <= 0.0 {
            return Err(DrawError::Empty);
        }
        ground.heights = (LEFT..=RIGHT)
            .map(|x| (between(&panel.curve, ground.value(x)) / peak * f64::from(CURVE)).round() as i32)
            .collect();
        Ok(ground)
    }

    fn x(&self, value: f64) -> i32 {
        let part = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        LEFT + (part * f64::from(RIGHT - LEFT)).round() as i32
    }

    fn value(&self, x: i32) -> f64 {
        self.low + (self.high - self.low) * f64::from(x - LEFT) / f64::from(RIGHT - LEFT)
    }

    fn height(&self, x: i32) -> i32 {
        usize::try_from(x - LEFT).ok().and_then(|i| self.heights.get(i)).copied().unwrap_or(0)
    }
}

/// The density at a place, on the straight line between its neighbours.
fn between(curve: &[(f64, f64)], at: f64) -> f64 {
    let next = curve.partition_point(|(x, _)| *x < at).clamp(1, curve.len().saturating_sub(1).max(1));
    match (curve.get(next - 1), curve.get(next)) {
        (Some((x0, d0)), Some((x1, d1))) if x1 > x0 => d0 + (d1 - d0) * (at - x0) / (x1 - x0),
        (Some((_, d)), _) => *d,
        _ => 0.0,
    }
}

fn draw_panel(pen: &mut Pen<'_>, panel: &DensityPanel, top: i32) -> Result<(), DrawError> {
    let ground = Ground::new(panel)?;
    let base = top + BASE;
    pen.text(&panel.label, (LEFT, top + 20), Align::Left)?;
    pen.text(&panel.caption, (RIGHT, top + 20), Align::Right)?;
    let held = |x| !panel.limits.exclude(ground.value(x)) && !accepts(panel.accepted, ground.value(x));
    let wrong = |x| panel.limits.exclude(ground.value(x));
    hatch(pen, (LEFT, RIGHT), base, Slant::Rising, &|x| if held(x) { ground.height(x) } else { 0 })?;
    for slant in [Slant::Rising, Slant::Falling] {
        hatch(pen, (LEFT, RIGHT), base, slant, &|x| if wrong(x) { ground.height(x) } else { 0 })?;
    }
    let peak = panel.curve.iter().map(|(_, density)| *density).fold(0.0, f64::max);
    let outline: Vec<(i32, i32)> = panel
        .curve
        .iter()
        .map(|(x, density)| (ground.x(*x), base - (density / peak * f64::from(CURVE)).round() as i32))
        .collect();
    pen.polyline(&outline, INK, 4)?;
    axis(pen, &ground, base)?;
    for limit in panel.limits.each() {
        let x = ground.x(limit);
        pen.line((x, base), (x, base - CURVE - 20), INK, 6)?;
    }
    if let Accepted::Within(ends) = panel.accepted {
        for accepted in ends.each().filter(|a| room(ends) && !same(panel.limits, *a)) {
            dashed(pen, ground.x(accepted), (base - CURVE - 20, base))?;
        }
    }
    let x = ground.x(panel.mean);
    pen.line((x, base), (x, base - CURVE), INK, 2)?;
    pen.rect((x - 11, base - 11), (x + 11, base + 11), INK, true)
}

/// Whether acceptance limits leave room between them.
fn room(ends: Ends) -> bool {
    ends.low.zip(ends.high).is_none_or(|(low, high)| low <= high)
}

fn same(limits: Ends, value: f64) -> bool {
    limits.each().any(|limit| (limit - value).abs() < 1e-9)
}

/// Whether a deviation is accepted. Where nothing is judged nothing is doubted either.
fn accepts(accepted: Accepted, deviation: f64) -> bool {
    match accepted {
        Accepted::Within(ends) => room(ends) && !ends.exclude(deviation),
        Accepted::Nothing => false,
        Accepted::NotJudged => true,
    }
}

#[derive(Clone, Copy)]
enum Slant {
    Rising,
    Falling,
}

/// Slanted lines over a base, as high as is said for each place.
fn hatch(
    pen: &mut Pen<'_>,
    (left, right): (i32, i32),
    base: i32,
    slant: Slant,
    height: &dyn Fn(i32) -> i32,
) -> Result<(), DrawError> {
    for foot in (left - CURVE..=right + CURVE).step_by(HATCH) {
        let at = |up: i32| match slant {
            Slant::Rising => foot + up,
            Slant::Falling => foot - up,
        };
        let inside = |up: i32| (left..=right).contains(&at(up)) && up < height(at(up));
        let mut from = None;
        for up in 0..=CURVE {
            match (from, inside(up)) {
                (None, true) => from = Some(up),
                (Some(start), false) => {
                    pen.line((at(start), base - start), (at(up - 1), base - up + 1), INK, 2)?;
                    from = None;
                }
                _ => {}
            }
        }
    }
    Ok(())
}

/// A vertical dashed line.
fn dashed(pen: &mut Pen<'_>, x: i32, (top, bottom): (i32, i32)) -> Result<(), DrawError> {
    for y in (top..bottom).step_by(34) {
        pen.line((x, y), (x, (y + 22).min(bottom)), INK, 4)?;
    }
    Ok(())
}

/// Base line with engraved ticks; every number is a multiple of 1, 2 or 5 times a power of ten.
fn axis(pen: &mut Pen<'_>, ground: &Ground, base: i32) -> Result<(), DrawError> {
    pen.line((LEFT, base), (RIGHT, base), INK, 2)?;
    let span = ground.high - ground.low;
    let steps = (-6..9).flat_map(|exponent| [1.0, 2.0, 5.0].map(|digit| (digit, exponent)));
    let (digit, exponent) =
        steps.into_iter().find(|(digit, e)| span / (digit * 10_f64.powi(*e)) <= 12.0).unwrap_or((1.0, 9));
    let size = digit * 10_f64.powi(exponent);
    let decimals = if exponent < 0 { exponent.unsigned_abs() } else { 0 };
    for n in (ground.low / size).ceil() as i64..=(ground.high / size).floor() as i64 {
        let value = n as f64 * size;
        let x = ground.x(value);
        pen.line((x, base), (x, base + 16), INK, 2)?;
        let label = round_decimals(value, decimals).map_err(|error| DrawError::Backend(error.to_string()))?;
        // A number that would run over the edge is left out; its tick stays.
        let text = label.signed();
        if (LEFT + text_width(&text) / 2..=RIGHT - text_width(&text) / 2).contains(&x) {
            pen.text(&text, (x, base + 38), Align::Centre)?;
        }
    }
    pen.line((LEFT, base), (RIGHT, base), RULE, 1)
}

/// What each stroke and hatching means.
fn legend(pen: &mut Pen<'_>, y: i32) -> Result<(), DrawError> {
    let mut x = LEFT;
    pen.rect((x, y - 11), (x + 22, y + 11), INK, true)?;
    x = entry(pen, x + 36, y, "mean deviation")?;
    pen.line((x + 6, y - 22), (x + 6, y + 22), INK, 6)?;
    x = entry(pen, x + 26, y, "limit")?;
    pen.line((x + 6, y - 24), (x + 6, y - 2), INK, 4)?;
    pen.line((x + 6, y + 10), (x + 6, y + 24), INK, 4)?;
    x = entry(pen, x + 26, y, "acceptance limit")?;
    sample(pen, x, y, &[])?;
    entry(pen, x + 94, y, "accepted")?;
    let second = y + 54;
    sample(pen, LEFT, second, &[Slant::Rising])?;
    x = entry(pen, LEFT + 94, second, "within the limits, not accepted")?;
    sample(pen, x, second, &[Slant::Rising, Slant::Falling])?;
    entry(pen, x + 94, second, "outside the limits: wrong if accepted")?;
    Ok(())
}

fn sample(pen: &mut Pen<'_>, x: i32, y: i32, slants: &[Slant]) -> Result<(), DrawError> {
    for slant in slants {
        hatch(pen, (x, x + 80), y + 18, *slant, &|_| 36)?;
    }
    pen.rect((x, y - 18), (x + 80, y + 18), INK, false)
}

fn entry(pen: &mut Pen<'_>, x: i32, y: i32, text: &str) -> Result<i32, DrawError> {
    pen.text(text, (x, y), Align::Left)?;
    Ok(x + text_width(text) + 30)
}
