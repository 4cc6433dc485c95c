//! The linear model of an uncertainty budget.

use super::distribution::{Distribution, DistributionError};
use super::model::{Input, LinearModel};
use crate::budget::{self, Budget, BudgetLine};
use crate::coverage::Freedom;
use crate::quantity::Percent;

impl LinearModel {
    /// The deviation of a tool at a point: its mean deviation, and one input about zero for each
    /// line of the budget.
    ///
    /// A normal line with finite degrees of freedom is the scaled and shifted t (JCGM 101, 6.4.9),
    /// which is wider than the normal that the GUM takes. A rectangular line is rectangular (6.4.2).
    /// A line of zero adds nothing.
    ///
    /// # Errors
    /// [`DistributionError`] for a line or a mean that is not finite, or degrees of freedom that
    /// are not above zero.
    pub fn of_budget(budget: &Budget, mean: Percent) -> Result<LinearModel, DistributionError> {
        let about = Distribution::normal(mean.value(), 0.0)?;
        let constant = LinearModel::new(0.0, &[Input { distribution: about, sensitivity: 1.0 }]);
        budget.lines.iter().try_fold(constant, |model, line| {
            Ok(model.and(Input { distribution: distribution(line)?, sensitivity: 1.0 }))
        })
    }
}

fn distribution(line: &BudgetLine) -> Result<Distribution, DistributionError> {
    let standard = line.standard().value();
    match (line.distribution, line.freedom) {
        (budget::Distribution::Rectangular, _) => {
            // From the standard uncertainty, so that a divisor other than √3 keeps its meaning.
            let half_width = standard * 3.0_f64.sqrt();
            Distribution::rectangular(-half_width, half_width)
        }
        (budget::Distribution::Normal, Freedom::Infinite) => Distribution::normal(0.0, standard),
        (budget::Distribution::Normal, Freedom::Finite(freedom)) => {
            Distribution::student_t(0.0, standard, freedom)
        }
    }
}
