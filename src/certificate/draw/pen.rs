//! The few strokes that all charts are made of.

use plotters::prelude::{BLACK, DrawingBackend, IntoFont, RGBColor, SVGBackend, ShapeStyle};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, TextStyle};

use super::DrawError;

/// Width of every chart, in tenths of a millimetre.
pub(super) const WIDTH: i32 = 1700;
/// Height of the text: 2.65 mm on paper, 7.5 pt.
const TEXT: i32 = 27;
/// The SVG backend divides the size of a font by this.
const BACKEND_FONT_SCALE: f64 = 1.24;
/// Distance of the lines of a hatching.
const HATCH: i32 = 16;
/// Dark ink.
pub(super) const INK: RGBColor = RGBColor(20, 33, 41);
/// Fine rules.
pub(super) const RULE: RGBColor = RGBColor(150, 158, 164);
/// Paper.
pub(super) const PAPER: RGBColor = RGBColor(255, 255, 255);

/// A point on the paper.
pub(super) type At = (i32, i32);

/// Where a text stands relative to its anchor.
#[derive(Debug, Clone, Copy)]
pub(super) enum Align {
    Left,
    Centre,
    Right,
}

/// Draws on one SVG.
pub(super) struct Pen<'a> {
    backend: SVGBackend<'a>,
}

fn failed<E: std::fmt::Display>(error: E) -> DrawError {
    DrawError::Backend(error.to_string())
}

fn stroke(colour: RGBColor, width: u32) -> ShapeStyle {
    ShapeStyle { color: colour.to_rgba(), filled: false, stroke_width: width }
}

/// Runs `work` on a sheet of the given height and returns the SVG.
pub(super) fn sheet(
    height: i32,
    work: impl FnOnce(&mut Pen<'_>) -> Result<(), DrawError>,
) -> Result<String, DrawError> {
    let mut svg = String::new();
    let size = (WIDTH.unsigned_abs(), height.unsigned_abs());
    let mut pen = Pen { backend: SVGBackend::with_string(&mut svg, size) };
    work(&mut pen)?;
    pen.backend.present().map_err(failed)?;
    drop(pen);
    Ok(svg)
}

/// A cautious estimate of how wide a text is printed.
pub(super) fn text_width(text: &str) -> i32 {
    let units: i32 = text
        .chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | '·' | '\'' | '|' | ' ' | 'f' | 't' => 9,
            'm' | 'w' | 'M' | 'W' | '%' | '@' => 25,
            'A'..='Z' => 19,
            _ => 16,
        })
        .sum();
    units * TEXT / 27
}

/// So many of so many equal parts of a width, without overflow for any number of readings.
pub(super) fn share(part: u64, whole: u64, width: i32) -> i32 {
    let at = u64::from(width.unsigned_abs()).saturating_mul(part) / whole.max(1);
    i32::try_from(at).unwrap_or(i32::MAX)
}

impl Pen<'_> {
    pub(super) fn line(&mut self, from: At, to: At, colour: RGBColor, width: u32) -> Result<(), DrawError> {
        self.backend.draw_line(from, to, &stroke(colour, width)).map_err(failed)
    }

    /// A horizontal dashed line.
    pub(super) fn dashed(&mut self, x: (i32, i32), y: i32, width: u32) -> Result<(), DrawError> {
        let (dash, gap) = (22, 12);
        let mut at = x.0;
        while at < x.1 {
            self.line((at, y), ((at + dash).min(x.1), y), INK, width)?;
            at += dash + gap;
        }
        Ok(())
    }

    pub(super) fn polyline(&mut self, points: &[At], colour: RGBColor, width: u32) -> Result<(), DrawError> {
        self.backend.draw_path(points.iter().copied(), &stroke(colour, width)).map_err(failed)
    }

    pub(super) fn rect(&mut self, a: At, b: At, colour: RGBColor, filled: bool) -> Result<(), DrawError> {
        self.backend.draw_rect(a, b, &stroke(colour, 2), filled).map_err(failed)
    }

    /// A ring on paper: what lies below does not show through it.
    pub(super) fn ring(&mut self, at: At, radius: u32) -> Result<(), DrawError> {
        self.backend.draw_circle(at, radius, &PAPER, true).map_err(failed)?;
        self.backend.draw_circle(at, radius, &stroke(INK, 3), false).map_err(failed)
    }

    pub(super) fn disc(&mut self, at: At, radius: u32) -> Result<(), DrawError> {
        self.backend.draw_circle(at, radius, &INK, true).map_err(failed)
    }

    /// A square standing on its corner.
    pub(super) fn diamond(&mut self, (x, y): At, r: i32) -> Result<(), DrawError> {
        let corners = [(x, y - r), (x + r, y), (x, y + r), (x - r, y)];
        self.backend.fill_polygon(corners, &INK).map_err(failed)
    }

    pub(super) fn cross(&mut self, (x, y): At, r: i32) -> Result<(), DrawError> {
        self.line((x - r, y - r), (x + r, y + r), INK, 3)?;
        self.line((x - r, y + r), (x + r, y - r), INK, 3)
    }

    /// Fills a rectangle with slanted fine lines, drawn in one stroke that
    /// returns along the edges.
    pub(super) fn hatch(&mut self, a: At, b: At) -> Result<(), DrawError> {
        let (left, right) = (a.0.min(b.0), a.0.max(b.0));
        let (top, bottom) = (a.1.min(b.1), a.1.max(b.1));
        let height = bottom - top;
        if height < 2 {
            return Ok(());
        }
        let first = (left - height).div_euclid(HATCH) * HATCH;
        let mut path = Vec::new();
        for (start, i) in (first..right).step_by(HATCH.unsigned_abs() as usize).zip(0..) {
            // From (start, bottom) to (start + height, top), clipped at the sides.
            let (enter, leave) = (start.max(left), (start + height).min(right));
            if enter >= leave {
                continue;
            }
            let mut ends = [(enter, bottom - (enter - start)), (leave, bottom - (leave - start))];
            if i % 2 == 1 {
                ends.reverse();
            }
            path.extend(ends);
        }
        self.polyline(&path, RULE, 2)
    }

    /// Text, vertically centred on `at`.
    pub(super) fn text(&mut self, text: &str, at: At, align: Align) -> Result<(), DrawError> {
        let h = match align {
            Align::Left => HPos::Left,
            Align::Centre => HPos::Center,
            Align::Right => HPos::Right,
        };
        let font = ("Noto Sans", f64::from(TEXT) * BACKEND_FONT_SCALE).into_font();
        let style = TextStyle::from(font).color(&BLACK).pos(Pos::new(h, VPos::Center));
        self.backend.draw_text(text, &style, at).map_err(failed)
    }
}

/// The SVG with its title and description, for who cannot see it.
pub(super) fn spoken(svg: &str, title: &str, alternative: &str) -> String {
    let escaped = |text: &str| text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    match svg.split_once('>') {
        Some((opening, rest)) => format!(
            "{opening}>\n<title>{}</title>\n<desc>{}</desc>{rest}",
            escaped(title),
            escaped(alternative)
        ),
        None => svg.to_owned(),
    }
}
