//! Results that share an error: covariance matrices, propagation, the joint budget of many points.
//!
//! The deviation of a reference is one error for every reading that is taken against it. Two points
//! of a run, or the same point as found and as left, are therefore correlated: their difference is
//! known better than their two uncertainties say, their sum worse (GUM 5.2.2, 5.2.4, F.1.2.3).

mod joint;
mod matrix;
mod means;
mod share;
mod shift;
#[cfg(test)]
pub(crate) mod tests;

use thiserror::Error;

pub use joint::{Combination, ErrorSource, JointBudget, Member};
pub use matrix::{CovarianceMatrix, propagate, propagate_all};
pub use means::covariance_of_means;
pub use shift::{Shift, shifts};

use crate::quantity::Torque;
use crate::reading::Direction;

/// Why there is no covariance.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum CovarianceError {
    /// There is nothing to be correlated.
    #[error("a covariance needs at least one quantity")]
    Empty,
    /// A row, a weight or a series is missing or one too many.
    #[error("{given} values where {wanted} are needed")]
    Length {
        /// how many there are
        given: usize,
        /// how many there should be
        wanted: usize,
    },
    /// An entry that is not finite.
    #[error("the entry in row {row}, column {column} is not a finite number")]
    NotFinite {
        /// its row, from 1
        row: usize,
        /// its column, from 1
        column: usize,
    },
    /// The two entries of a pair differ.
    #[error("the covariance of {row} and {column} is {above} above the diagonal and {below} below it")]
    NotSymmetric {
        /// the row, from 1
        row: usize,
        /// the column, from 1
        column: usize,
        /// the entry above the diagonal
        above: f64,
        /// the entry below the diagonal
        below: f64,
    },
    /// A variance is not negative.
    #[error("quantity {index} has a variance of {variance}")]
    NegativeVariance {
        /// its place, from 1
        index: usize,
        /// what was given
        variance: f64,
    },
    /// A correlation lies between −1 and 1.
    #[error("quantities {row} and {column} are correlated by {coefficient}")]
    Correlation {
        /// the one, from 1
        row: usize,
        /// the other, from 1
        column: usize,
        /// what their covariance comes to
        coefficient: f64,
    },
    /// Means of one observation have no covariance.
    #[error("{found} simultaneous observations are too few: at least 2 are needed")]
    TooFewObservations {
        /// how many there are
        found: usize,
    },
    /// There is no such quantity.
    #[error("there is no quantity {index} among {count}")]
    NoSuchQuantity {
        /// what was asked, from 0
        index: usize,
        /// how many there are
        count: usize,
    },
    /// A point has no budget, or a budget that misses lines.
    #[error("the point at {} N·m {direction} has no complete budget", torque.newton_metres())]
    NoBudget {
        /// the test point
        torque: Torque,
        /// its direction
        direction: Direction,
    },
}
