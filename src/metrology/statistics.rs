//! Statistics of a sample: mean, experimental standard deviation, spread, one-way analysis of
//! variance, Grubbs' test. Sums are taken twice, first for the mean, then for the deviations from
//! it, with the rounding residue of the first pass taken out.

use thiserror::Error;

use crate::coverage::{CoverageError, Freedom, coverage_factor};

/// A sample of at least one finite number.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    values: Vec<f64>,
}

/// Why numbers are not a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum SampleError {
    /// There are none.
    #[error("a sample needs at least one value")]
    Empty,
    /// One of them is not a number or not finite.
    #[error("value {index} of the sample is not a finite number")]
    NotFinite {
        /// its place, from 1
        index: usize,
    },
}

impl Sample {
    /// A sample from its values.
    ///
    /// # Errors
    /// [`SampleError`] when there is no value, or one that is not finite.
    pub fn new(values: Vec<f64>) -> Result<Sample, SampleError> {
        if values.is_empty() {
            return Err(SampleError::Empty);
        }
        if let Some(i) = values.iter().position(|v| !v.is_finite()) {
            return Err(SampleError::NotFinite { index: i + 1 });
        }
        Ok(Sample { values })
    }

    /// How many values.
    #[must_use]
    pub fn n(&self) -> usize {
        self.values.len()
    }

    /// The values, in their order.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The arithmetic mean (GUM 4.2.1), corrected by the mean of what it left over.
    #[must_use]
    pub fn mean(&self) -> f64 {
        let n = self.n() as f64;
        let first = self.values.iter().sum::<f64>() / n;
        let residue = self.values.iter().map(|v| v - first).sum::<f64>() / n;
        first + residue
    }

    /// The experimental standard deviation (GUM 4.2.2), divisor n − 1; `None` for one value.
    #[must_use]
    pub fn standard_deviation(&self) -> Option<f64> {
        if self.n() < 2 {
            return None;
        }
        let mean = self.mean();
        let squares: f64 = self.values.iter().map(|v| (v - mean).powi(2)).sum();
        let residue: f64 = self.values.iter().map(|v| v - mean).sum();
        let n = self.n() as f64;
        // Rounding can leave the corrected sum a hair below zero when all values are equal.
        Some(((squares - residue * residue / n).max(0.0) / (n - 1.0)).sqrt())
    }

    /// The experimental standard deviation of the mean (GUM 4.2.3).
    #[must_use]
    pub fn standard_deviation_of_mean(&self) -> Option<f64> {
        self.standard_deviation().map(|s| s / (self.n() as f64).sqrt())
    }

    /// Degrees of freedom of its standard deviation, n − 1.
    #[must_use]
    pub fn freedom(&self) -> Freedom {
        Freedom::of_observations(self.n())
    }

    /// The least value.
    #[must_use]
    pub fn least(&self) -> f64 {
        self.values.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// The greatest value.
    #[must_use]
    pub fn greatest(&self) -> f64 {
        self.values.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// Greatest less least.
    #[must_use]
    pub fn spread(&self) -> f64 {
        self.greatest() - self.least()
    }

    /// Lag-1 autocorrelation about the mean (NIST/SEMATECH e-Handbook, 1.3.5.12); `None` when the
    /// values do not vary.
    #[must_use]
    pub fn lag_one_autocorrelation(&self) -> Option<f64> {
        let mean = self.mean();
        let squares: f64 = self.values.iter().map(|v| (v - mean).powi(2)).sum();
        let products: f64 = self.values.windows(2).map(|w| (w[0] - mean) * (w[1] - mean)).sum();
        (squares > 0.0).then(|| products / squares)
    }
}

/// Grubbs' test for one outlier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grubbs {
    /// the value farthest from the mean, its place in the sample from 0
    pub index: usize,
    /// its distance from the mean in standard deviations
    pub statistic: f64,
    /// what the distance may be
    pub critical: f64,
}

impl Grubbs {
    /// Whether the test calls it an outlier.
    #[must_use]
    pub fn is_outlier(&self) -> bool {
        self.statistic > self.critical
    }
}

/// Grubbs' two-sided test at a level of significance in percent. `None` for fewer than three
/// values, or when they do not vary.
///
/// G = max|x − x̄|/s (ISO 5725-2:1994, 7.3.4; F. E. Grubbs, Technometrics 11 (1969) 1-21).
///
/// # Errors
/// [`CoverageError`] for a level outside 0 % to 100 %.
pub fn grubbs(sample: &Sample, level_percent: f64) -> Result<Option<Grubbs>, CoverageError> {
    if sample.n() < 3 {
        return Ok(None);
    }
    let Some(s) = sample.standard_deviation().filter(|s| *s > 0.0) else { return Ok(None) };
    let mean = sample.mean();
    let farthest = sample
        .values()
        .iter()
        .enumerate()
        .map(|(i, v)| (i, (v - mean).abs()))
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
    let Some((index, distance)) = farthest else { return Ok(None) };
    let critical = grubbs_critical(sample.n(), level_percent / 2.0)?;
    Ok(Some(Grubbs { index, statistic: distance / s, critical }))
}

/// The critical value of Grubbs' statistic for n values and a one-sided level in percent:
/// G = (n − 1)/√n · √(t²/(n − 2 + t²)), t the upper level/n quantile at n − 2 degrees of freedom
/// (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1).
///
/// # Errors
/// [`CoverageError`] for a level outside 0 % to 50 % or fewer than three values.
pub fn grubbs_critical(n: usize, one_sided_percent: f64) -> Result<f64, CoverageError> {
    let n_real = n as f64;
    let two_sided_coverage = 100.0 - 2.0 * one_sided_percent / n_real;
    let t = coverage_factor(two_sided_coverage, Freedom::Finite(n_real - 2.0))?;
    Ok((n_real - 1.0) / n_real.sqrt() * (t * t / (n_real - 2.0 + t * t)).sqrt())
}

/// A one-way analysis of variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anova {
    /// degrees of freedom between groups
    pub between_freedom: f64,
    /// degrees of freedom within groups
    pub within_freedom: f64,
    /// sum of squares between groups
    pub between_squares: f64,
    /// sum of squares within groups
    pub within_squares: f64,
}

impl Anova {
    /// Mean square between groups.
    #[must_use]
    pub fn between_mean_square(&self) -> f64 {
        self.between_squares / self.between_freedom
    }

    /// Mean square within groups.
    #[must_use]
    pub fn within_mean_square(&self) -> f64 {
        self.within_squares / self.within_freedom
    }

    /// The F ratio.
    #[must_use]
    pub fn f(&self) -> f64 {
        self.between_mean_square() / self.within_mean_square()
    }
}

/// One-way analysis of variance of groups (GUM H.5; NIST StRD, analysis of variance). `None` for
/// fewer than two groups or no degree of freedom within them.
#[must_use]
pub fn anova(groups: &[Sample]) -> Option<Anova> {
    let total: usize = groups.iter().map(Sample::n).sum();
    if groups.len() < 2 || total <= groups.len() {
        return None;
    }
    let all = Sample { values: groups.iter().flat_map(|g| g.values.iter().copied()).collect() };
    let grand = all.mean();
    // Means are taken relative to the grand mean, so that a large common offset does not eat digits.
    let centred: Vec<Sample> =
        groups.iter().map(|g| Sample { values: g.values.iter().map(|v| v - grand).collect() }).collect();
    let offset = centred.iter().map(|g| g.mean() * g.n() as f64).sum::<f64>() / total as f64;
    let between = centred.iter().map(|g| g.n() as f64 * (g.mean() - offset).powi(2)).sum();
    let within = centred
        .iter()
        .map(|g| {
            let mean = g.mean();
            g.values.iter().map(|v| (v - mean).powi(2)).sum::<f64>()
        })
        .sum();
    Some(Anova {
        between_freedom: (groups.len() - 1) as f64,
        within_freedom: (total - groups.len()) as f64,
        between_squares: between,
        within_squares: within,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn equal_values_have_no_spread_and_exactly_no_deviation() {
        let sample = Sample::new(vec![0.1; 7]).unwrap();
        assert_eq!(sample.standard_deviation(), Some(0.0));
        assert_eq!(sample.spread(), 0.0);
        assert_eq!(grubbs(&sample, 5.0).unwrap(), None);
    }

    #[test]
    fn one_value_has_no_standard_deviation() {
        assert_eq!(Sample::new(vec![3.0]).unwrap().standard_deviation(), None);
    }

    #[test]
    fn nothing_and_not_a_number_are_refused() {
        assert_eq!(Sample::new(vec![]), Err(SampleError::Empty));
        assert_eq!(Sample::new(vec![1.0, f64::NAN]), Err(SampleError::NotFinite { index: 2 }));
    }

    #[test]
    fn the_outlier_is_named_by_its_place() {
        let sample = Sample::new(vec![10.0, 10.1, 9.9, 10.0, 14.0, 10.05]).unwrap();
        let found = grubbs(&sample, 5.0).unwrap().unwrap();
        assert_eq!(found.index, 4);
        assert!(found.is_outlier());
    }
}
