//! A covariance matrix, and what it does to a measurand.

use super::CovarianceError;

/// Covariances of several quantities: symmetric, each variance not negative, each correlation
/// between −1 and 1.
#[derive(Debug, Clone, PartialEq)]
pub struct CovarianceMatrix {
    size: usize,
    /// row after row
    entries: Vec<f64>,
}

/// By how much a correlation may exceed 1 in rounding.
const ROUNDING: f64 = 1e-9;

impl CovarianceMatrix {
    /// A matrix from its rows.
    ///
    /// # Errors
    /// [`CovarianceError`] when it is empty, not square, not finite, not symmetric, or has a negative
    /// variance or a correlation beyond ±1.
    pub fn from_rows(rows: &[Vec<f64>]) -> Result<CovarianceMatrix, CovarianceError> {
        let size = rows.len();
        if size == 0 {
            return Err(CovarianceError::Empty);
        }
        if let Some(row) = rows.iter().find(|row| row.len() != size) {
            return Err(CovarianceError::Length { given: row.len(), wanted: size });
        }
        CovarianceMatrix::checked(size, rows.concat())
    }

    /// Independent quantities, from their standard uncertainties.
    ///
    /// # Errors
    /// [`CovarianceError`] when there is none or one is not finite.
    pub fn diagonal(standard: &[f64]) -> Result<CovarianceMatrix, CovarianceError> {
        CovarianceMatrix::from_fn(standard.len(), |i, j| {
            let u = standard.get(i).copied().unwrap_or_default();
            if i == j { u * u } else { 0.0 }
        })
    }

    /// Correlated quantities, from standard uncertainties and correlation coefficients:
    /// u(x_i, x_j) = u(x_i) u(x_j) r(x_i, x_j) (GUM 5.2.2, equation 14).
    ///
    /// # Errors
    /// [`CovarianceError`] as for [`CovarianceMatrix::from_rows`].
    pub fn correlated(
        standard: &[f64],
        coefficients: &[Vec<f64>],
    ) -> Result<CovarianceMatrix, CovarianceError> {
        if coefficients.len() != standard.len() {
            return Err(CovarianceError::Length { given: coefficients.len(), wanted: standard.len() });
        }
        let rows: Vec<Vec<f64>> = standard
            .iter()
            .zip(coefficients)
            .map(|(u, row)| row.iter().zip(standard).map(|(r, v)| u * v * r).collect())
            .collect();
        CovarianceMatrix::from_rows(&rows)
    }

    /// A matrix of this size whose entries a function knows; only one half is asked for.
    pub(super) fn from_fn(
        size: usize,
        entry: impl Fn(usize, usize) -> f64,
    ) -> Result<CovarianceMatrix, CovarianceError> {
        let entries =
            (0..size * size).map(|k| entry((k / size).min(k % size), (k / size).max(k % size))).collect();
        CovarianceMatrix::checked(size, entries)
    }

    fn checked(size: usize, entries: Vec<f64>) -> Result<CovarianceMatrix, CovarianceError> {
        if size == 0 {
            return Err(CovarianceError::Empty);
        }
        if let Some(k) = entries.iter().position(|v| !v.is_finite()) {
            return Err(CovarianceError::NotFinite { row: k / size + 1, column: k % size + 1 });
        }
        let matrix = CovarianceMatrix { size, entries };
        for i in 0..size {
            let variance = matrix.entry(i, i);
            if variance < 0.0 {
                return Err(CovarianceError::NegativeVariance { index: i + 1, variance });
            }
        }
        for (row, column) in (0..size).flat_map(|i| (i + 1..size).map(move |j| (i, j))) {
            let (above, below) = (matrix.entry(row, column), matrix.entry(column, row));
            let scale = matrix.standard(row) * matrix.standard(column);
            let (row, column) = (row + 1, column + 1);
            if (above - below).abs() > ROUNDING * scale.max(above.abs()) {
                return Err(CovarianceError::NotSymmetric { row, column, above, below });
            }
            if above.abs() > scale * (1.0 + ROUNDING) {
                return Err(CovarianceError::Correlation { row, column, coefficient: above / scale });
            }
        }
        Ok(matrix)
    }

    /// How many quantities.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.size
    }

    /// Covariance of two quantities, counted from 0; `None` where there is no such quantity.
    #[must_use]
    pub fn covariance(&self, i: usize, j: usize) -> Option<f64> {
        (i < self.size && j < self.size).then(|| self.entry(i, j))
    }

    /// Standard uncertainty of a quantity.
    #[must_use]
    pub fn standard_uncertainty(&self, i: usize) -> Option<f64> {
        self.covariance(i, i).map(f64::sqrt)
    }

    /// Correlation coefficient of two quantities (GUM 5.2.2, equation 14); `None` where there is no
    /// such quantity or one is exactly known.
    #[must_use]
    pub fn correlation(&self, i: usize, j: usize) -> Option<f64> {
        let scale = self.standard_uncertainty(i)? * self.standard_uncertainty(j)?;
        (scale > 0.0).then(|| (self.entry(i, j) / scale).clamp(-1.0, 1.0))
    }

    /// An entry; zero outside.
    pub(crate) fn entry(&self, i: usize, j: usize) -> f64 {
        self.entries.get(i * self.size + j).copied().unwrap_or_default()
    }

    fn standard(&self, i: usize) -> f64 {
        self.entry(i, i).sqrt()
    }

    /// Σ_i Σ_j a_i b_j u(x_i, x_j).
    fn form(&self, a: &[f64], b: &[f64]) -> f64 {
        a.iter()
            .enumerate()
            .map(|(i, a)| b.iter().enumerate().map(|(j, b)| a * b * self.entry(i, j)).sum::<f64>())
            .sum()
    }

    fn same_length(&self, sensitivities: &[f64]) -> Result<(), CovarianceError> {
        if sensitivities.len() == self.size {
            Ok(())
        } else {
            Err(CovarianceError::Length { given: sensitivities.len(), wanted: self.size })
        }
    }
}

/// Combined standard uncertainty of a measurand from its sensitivities to correlated inputs:
/// u_c² = Σ_i Σ_j c_i c_j u(x_i, x_j) (GUM 5.2.2, equation 13).
///
/// # Errors
/// [`CovarianceError::Length`] when there is not one sensitivity an input.
pub fn propagate(sensitivities: &[f64], inputs: &CovarianceMatrix) -> Result<f64, CovarianceError> {
    inputs.same_length(sensitivities)?;
    // Rounding can leave the variance of a fully cancelling sum a hair below zero.
    Ok(inputs.form(sensitivities, sensitivities).max(0.0).sqrt())
}

/// Covariance matrix of several measurands that depend on the same inputs, from one row of
/// sensitivities for each: U_y = C U_x Cᵀ (GUM F.1.2.3 and H.2.3; JCGM 102:2011, 6.2.1.3).
///
/// # Errors
/// [`CovarianceError`] when a row has not one sensitivity an input, or there is no row.
pub fn propagate_all(
    sensitivities: &[Vec<f64>],
    inputs: &CovarianceMatrix,
) -> Result<CovarianceMatrix, CovarianceError> {
    for row in sensitivities {
        inputs.same_length(row)?;
    }
    CovarianceMatrix::from_fn(sensitivities.len(), |i, j| {
        match (sensitivities.get(i), sensitivities.get(j)) {
            (Some(a), Some(b)) if i == j => inputs.form(a, b).max(0.0),
            (Some(a), Some(b)) => inputs.form(a, b),
            _ => 0.0,
        }
    })
}
