//! E. Tarnow (NMISA), workshop on ISO 6789, NLA Test & Measurement 2011: a wrench of 350 N·m.
//!
//! Marks: certificate of the reference, correction and share of the dial S; that its coverage
//! factor is 2 M.

use leverarm_metrology::budget::Influence;
use leverarm_metrology::evaluate::evaluate;
use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::{Direction, Series};
use leverarm_metrology::reference::{Interpolated, Reference, ReferenceError};
use leverarm_metrology::tool::ToolClass;

use crate::printed::agrees;
use crate::sample;

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

fn reference() -> Reference {
    sample::reference(&CERTIFICATE)
}

fn at(indicated: f64) -> Interpolated {
    let reference = reference();
    let curve = reference.curve(Direction::Clockwise).unwrap();
    curve.at(Torque::from_newton_metres(indicated)).unwrap()
}

#[test]
fn correction_between_two_points() {
    agrees(at(350.0).correction.newton_metres(), "0.85");
    agrees(at(350.0).torque.newton_metres(), "350.85");
}

#[test]
fn the_certificate_itself_at_its_points() {
    for (indicated, applied, expanded) in CERTIFICATE {
        let at = at(indicated);
        assert!((at.torque.newton_metres() - applied).abs() < 1e-9, "{indicated}");
        assert!((2.0 * at.standard_uncertainty.newton_metres() - expanded).abs() < 1e-12);
        // On a calibration point a straight line misses nothing.
        assert!(at.lack_of_linearity.unwrap().newton_metres() < 1e-12, "{indicated}");
    }
}

#[test]
fn uncertainty_between_two_points() {
    agrees(2.0 * at(350.0).standard_uncertainty.newton_metres(), "1.00");
    let relative = reference().relative_expanded(Direction::Clockwise, at(350.0).torque).unwrap();
    agrees(relative.value(), "0.28"); // D: 1.0 of 350.85, and a little less where it is asked
    // D: half way from 0.3 to 1.0 where the certificate is worse above.
    agrees(2.0 * at(149.9).standard_uncertainty.newton_metres(), "0.65");
}

#[test]
fn nothing_is_said_outside() {
    let reference = reference();
    let curve = reference.curve(Direction::Clockwise).unwrap();
    let outside = curve.at(Torque::from_newton_metres(699.7));
    assert!(matches!(outside, Err(ReferenceError::Outside { .. })), "{outside:?}");
    assert!(reference.curve(Direction::CounterClockwise).is_err());
}

#[test]
fn the_dial() {
    // One division of 2 N·m is a half width of 1 N·m: 1/√3 N·m.
    let mut run = sample::run(ToolClass::IIA, 70.0, 350.0, Some(2.0));
    for shown in [349.9, 350.0, 350.1, 350.0, 350.0] {
        sample::push(&mut run, Series::Points, "", 350.0, shown);
    }
    let rulebook = sample::rulebook("iso-6789-2");
    let evaluation = evaluate(&run, &rulebook, &reference()).unwrap();
    let point = &evaluation.points[0];
    agrees(point.mean_reference.newton_metres(), "350.85");
    let lines = &point.uncertainty.as_ref().unwrap().budget.lines;
    let mut dial = lines.iter().filter(|line| line.influence == Influence::Resolution);
    let share = point.mean_reference.share(dial.next().unwrap().standard());
    agrees(share.newton_metres(), "0.577350"); // D: 1/√3
    assert!(dial.next().is_none(), "the rulebook counts the resolution once");
}
