//! The uncertainty budget of each point, line by line.

use super::words::{NO_BREAK, both_ways, capital, coverage, freedom, point_name};
use super::ComposeError;
use crate::certificate::view::{BudgetRow, BudgetView, Fact};
use crate::metrology::budget::{BudgetLine, Distribution};
use crate::metrology::evaluate::{PointResult, PointUncertainty};
use crate::metrology::rounding::{RoundingError, RoundingRule, round_decimals, round_figures, round_uncertainty};

pub(super) fn budgets(points: &[&PointResult], rounding: RoundingRule) -> Result<Vec<BudgetView>, ComposeError> {
    points
        .iter()
        .filter_map(|point| point.uncertainty.as_ref().map(|u| (point, u)))
        .map(|(point, uncertainty)| {
            Ok(BudgetView {
                caption: capital(&point_name(point, both_ways(std::slice::from_ref(*point)))),
                ..budget(uncertainty, rounding)?
            })
        })
        .collect()
}

fn budget(uncertainty: &PointUncertainty, rounding: RoundingRule) -> Result<BudgetView, RoundingError> {
    let expanded = round_uncertainty(uncertainty.expanded.expanded.value(), rounding)?;
    // Standard uncertainties get one digit more than what is stated at the end.
    let decimals = expanded.decimals() + 1;
    let lines = uncertainty
        .budget
        .lines
        .iter()
        .zip(&uncertainty.combined.shares)
        .map(|(line, share)| row(line, *share, decimals))
        .collect::<Result<Vec<_>, _>>()?;
    let combined = round_decimals(uncertainty.combined.standard.value(), decimals)?;
    let mut totals = vec![
        Fact::new("Combined standard uncertainty", format!("{combined}{NO_BREAK}%")),
        Fact::new("Effective degrees of freedom", freedom(uncertainty.combined.freedom)?),
        Fact::new("Coverage factor k", coverage(uncertainty.expanded.k)?),
    ];
    let (used, asked) = (coverage(uncertainty.expanded.k)?, coverage(uncertainty.expanded.k_effective)?);
    if used != asked {
        totals.push(Fact::new("k by degrees of freedom", asked));
    }
    totals.push(Fact::new("Expanded uncertainty U", format!("{expanded}{NO_BREAK}%")));
    Ok(BudgetView { caption: String::new(), lines, totals })
}

fn row(line: &BudgetLine, share: f64, decimals: u32) -> Result<BudgetRow, RoundingError> {
    Ok(BudgetRow {
        name: capital(line.influence.words()),
        symbol: line.influence.symbol().to_owned(),
        source: line.source.clone(),
        value: round_decimals(line.value.value(), decimals)?.to_string(),
        distribution: match line.distribution {
            Distribution::Normal => "normal".to_owned(),
            Distribution::Rectangular => "rectangular".to_owned(),
        },
        divisor: divisor(line.divisor)?,
        dof: freedom(line.freedom)?,
        standard: round_decimals(line.standard().value(), decimals)?.to_string(),
        share: round_decimals(share * 100.0, 1)?.to_string(),
    })
}

/// "2", "√3", or the number where it is neither whole nor the root of a whole one.
fn divisor(value: f64) -> Result<String, RoundingError> {
    let square = value * value;
    if (value - value.round()).abs() < 1e-9 {
        Ok(round_decimals(value, 0)?.to_string())
    } else if (square - square.round()).abs() < 1e-9 {
        Ok(format!("√{}", round_decimals(square, 0)?))
    } else {
        Ok(round_figures(value, 3)?.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn divisors_print_as_they_are_written() -> Result<(), RoundingError> {
        assert_eq!(divisor(2.0)?, "2");
        assert_eq!(divisor(3.0_f64.sqrt())?, "√3");
        assert_eq!(divisor(5.0_f64.sqrt())?, "√5");
        assert_eq!(divisor(2.28)?, "2.28");
        Ok(())
    }
}
