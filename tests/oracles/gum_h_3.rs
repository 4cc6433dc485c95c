//! GUM (JCGM 100:2008), H.3: the calibration of a thermometer, a straight line through corrections.
//!
//! Marks: observations and printed results R (recalled, and reproduced by an independent
//! calculation).

use leverarm_metrology::covariance::{CovarianceMatrix, propagate};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::curve::{CurvePoint, Degree, Fit};

use crate::printed::agrees;

/// Temperature, °C, and correction, °C.
const OBSERVATIONS: [(f64, f64); 11] = [
    (21.521, -0.171),
    (22.012, -0.169),
    (22.512, -0.166),
    (23.003, -0.159),
    (23.507, -0.164),
    (23.999, -0.165),
    (24.513, -0.156),
    (25.002, -0.157),
    (25.503, -0.159),
    (26.010, -0.161),
    (26.511, -0.160),
];

const ORIGIN: f64 = 20.0;

fn points() -> Vec<CurvePoint> {
    OBSERVATIONS.iter().map(|&(x, y)| CurvePoint { x, y }).collect()
}

fn line() -> Fit {
    Fit::ordinary(&points(), Degree::Line).unwrap()
}

#[test]
fn intercept_slope_and_their_correlation() {
    let fit = line();
    let (parameters, covariance) = fit.parameters_about(ORIGIN).unwrap();
    agrees(parameters[0], "-0.1712");
    agrees(parameters[1], "0.00218");
    agrees(covariance.standard_uncertainty(0).unwrap(), "0.0029");
    agrees(covariance.standard_uncertainty(1).unwrap(), "0.00067");
    agrees(covariance.correlation(0, 1).unwrap(), "-0.930");
    agrees(fit.residual_standard_deviation().unwrap(), "0.0035");
}

#[test]
fn correction_at_thirty_degrees() {
    let value = line().at(30.0);
    agrees(value.value, "-0.1494");
    agrees(value.standard, "0.0041");
    assert_eq!(value.freedom, Freedom::Finite(9.0));
    assert!(value.extrapolated);
}

#[test]
fn by_the_covariance_of_the_parameters_it_is_the_same() {
    // H.3.4: u² = s²(y₁) + (t − t₀)² s²(y₂) + 2 (t − t₀) r s(y₁) s(y₂).
    let fit = line();
    let (_, covariance) = fit.parameters_about(ORIGIN).unwrap();
    let u = propagate(&[1.0, 30.0 - ORIGIN], &covariance).unwrap();
    assert!((u - fit.at(30.0).standard).abs() < 1e-15);
    // Leaving out the correlation is wrong by a factor of almost two.
    let alone: Vec<f64> = (0..2).map(|i| covariance.standard_uncertainty(i).unwrap()).collect();
    let wrong = propagate(&[1.0, 30.0 - ORIGIN], &CovarianceMatrix::diagonal(&alone).unwrap()).unwrap();
    assert!(wrong / u > 1.7, "{wrong} {u}");
}

#[test]
fn about_the_mean_temperature_there_is_no_correlation() {
    let mean = OBSERVATIONS.iter().map(|(t, _)| t).sum::<f64>() / 11.0;
    let (_, covariance) = line().parameters_about(mean).unwrap();
    assert!(covariance.correlation(0, 1).unwrap().abs() < 1e-7);
}
