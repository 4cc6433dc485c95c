//! Common practice, no published source: facts of the trade, except where a test names one.

use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::reading::Recorded;
use leverarm_metrology::rulebook::Certainty;

use crate::printed::{agrees, differs};
use crate::sample;

fn converted(text: &str, unit: TorqueUnit) -> f64 {
    Recorded::parse(text).unwrap().torque().in_unit(unit)
}

#[test]
fn a_range_of_5_to_100_foot_pounds() {
    // Scales in two units print 6.8-135 N·m beside 5-100 lbf·ft.
    agrees(converted("6.8 N·m", TorqueUnit::PoundForceFoot), "5");
    agrees(converted("135 N·m", TorqueUnit::PoundForceFoot), "100");
    agrees(converted("5 lbf·ft", TorqueUnit::NewtonMetre), "6.8");
    // The upper end the other way round is 135.58, which is 136 and not 135: the trade cuts it off.
    differs(converted("100 lbf·ft", TorqueUnit::NewtonMetre), "135");
    agrees(converted("100 ft-lb", TorqueUnit::NewtonMetre), "135.58");
}

#[test]
fn recalibration_after_12_months_or_5000_uses() {
    // S: published explanations of ISO 6789, where the user has no procedure of his own.
    for name in ["iso-6789-1", "iso-6789-2"] {
        let recall = sample::rulebook(name).recall.expect("ISO 6789 names an interval");
        assert_eq!((recall.months.value, recall.uses.value), (12, 5000), "{name}");
        assert_eq!(recall.uses.from.certainty, Certainty::Confirmed, "{name}");
    }
}

#[test]
fn a_kilogram_per_square_centimetre_is_no_torque() {
    assert!(Recorded::parse("12 kgf/cm²").is_err());
    assert!(Recorded::parse("12").is_err());
    agrees(converted("12 kg cm", TorqueUnit::NewtonMetre), "1.176798");
}
