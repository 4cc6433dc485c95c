#![allow(clippy::unwrap_used, clippy::panic)]

use proptest::prelude::*;

use super::*;
use crate::decision;
use crate::quantity::Percent;

fn symmetric(half: f64) -> Limits {
    Limits::symmetric(Percent::new(half)).unwrap()
}

#[test]
fn limits_that_are_none_are_refused() {
    assert_eq!(Limits::new(None, None), Err(RiskError::NoLimit));
    assert_eq!(Limits::new(Some(1.0), Some(1.0)), Err(RiskError::Limits { lower: 1.0, upper: 1.0 }));
    assert!(Limits::at_most(f64::INFINITY).is_err());
    assert_eq!(symmetric(4.0).guarded(4.0), Acceptance::Nothing);
    assert!(symmetric(4.0).guarded(1.0).accepts(-3.0));
}

#[test]
fn tails_keep_their_digits() {
    // Q(6) and Q(10), recomputed with 30 digits.
    let limits = Limits::at_most(0.0).unwrap();
    for (z, wanted) in [(6.0, 9.865_876_450_376_98e-10), (10.0, 7.619_853_024_160_527e-24)] {
        let found = nonconformity_probability(-z, 1.0, &limits).unwrap();
        assert!((found / wanted - 1.0).abs() < 1e-13, "{z}: {found:e}");
    }
}

#[test]
fn one_and_two_limits_agree_where_the_tolerance_is_wide() {
    let two = specific_guard_band(0.05, 0.4, &symmetric(4.0)).unwrap().width().unwrap();
    let one = specific_guard_band(0.05, 0.4, &Limits::at_most(4.0).unwrap()).unwrap().width().unwrap();
    assert!((one - 1.644_853_626_951_472_2 * 0.4).abs() < 1e-14, "{one}");
    assert!((two - one).abs() < 1e-14, "{two} {one}");
}

#[test]
fn a_narrow_tolerance_needs_a_wider_band_or_has_none() {
    let limits = symmetric(1.0);
    let width = specific_guard_band(0.05, 0.505, &limits).unwrap().width().unwrap();
    assert!(width > 1.645 * 0.505 + 0.01, "{width}");
    let risk = nonconformity_probability(1.0 - width, 0.505, &limits).unwrap();
    assert!((risk - 0.05).abs() < 1e-12);
    match specific_guard_band(0.05, 0.6, &limits).unwrap() {
        GuardBand::Unreachable { least_risk } => {
            assert!((least_risk - 0.095_580_704_769).abs() < 1e-9, "{least_risk}")
        }
        GuardBand::Width(width) => panic!("{width}"),
    }
}

#[test]
fn a_rectangular_prior_has_risks_in_closed_form() {
    // ∫₀^∞ Q(x/u) dx = u/√(2π), so each limit of a wide rectangular prior gives u/√(2π) over its width.
    let prior = Prior::rectangular(-50.0, 50.0).unwrap();
    for u in [1e-6, 0.01, 0.5, 1.0] {
        let risk = global_risk(&prior, u, &symmetric(20.0), &symmetric(20.0).guarded(0.0)).unwrap();
        let wanted = 2.0 * u / (2.0 * std::f64::consts::PI).sqrt() / 100.0;
        assert!((risk.consumer - wanted).abs() < 1e-15, "{u}: {risk:?} {wanted}");
        assert!((risk.producer - wanted).abs() < 1e-15, "{u}: {risk:?} {wanted}");
    }
}

#[test]
fn who_accepts_nothing_rejects_every_good_tool() {
    let prior = Prior::from_in_tolerance(&symmetric(4.0), 0.9).unwrap();
    let risk = global_risk(&prior, 1.0, &symmetric(4.0), &Acceptance::Nothing).unwrap();
    assert_eq!(risk.consumer, 0.0);
    assert!((risk.producer - 0.9).abs() < 1e-14);
    assert_eq!(risk.consumer_among_accepted(), None);
}

#[test]
fn nonsense_is_refused() {
    let limits = symmetric(4.0);
    assert_eq!(conformity_probability(0.0, 0.0, &limits), Err(RiskError::Uncertainty { given: 0.0 }));
    assert!(conformity_probability(f64::NAN, 1.0, &limits).is_err());
    assert!(Prior::normal(0.0, -1.0).is_err());
    assert!(Prior::rectangular(1.0, 1.0).is_err());
    assert_eq!(Prior::from_in_tolerance(&limits, 1.0), Err(RiskError::InTolerance { given: 1.0 }));
    assert_eq!(Prior::from_in_tolerance(&Limits::at_most(1.0).unwrap(), 0.9), Err(RiskError::OneSided));
    assert_eq!(specific_guard_band(0.6, 1.0, &limits), Err(RiskError::Cap { given: 0.6 }));
    let broken = Prior::Normal { mean: 0.0, sd: f64::NAN };
    assert!(global_risk(&broken, 1.0, &limits, &limits.guarded(0.0)).is_err());
}

#[test]
fn numbers_without_sense_give_a_probability_or_an_error() {
    let sizes = [5e-324, 1e-300, 1e-9, 1.0, 1e9, 1e300, f64::MAX, f64::INFINITY, f64::NAN];
    for (u, sd) in sizes.into_iter().flat_map(|u| sizes.map(|sd| (u, sd))) {
        for prior in [Prior::Normal { mean: 1.0, sd }, Prior::Rectangular { lower: -sd, upper: sd }] {
            for limits in [symmetric(4.0), symmetric(1e-290), symmetric(1e290), Limits::at_most(4.0).unwrap()]
            {
                let Ok(risk) = global_risk(&prior, u, &limits, &limits.guarded(u)) else { continue };
                assert!((0.0..=1.0).contains(&risk.consumer), "{prior:?} {u} {limits:?} {risk:?}");
                assert!((0.0..=1.0).contains(&risk.producer), "{prior:?} {u} {limits:?} {risk:?}");
            }
        }
    }
    assert!(Limits::new(Some(-f64::MAX), Some(f64::MAX)).is_err());
}

#[test]
fn the_least_band_holds_the_cap_and_nothing_less_does() {
    let limits = symmetric(4.0);
    let prior = Prior::from_in_tolerance(&limits, 0.85).unwrap();
    let width = global_guard_band(0.02, &prior, 1.0, &limits).unwrap();
    let risk = |w: f64| global_risk(&prior, 1.0, &limits, &limits.guarded(w)).unwrap().consumer;
    assert!(width > 0.0 && risk(width) <= 0.02 && (risk(width) - 0.02).abs() < 1e-13);
    assert!(risk(width - 1e-6) > 0.02);
    // A one-sided cap, and a prior so good that no band is needed.
    let one = Limits::at_most(4.0).unwrap();
    assert!(global_guard_band(0.02, &Prior::normal(4.0, 2.0).unwrap(), 1.0, &one).unwrap() > 0.0);
    assert_eq!(global_guard_band(0.02, &Prior::normal(0.0, 1.0).unwrap(), 0.5, &limits), Ok(0.0));
}

proptest! {
    #[test]
    fn agrees_with_the_decision_module(value in -9.0..9.0, half in 0.1..9.0, u in 0.01..5.0) {
        let here = conformity_probability(value, u, &symmetric(half)).unwrap();
        let there = decision::conformity_probability(Percent::new(value), Percent::new(half), Percent::new(u)).unwrap();
        // The error function of statrs 0.19 is right to 3e-11.
        prop_assert!((here - there).abs() < 1e-10);
        let outside = nonconformity_probability(value, u, &symmetric(half)).unwrap();
        prop_assert!((here + outside - 1.0).abs() < 1e-14);
    }

    #[test]
    fn conformity_falls_as_the_value_leaves_the_middle(value in 0.0..9.0, step in 0.01..1.0, u in 0.05..5.0) {
        let limits = symmetric(4.0);
        let near = conformity_probability(value, u, &limits).unwrap();
        let far = conformity_probability(value + step, u, &limits).unwrap();
        prop_assert!(far <= near);
    }

    #[test]
    fn risks_are_probabilities_and_follow_the_acceptance_limits(
        mean in -6.0..6.0, sd in 0.01..20.0, u in 0.001..10.0, w in -3.0..4.5, step in 0.001..1.0, flat in any::<bool>(),
    ) {
        let limits = symmetric(4.0);
        let prior = if flat { Prior::rectangular(mean - sd, mean + sd) } else { Prior::normal(mean, sd) }.unwrap();
        let wide = global_risk(&prior, u, &limits, &limits.guarded(w)).unwrap();
        let narrow = global_risk(&prior, u, &limits, &limits.guarded(w + step)).unwrap();
        for p in [wide.consumer, wide.producer, wide.conforming, wide.accepted()] {
            prop_assert!((0.0..=1.0).contains(&p), "{wide:?}");
        }
        prop_assert!(narrow.consumer <= wide.consumer + 1e-13, "{narrow:?} {wide:?}");
        prop_assert!(narrow.producer >= wide.producer - 1e-13, "{narrow:?} {wide:?}");
    }

    #[test]
    fn accepted_share_agrees_with_its_closed_form(mean in -6.0..6.0, sd in 0.01..20.0, u in 0.001..10.0, w in -3.0..3.9) {
        // A normal prior and a normal measurement: the reading is normal with √(sd² + u²).
        let limits = symmetric(4.0);
        let risk = global_risk(&Prior::normal(mean, sd).unwrap(), u, &limits, &limits.guarded(w)).unwrap();
        let wanted = conformity_probability(mean, sd.hypot(u), &symmetric(4.0 - w)).unwrap();
        prop_assert!((risk.accepted() - wanted).abs() < 1e-12, "{risk:?} {wanted}");
    }

    #[test]
    fn risks_do_not_depend_on_the_unit(sd in 0.1..20.0, u in 0.01..10.0, w in 0.0..3.9, unit in 1e-3..1e3) {
        let here = global_risk(&Prior::normal(0.5, sd).unwrap(), u, &symmetric(4.0), &symmetric(4.0).guarded(w)).unwrap();
        let limits = symmetric(4.0 * unit);
        let prior = Prior::normal(0.5 * unit, sd * unit).unwrap();
        let there = global_risk(&prior, u * unit, &limits, &limits.guarded(w * unit)).unwrap();
        prop_assert!((here.consumer - there.consumer).abs() < 1e-13 && (here.producer - there.producer).abs() < 1e-13);
    }
}
