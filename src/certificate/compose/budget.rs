//! The uncertainty budget of each point, line by line.

use super::ComposeError;
use super::words::{NO_BREAK, both_ways, capital, point_name};
use crate::certificate::view::{BudgetRow, BudgetView, Fact};
use crate::metrology::evaluate::{PointResult, PointUncertainty};
use crate::metrology::rounding::{RoundingError, RoundingRule};
use crate::printed::{PrintedLine, PrintedPoint};

pub(super) fn budgets(
    points: &[&PointResult],
    rounding: RoundingRule,
) -> Result<Vec<BudgetView>, ComposeError> {
    points
        .iter()
        .filter_map(|point| point.uncertainty.as_ref().map(|u| (point, u)))
        .map(|(point, uncertainty)| {
            let caption = capital(&point_name(point, both_ways(std::slice::from_ref(*point))));
            let printed = PrintedPoint::new(point, rounding)?;
            Ok(budget(caption, uncertainty, printed)?)
        })
        .collect()
}

fn budget(
    caption: String,
    uncertainty: &PointUncertainty,
    printed: PrintedPoint,
) -> Result<BudgetView, RoundingError> {
    let lines = uncertainty
        .budget
        .lines
        .iter()
        .zip(&uncertainty.combined.shares)
        .map(|(line, share)| PrintedLine::new(line, *share, printed.decimals).map(row))
        .collect::<Result<Vec<_>, _>>()?;
    let percent = |value: &str| format!("{value}{NO_BREAK}%");
    let mut totals = Vec::new();
    let mut total = |label: &str, value: Option<String>| totals.extend(value.map(|v| Fact::new(label, v)));
    total("Combined standard uncertainty", printed.combined.as_deref().map(percent));
    total("Effective degrees of freedom", printed.freedom);
    let asked = printed.k_effective.filter(|asked| printed.k.as_ref() != Some(asked));
    total("Coverage factor k", printed.k);
    total("k by degrees of freedom", asked);
    total("Expanded uncertainty U", printed.expanded.as_deref().map(percent));
    Ok(BudgetView { caption, lines, totals })
}

fn row(line: PrintedLine) -> BudgetRow {
    BudgetRow {
        name: capital(&line.influence),
        symbol: line.symbol,
        source: line.source,
        value: line.value,
        distribution: line.distribution,
        divisor: line.divisor,
        dof: line.freedom,
        standard: line.standard,
        share: line.share,
    }
}
