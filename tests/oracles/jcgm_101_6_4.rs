//! JCGM 101:2008, 6.4: the distributions of the inputs, by the half width of their 95 % intervals.
//!
//! Marks: coverage factors D, from the areas under rectangle, triangle, trapezoid and arc sine, and
//! from Student's t; the first three are also printed in EA-4/02 as 1.65, 1.90 and 1.83 (R).

use leverarm_metrology::coverage::{Freedom, coverage_factor};
use leverarm_metrology::monte_carlo::{Distribution, Input, LinearModel, simulate};

use crate::jcgm_101_trials::run;

const TRIALS: usize = 1_000_000;

/// Half the length of the symmetric 95 % interval.
fn half_length(distribution: Distribution) -> f64 {
    let model = LinearModel::new(0.0, &[Input { distribution, sensitivity: 1.0 }]);
    let simulation = simulate(&model, TRIALS, run()).unwrap();
    0.5 * simulation.coverage(95.0, run().threads).unwrap().symmetric.length()
}

/// In units of the standard deviation, within four standard errors.
#[track_caller]
fn factor(distribution: Distribution, expected: f64, density: f64) {
    let found = half_length(distribution) / distribution.standard_deviation().unwrap();
    // Of half the difference of two quantiles, which are nearly independent.
    let standard_error = (0.025 * 0.975 / TRIALS as f64 / 2.0).sqrt() / density;
    assert!((found - expected).abs() <= 4.0 * standard_error, "{found} for {expected} ± {standard_error}");
}

#[test]
fn bounded_distributions() {
    // Densities at the ends of the interval, for unit standard deviation.
    factor(Distribution::rectangular(-1.0, 1.0).unwrap(), 0.95 * 3f64.sqrt(), 0.5 / 3f64.sqrt());
    let triangle = (1.0 - 0.05_f64.sqrt()) * 6f64.sqrt();
    factor(Distribution::triangular(-3.0, 5.0).unwrap(), triangle, 0.05_f64.sqrt() / 6f64.sqrt());
    // Top a third of the base: the corner outside of x is (1 − x)²/(2 (1 − β²)) on either side.
    let beta: f64 = 1.0 / 3.0;
    let rest = (0.05 * (1.0 - beta * beta)).sqrt();
    let spread = ((1.0 + beta * beta) / 6.0).sqrt();
    let density = rest / (1.0 - beta * beta) * spread;
    factor(Distribution::trapezoidal(0.0, 2.0, beta).unwrap(), (1.0 - rest) / spread, density);
    // sin(0.95 π/2) of the amplitude; its density is 1/(π √(1 − x²)).
    let sine = (0.95 * std::f64::consts::FRAC_PI_2).sin();
    let density = 0.5_f64.sqrt() / (std::f64::consts::PI * (1.0 - sine * sine).sqrt());
    factor(Distribution::arc_sine(-1.0, 1.0).unwrap(), sine * 2f64.sqrt(), density);
}

#[test]
fn the_factors_that_are_printed() {
    let printed =
        |distribution: Distribution| half_length(distribution) / distribution.standard_deviation().unwrap();
    let agree = |found: f64, expected: f64| assert!((found - expected).abs() < 0.005, "{found}, {expected}");
    agree(printed(Distribution::rectangular(-1.0, 1.0).unwrap()), 1.645);
    agree(printed(Distribution::triangular(-1.0, 1.0).unwrap()), 1.902);
    agree(printed(Distribution::trapezoidal(-1.0, 1.0, 1.0 / 3.0).unwrap()), 1.834);
}

#[test]
fn student_t_at_any_degrees_of_freedom() {
    // 1 and 2 have no variance, 4 a sampler of its own, 3.7 is not whole, 0.5 is below one.
    for nu in [1.0, 1.5, 2.0, 3.0, 3.7, 4.0, 5.0, 9.0, 49.0, 1e6] {
        let quantile = |percent| coverage_factor(percent, Freedom::Finite(nu)).unwrap();
        // The probability of ±k grows by twice the density.
        let density = 0.001 / (quantile(95.1) - quantile(94.9));
        let standard_error = (0.025 * 0.975 / TRIALS as f64 / 2.0).sqrt() / density;
        let found = half_length(Distribution::student_t(0.0, 1.0, nu).unwrap());
        let expected = quantile(95.0);
        assert!(
            (found - expected).abs() <= 4.0 * standard_error,
            "ν {nu}: {found} for {expected} ± {standard_error}"
        );
    }
}
