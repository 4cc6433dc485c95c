//! NIST Statistical Reference Datasets (StRD), linear regression: Norris (straight line) and Pontius
//! (parabola; the calibration of a load cell).
//!
//! Marks: certified values S, in published transcriptions of NIST's files; the observations S from
//! two of them, and confirmed: in exact rational arithmetic they give the certified values to every
//! digit. Agreement is said as a log relative error (see `nist_strd.rs`).

use leverarm_metrology::curve::{CurvePoint, Degree, Fit};

const DATA: &str = include_str!("data/nist-strd-linear.txt");

fn observed(name: &str) -> Vec<CurvePoint> {
    let head = format!("[{name}]");
    DATA.lines()
        .skip_while(|line| !line.starts_with(&head))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .map(|line| {
            let (y, x) = line.split_once(' ').unwrap();
            CurvePoint { x: x.parse().unwrap(), y: y.parse().unwrap() }
        })
        .collect()
}

#[track_caller]
fn reaches(computed: f64, certified: f64, digits: f64) {
    let lre = -((computed - certified).abs() / certified.abs()).log10();
    assert!(lre >= digits, "{computed} for {certified}, LRE {lre:.2}");
}

/// Parameters about zero with their standard deviations, and the residual standard deviation.
fn hold(name: &str, degree: Degree, certified: &[(f64, f64)], residual: f64, digits: f64) {
    let fit = Fit::ordinary(&observed(name), degree).unwrap();
    let (parameters, covariance) = fit.parameters_about(0.0).unwrap();
    assert_eq!(parameters.len(), certified.len());
    for (i, (parameter, deviation)) in certified.iter().enumerate() {
        reaches(parameters[i], *parameter, digits);
        reaches(covariance.standard_uncertainty(i).unwrap(), *deviation, digits);
    }
    reaches(fit.residual_standard_deviation().unwrap(), residual, digits);
}

#[test]
fn norris() {
    let certified =
        [(-0.262_323_073_774_029, 0.232_818_234_301_152), (1.002_116_818_020_45, 0.429_796_848_199_937e-3)];
    hold("Norris", Degree::Line, &certified, 0.884_796_396_144_373, 12.0);
}

#[test]
fn pontius() {
    let certified = [
        (0.673_565_789_473_684e-3, 0.107_938_612_033_077e-3),
        (0.732_059_160_401_003e-6, 0.157_817_399_981_659e-9),
        (-0.316_081_871_345_029e-14, 0.486_652_849_992_036e-16),
    ];
    hold("Pontius", Degree::Quadratic, &certified, 0.205_177_424_076_185e-3, 11.0);
}
