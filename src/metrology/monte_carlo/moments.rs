//! Mean and variance of trials, in sums whose order never changes.

/// Which moments a distribution has. In order: each case has what the ones before it have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exist {
    /// no mean and no variance: Student's t up to one degree of freedom
    Neither,
    /// a mean only: Student's t up to two degrees of freedom
    Mean,
    /// both
    MeanAndVariance,
}

/// Count, mean and sum of squared deviations of some trials.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Moments {
    count: usize,
    mean: f64,
    squares: f64,
}

/// Sums in eight columns, so that the processor may add them side by side; the order of the
/// additions is part of the result and stays.
fn sum(values: &[f64], term: impl Fn(f64) -> f64) -> f64 {
    let mut columns = [0.0_f64; 8];
    let mut rows = values.chunks_exact(columns.len());
    for row in &mut rows {
        for (column, value) in columns.iter_mut().zip(row) {
            *column += term(*value);
        }
    }
    let rest: f64 = rows.remainder().iter().map(|value| term(*value)).sum();
    columns.iter().sum::<f64>() + rest
}

impl Moments {
    /// Of one block, in two passes (JCGM 101, 7.6, equations 16 and 17).
    pub(super) fn of(values: &[f64]) -> Moments {
        if values.is_empty() {
            return Moments::default();
        }
        let mean = sum(values, |v| v) / values.len() as f64;
        let squares = sum(values, |v| (v - mean) * (v - mean));
        Moments { count: values.len(), mean, squares }
    }

    /// Of two blocks together (T. F. Chan, G. H. Golub, R. J. LeVeque, Am. Stat. 37 (1983) 242).
    pub(super) fn and(self, other: Moments) -> Moments {
        let count = self.count + other.count;
        if count == 0 {
            return self;
        }
        let (here, there, all) = (self.count as f64, other.count as f64, count as f64);
        let step = other.mean - self.mean;
        Moments {
            count,
            mean: self.mean + step * (there / all),
            squares: self.squares + other.squares + step * step * (here * there / all),
        }
    }

    pub(super) fn mean(&self) -> f64 {
        self.mean
    }

    /// Divisor n − 1; zero for one trial.
    pub(super) fn standard_deviation(&self) -> f64 {
        if self.count < 2 { 0.0 } else { (self.squares / (self.count - 1) as f64).sqrt() }
    }

    pub(super) fn is_finite(&self) -> bool {
        self.mean.is_finite() && self.squares.is_finite()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_together_are_the_whole() {
        let values: Vec<f64> = (0..1003).map(|i| 1e6 + f64::from(i % 17) * 0.25).collect();
        let whole = Moments::of(&values);
        let parts = values.chunks(100).map(Moments::of).fold(Moments::default(), Moments::and);
        assert!((whole.mean() - parts.mean()).abs() < 1e-9);
        assert!((whole.standard_deviation() - parts.standard_deviation()).abs() < 1e-9);
        let mean = values.iter().sum::<f64>() / 1003.0;
        assert!((whole.mean() - mean).abs() < 1e-8);
    }

    #[test]
    fn one_trial_has_no_deviation() {
        assert_eq!(Moments::of(&[3.0]).standard_deviation(), 0.0);
        assert_eq!(Moments::of(&[]).and(Moments::of(&[])), Moments::default());
    }
}
