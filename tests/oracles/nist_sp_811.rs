//! NIST Special Publication 811 (2008), appendix B.8: factors for units of moment of force.
//!
//! Marks: printed factors R; the exact products D, from 0.3048 m, 0.0254 m, 0.453 592 37 kg and
//! 9.806 65 m/s², multiplied in decimal here.

use leverarm_metrology::quantity::{Torque, TorqueUnit};
use rust_decimal::Decimal;

use crate::printed::agrees;

fn decimal(digits: &str) -> Decimal {
    Decimal::from_str_exact(digits).unwrap()
}

/// Newton metres in one of each unit, exactly.
fn exact(unit: TorqueUnit) -> Decimal {
    let (foot, inch) = (decimal("0.3048"), decimal("0.0254"));
    let (pound, gravity) = (decimal("0.45359237"), decimal("9.80665"));
    match unit {
        TorqueUnit::NewtonMetre => Decimal::ONE,
        TorqueUnit::CentinewtonMetre => decimal("0.01"),
        TorqueUnit::MillinewtonMetre => decimal("0.001"),
        TorqueUnit::KilonewtonMetre => decimal("1000"),
        TorqueUnit::PoundForceFoot => foot * pound * gravity,
        TorqueUnit::PoundForceInch => inch * pound * gravity,
        TorqueUnit::OunceForceInch => inch * pound * gravity / decimal("16"),
        TorqueUnit::KilogramForceMetre => gravity,
        TorqueUnit::KilogramForceCentimetre => gravity * decimal("0.01"),
    }
}

#[test]
fn printed_factors() {
    agrees(TorqueUnit::PoundForceFoot.newton_metres(), "1.355818");
    agrees(TorqueUnit::PoundForceInch.newton_metres(), "0.1129848");
    agrees(TorqueUnit::OunceForceInch.newton_metres(), "0.007061552");
    agrees(TorqueUnit::KilogramForceMetre.newton_metres(), "9.80665");
}

#[test]
fn every_factor_is_the_double_nearest_to_the_exact_product() {
    for unit in TorqueUnit::ALL {
        let product: f64 = exact(unit).to_string().parse().unwrap();
        let held = unit.newton_metres();
        assert_eq!(held.to_bits(), product.to_bits(), "{unit}: {held} for {product}");
    }
}

#[test]
fn the_exact_products_in_full() {
    let digits = |unit| exact(unit).normalize().to_string();
    assert_eq!(digits(TorqueUnit::PoundForceFoot), "1.3558179483314004");
    assert_eq!(digits(TorqueUnit::PoundForceInch), "0.1129848290276167");
    assert_eq!(digits(TorqueUnit::OunceForceInch), "0.00706155181422604375");
}

#[test]
fn units_of_one_family_are_whole_multiples() {
    let in_unit = |from, to| Torque::new(1.0, from).in_unit(to);
    agrees(in_unit(TorqueUnit::PoundForceFoot, TorqueUnit::PoundForceInch), "12.000000000000");
    agrees(in_unit(TorqueUnit::PoundForceInch, TorqueUnit::OunceForceInch), "16.000000000000");
    agrees(in_unit(TorqueUnit::KilogramForceMetre, TorqueUnit::KilogramForceCentimetre), "100.00000000000");
}
