//! The little linear algebra that a fit needs: Cholesky factor, triangular solutions, thin QR.
//!
//! Written out rather than taken from a crate: the matrices have a dozen rows and four columns, and
//! kernels that a crate picks by the machine's instruction set would make the last digits of a
//! certificate depend on where it is computed. See the checks against NIST's reference data sets.

use crate::covariance::CovarianceMatrix;

/// A lower triangular matrix, row i of length i + 1.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Lower {
    rows: Vec<Vec<f64>>,
}

impl Lower {
    /// The Cholesky factor L of V = L Lᵀ, or the first row whose own variance is lost in rounding
    /// (G. H. Golub, C. F. Van Loan, Matrix Computations, 4.2).
    pub(super) fn cholesky(v: &CovarianceMatrix) -> Result<Lower, usize> {
        let lost = 16.0 * f64::EPSILON * v.size() as f64;
        let mut rows: Vec<Vec<f64>> = Vec::with_capacity(v.size());
        for i in 0..v.size() {
            let mut row: Vec<f64> = Vec::with_capacity(i + 1);
            for (j, other) in rows.iter().enumerate() {
                let known = dot(&row, other);
                let pivot = other.last().copied().unwrap_or(f64::NAN);
                row.push((v.entry(i, j) - known) / pivot);
            }
            let left = v.entry(i, i) - dot(&row, &row);
            if left.is_nan() || left <= lost * v.entry(i, i) {
                return Err(i);
            }
            row.push(left.sqrt());
            rows.push(row);
        }
        Ok(Lower { rows })
    }

    /// The x of L x = b.
    pub(super) fn solve(&self, b: &[f64]) -> Vec<f64> {
        let mut x: Vec<f64> = Vec::with_capacity(b.len());
        for (row, b) in self.rows.iter().zip(b) {
            let pivot = row.last().copied().unwrap_or(f64::NAN);
            x.push((b - dot(row, &x)) / pivot);
        }
        x
    }

    /// The x of Lᵀ x = b.
    pub(super) fn solve_transposed(&self, b: &[f64]) -> Vec<f64> {
        let mut x = b.to_vec();
        for (i, row) in self.rows.iter().enumerate().rev() {
            let pivot = row.last().copied().unwrap_or(f64::NAN);
            let Some((found, rest)) = x.get_mut(..=i).and_then(<[f64]>::split_last_mut) else { continue };
            *found /= pivot;
            for (above, entry) in rest.iter_mut().zip(row) {
                *above -= entry * *found;
            }
        }
        x
    }
}

/// A thin QR factorisation A = Q R of a matrix of full rank.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Qr {
    /// the orthonormal columns of Q
    pub columns: Vec<Vec<f64>>,
    /// Rᵀ, lower triangular
    pub r_transposed: Lower,
}

impl Qr {
    /// By the modified Gram-Schmidt process, each column orthogonalised twice: then Q is orthogonal
    /// to working precision (Golub and Van Loan, 5.2.8; W. Kahan's "twice is enough").
    pub(super) fn of_columns(a: Vec<Vec<f64>>) -> Qr {
        let mut columns: Vec<Vec<f64>> = Vec::with_capacity(a.len());
        let mut rows = Vec::with_capacity(a.len());
        for mut column in a {
            let mut row = vec![0.0; columns.len()];
            for _ in 0..2 {
                for (q, r) in columns.iter().zip(&mut row) {
                    let along = dot(q, &column);
                    *r += along;
                    column.iter_mut().zip(q).for_each(|(c, q)| *c -= along * q);
                }
            }
            let length = dot(&column, &column).sqrt();
            column.iter_mut().for_each(|c| *c /= length);
            row.push(length);
            columns.push(column);
            rows.push(row);
        }
        Qr { columns, r_transposed: Lower { rows } }
    }

    /// Qᵀ b.
    pub(super) fn project(&self, b: &[f64]) -> Vec<f64> {
        self.columns.iter().map(|q| dot(q, b)).collect()
    }

    /// Q c.
    pub(super) fn expand(&self, c: &[f64]) -> Vec<f64> {
        let n = self.columns.first().map_or(0, Vec::len);
        let mut sum = vec![0.0; n];
        for (q, c) in self.columns.iter().zip(c) {
            sum.iter_mut().zip(q).for_each(|(s, q)| *s += c * q);
        }
        sum
    }
}

/// The scalar product, over the shorter of the two.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
