//! JCGM 101:2008, 9.3: calibration of a mass standard, a model whose first-order terms miss the half
//! of the uncertainty.
//!
//! Marks: model, inputs and printed results R: recalled, and the recalled results come out of the
//! recalled inputs in this simulation and, for the GUM's, in closed form below.

use leverarm_metrology::monte_carlo::{
    Distribution, FunctionModel, GumResult, Model, Simulation, Source, Validation, simulate, validate,
};
use leverarm_metrology::rounding::Figures;

use crate::jcgm_101_trials::{both_near, near, run};
use crate::printed::agrees;

const NOMINAL_MG: f64 = 100_000.0;
/// Conventional density of air, kg/m³.
const AIR: f64 = 1.2;

/// Reference mass and added mass (mg), density of air, of the weight, of the reference (kg/m³).
fn model() -> impl Model {
    let sources = vec![
        Source::Alone(Distribution::normal(100_000.0, 0.050).unwrap()),
        Source::Alone(Distribution::normal(1.234, 0.020).unwrap()),
        Source::Alone(Distribution::rectangular(1.10, 1.30).unwrap()),
        Source::Alone(Distribution::rectangular(7_000.0, 9_000.0).unwrap()),
        Source::Alone(Distribution::rectangular(7_950.0, 8_050.0).unwrap()),
    ];
    FunctionModel::new(sources, |x: &[f64]| {
        (x[0] + x[1]) * (1.0 + (x[2] - AIR) * (1.0 / x[3] - 1.0 / x[4])) - NOMINAL_MG
    })
}

fn trials() -> Simulation {
    simulate(&model(), 2_000_000, run()).unwrap()
}

#[test]
fn the_monte_carlo_result() {
    let simulation = trials();
    // The document's own trials, about 0.7 × 10⁶ (M), have standard errors as large as ours.
    near(simulation.estimate().unwrap(), "1.2341", 0.0001);
    near(simulation.standard_uncertainty().unwrap(), "0.0754", 0.0001);
    let coverage = simulation.coverage(95.0, run().threads).unwrap();
    both_near(coverage.shortest, ["1.0834", "1.3825"], 0.0008);
}

#[test]
fn the_first_order_gum_is_not_valid_and_the_second_order_one_is() {
    let shortest = trials().coverage(95.0, run().threads).unwrap().shortest;
    let first_order = (0.050_f64.powi(2) + 0.020_f64.powi(2)).sqrt();
    agrees(first_order, "0.0539");
    // GUM 5.1.2, note: the product of the spreads of air and of the densities is what is left.
    let relative = |u: f64, rho: f64| (u / (rho * rho)).powi(2);
    let densities = relative(1_000.0 / 3f64.sqrt(), 8_000.0) + relative(50.0 / 3f64.sqrt(), 8_000.0);
    let second_order = (first_order.powi(2) + (NOMINAL_MG * 0.1 / 3f64.sqrt()).powi(2) * densities).sqrt();
    agrees(second_order, "0.0750");

    let judge = |standard: f64| {
        let gum = GumResult { estimate: 1.234, standard, expanded: 1.959_964 * standard };
        validate(gum, shortest, Figures::One).unwrap()
    };
    let verdict = judge(first_order);
    let Validation::NotValid(numbers) = verdict else { panic!("{verdict:?}") };
    assert!((numbers.tolerance - 0.005).abs() < 1e-15);
    near(numbers.low_difference, "0.0451", 0.0008);
    near(numbers.high_difference, "0.0430", 0.0008);

    let verdict = judge(second_order);
    let Validation::Valid(numbers) = verdict else { panic!("{verdict:?}") };
    near(numbers.low_difference, "0.0036", 0.0008);
    near(numbers.high_difference, "0.0015", 0.0008);
}
