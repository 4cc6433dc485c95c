//! Torque: factors of units, ten readings of a wrench, a reference between its calibration points.

use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::reading::Direction;
use leverarm_metrology::reference::{CalibrationCurve, CalibrationPoint, Interpolated};
use leverarm_metrology::statistics::Sample;

use super::{Mark, Planned, TORQUE};
use crate::selftest::case::{Agreement, Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "nist-sp-811",
        source: "NIST Special Publication 811 (2008), appendix B.8",
        about: "Newton metres in other units of torque, as printed and in full.",
        exercises: TORQUE,
        mark: Mark::Reproduced,
        compute: factors,
    },
    Planned {
        id: "jjg-707",
        source: "JJG 707-2014, a published evaluation of uncertainty",
        about: "Ten readings of a torque wrench at 20 N·m.",
        exercises: TORQUE,
        mark: Mark::Seen,
        compute: wrench,
    },
    Planned {
        id: "workshop-reference",
        source: "E. Tarnow (NMISA), workshop on ISO 6789, NLA Test & Measurement 2011",
        about: "A reference between its calibration points: correction and uncertainty at 350 N·m.",
        exercises: TORQUE,
        mark: Mark::Seen,
        compute: reference,
    },
];

fn factors(case: &mut Case) -> Result<(), Stopped> {
    let rows = [
        ("1 lbf·ft, N·m", TorqueUnit::PoundForceFoot, "1.355818", "1.3558179483314004"),
        ("1 lbf·in, N·m", TorqueUnit::PoundForceInch, "0.1129848", "0.1129848290276167"),
        ("1 ozf·in, N·m", TorqueUnit::OunceForceInch, "0.007061552", "0.00706155181422604375"),
        ("1 kgf·m, N·m", TorqueUnit::KilogramForceMetre, "9.80665", "9.80665"),
    ];
    for (name, unit, printed, exact) in rows {
        let held = Torque::new(1.0, unit).newton_metres();
        case.mark(Mark::Reproduced);
        case.printed(name, printed, held);
        case.mark(Mark::Derivable);
        case.holds(&format!("{name}, in full"), exact, Agreement::Exact, held);
    }
    case.note("In full: from 0.3048 m, 0.0254 m, 0.453 592 37 kg and 9.806 65 m/s², as the nearest double.");
    Ok(())
}

fn wrench(case: &mut Case) -> Result<(), Stopped> {
    let readings = [20.49, 20.53, 20.47, 20.55, 20.62, 20.60, 20.68, 20.63, 20.59, 20.64];
    let sample = Sample::new(readings.to_vec())?;
    case.printed("mean, N·m", "20.58", sample.mean());
    case.printed("standard deviation, N·m", "0.068150", sample.standard_deviation());
    let set = Torque::from_newton_metres(20.0);
    let mean = Torque::from_newton_metres(sample.mean());
    case.printed("deviation of the mean, %", "-2.818", (set - mean).percent_of(mean).value());
    case.note(
        "The source takes the deviation of the mean; on a certificate leverarm states the mean of the \
         deviations, as ISO 6789-2 does, here -2.817 %.",
    );
    Ok(())
}

/// Indicated, torque applied, expanded uncertainty in N·m.
const CERTIFICATE: [(f64, f64, f64); 8] = [
    (0.0, 0.0, 0.1),
    (99.9, 100.0, 0.3),
    (199.9, 200.2, 1.0),
    (299.8, 300.5, 1.0),
    (399.8, 400.8, 1.0),
    (499.7, 501.1, 1.0),
    (599.7, 601.5, 1.0),
    (699.6, 701.8, 1.0),
];

fn reference(case: &mut Case) -> Result<(), Stopped> {
    let torque = Torque::from_newton_metres;
    let points = CERTIFICATE.map(|(indicated, applied, expanded)| CalibrationPoint {
        indicated: torque(indicated),
        applied: torque(applied),
        expanded: torque(expanded),
        k: 2.0,
    });
    let curve = CalibrationCurve::new(Direction::Clockwise, points.to_vec())?;
    let expanded = |at: &Interpolated| 2.0 * at.standard_uncertainty.newton_metres();
    let at_350 = curve.at(torque(350.0))?;
    case.printed("correction at 350 N·m, N·m", "0.85", at_350.correction.newton_metres());
    case.printed("torque at 350 N·m, N·m", "350.85", at_350.torque.newton_metres());
    case.mark(Mark::Derivable);
    case.printed("expanded uncertainty there, N·m", "1.00", expanded(&at_350));
    case.printed("expanded uncertainty at 149.9 N·m, N·m", "0.65", expanded(&curve.at(torque(149.9))?));
    let outside = if curve.at(torque(699.7)).is_err() { "refused" } else { "answered" };
    case.reads("above the last point", "refused", outside);
    case.note("That the expanded uncertainties of the source's certificate are for k = 2 is from memory.");
    Ok(())
}
