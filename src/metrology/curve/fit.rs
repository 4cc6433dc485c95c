//! A polynomial by least squares.

use statrs::function::gamma::checked_gamma_ur;

use super::linear::{Lower, Qr, dot};
use super::{CurveError, Degree};
use crate::covariance::CovarianceMatrix;
use crate::coverage::{CoverageError, Freedom, coverage_factor};

/// A point of a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// the abscissa, taken as exactly known: a torque
    pub x: f64,
    /// the ordinate: a deviation
    pub y: f64,
}

/// A polynomial with the uncertainty of its parameters.
///
/// Held over the abscissa scaled to −1..1, so that the fit is as well conditioned in lbf·in as in
/// N·m; [`Fit::parameters_about`] gives the parameters in the unit of the abscissa.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    degree: Degree,
    centre: f64,
    half_width: f64,
    scaled: Vec<f64>,
    factor: Qr,
    /// the Cholesky factor of the covariance; `None` for equal weights
    whitening: Option<Lower>,
    residuals: Vec<f64>,
    squares: f64,
    /// standard deviation of a whitened ordinate: 1 where the covariance is known
    sigma: f64,
    freedom: Freedom,
}

/// A value of the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedValue {
    /// the value
    pub value: f64,
    /// its standard uncertainty
    pub standard: f64,
    /// its degrees of freedom
    pub freedom: Freedom,
    /// it lies outside the points
    pub extrapolated: bool,
}

impl FittedValue {
    /// Its expanded uncertainty for a coverage probability in percent.
    ///
    /// # Errors
    /// [`CoverageError`] when there is no coverage factor.
    pub fn expanded(&self, probability: f64) -> Result<f64, CoverageError> {
        Ok(coverage_factor(probability, self.freedom)? * self.standard)
    }
}

/// Whether the points lie farther from the curve than their covariance explains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LackOfFit {
    /// χ² = rᵀ V⁻¹ r
    pub chi_square: f64,
    /// points less parameters
    pub freedom: usize,
    /// probability of at least this χ² where the curve is right
    pub p_value: f64,
}

impl Fit {
    /// By generalised least squares: the parameters that make rᵀ V⁻¹ r least, V the covariance of
    /// the ordinates; their covariance is (Aᵀ V⁻¹ A)⁻¹ (Aitken 1935; ISO/TS 28037:2010, clause 9).
    /// With V = L Lᵀ the equations are multiplied by L⁻¹ and solved by QR, so that V is never
    /// inverted. With a diagonal V it is weighted least squares.
    ///
    /// # Errors
    /// [`CurveError`] for too few different abscissas, numbers that are not finite, or a covariance
    /// that is not positive definite.
    pub fn generalised(
        points: &[CurvePoint],
        covariance: &CovarianceMatrix,
        degree: Degree,
    ) -> Result<Fit, CurveError> {
        check(points, degree.parameters())?;
        if covariance.size() != points.len() {
            return Err(CurveError::Size { points: points.len(), covariances: covariance.size() });
        }
        let lower =
            Lower::cholesky(covariance).map_err(|i| CurveError::NotPositiveDefinite { index: i + 1 })?;
        Ok(Fit::solve(points, Some(lower), degree))
    }

    /// By ordinary least squares, with the uncertainty from the scatter about the curve:
    /// s² = Σ r²/(n − p), with n − p degrees of freedom (GUM H.3.2 and H.3.3).
    ///
    /// # Errors
    /// [`CurveError`] for too few points or numbers that are not finite.
    pub fn ordinary(points: &[CurvePoint], degree: Degree) -> Result<Fit, CurveError> {
        let parameters = degree.parameters();
        check(points, parameters)?;
        if points.len() <= parameters {
            return Err(CurveError::TooFewPoints { found: points.len(), wanted: parameters + 1 });
        }
        let mut fit = Fit::solve(points, None, degree);
        let left = (points.len() - parameters) as f64;
        fit.sigma = (fit.squares / left).sqrt();
        fit.freedom = Freedom::Finite(left);
        Ok(fit)
    }

    fn solve(points: &[CurvePoint], whitening: Option<Lower>, degree: Degree) -> Fit {
        let (least, greatest) = span(points);
        let (centre, half_width) = (least + (greatest - least) / 2.0, (greatest - least) / 2.0);
        let whiten = |column: Vec<f64>| match &whitening {
            Some(lower) => lower.solve(&column),
            None => column,
        };
        let scaled_powers: Vec<Vec<f64>> =
            points.iter().map(|point| degree.powers((point.x - centre) / half_width)).collect();
        let columns = (0..degree.parameters())
            .map(|k| whiten(scaled_powers.iter().filter_map(|row| row.get(k).copied()).collect()))
            .collect();
        let ordinates = whiten(points.iter().map(|point| point.y).collect());
        let factor = Qr::of_columns(columns);
        let scaled = factor.r_transposed.solve_transposed(&factor.project(&ordinates));
        let residuals: Vec<f64> =
            points.iter().zip(&scaled_powers).map(|(point, row)| point.y - dot(row, &scaled)).collect();
        let whitened = whiten(residuals.clone());
        let squares = dot(&whitened, &whitened);
        Fit {
            degree,
            centre,
            half_width,
            scaled,
            factor,
            whitening,
            residuals,
            squares,
            sigma: 1.0,
            freedom: Freedom::Infinite,
        }
    }

    /// Its degree.
    #[must_use]
    pub const fn degree(&self) -> Degree {
        self.degree
    }

    /// Ordinate less curve at each point.
    #[must_use]
    pub fn residuals(&self) -> &[f64] {
        &self.residuals
    }

    /// Standard deviation of an ordinate about the curve, from the scatter; `None` where the
    /// covariance of the points was given.
    #[must_use]
    pub fn residual_standard_deviation(&self) -> Option<f64> {
        self.whitening.is_none().then_some(self.sigma)
    }

    /// The χ² test of the lack of fit; `None` where no degree of freedom is left, or where the
    /// uncertainty was taken from the scatter itself.
    #[must_use]
    pub fn lack_of_fit(&self) -> Option<LackOfFit> {
        self.whitening.as_ref()?;
        let freedom = self.residuals.len().checked_sub(self.degree.parameters()).filter(|left| *left > 0)?;
        let p_value = if self.squares > 0.0 {
            checked_gamma_ur(freedom as f64 / 2.0, self.squares / 2.0).ok()?
        } else {
            1.0
        };
        Some(LackOfFit { chi_square: self.squares, freedom, p_value })
    }

    /// Value and uncertainty at an abscissa, also outside the points.
    #[must_use]
    pub fn at(&self, x: f64) -> FittedValue {
        let t = (x - self.centre) / self.half_width;
        let row = self.degree.powers(t);
        let g = self.factor.r_transposed.solve(&row);
        FittedValue {
            value: dot(&row, &self.scaled),
            standard: self.sigma * dot(&g, &g).sqrt(),
            freedom: self.freedom,
            extrapolated: t.abs() > 1.0 + 1e-12,
        }
    }

    /// The weight of each ordinate in the value at an abscissa: what a joint budget combines, to
    /// tell which errors the value has and how many degrees of freedom.
    #[must_use]
    pub fn weights(&self, x: f64) -> Vec<f64> {
        let row = self.degree.powers((x - self.centre) / self.half_width);
        let g = self.factor.expand(&self.factor.r_transposed.solve(&row));
        match &self.whitening {
            Some(lower) => lower.solve_transposed(&g),
            None => g,
        }
    }

    /// The parameters of the polynomial in x − origin, rising, and their covariance: intercept and
    /// slope of a straight line, as GUM H.3 has them about 20 °C.
    ///
    /// # Errors
    /// [`CurveError::Covariance`] when the origin is so far away that they are not finite.
    pub fn parameters_about(&self, origin: f64) -> Result<(Vec<f64>, CovarianceMatrix), CurveError> {
        let offset = (origin - self.centre) / self.half_width;
        let rows = self.degree.shifted(offset, self.half_width);
        let parameters = rows.iter().map(|row| dot(row, &self.scaled)).collect();
        let halves: Vec<Vec<f64>> = rows.iter().map(|row| self.factor.r_transposed.solve(row)).collect();
        let variance = self.sigma * self.sigma;
        let matrix: Vec<Vec<f64>> =
            halves.iter().map(|a| halves.iter().map(|b| variance * dot(a, b)).collect()).collect();
        Ok((parameters, CovarianceMatrix::from_rows(&matrix)?))
    }
}

fn span(points: &[CurvePoint]) -> (f64, f64) {
    points
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, greatest), p| (least.min(p.x), greatest.max(p.x)))
}

fn check(points: &[CurvePoint], wanted: usize) -> Result<(), CurveError> {
    if let Some(i) = points.iter().position(|p| !(p.x.is_finite() && p.y.is_finite())) {
        return Err(CurveError::NotFinite { index: i + 1 });
    }
    let mut abscissas: Vec<f64> = points.iter().map(|p| p.x).collect();
    abscissas.sort_by(f64::total_cmp);
    // One part in a million tells typed torques from each other (see Torque::same_as).
    abscissas.dedup_by(|a, b| (*a - *b).abs() <= 1e-6 * a.abs().max(b.abs()));
    let found = abscissas.len();
    if found < wanted { Err(CurveError::TooFewPoints { found, wanted }) } else { Ok(()) }
}
