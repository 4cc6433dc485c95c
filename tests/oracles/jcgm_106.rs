//! JCGM 106:2012, clause 7: conformity probability with one limit and with two.
//!
//! Marks: inputs and printed results R. The product's limits lie symmetrically about zero, so
//! deviations are taken from the middle of the tolerance interval; for one limit, the other is put
//! 10 000 standard uncertainties away.

use leverarm_metrology::decision::conformity_probability;
use leverarm_metrology::quantity::Percent;

use crate::printed::agrees;

fn probability(deviation: f64, limit: f64, u: f64) -> f64 {
    let percent = Percent::new;
    conformity_probability(percent(deviation), percent(limit), percent(u)).unwrap()
}

/// One upper limit: the distance from the result up to it.
fn one_limit(room: f64, u: f64) -> f64 {
    let far = 10_000.0 * u;
    probability(far - room, far, u)
}

#[test]
fn one_limit_a_voltage() {
    // At most −5.40 V; result −5.47 V, standard uncertainty 0.05 V.
    agrees(one_limit(-5.40 - -5.47, 0.05), "0.92");
}

#[test]
fn two_limits_a_viscosity() {
    // 12.5 mm²/s to 16.3 mm²/s; result 13.6, standard uncertainty 1.8.
    let (lower, upper, result) = (12.5, 16.3, 13.6);
    let middle = f64::midpoint(lower, upper);
    agrees(probability(result - middle, (upper - lower) / 2.0, 1.8), "0.66");
}

#[test]
fn one_limit_a_speed() {
    // Limit 100 km/h, relative standard uncertainty 2 %: what is read above 107 km/h was too fast
    // with a probability of at least 99.9 %.
    let too_fast = |read: f64| 1.0 - one_limit(100.0 - read, 0.02 * read);
    assert!(too_fast(107.0) > 0.999);
    assert!(too_fast(106.0) < 0.999);
}

#[test]
fn on_a_limit_it_is_a_half() {
    agrees(one_limit(0.0, 0.05), "0.500000"); // D
}

#[test]
fn without_an_uncertainty_there_is_no_probability() {
    let percent = Percent::new;
    for u in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(conformity_probability(percent(0.0), percent(4.0), percent(u)), None);
    }
}
