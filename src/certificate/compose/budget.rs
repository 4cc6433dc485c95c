//! The uncertainty budget of each point, line by line.

use super::ComposeError;
use super::words::{NO_BREAK, both_ways, capital, coverage, freedom, point_name};
use crate::certificate::view::{BudgetRow, BudgetView, Fact};
use crate::metrology::budget::{BudgetLine, Distribution};
use crate::metrology::evaluate::{PointResult, PointUncertainty};
use crate::metrology::rounding::{
    RoundingError, RoundingRule, round_decimals, round_figures, round_uncertainty,
};

pub(super) fn budgets(
    points: &[&PointResult],
    rounding: RoundingRule,
) -> Result<Vec<BudgetView>, ComposeError> {
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
        value: small(line.value.value(), decimals)?,
        distribution: match line.distribution {
            Distribution::Normal => "normal".to_owned(),
            Distribution::Rectangular => "rectangular".to_owned(),
        },
        divisor: divisor(line.divisor)?,
        dof: freedom(line.freedom)?,
        standard: small(line.standard().value(), decimals)?,
        share: round_decimals(share * 100.0, 1)?.to_string(),
    })
}

/// A number to so many decimals; what vanishes among them is said to be below
/// the last, and is not printed as nothing.
fn small(value: f64, decimals: u32) -> Result<String, RoundingError> {
    let rounded = round_decimals(value, decimals)?;
    if rounded.decimal().is_zero() && value > 0.0 {
        let zeros = "0".repeat(usize::try_from(decimals.saturating_sub(1)).unwrap_or(0));
        return Ok(if decimals == 0 { "< 1".to_owned() } else { format!("<\u{a0}0.{zeros}1") });
    }
    Ok(rounded.to_string())
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

    #[test]
    fn a_small_contribution_is_not_printed_as_nothing() -> Result<(), RoundingError> {
        assert_eq!(small(0.000_042_8, 3)?, "<\u{a0}0.001");
        assert_eq!(small(0.0, 3)?, "0.000");
        assert_eq!(small(0.345, 2)?, "0.35");
        Ok(())
    }
}
