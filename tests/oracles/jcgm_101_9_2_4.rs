//! JCGM 101:2008, 9.2.4: the additive model, four rectangular quantities, one ten times as wide.
//!
//! Marks: inputs and printed results R (u 10.1, ±17.0, and the interval of the GUM much too long);
//! the exact half width 17.0 D, from the exact distribution of the sum. The GUM's own interval is
//! remembered as ±19.8 and as ±19.9: 1.96 × √103 is 19.89, 1.96 × 10.1 is 19.80. Neither is tested.

use leverarm_metrology::monte_carlo::{
    Distribution, GumResult, Input, LinearModel, Validation, simulate, validate,
};
use leverarm_metrology::rounding::Figures;

use crate::jcgm_101_trials::{both_near, half_width_of_sum, near, run};
use crate::printed::agrees;

#[test]
fn one_dominant_rectangle_makes_the_gum_interval_invalid() {
    let root = 3f64.sqrt();
    let of = |half_width: f64| {
        let distribution = Distribution::rectangular(-half_width, half_width).unwrap();
        Input { distribution, sensitivity: 1.0 }
    };
    let model = LinearModel::new(0.0, &[of(root), of(root), of(root), of(10.0 * root)]);
    let simulation = simulate(&model, 1_000_000, run()).unwrap();
    near(simulation.estimate().unwrap(), "0.0", 0.01);
    near(simulation.standard_uncertainty().unwrap(), "10.1", 0.005);
    let coverage = simulation.coverage(95.0, run().threads).unwrap();
    both_near(coverage.symmetric, ["-17.0", "17.0"], 0.006);

    let standard = 103f64.sqrt();
    let gum = GumResult { estimate: 0.0, standard, expanded: 1.959_964 * standard };
    let verdict = validate(gum, coverage.symmetric, Figures::Two).unwrap();
    let Validation::NotValid(numbers) = verdict else { panic!("{verdict:?}") };
    assert!((numbers.tolerance - 0.5).abs() < 1e-12);
    assert!((numbers.low_difference - 2.9).abs() < 0.1);
}

#[test]
fn the_exact_half_width() {
    let root = 3f64.sqrt();
    agrees(half_width_of_sum(0.95, &[root, root, root, 10.0 * root]), "17.0");
}
