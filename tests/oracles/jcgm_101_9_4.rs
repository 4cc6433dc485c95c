//! JCGM 101:2008, 9.4: comparison loss of a power meter, y = x₁² + x₂², without and with correlation.
//!
//! Marks: inputs and printed results R: recalled, and estimate and uncertainty come out in closed
//! form below. In units of 10⁻⁶ for y, with u(x₁) = u(x₂) = 0.005 and x₂ = 0.

use leverarm_metrology::monte_carlo::{FunctionModel, JointNormal, Source, simulate};

use crate::jcgm_101_trials::{near, run};
use crate::printed::agrees;

/// x₁, correlation, y, u(y), shortest 95 % interval.
const TABLE: [(f64, f64, &str, &str, [&str; 2]); 6] = [
    (0.000, 0.0, "50", "50", ["0", "150"]),
    (0.010, 0.0, "150", "112", ["0", "367"]),
    (0.050, 0.0, "2550", "502", ["1590", "3543"]),
    (0.000, 0.9, "50", "67", ["0", "185"]),
    (0.010, 0.9, "150", "121", ["13", "398"]),
    (0.050, 0.9, "2550", "505", ["1628", "3555"]),
];

const U: f64 = 0.005;

#[test]
fn estimate_and_uncertainty_in_closed_form() {
    for (x1, r, y, u, _) in TABLE {
        let (x1, variance) = (x1, U * U);
        agrees((x1 * x1 + 2.0 * variance) * 1e6, y);
        let exact = 4.0 * x1 * x1 * variance + 4.0 * variance * variance * (1.0 + r * r);
        agrees(exact.sqrt() * 1e6, u);
    }
}

#[test]
fn trials_of_a_joint_normal_input() {
    for (x1, r, y, u, [low, high]) in TABLE {
        let variance = U * U;
        let covariance = [vec![variance, r * variance], vec![r * variance, variance]];
        let both = JointNormal::new(vec![x1, 0.0], &covariance).unwrap();
        let model =
            FunctionModel::new(vec![Source::Joint(both)], |x: &[f64]| (x[0] * x[0] + x[1] * x[1]) * 1e6);
        let simulation = simulate(&model, 1_000_000, run()).unwrap();
        let spread: f64 = u.parse().unwrap();
        near(simulation.estimate().unwrap(), y, spread / 1e3);
        // u √((κ − 1)/(4M)), with a kurtosis κ of 9.
        near(simulation.standard_uncertainty().unwrap(), u, spread / 700.0);
        let shortest = simulation.coverage(95.0, run().threads).unwrap().shortest;
        // The document had as many trials, and the place of a shortest interval is flat.
        near(shortest.low, low, spread / 150.0);
        near(shortest.high, high, spread / 150.0);
    }
}
