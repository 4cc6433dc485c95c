//! A vertical scale with engraved ticks.

use super::DrawError;
use super::pen::{Align, At, INK, Pen, RULE};

/// Maps percent to paper.
pub(super) struct Scale {
    top: i32,
    bottom: i32,
    low: f64,
    high: f64,
    step: Step,
}

/// Distance of two labelled ticks: `digit` times ten to the power of `exponent`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Step {
    digit: i64,
    exponent: i32,
}

impl Step {
    /// The smallest of 1, 2, 5 times a power of ten of which at most seven fit.
    fn for_span(span: f64) -> Self {
        let steps = (-6..308).flat_map(|exponent| [1, 2, 5].map(|digit| Self { digit, exponent }));
        steps.into_iter().find(|step| span / step.size() <= 7.0).unwrap_or(Self { digit: 1, exponent: 308 })
    }

    fn size(self) -> f64 {
        self.digit as f64 * 10_f64.powi(self.exponent)
    }

    /// The label of the n-th tick, exactly.
    fn label(self, n: i64) -> String {
        let value = n * self.digit;
        let sign = match value.signum() {
            1 => "+",
            -1 => "−",
            _ => "",
        };
        let digits = value.abs();
        if self.exponent >= 0 {
            let zeros = if digits == 0 { 0 } else { self.exponent.unsigned_abs() as usize };
            return format!("{sign}{digits}{}", "0".repeat(zeros));
        }
        let places = self.exponent.unsigned_abs() as usize;
        let padded = format!("{digits:0>width$}", width = places + 1);
        let (whole, fraction) = padded.split_at(padded.len() - places);
        format!("{sign}{whole}.{fraction}")
    }
}

impl Scale {
    /// A scale that holds all `values` and zero, with some air.
    pub(super) fn holding(
        values: impl Iterator<Item = f64>,
        top: i32,
        bottom: i32,
    ) -> Result<Self, DrawError> {
        let (mut low, mut high) = (0.0_f64, 0.0_f64);
        for value in values {
            if !value.is_finite() {
                return Err(DrawError::NotFinite);
            }
            low = low.min(value);
            high = high.max(value);
        }
        if !(high - low).is_finite() {
            return Err(DrawError::NotFinite);
        }
        let air = ((high - low) * 0.08).max(1e-6);
        let (low, high) = (low - air, high + air);
        Ok(Self { top, bottom, low, high, step: Step::for_span(high - low) })
    }

    /// Where a value stands; one beyond the scale, at its end.
    pub(super) fn y(&self, value: f64) -> i32 {
        let part = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        let height = f64::from(self.bottom - self.top);
        self.bottom - (part * height).round() as i32
    }

    /// Draws the scale at `left` with its grid up to `right`.
    pub(super) fn draw(&self, pen: &mut Pen<'_>, left: i32, right: i32) -> Result<(), DrawError> {
        pen.line((left, self.top), (left, self.bottom), INK, 2)?;
        let size = self.step.size();
        let (first, last) = ((self.low / size).ceil() as i64, (self.high / size).floor() as i64);
        for n in first..=last {
            let y = self.y(n as f64 * size);
            pen.line((left - 20, y), (left, y), INK, 2)?;
            pen.text(&self.step.label(n), (left - 30, y), Align::Right)?;
            let grid: (At, At) = ((left, y), (right, y));
            if n == 0 {
                pen.line(grid.0, grid.1, INK, 2)?;
            } else {
                pen.line(grid.0, grid.1, RULE, 1)?;
            }
        }
        let fifth = size / 5.0;
        for n in (self.low / fifth).ceil() as i64..=(self.high / fifth).floor() as i64 {
            let y = self.y(n as f64 * fifth);
            pen.line((left - 10, y), (left, y), INK, 1)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_exact() {
        assert_eq!(Step { digit: 2, exponent: 0 }.label(-2), "−4");
        assert_eq!(Step { digit: 5, exponent: -1 }.label(3), "+1.5");
        assert_eq!(Step { digit: 2, exponent: -2 }.label(1), "+0.02");
        assert_eq!(Step { digit: 1, exponent: 1 }.label(2), "+20");
        assert_eq!(Step { digit: 5, exponent: -1 }.label(0), "0.0");
    }

    /// Any file may hold such numbers; a chart of them is useless, and neither panics nor takes long.
    #[test]
    fn absurd_values_have_a_scale_too() -> Result<(), DrawError> {
        let scale = Scale::holding([1e300, -1e12].into_iter(), 0, 400)?;
        assert!(1e300 / scale.step.size() < 10.0);
        assert_eq!((scale.y(f64::MAX), scale.y(f64::MIN)), (0, 400));
        assert!(Scale::holding([f64::MAX, f64::MIN].into_iter(), 0, 400).is_err());
        Ok(())
    }

    #[test]
    fn a_few_ticks_fit_any_span() {
        assert_eq!(Step::for_span(9.6), Step { digit: 2, exponent: 0 });
        assert_eq!(Step::for_span(0.9), Step { digit: 2, exponent: -1 });
        assert_eq!(Step::for_span(70.0), Step { digit: 1, exponent: 1 });
    }
}
