//! GUM (JCGM 100:2008): H.2, simultaneous observations, and H.3, a fitted straight line.

use leverarm_metrology::covariance::{covariance_of_means, propagate_all};
use leverarm_metrology::curve::{CurvePoint, Degree, Fit};
use leverarm_metrology::statistics::Sample;

use super::{COVARIANCE, CURVE, Mark, Planned};
use crate::selftest::case::{Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "gum-h-2",
        source: "JCGM 100:2008 (GUM), H.2",
        about: "Resistance, reactance and impedance from voltage, current and phase, observed together.",
        exercises: COVARIANCE,
        mark: Mark::Reproduced,
        compute: impedance,
    },
    Planned {
        id: "gum-h-3",
        source: "JCGM 100:2008 (GUM), H.3",
        about: "Calibration of a thermometer: a straight line through eleven corrections.",
        exercises: CURVE,
        mark: Mark::Reproduced,
        compute: thermometer,
    },
];

const POTENTIAL_V: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const CURRENT_MA: [f64; 5] = [19.663, 19.639, 19.640, 19.685, 19.678];
const PHASE_RAD: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

fn impedance(case: &mut Case) -> Result<(), Stopped> {
    let current_a = CURRENT_MA.map(|i| i / 1000.0);
    let v = Sample::new(POTENTIAL_V.to_vec())?;
    let i = Sample::new(current_a.to_vec())?;
    let phi = Sample::new(PHASE_RAD.to_vec())?;
    let inputs = covariance_of_means(&[v.clone(), i.clone(), phi.clone()])?;
    let (v, i, phi) = (v.mean(), i.mean(), phi.mean());
    case.printed("mean voltage, V", "4.9990", v);
    case.printed("mean current, mA", "19.6610", i * 1000.0);
    case.printed("mean phase, rad", "1.04446", phi);
    case.printed("u of the voltage, V", "0.0032", inputs.standard_uncertainty(0));
    case.printed("u of the current, mA", "0.0095", inputs.standard_uncertainty(1).map(|u| u * 1000.0));
    case.printed("u of the phase, rad", "0.00075", inputs.standard_uncertainty(2));
    case.printed("correlation of voltage and current", "-0.36", inputs.correlation(0, 1));
    case.printed("correlation of voltage and phase", "0.86", inputs.correlation(0, 2));
    case.printed("correlation of current and phase", "-0.65", inputs.correlation(1, 2));

    // R = (V/I) cos φ, X = (V/I) sin φ, Z = V/I and their sensitivities to V, I and φ.
    let z = v / i;
    let (r, x) = (z * phi.cos(), z * phi.sin());
    let sensitivities = [vec![r / v, -r / i, -x], vec![x / v, -x / i, r], vec![1.0 / i, -z / i, 0.0]];
    let results = propagate_all(&sensitivities, &inputs)?;
    case.printed("resistance, Ω", "127.732", r);
    case.printed("reactance, Ω", "219.847", x);
    case.printed("impedance, Ω", "254.260", z);
    case.printed("u of the resistance, Ω", "0.071", results.standard_uncertainty(0));
    case.printed("u of the impedance, Ω", "0.236", results.standard_uncertainty(2));
    case.printed("correlation of R and X", "-0.588", results.correlation(0, 1));
    case.printed("correlation of R and Z", "-0.485", results.correlation(0, 2));
    case.printed("correlation of X and Z", "0.993", results.correlation(1, 2));
    case.mark(Mark::Derivable);
    case.printed("u of the reactance, Ω", "0.2956", results.standard_uncertainty(1));
    case.note(
        "For the uncertainty of the reactance the guide prints 0.295, which is what its second approach comes \
         to; the first, used here, gives 0.2956.",
    );
    Ok(())
}

/// Temperature, °C, and correction, °C.
const CORRECTIONS: [(f64, f64); 11] = [
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

fn thermometer(case: &mut Case) -> Result<(), Stopped> {
    let fit = Fit::ordinary(&CORRECTIONS.map(|(x, y)| CurvePoint { x, y }), Degree::Line)?;
    let (parameters, covariance) = fit.parameters_about(20.0)?;
    case.printed("intercept at 20 °C, °C", "-0.1712", parameters.first().copied());
    case.printed("slope", "0.00218", parameters.get(1).copied());
    case.printed("u of the intercept, °C", "0.0029", covariance.standard_uncertainty(0));
    case.printed("u of the slope", "0.00067", covariance.standard_uncertainty(1));
    case.printed("their correlation", "-0.930", covariance.correlation(0, 1));
    case.printed("residual standard deviation, °C", "0.0035", fit.residual_standard_deviation());
    let value = fit.at(30.0);
    case.printed("correction at 30 °C, °C", "-0.1494", value.value);
    case.printed("its standard uncertainty, °C", "0.0041", value.standard);
    Ok(())
}
