//! ILAC-G8:09/2019, table 1: specific risk of false acceptance at the acceptance limit for a guard
//! band w = r·U.
//!
//! Marks: the table's bounds R; six decimals D, from the one-sided normal distribution, k = 2.

use leverarm_metrology::risk::{Limits, SpecificRisk, specific_guard_band, specific_risk};

use crate::printed::agrees;

const U_EXPANDED: f64 = 0.8;

/// Guard band over expanded uncertainty, the table's bound, the exact risk.
const TABLE: [(f64, f64, &str); 5] = [
    (0.0, 0.5, "0.500000"),
    (0.83, 0.05, "0.048457"),
    (1.0, 0.025, "0.022750"),
    (1.5, 0.0016, "0.001350"),
    (3.0, 1e-6, "0.000000"),
];

#[test]
fn risk_against_guard_band() {
    let limit = Limits::at_most(4.0).unwrap();
    for (r, bound, printed) in TABLE {
        let acceptance = limit.guarded(r * U_EXPANDED);
        // A reading on the acceptance limit is accepted: a hair below it, for rounding.
        let reading = 4.0 - r * U_EXPANDED - 1e-12;
        let risk = specific_risk(reading, U_EXPANDED / 2.0, &limit, &acceptance).unwrap();
        assert!(matches!(risk, SpecificRisk::Consumer(_)), "{r}: {risk:?}");
        assert!(risk.probability() <= bound, "{r}: {risk:?}");
        agrees(risk.probability(), printed);
    }
}

#[test]
fn less_than_one_in_a_million_keeps_its_digits() {
    let limit = Limits::at_most(4.0).unwrap();
    let risk = specific_risk(4.0 - 3.0 * U_EXPANDED, 0.4, &limit, &limit.guarded(0.0)).unwrap();
    // D: Q(6) = 9.865876450e-10.
    agrees(risk.probability() * 1e10, "9.865876450");
}

#[test]
fn the_guard_band_of_a_risk_is_the_risk_of_the_guard_band() {
    let limit = Limits::at_most(4.0).unwrap();
    for (cap, r) in
        [(0.022_750_131_948_179_2, 1.0), (0.001_349_898_031_630_094_6, 1.5), (9.865_876_450_376_98e-10, 3.0)]
    {
        let band = specific_guard_band(cap, U_EXPANDED / 2.0, &limit).unwrap();
        assert!((band.width().unwrap() / U_EXPANDED - r).abs() < 1e-12, "{cap}: {band:?}");
    }
}

#[test]
fn a_reading_in_the_guard_band_is_rejected_at_the_producers_risk() {
    let limit = Limits::at_most(4.0).unwrap();
    let risk = specific_risk(4.0, 0.4, &limit, &limit.guarded(U_EXPANDED)).unwrap();
    assert_eq!(risk, SpecificRisk::Producer(0.5));
}
