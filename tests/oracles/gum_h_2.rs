//! GUM (JCGM 100:2008), H.2: resistance, reactance and impedance, measured simultaneously.
//!
//! Marks: observations and printed results R (recalled, and reproduced by an independent
//! calculation).

use std::f64::consts::PI;

use leverarm_metrology::covariance::{CovarianceMatrix, covariance_of_means, propagate, propagate_all};
use leverarm_metrology::statistics::Sample;

use crate::printed::agrees;

const POTENTIAL_V: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const CURRENT_MA: [f64; 5] = [19.663, 19.639, 19.640, 19.685, 19.678];
const PHASE_RAD: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

/// Means of V, I and φ, and their covariance.
fn inputs() -> ([f64; 3], CovarianceMatrix) {
    let current_a = CURRENT_MA.map(|i| i / 1000.0);
    let series = [POTENTIAL_V, current_a, PHASE_RAD].map(|s| Sample::new(s.to_vec()).unwrap());
    ([0, 1, 2].map(|i: usize| series[i].mean()), covariance_of_means(&series).unwrap())
}

/// R = (V/I) cos φ, X = (V/I) sin φ, Z = V/I and their sensitivities to V, I and φ.
fn model([v, i, phi]: [f64; 3]) -> ([f64; 3], [Vec<f64>; 3]) {
    let z = v / i;
    let (r, x) = (z * phi.cos(), z * phi.sin());
    ([r, x, z], [vec![r / v, -r / i, -x], vec![x / v, -x / i, r], vec![1.0 / i, -z / i, 0.0]])
}

#[test]
fn means_of_the_simultaneous_observations() {
    let (means, covariance) = inputs();
    agrees(means[0], "4.9990");
    agrees(means[1] * 1000.0, "19.6610");
    agrees(means[2], "1.04446");
    let standard = |i| covariance.standard_uncertainty(i).unwrap();
    agrees(standard(0), "0.0032");
    agrees(standard(1) * 1000.0, "0.0095");
    agrees(standard(2), "0.00075");
    agrees(covariance.correlation(0, 1).unwrap(), "-0.36");
    agrees(covariance.correlation(0, 2).unwrap(), "0.86");
    agrees(covariance.correlation(1, 2).unwrap(), "-0.65");
    assert!(means[2] < PI / 2.0);
}

/// Value, standard uncertainty by each approach: the example prints one number for both.
const RESULTS: [(&str, &str); 3] = [("127.732", "0.071"), ("219.847", "0.295"), ("254.260", "0.236")];

fn correlations_agree(results: &CovarianceMatrix) {
    agrees(results.correlation(0, 1).unwrap(), "-0.588");
    agrees(results.correlation(0, 2).unwrap(), "-0.485");
    agrees(results.correlation(1, 2).unwrap(), "0.993");
}

#[test]
fn approach_1_from_the_means_and_their_covariance() {
    let (means, covariance) = inputs();
    let (values, sensitivities) = model(means);
    let results = propagate_all(&sensitivities, &covariance).unwrap();
    for (i, (value, u)) in RESULTS.into_iter().enumerate() {
        agrees(values[i], value);
        let standard = results.standard_uncertainty(i).unwrap();
        // 0.29558 unrounded; 0.295 is what approach 2 comes to.
        if i == 1 {
            agrees(standard, "0.2956")
        } else {
            agrees(standard, u)
        }
        assert!((propagate(&sensitivities[i], &covariance).unwrap() - standard).abs() < 1e-15);
    }
    correlations_agree(&results);
}

#[test]
fn approach_2_from_the_results_of_each_set() {
    let sets: Vec<[f64; 3]> =
        (0..5).map(|k| model([POTENTIAL_V[k], CURRENT_MA[k] / 1000.0, PHASE_RAD[k]]).0).collect();
    let series = [0, 1, 2].map(|i: usize| Sample::new(sets.iter().map(|set| set[i]).collect()).unwrap());
    let results = covariance_of_means(&series).unwrap();
    for (i, (value, u)) in RESULTS.into_iter().enumerate() {
        agrees(series[i].mean(), value);
        agrees(results.standard_uncertainty(i).unwrap(), u);
    }
    correlations_agree(&results);
}

#[test]
fn without_the_correlation_the_uncertainty_is_wrong_by_more_than_two() {
    let (means, covariance) = inputs();
    let (_, sensitivities) = model(means);
    let alone: Vec<f64> = (0..3).map(|i| covariance.standard_uncertainty(i).unwrap()).collect();
    let independent = CovarianceMatrix::diagonal(&alone).unwrap();
    let wrong = propagate(&sensitivities[0], &independent).unwrap();
    let right = propagate(&sensitivities[0], &covariance).unwrap();
    assert!(wrong / right > 2.0, "{wrong} {right}");
}
