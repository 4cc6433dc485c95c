//! Quantities that are observed together.

use super::{CovarianceError, CovarianceMatrix};
use crate::statistics::Sample;

/// Covariance matrix of the means of quantities that were observed simultaneously, the k-th values
/// of all series together: s(q̄, r̄) = Σ_k (q_k − q̄)(r_k − r̄) / (n (n − 1)) (GUM 5.2.3, equation 17).
///
/// # Errors
/// [`CovarianceError`] when there is no series, fewer than two observations, or series of different
/// lengths.
pub fn covariance_of_means(series: &[Sample]) -> Result<CovarianceMatrix, CovarianceError> {
    let n = series.first().ok_or(CovarianceError::Empty)?.n();
    if n < 2 {
        return Err(CovarianceError::TooFewObservations { found: n });
    }
    if let Some(odd) = series.iter().find(|s| s.n() != n) {
        return Err(CovarianceError::Length { given: odd.n(), wanted: n });
    }
    let residuals: Vec<Vec<f64>> = series
        .iter()
        .map(|s| {
            let mean = s.mean();
            s.values().iter().map(|v| v - mean).collect()
        })
        .collect();
    let n = n as f64;
    CovarianceMatrix::from_fn(series.len(), |i, j| match (residuals.get(i), residuals.get(j)) {
        (Some(a), Some(b)) => a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / (n * (n - 1.0)),
        _ => 0.0,
    })
}
