//! Which line of the budget contributes how much, as small bars: a row a line,
//! a column a test point. Every bar carries its number, so that no key and no
//! colour is needed.

use super::DrawError;
use super::pen::{Align, INK, Pen, RULE, WIDTH, sheet};
use crate::certificate::chart::{BudgetChart, Share};

const LABELS: i32 = 470;
const TOP: i32 = 60;
const ROW: i32 = 46;
/// Room for "100 %" beside the longest bar.
const NUMBER: i32 = 110;

pub(super) fn draw(chart: &BudgetChart) -> Result<String, DrawError> {
    check(chart)?;
    let columns = i32::try_from(chart.points.len()).map_err(|_| DrawError::Empty)?;
    let rows = i32::try_from(chart.rows.len()).map_err(|_| DrawError::Empty)?;
    let cell = (WIDTH - LABELS) / columns;
    let bottom = TOP + rows * ROW;
    sheet(bottom + 14, |pen| {
        for (point, column) in chart.points.iter().zip(0..) {
            let x = LABELS + column * cell;
            pen.text(point, (x, 24), Align::Left)?;
            pen.line((x, TOP - 8), (x, bottom), INK, 2)?;
        }
        for (row, i) in chart.rows.iter().zip(0..) {
            let y = TOP + i * ROW + ROW / 2;
            pen.text(&row.label, (0, y), Align::Left)?;
            pen.line((0, y + ROW / 2), (WIDTH, y + ROW / 2), RULE, 1)?;
            for (share, column) in row.shares.iter().zip(0..) {
                bar(pen, share.as_ref(), (LABELS + column * cell, y), cell - NUMBER)?;
            }
        }
        Ok(())
    })
}

fn check(chart: &BudgetChart) -> Result<(), DrawError> {
    if chart.points.is_empty() || chart.rows.is_empty() {
        return Err(DrawError::Empty);
    }
    let want = chart.points.len();
    for row in &chart.rows {
        let got = row.shares.len();
        if got != want {
            return Err(DrawError::Ragged { row: row.label.clone(), got, want });
        }
        if row.shares.iter().flatten().any(|share| !share.fraction.is_finite()) {
            return Err(DrawError::NotFinite);
        }
    }
    Ok(())
}

fn bar(pen: &mut Pen<'_>, share: Option<&Share>, (x, y): (i32, i32), full: i32) -> Result<(), DrawError> {
    let Some(share) = share else {
        return pen.text("none", (x + 14, y), Align::Left);
    };
    let length = (share.fraction.clamp(0.0, 1.0) * f64::from(full)).round() as i32;
    if length > 0 {
        pen.rect((x, y - 11), (x + length, y + 11), INK, true)?;
    }
    pen.text(&share.text, (x + length + 14, y), Align::Left)
}
