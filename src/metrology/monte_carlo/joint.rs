//! Correlated normal inputs: a multivariate normal block (JCGM 101, 6.4.8).

use rand_distr::{Distribution as _, StandardNormal};
use thiserror::Error;

use super::stream::Stream;

/// Several inputs, jointly normal, by their means and covariance matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct JointNormal {
    means: Vec<f64>,
    /// rows of the lower triangle of R, with R Rᵀ the covariance matrix
    factor: Vec<Vec<f64>>,
}

/// Why numbers are not means and covariances.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum JointError {
    /// The matrix has other rows or columns than there are means.
    #[error("{means} means need as many rows and columns of covariances; row {row} does not fit")]
    Size {
        /// how many means
        means: usize,
        /// the first row that is missing, too much or of another length, from 1
        row: usize,
    },
    /// A number is not finite.
    #[error("mean or covariance {row} is not a finite number")]
    NotFinite {
        /// the first row with such a number, from 1
        row: usize,
    },
    /// Two covariances that should be one.
    #[error("the covariances of inputs {row} and {column} differ from each other")]
    NotSymmetric {
        /// from 1
        row: usize,
        /// from 1
        column: usize,
    },
    /// No real quantities vary like that.
    #[error(
        "the covariances contradict each other at input {row}: a correlation beyond ±1, or three that cannot be together"
    )]
    NotPositive {
        /// where the factorisation fails, from 1
        row: usize,
    },
}

/// How far below zero, relative to its variance, rounding may leave what remains of an input that
/// the ones before it wholly determine. Full correlation (r = 1) is common here, so that such a
/// matrix is good.
const ROUNDING: f64 = 1e-12;

fn checked(means: &[f64], covariance: &[Vec<f64>]) -> Result<(), JointError> {
    let n = means.len();
    if covariance.len() != n {
        return Err(JointError::Size { means: n, row: covariance.len().min(n) + 1 });
    }
    for (i, (mean, row)) in means.iter().zip(covariance).enumerate() {
        if row.len() != n {
            return Err(JointError::Size { means: n, row: i + 1 });
        }
        if !mean.is_finite() || row.iter().any(|v| !v.is_finite()) {
            return Err(JointError::NotFinite { row: i + 1 });
        }
        for (j, other) in covariance.iter().enumerate().take(i) {
            let scale = row[j].abs().max(other[i].abs());
            if (row[j] - other[i]).abs() > scale * ROUNDING {
                return Err(JointError::NotSymmetric { row: i + 1, column: j + 1 });
            }
        }
    }
    Ok(())
}

/// The Cholesky factor (JCGM 101, C.5), also of a matrix that is only semidefinite.
fn cholesky(covariance: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, JointError> {
    let mut factor: Vec<Vec<f64>> = Vec::with_capacity(covariance.len());
    for (i, row) in covariance.iter().enumerate() {
        let mut mine: Vec<f64> = Vec::with_capacity(i + 1);
        let mut left = row[i];
        let allowed = row[i].abs() * ROUNDING;
        for (j, theirs) in factor.iter().enumerate() {
            let shared: f64 = mine.iter().zip(theirs).map(|(a, b)| a * b).sum();
            let rest = row[j] - shared;
            let entry = if theirs[j] > 0.0 {
                rest / theirs[j]
            } else if rest * rest > row[i].abs() * covariance[j][j].abs() * ROUNDING {
                return Err(JointError::NotPositive { row: i + 1 });
            } else {
                0.0
            };
            left -= entry * entry;
            mine.push(entry);
        }
        if left < -allowed {
            return Err(JointError::NotPositive { row: i + 1 });
        }
        mine.push(if left > allowed { left.sqrt() } else { 0.0 });
        factor.push(mine);
    }
    Ok(factor)
}

impl JointNormal {
    /// From the means and the covariance matrix, row by row. Full correlation is allowed.
    ///
    /// # Errors
    /// [`JointError`] for a matrix that is not square, not finite, not symmetric, or not that of
    /// any real quantities.
    pub fn new(means: Vec<f64>, covariance: &[Vec<f64>]) -> Result<JointNormal, JointError> {
        checked(&means, covariance)?;
        let factor = cholesky(covariance)?;
        Ok(JointNormal { means, factor })
    }

    /// How many inputs it holds.
    #[must_use]
    pub fn len(&self) -> usize {
        self.means.len()
    }

    /// Whether it holds no input.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.means.is_empty()
    }

    /// Mean and standard deviation of Σ cᵢxᵢ, which is normal too (GUM 5.2.2, equation 16);
    /// `None` when there are not as many sensitivities as inputs.
    #[must_use]
    pub fn project(&self, sensitivities: &[f64]) -> Option<(f64, f64)> {
        if sensitivities.len() != self.len() {
            return None;
        }
        let mean = self.means.iter().zip(sensitivities).map(|(m, c)| m * c).sum();
        let column = |j: usize| -> f64 {
            self.factor.iter().zip(sensitivities).skip(j).map(|(row, c)| row[j] * c).sum()
        };
        let variance: f64 = (0..self.len()).map(|j| column(j) * column(j)).sum();
        Some((mean, variance.sqrt()))
    }

    /// One draw of all inputs, into a place for as many (JCGM 101, C.5).
    pub(super) fn draw(&self, stream: &mut Stream, place: &mut [f64]) {
        for z in place.iter_mut() {
            *z = StandardNormal.sample(&mut stream.generator);
        }
        // From the last to the first: each needs only the normal draws up to its own.
        for (i, (row, mean)) in self.factor.iter().zip(&self.means).enumerate().rev() {
            let sum: f64 = row.iter().zip(place.iter()).map(|(r, z)| r * z).sum();
            place[i] = mean + sum;
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn full_correlation_is_one_error() {
        let both = JointNormal::new(vec![1.0, 5.0], &[vec![4.0, 6.0], vec![6.0, 9.0]]).unwrap();
        assert_eq!(both.project(&[1.0, 1.0]), Some((6.0, 5.0)));
        assert_eq!(both.project(&[3.0, -2.0]), Some((-7.0, 0.0)));
        assert_eq!(both.project(&[1.0]), None);
    }

    #[test]
    fn a_matrix_that_nothing_real_has_is_refused() {
        let ask = |rows: &[Vec<f64>]| JointNormal::new(vec![0.0; 3], rows).unwrap_err();
        let r = |a: f64, b: f64, c: f64| [vec![1.0, a, b], vec![a, 1.0, c], vec![b, c, 1.0]];
        assert_eq!(ask(&r(1.2, 0.0, 0.0)), JointError::NotPositive { row: 2 });
        assert_eq!(ask(&r(0.9, 0.9, -0.9)), JointError::NotPositive { row: 3 });
        assert_eq!(ask(&r(1.0, 0.5, 0.2)), JointError::NotPositive { row: 3 });
        assert_eq!(ask(&r(0.0, f64::NAN, 0.0)), JointError::NotFinite { row: 1 });
        assert_eq!(ask(&[vec![1.0; 3], vec![1.0; 2], vec![1.0; 3]]), JointError::Size { means: 3, row: 2 });
        assert_eq!(ask(&[vec![1.0; 3], vec![1.0; 3]]), JointError::Size { means: 3, row: 3 });
        let lopsided = [vec![1.0, 0.1, 0.0], vec![0.2, 1.0, 0.0], vec![0.0, 0.0, 1.0]];
        assert_eq!(ask(&lopsided), JointError::NotSymmetric { row: 2, column: 1 });
    }
}
