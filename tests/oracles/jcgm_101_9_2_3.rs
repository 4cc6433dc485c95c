//! JCGM 101:2008, 9.2.3: the additive model, four rectangular quantities of unit standard deviation.
//!
//! Marks: inputs and printed results R; the exact half width 2√3 (2 − (3/5)^¼) = 3.8794 D.

use leverarm_metrology::monte_carlo::{
    Distribution, GumResult, Input, LinearModel, Validation, simulate, validate,
};
use leverarm_metrology::rounding::Figures;

use crate::jcgm_101_trials::{both_near, half_width_of_sum, near, run};
use crate::printed::agrees;

#[test]
fn the_interval_is_shorter_than_that_of_the_gum() {
    let root = 3f64.sqrt();
    let one = Input { distribution: Distribution::rectangular(-root, root).unwrap(), sensitivity: 1.0 };
    let simulation = simulate(&LinearModel::new(0.0, &[one; 4]), 4_000_000, run()).unwrap();
    near(simulation.estimate().unwrap(), "0.00", 0.001);
    near(simulation.standard_uncertainty().unwrap(), "2.00", 0.0006);
    let coverage = simulation.coverage(95.0, run().threads).unwrap();
    both_near(coverage.symmetric, ["-3.88", "3.88"], 0.0022);

    let gum = GumResult { estimate: 0.0, standard: 2.0, expanded: 3.919_928 };
    let verdict = validate(gum, coverage.symmetric, Figures::Two).unwrap();
    // δ = 0.05, d = 0.04: valid to two digits.
    let Validation::Valid(numbers) = verdict else { panic!("{verdict:?}") };
    assert!((numbers.tolerance - 0.05).abs() < 1e-12);
    near(numbers.low_difference, "0.04", 0.0022);
    near(numbers.high_difference, "0.04", 0.0022);
}

#[test]
fn the_exact_half_width() {
    let exact = 2.0 * 3f64.sqrt() * (2.0 - 0.6_f64.powf(0.25));
    agrees(exact, "3.88");
    assert!((half_width_of_sum(0.95, &[3f64.sqrt(); 4]) - exact).abs() < 1e-12);
}
