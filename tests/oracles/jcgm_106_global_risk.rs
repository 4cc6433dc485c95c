//! JCGM 106:2012, 9.5: global consumer's and producer's risk by the double integrals.
//!
//! Not covered: the worked example of 9.5.4, whose prior is a gamma distribution.
//!
//! Marks: D. A normal prior in the middle of the tolerance with in-tolerance probability 0.90 or
//! 0.95, a normal measurement with U = 2u of 1/TUR of the half tolerance, simple acceptance; joint
//! probabilities. The six decimals were computed apart from this code; the further digits by
//! mpmath 1.3 with 30 digits, `quad` over the outer integral in steps of one standard deviation:
//! `rc = quad(lambda x: g(x)*acc(x), pts)`, `acc = lambda x: ncdf((A-x)/u) - ncdf((-A-x)/u)`.

use leverarm_metrology::quantity::Percent;
use leverarm_metrology::risk::{
    Acceptance, GlobalRisk, GuardBand, Limits, Prior, conformity_probability, global_guard_band, global_risk,
    nonconformity_probability, specific_guard_band,
};

use crate::printed::agrees;

/// In-tolerance probability, TUR, false acceptance, false rejection: as published, then all digits.
const TABLE: [(f64, f64, [&str; 2], [f64; 2]); 8] = [
    (0.90, 1.0, ["0.032509", "0.136452"], [0.032_509_498_273_132_32, 0.136_451_914_032_057]),
    (0.90, 2.0, ["0.022638", "0.050834"], [0.022_638_498_618_352_33, 0.050_834_300_256_960_19]),
    (0.90, 4.0, ["0.013741", "0.020888"], [0.013_740_968_074_245_1, 0.020_887_754_359_853_43]),
    (0.90, 10.0, ["0.006220", "0.007367"], [0.006_220_250_627_074_362, 0.007_367_110_511_080_223]),
    (0.95, 1.0, ["0.018012", "0.129572"], [0.018_011_555_153_581_98, 0.129_571_580_695_252]),
    (0.95, 2.0, ["0.013373", "0.041775"], [0.013_373_408_282_069_14, 0.041_775_295_754_295_53]),
    (0.95, 4.0, ["0.008583", "0.015537"], [0.008_582_664_808_923_125, 0.015_536_513_030_637_98]),
    (0.95, 10.0, ["0.004060", "0.005162"], [0.004_060_169_369_860_393, 0.005_162_455_490_731_572]),
];

fn tolerance() -> Limits {
    Limits::symmetric(Percent::new(4.0)).unwrap()
}

fn simple_acceptance(in_tolerance: f64, ratio: f64) -> GlobalRisk {
    let prior = Prior::from_in_tolerance(&tolerance(), in_tolerance).unwrap();
    global_risk(&prior, 4.0 / ratio / 2.0, &tolerance(), &tolerance().guarded(0.0)).unwrap()
}

#[test]
fn table_of_test_uncertainty_ratios() {
    for (in_tolerance, ratio, printed, digits) in TABLE {
        let risk = simple_acceptance(in_tolerance, ratio);
        agrees(risk.consumer, printed[0]);
        agrees(risk.producer, printed[1]);
        for (found, wanted) in [risk.consumer, risk.producer].into_iter().zip(digits) {
            assert!((found - wanted).abs() < 1e-14, "{in_tolerance}, {ratio}: {found} {wanted}");
        }
        assert!((risk.conforming - in_tolerance).abs() < 1e-14);
    }
}

#[test]
fn a_prior_off_centre_with_a_guard_band() {
    let prior = Prior::normal(0.7, 1.3).unwrap();
    let risk = global_risk(&prior, 0.45, &tolerance(), &tolerance().guarded(0.7)).unwrap();
    assert!((risk.consumer - 0.000_107_970_049_365_414_9).abs() < 1e-15, "{risk:?}");
    assert!((risk.producer - 0.025_592_591_098_748_42).abs() < 1e-14, "{risk:?}");
}

#[test]
fn a_cap_of_two_percent_on_false_acceptance() {
    // Where simple acceptance is under the cap, no guard band; where not, just enough of one.
    for (in_tolerance, ratio, printed, _) in TABLE {
        let prior = Prior::from_in_tolerance(&tolerance(), in_tolerance).unwrap();
        let u = 4.0 / ratio / 2.0;
        let width = global_guard_band(0.02, &prior, u, &tolerance()).unwrap();
        let simple: f64 = printed[0].parse().unwrap();
        assert_eq!(width > 0.0, simple > 0.02, "{in_tolerance}, {ratio}: {width}");
        let risk = global_risk(&prior, u, &tolerance(), &tolerance().guarded(width)).unwrap();
        assert!(risk.consumer <= 0.02);
        if width > 0.0 {
            agrees(risk.consumer, "0.020000");
        }
    }
}

#[test]
fn specific_risks_of_the_worked_examples() {
    // Clause 7, marks R: a voltage of at most −5.40 V; a viscosity from 12.5 mm²/s to 16.3 mm²/s.
    let voltage = Limits::at_most(-5.40).unwrap();
    agrees(conformity_probability(-5.47, 0.05, &voltage).unwrap(), "0.92");
    let viscosity = Limits::new(Some(12.5), Some(16.3)).unwrap();
    agrees(conformity_probability(13.6, 1.8, &viscosity).unwrap(), "0.66");
    // D: limits ±4, result 3.2, U = 0.8.
    agrees(nonconformity_probability(3.2, 0.4, &tolerance()).unwrap(), "0.022750");
    // A limit of 100 km/h, relative standard uncertainty 2 %, 99.9 %: z = 3.09 from v = 107 km/h.
    let speed = Limits::at_most(100.0).unwrap();
    assert!(nonconformity_probability(107.0, 2.14, &speed).unwrap() > 0.999);
    assert!(nonconformity_probability(106.0, 2.12, &speed).unwrap() < 0.999);
}

#[test]
fn guard_band_for_a_specific_risk_of_five_percent() {
    // D: one-sided normal quantile 1.644854; the far limit is nothing at T = 10u.
    for limits in [tolerance(), Limits::at_most(4.0).unwrap(), Limits::at_least(-4.0).unwrap()] {
        let band = specific_guard_band(0.05, 0.4, &limits).unwrap();
        agrees(band.width().unwrap() / 0.4, "1.644854");
        assert!(matches!(band.acceptance(&limits), Acceptance::Within(_)));
    }
    // U wider than the tolerance: even a reading of zero leaves 6.7 % on the two sides together.
    let hopeless = specific_guard_band(0.05, 4.0 / 1.83, &tolerance()).unwrap();
    assert!(matches!(hopeless, GuardBand::Unreachable { least_risk } if least_risk > 0.067));
    assert_eq!(hopeless.acceptance(&tolerance()), Acceptance::Nothing);
}
