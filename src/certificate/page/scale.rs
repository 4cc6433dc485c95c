//! One horizontal scale for every chart of the page, so that as found and as left can be compared by eye.

use super::PageError;
use crate::certificate::chart::{Chart, DeviationPoint};
use crate::certificate::view::CertificateView;

/// Beyond this, in percent, a chart shows nothing to anybody.
const PERCENT_MAX: f64 = 1e9;
/// Labelled ticks that fit beside each other on the narrowest screen.
const TICKS_MAX: f64 = 6.0;

/// Maps percent of deviation to percent of the width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    /// A scale that holds everything that the charts of the certificate show.
    pub(super) fn of(view: &CertificateView) -> Result<Scale, PageError> {
        let (mut low, mut high) = (0.0_f64, 0.0_f64);
        for figure in view.figures() {
            let Chart::Deviation(chart) = &figure.chart else { continue };
            for value in chart.points.iter().flat_map(positions) {
                if !value.is_finite() || value.abs() > PERCENT_MAX {
                    return Err(PageError::NotDrawable(figure.name.clone()));
                }
                low = low.min(value);
                high = high.max(value);
            }
        }
        let air = ((high - low) * 0.06).max(1e-6);
        Ok(Scale { low: low - air, high: high + air })
    }

    /// Where a deviation stands, as an SVG length.
    pub(super) fn x(self, deviation: f64) -> String {
        format!("{:.2}%", self.part(deviation))
    }

    /// The stretch from one deviation to another: where it begins, and its width.
    pub(super) fn stretch(self, from: f64, to: f64) -> (String, String) {
        let (left, right) = (self.part(from.min(to)), self.part(from.max(to)));
        (format!("{left:.2}%"), format!("{:.2}%", right - left))
    }

    fn part(self, deviation: f64) -> f64 {
        ((deviation - self.low) / (self.high - self.low) * 100.0).clamp(0.0, 100.0)
    }

    /// Labelled ticks: the smallest of 1, 2, 5 times a power of ten of which few enough fit.
    pub(super) fn ticks(self) -> Vec<(f64, String)> {
        let span = self.high - self.low;
        let steps = (-7..10_i32).flat_map(|exponent| [1_i32, 2, 5].map(|digit| (digit, exponent)));
        let size = |(digit, exponent): (i32, i32)| f64::from(digit) * 10_f64.powi(exponent);
        let Some(step) = steps.into_iter().find(|step| span / size(*step) <= TICKS_MAX) else {
            return vec![];
        };
        let places = usize::try_from(-step.1).unwrap_or(0);
        // At most six by the choice of the step; the range is small whatever the chart holds.
        (-8..=8_i32)
            .map(|n| f64::from(n) * size(step))
            .filter(|value| *value >= self.low && *value <= self.high)
            .map(|value| {
                let sign = if value > 0.0 {
                    "+"
                } else if value < 0.0 {
                    "−"
                } else {
                    ""
                };
                (value, format!("{sign}{:.places$}", value.abs()))
            })
            .collect()
    }
}

/// Everything that has to fit on the scale.
fn positions(point: &DeviationPoint) -> impl Iterator<Item = f64> + '_ {
    let expanded = point.expanded.unwrap_or(0.0);
    let mean = [point.mean - expanded, point.mean + expanded];
    point.readings.iter().copied().chain(point.limits.each()).chain(mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(low: f64, high: f64) -> Vec<String> {
        Scale { low, high }.ticks().into_iter().map(|(_, label)| label).collect()
    }

    #[test]
    fn few_ticks_with_exact_labels() {
        assert_eq!(labels(-4.5, 4.5), ["−4", "−2", "0", "+2", "+4"]);
        assert_eq!(labels(-0.23, 1.2), ["0.0", "+0.5", "+1.0"]);
        assert_eq!(labels(-36.0, 4.5), ["−30", "−20", "−10", "0"]);
        assert_eq!(labels(-1e9, 1e9).len(), 5);
    }

    #[test]
    fn places_are_within_the_width() {
        let scale = Scale { low: -5.0, high: 5.0 };
        assert_eq!(scale.x(0.0), "50.00%");
        assert_eq!((scale.x(-9.0).as_str(), scale.x(9.0).as_str()), ("0.00%", "100.00%"));
        assert_eq!(scale.stretch(4.0, 3.0), ("80.00%".to_owned(), "10.00%".to_owned()));
    }
}
