//! The managed guard band, w = U (1.04 − e^(0.38 ln TUR − 0.54)) (M. Dobbert, 2008; method 6 of the
//! handbook to ANSI/NCSL Z540.3).
//!
//! Marks: formula S, in the source of a published calculator of risks; factors R; that the worst false acceptance stays under 2 % is recomputed here
//! over normal priors in the middle of the tolerance, and seen to fail for priors off centre.

use leverarm_metrology::quantity::Percent;
use leverarm_metrology::risk::{Limits, Prior, global_risk, managed_guard_band, test_uncertainty_ratio};

use crate::printed::agrees;

fn tolerance() -> Limits {
    Limits::symmetric(Percent::new(4.0)).unwrap()
}

/// Worst global consumer's risk over normal priors about a mean, their standard deviation from a
/// hundredth of the half tolerance to a hundred times as much.
fn worst_false_acceptance(ratio: f64, mean: f64, guarded: bool) -> f64 {
    let expanded = 4.0 / ratio;
    let width = if guarded { managed_guard_band(&tolerance(), expanded).unwrap() } else { 0.0 };
    (0..=400)
        .map(|i| {
            let prior = Prior::normal(mean, 4.0 * 10f64.powf(f64::from(i) / 100.0 - 2.0)).unwrap();
            global_risk(&prior, expanded / 2.0, &tolerance(), &tolerance().guarded(width)).unwrap().consumer
        })
        .fold(0.0, f64::max)
}

#[test]
fn factors_as_published() {
    for (ratio, printed) in
        [(1.0, "0.4573"), (1.5, "0.3602"), (2.0, "0.2816"), (3.0, "0.1553"), (4.0, "0.0531")]
    {
        let expanded = 4.0 / ratio;
        assert!((test_uncertainty_ratio(&tolerance(), expanded).unwrap() - ratio).abs() < 1e-12);
        agrees(managed_guard_band(&tolerance(), expanded).unwrap() / expanded, printed);
    }
    // From a TUR of 4.59 up the formula falls below zero; a guard band never widens the limits.
    assert!(managed_guard_band(&tolerance(), 4.0 / 4.59).unwrap() > 0.0);
    assert_eq!(managed_guard_band(&tolerance(), 4.0 / 4.6), Ok(0.0));
}

#[test]
fn the_worst_false_acceptance_stays_under_two_percent() {
    for step in 0..=90 {
        let ratio = 1.0 + f64::from(step) / 10.0;
        let worst = worst_false_acceptance(ratio, 0.0, true);
        assert!(worst < 0.02, "TUR {ratio}: {worst}");
        // It is not much too wide either, until simple acceptance is under the cap of itself.
        assert!(worst > 0.017 || ratio > 4.6, "TUR {ratio}: {worst}");
    }
    assert!(worst_false_acceptance(4.0, 0.0, false) > 0.02);
}

#[test]
fn it_promises_nothing_for_tools_off_centre() {
    // Up to half of the tolerance it holds nevertheless.
    assert!(worst_false_acceptance(4.0, 2.0, true) < 0.02);
    assert!(worst_false_acceptance(4.0, 3.0, true) > 0.03);
    assert!(worst_false_acceptance(4.0, 4.0, true) > 0.2);
}
