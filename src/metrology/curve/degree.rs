//! The degree of a polynomial.

/// The degree of a polynomial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Degree {
    /// a straight line
    Line,
    /// a parabola
    Quadratic,
    /// a polynomial of the third degree
    Cubic,
}

impl Degree {
    /// Every degree, rising.
    pub const ALL: [Degree; 3] = [Degree::Line, Degree::Quadratic, Degree::Cubic];

    /// How many parameters it has.
    #[must_use]
    pub const fn parameters(self) -> usize {
        match self {
            Degree::Line => 2,
            Degree::Quadratic => 3,
            Degree::Cubic => 4,
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Degree::Line => "straight line",
            Degree::Quadratic => "parabola",
            Degree::Cubic => "polynomial of the third degree",
        }
    }

    /// 1, t, t² …
    pub(super) fn powers(self, t: f64) -> Vec<f64> {
        (0..self.parameters()).map(|k| t.powi(exponent(k))).collect()
    }

    /// What turns the parameters over t into those over x − origin, where t = (x − origin)/scale +
    /// offset: row j, column k holds C(k, j) offset^(k − j) / scale^j.
    pub(super) fn shifted(self, offset: f64, scale: f64) -> Vec<Vec<f64>> {
        let entry = |j: usize, k: usize| match k.checked_sub(j) {
            Some(rest) => binomial(k, j) * offset.powi(exponent(rest)) / scale.powi(exponent(j)),
            None => 0.0,
        };
        (0..self.parameters()).map(|j| (0..self.parameters()).map(|k| entry(j, k)).collect()).collect()
    }
}

/// An exponent of at most three.
fn exponent(k: usize) -> i32 {
    i32::try_from(k).unwrap_or(i32::MAX)
}

fn binomial(n: usize, k: usize) -> f64 {
    (0..k).map(|i| (n - i) as f64 / (i + 1) as f64).product()
}
