//! Draws the charts of [`super::chart`] as SVG.
//!
//! One ink, one grey and one paper: meaning is carried by shape, line style,
//! hatching and words, so that a photocopy loses nothing. All text has one
//! font, one size and one colour, since mixed styles make the bytes of the PDF
//! vary from run to run.

mod axis;
mod budget;
mod curve;
mod density;
mod deviation;
mod pen;
mod sequence;
mod trace;

use thiserror::Error;

use super::chart::Chart;

/// A chart that could not be drawn.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DrawError {
    /// There is nothing to draw.
    #[error("the chart holds no data")]
    Empty,
    /// A position is not a finite number.
    #[error("the chart holds a position that is not a finite number")]
    NotFinite,
    /// A row of shares is longer or shorter than the list of points.
    #[error("row `{row}` has {got} shares for {want} test points")]
    Ragged {
        /// Label of the row.
        row: String,
        /// Shares in the row.
        got: usize,
        /// Test points.
        want: usize,
    },
    /// The drawing library gave up.
    #[error("drawing failed: {0}")]
    Backend(String),
}

/// Draws a chart as an SVG document, 170 mm wide where one unit is 0.1 mm.
pub fn draw(chart: &Chart) -> Result<String, DrawError> {
    match chart {
        Chart::Deviation(chart) => deviation::draw(chart),
        Chart::Budget(chart) => budget::draw(chart),
        Chart::Sequence(chart) => sequence::draw(chart),
        Chart::Density(chart) => density::draw(chart),
        Chart::Curve(chart) => curve::draw(chart),
        Chart::Trace(chart) => trace::draw(chart),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::certificate::chart::Ends;
    use crate::certificate::chart::{
        BudgetChart, BudgetShareRow, DeviationChart, DeviationPoint, SequenceChart, SequenceGroup,
        SequenceMark,
    };

    fn deviation(readings: Vec<f64>) -> Chart {
        Chart::Deviation(DeviationChart {
            axis: "Deviation, %".into(),
            points: vec![DeviationPoint {
                label: "40 N·m".into(),
                result: "+0.4 ± 0.6 %".into(),
                readings,
                mean: 0.4,
                expanded: Some(0.6),
                limits: Ends::new(-4.0, 4.0),
                acceptance: Some(Ends::new(-3.4, 3.4)),
            }],
        })
    }

    #[test]
    fn a_chart_is_the_same_twice_and_names_its_font() -> Result<(), DrawError> {
        let chart = deviation(vec![0.2, 0.4, 0.6]);
        let first = draw(&chart)?;
        assert_eq!(first, draw(&chart)?);
        assert!(first.contains("font-family=\"Noto Sans\""));
        assert_eq!(first.matches("<text").count(), first.matches("font-family=\"Noto Sans\"").count());
        Ok(())
    }

    #[test]
    fn what_cannot_be_placed_is_refused() {
        assert_eq!(draw(&deviation(vec![f64::NAN])), Err(DrawError::NotFinite));
        let none = Chart::Deviation(DeviationChart { axis: String::new(), points: vec![] });
        assert_eq!(draw(&none), Err(DrawError::Empty));
        let ragged = Chart::Budget(BudgetChart {
            points: vec!["40 N·m".into()],
            rows: vec![BudgetShareRow { label: "reference".into(), shares: vec![] }],
        });
        assert_eq!(draw(&ragged), Err(DrawError::Ragged { row: "reference".into(), got: 0, want: 1 }));
    }

    #[test]
    fn a_void_is_named_in_words() -> Result<(), DrawError> {
        let chart = Chart::Sequence(SequenceChart {
            axis: "Deviation, %".into(),
            limits: Ends::new(-4.0, 4.0),
            groups: vec![SequenceGroup {
                label: "40 N·m".into(),
                marks: vec![SequenceMark::Counts(0.1), SequenceMark::Void],
            }],
        });
        assert!(draw(&chart)?.contains("void"));
        Ok(())
    }
}
