//! ILAC-G8:09/2019, 4.2 and table 1: guard band w = r·U and the risk of a false acceptance.
//!
//! Marks: the table's bounds R; six decimals D, from the one-sided normal distribution. leverarm
//! offers r = 0 (simple) and r = 1 (guarded); 0.83, 1.5 and 3 are checked in the probability only.

use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::decision::{
    DecisionRule, Guard, Sides, Uncertainty, Zone, conformity_probability, zone,
};
use leverarm_metrology::quantity::Percent;

use crate::printed::agrees;

/// Risk at the acceptance limit: a tolerance of ±4 %, U = 0.8 % with k = 2.
fn risk(guard_band: f64) -> f64 {
    let percent = Percent::new;
    1.0 - conformity_probability(percent(4.0 - guard_band), percent(4.0), percent(0.4)).unwrap()
}

fn width(rule: DecisionRule) -> Percent {
    let uncertainty =
        Uncertainty { expanded: Percent::new(0.8), standard: Percent::new(0.4), freedom: Freedom::Infinite };
    rule.guard(Percent::new(4.0), Sides::Both, Some(uncertainty), None).and_then(Guard::width).unwrap()
}

#[test]
fn guarded_acceptance_is_r_one() {
    let guard_band = width(DecisionRule::GUARDED);
    agrees(guard_band.value(), "0.80");
    agrees(risk(guard_band.value()), "0.022750");
    assert!(risk(guard_band.value()) < 0.025);
    assert!(DecisionRule::GUARDED.words().contains("under 2.5 %"));
}

#[test]
fn simple_acceptance_is_r_zero() {
    for rule in [DecisionRule::Simple, DecisionRule::EachReading] {
        assert_eq!(width(rule), Percent::ZERO);
        assert!(!rule.needs_uncertainty());
    }
    agrees(risk(0.0), "0.500000");
    assert!(DecisionRule::Simple.words().contains("up to 50 %"));
}

#[test]
fn other_guard_bands_of_the_table() {
    let of = |ratio| risk(width(DecisionRule::Guarded { ratio }).value());
    agrees(of(0.83), "0.048457");
    assert!(of(0.83) < 0.05);
    agrees(of(1.5), "0.001350");
    assert!(risk(1.5 * 0.8) < 0.0016);
    agrees(risk(3.0 * 0.8) * 1e10, "9.9");
    assert!(risk(3.0 * 0.8) < 1e-6);
}

#[test]
fn three_zones() {
    let percent = Percent::new;
    let at = |deviation| zone(percent(deviation), percent(4.0), percent(3.2));
    // Limits belong to their interval (JCGM 106, 3.3.4 and 3.3.8).
    assert_eq!([at(3.2), at(-3.2)], [Zone::Accepted; 2]);
    assert_eq!([at(3.21), at(-4.0), at(4.0)], [Zone::GuardBand; 3]);
    assert_eq!([at(4.01), at(-4.01)], [Zone::Outside; 2]);
    // A guard band wider than the tolerance accepts nothing, not even a tool without deviation.
    assert_eq!(zone(percent(0.0), percent(4.0), percent(-0.1)), Zone::GuardBand);
}
