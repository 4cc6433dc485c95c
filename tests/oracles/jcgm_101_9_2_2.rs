//! JCGM 101:2008, 9.2.2: the additive model, four standard normal quantities.
//!
//! Marks: inputs and printed results R, since y is normal with u = 2 and k = 1.959 964 (D).

use leverarm_metrology::monte_carlo::{
    Adaptive, Distribution, GumResult, Input, IntervalKind, LinearModel, Outcome, adaptive, simulate,
    validate,
};
use leverarm_metrology::rounding::Figures;

use crate::jcgm_101_trials::{both_near, near, run};

const GUM: GumResult = GumResult { estimate: 0.0, standard: 2.0, expanded: 3.919_928 };

fn model() -> LinearModel {
    let one = Input { distribution: Distribution::normal(0.0, 1.0).unwrap(), sensitivity: 1.0 };
    LinearModel::new(0.0, &[one; 4])
}

#[test]
fn a_fixed_number_of_trials() {
    let simulation = simulate(&model(), 4_000_000, run()).unwrap();
    near(simulation.estimate().unwrap(), "0.00", 0.001);
    near(simulation.standard_uncertainty().unwrap(), "2.00", 0.0007);
    let coverage = simulation.coverage(95.0, run().threads).unwrap();
    both_near(coverage.symmetric, ["-3.92", "3.92"], 0.0027);
    // The shortest interval of a flat minimum wanders; its length does not.
    near(coverage.shortest.length(), "7.84", 0.004);
    assert!(validate(GUM, coverage.symmetric, Figures::Two).unwrap().is_valid());
}

#[test]
fn the_adaptive_procedure_at_a_fifth_of_the_tolerance() {
    let wanted = Adaptive {
        percent: 95.0,
        kind: IntervalKind::Symmetric,
        figures: Figures::Two,
        share: 0.2,
        most_trials: 10_000_000,
    };
    let found = adaptive(&model(), wanted, run()).unwrap();
    assert_eq!(found.outcome, Outcome::Stable);
    assert!((found.tolerance - 0.01).abs() < 1e-12);
    // The document needed 1.23 × 10⁶ trials (M); the number is a matter of chance.
    let trials = found.simulation.trials();
    assert!((300_000..5_000_000).contains(&trials), "{trials}");
    both_near(found.coverage.symmetric, ["-3.92", "3.92"], 0.005);
    let verdict = validate(GUM, found.coverage.symmetric, Figures::Two).unwrap();
    assert!(verdict.is_valid(), "{verdict:?}");
}
