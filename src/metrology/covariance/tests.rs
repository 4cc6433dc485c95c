#![allow(clippy::unwrap_used, clippy::panic)]

use chrono::NaiveDate;
use proptest::prelude::*;

use super::*;
use crate::budget::{Budget, BudgetLine, Influence, Scope};
use crate::coverage::Freedom;
use crate::decision::{Sides, Verdict};
use crate::evaluate::{Framework, PointResult, PointUncertainty, ReportedInterval};
use crate::quantity::{Percent, TorqueUnit};
use crate::reading::Recorded;
use crate::reference::Reference;
use crate::rulebook::CoverageRule;
use crate::tool::TorqueRange;

/// Repeatability and resolution of the point, drive of the tool, calibration and drift of the
/// reference; relative standard uncertainties in percent.
pub(crate) fn budget(own: f64, resolution: f64, drive: f64, reference: f64, drift: f64) -> Budget {
    let line = |influence, value, freedom, scope| {
        BudgetLine::normal(influence, Percent::new(value), 1.0, freedom, scope, "test")
    };
    Budget {
        lines: vec![
            line(Influence::Repeatability, own, Freedom::Finite(4.0), Scope::PerReading),
            line(Influence::Resolution, resolution, Freedom::Infinite, Scope::PerReading),
            line(Influence::Resolution, resolution, Freedom::Infinite, Scope::PerReading),
            line(Influence::Drive, drive, Freedom::Infinite, Scope::Common),
            line(Influence::Reference, reference, Freedom::Infinite, Scope::Common),
            line(Influence::ReferenceDrift, drift, Freedom::Infinite, Scope::Common),
        ],
        missing: vec![],
    }
}

fn member<'a>(run: usize, certificate: &'a str, newton_metres: f64, budget: &'a Budget) -> Member<'a> {
    let torque = Torque::from_newton_metres(newton_metres);
    Member { run, reference: "RT-1", certificate, direction: Direction::Clockwise, torque, budget }
}

fn percent(combination: &Combination) -> f64 {
    combination.standard.value()
}

#[test]
fn a_matrix_that_is_none_is_refused() {
    assert_eq!(CovarianceMatrix::from_rows(&[]), Err(CovarianceError::Empty));
    let rows = |a: f64, b: f64, c: f64, d: f64| CovarianceMatrix::from_rows(&[vec![a, b], vec![c, d]]);
    assert_eq!(
        rows(1.0, 0.5, 0.4, 1.0),
        Err(CovarianceError::NotSymmetric { row: 1, column: 2, above: 0.5, below: 0.4 })
    );
    assert_eq!(
        rows(1.0, 1.5, 1.5, 1.0),
        Err(CovarianceError::Correlation { row: 1, column: 2, coefficient: 1.5 })
    );
    assert_eq!(
        rows(1.0, 0.0, 0.0, -1.0),
        Err(CovarianceError::NegativeVariance { index: 2, variance: -1.0 })
    );
    assert_eq!(rows(1.0, f64::NAN, 0.0, 1.0), Err(CovarianceError::NotFinite { row: 1, column: 2 }));
    let ragged = CovarianceMatrix::from_rows(&[vec![1.0, 0.0], vec![0.0]]);
    assert_eq!(ragged, Err(CovarianceError::Length { given: 1, wanted: 2 }));
    let matrix = CovarianceMatrix::diagonal(&[1.0, 2.0]).unwrap();
    assert_eq!(propagate(&[1.0], &matrix), Err(CovarianceError::Length { given: 1, wanted: 2 }));
    assert_eq!(matrix.covariance(2, 0), None);
}

#[test]
fn ten_resistors_against_one_standard() {
    // GUM 5.2.2, example: ten resistors of 1000 Ω, each with 100 mΩ, all from one standard of
    // negligible comparison: in series the uncertainty is 1 Ω, not 0.32 Ω.
    let all_one = vec![vec![1.0; 10]; 10];
    let matrix = CovarianceMatrix::correlated(&[0.1; 10], &all_one).unwrap();
    assert!((propagate(&[1.0; 10], &matrix).unwrap() - 1.0).abs() < 1e-12);
    let independent = CovarianceMatrix::diagonal(&[0.1; 10]).unwrap();
    assert!((propagate(&[1.0; 10], &independent).unwrap() - 0.316_227_766).abs() < 1e-9);
}

#[test]
fn a_difference_of_points_is_six_times_better_known_than_its_parts_say() {
    let (low, high) = (budget(0.03, 0.02, 0.0, 0.25, 0.15), budget(0.02, 0.01, 0.0, 0.25, 0.15));
    let joint = JointBudget::new(&[member(0, "C1", 40.0, &low), member(0, "C1", 200.0, &high)]).unwrap();
    let alone = low.combine().standard.value().hypot(high.combine().standard.value());
    let difference = joint.difference(1, 0).unwrap();
    let wanted =
        (0.03_f64.powi(2) + 2.0 * 0.02_f64.powi(2) + 0.02_f64.powi(2) + 2.0 * 0.01_f64.powi(2)).sqrt();
    assert!((percent(&difference) - wanted).abs() < 1e-12);
    assert!(alone / percent(&difference) > 6.0, "{alone} {difference:?}");
    // What cancels has no share, and its infinite degrees of freedom no weight.
    let share = |of| difference.shares.iter().find(|(influence, _)| *influence == of).unwrap().1;
    assert_eq!((share(Influence::Reference), share(Influence::ReferenceDrift)), (0.0, 0.0));
    assert!((difference.shares.iter().map(|(_, s)| s).sum::<f64>() - 1.0).abs() < 1e-12);
    let Freedom::Finite(nu) = difference.freedom else { panic!("repeatability is finite") };
    let four: f64 = (0.03_f64.powi(4) + 0.02_f64.powi(4)) / 4.0;
    assert!((nu - wanted.powi(4) / four).abs() < 1e-9, "{nu}");
}

#[test]
fn a_mean_of_points_is_twice_worse_known_than_independence_says() {
    let same = budget(0.01, 0.0, 0.0, 0.25, 0.0);
    let torques = [20.0, 40.0, 60.0, 80.0, 100.0];
    let members: Vec<Member> = torques.iter().map(|t| member(0, "C1", *t, &same)).collect();
    let joint = JointBudget::new(&members).unwrap();
    let mean = percent(&joint.combine(&[0.2; 5]).unwrap());
    let independent = same.combine().standard.value() / 5.0_f64.sqrt();
    assert!((mean - 0.25_f64.hypot(0.01 / 5.0_f64.sqrt())).abs() < 1e-12);
    assert!(mean / independent > 2.0, "{mean} {independent}");
}

#[test]
fn before_and_after_share_the_reference_and_not_the_mounting() {
    let point = budget(0.03, 0.02, 0.04, 0.25, 0.15);
    let of = |certificate| {
        let members = [member(0, "C1", 40.0, &point), member(1, certificate, 40.0, &point)];
        percent(&JointBudget::new(&members).unwrap().difference(1, 0).unwrap())
    };
    let own = (0.03_f64.powi(2) + 2.0 * 0.02_f64.powi(2) + 0.04_f64.powi(2)).sqrt();
    assert!((of("C1") - own * 2.0_f64.sqrt()).abs() < 1e-12);
    // A calibration anew is another error: nothing cancels.
    assert!((of("C2") - point.combine().standard.value() * 2.0_f64.sqrt()).abs() < 1e-12);
    assert!(of("C2") / of("C1") > 4.0);
}

#[test]
fn two_lines_of_one_influence_are_two_errors() {
    let twice = Budget {
        lines: [budget(0.0, 0.0, 0.0, 0.3, 0.0).lines, budget(0.0, 0.0, 0.0, 0.4, 0.0).lines].concat(),
        missing: vec![],
    };
    let joint = JointBudget::new(&[member(0, "C1", 40.0, &twice), member(0, "C1", 80.0, &twice)]).unwrap();
    assert!((joint.covariance().unwrap().standard_uncertainty(0).unwrap() - 0.5).abs() < 1e-12);
    assert!((joint.covariance().unwrap().correlation(0, 1).unwrap() - 1.0).abs() < 1e-12);
    assert_eq!(percent(&joint.difference(0, 1).unwrap()), 0.0);
}

pub(crate) fn point(digits: &str, deviation: f64, budget: Option<Budget>) -> PointResult {
    let uncertainty = budget.map(|budget| {
        let combined = budget.combine();
        let expanded = combined.expand(95.45, CoverageRule::Fixed(2.0)).unwrap();
        let reported = ReportedInterval { low: Percent::ZERO, high: Percent::ZERO, from: Framework::Gum };
        PointUncertainty { budget, combined, expanded, interval: Percent::ZERO, monte_carlo: None, reported }
    });
    let target = Recorded::new(digits, TorqueUnit::NewtonMetre).unwrap();
    PointResult {
        direction: Direction::Clockwise,
        target,
        readings: vec![],
        voided: vec![],
        mean_reference: target.torque(),
        mean_deviation: Percent::new(deviation),
        standard_deviation: None,
        spread: Percent::ZERO,
        uncertainty,
        limit: Percent::new(4.0),
        sides: Sides::Both,
        guard: None,
        zone: None,
        verdict: Verdict::NotJudged,
        conformity_probability: None,
        specific_risk: None,
        global_risk: None,
        uncertainty_ratio: None,
    }
}

pub(crate) fn reference(certificate: &str) -> Reference {
    let day = NaiveDate::from_ymd_opt(2026, 1, 15).unwrap();
    let step = Recorded::new("0.01", TorqueUnit::NewtonMetre).unwrap();
    Reference {
        id: "RT-1".to_owned(),
        description: "transducer".to_owned(),
        serial: "1".to_owned(),
        certificate: certificate.to_owned(),
        calibrated_by: "a laboratory".to_owned(),
        traceability: None,
        calibrated_on: day,
        due: day,
        range: TorqueRange { lower: step, upper: step },
        resolution: step,
        resolution_included: true,
        curves: vec![],
        drift_per_year: None,
        interpolation: None,
        temperature: None,
    }
}

#[test]
fn shifts_pair_the_points_of_two_runs() {
    let budget = || Some(budget(0.03, 0.02, 0.04, 0.25, 0.15));
    let found = [point("40", -3.0, budget()), point("120", -2.0, budget())];
    let left = [point("120.0", 0.1, budget()), point("200", 0.2, budget())];
    let shifts = shifts((&reference("C1"), &found), (&reference("C1"), &left)).unwrap();
    let [shift] = shifts.as_slice() else { panic!("one point is in both runs: {shifts:?}") };
    assert!((shift.change.value() - 2.1).abs() < 1e-12);
    let own = (0.03_f64.powi(2) + 2.0 * 0.02_f64.powi(2) + 0.04_f64.powi(2)).sqrt();
    assert!((percent(&shift.uncertainty) - own * 2.0_f64.sqrt()).abs() < 1e-12);
}

#[test]
fn a_point_without_a_complete_budget_has_no_covariance() {
    let error = |points: &[PointResult]| Member::of_run(0, &reference("C1"), points).unwrap_err();
    let refused = CovarianceError::NoBudget {
        torque: Torque::from_newton_metres(40.0),
        direction: Direction::Clockwise,
    };
    assert_eq!(error(&[point("40", 0.0, None)]), refused);
    let missing = Budget { lines: vec![], missing: vec![Influence::Drive] };
    assert_eq!(error(&[point("40", 0.0, Some(missing))]), refused);
    assert_eq!(refused.to_string(), "the point at 40 N·m clockwise has no complete budget");
}

#[test]
fn what_is_not_there_is_refused() {
    assert_eq!(JointBudget::new(&[]), Err(CovarianceError::Empty));
    let point = budget(0.1, 0.0, 0.0, 0.2, 0.0);
    let joint = JointBudget::new(&[member(0, "C1", 40.0, &point)]).unwrap();
    assert_eq!(joint.difference(0, 1), Err(CovarianceError::NoSuchQuantity { index: 1, count: 1 }));
    assert_eq!(joint.combine(&[]), Err(CovarianceError::Length { given: 0, wanted: 1 }));
}

proptest! {
    #[test]
    fn the_matrix_and_the_errors_say_the_same(
        sizes in prop::collection::vec((0.0..1.0, 0.0..1.0, 0.0..1.0, 0.0..1.0, 0.0..1.0), 1..6),
        runs in prop::collection::vec(0_usize..2, 6),
        weights in prop::collection::vec(-2.0..2.0, 6),
    ) {
        let budgets: Vec<Budget> = sizes.iter().map(|&(a, b, c, d, e)| budget(a, b, c, d, e)).collect();
        let members: Vec<Member> = budgets
            .iter()
            .zip(&runs)
            .enumerate()
            .map(|(i, (b, run))| member(*run, "C1", 20.0 * (i + 1) as f64, b))
            .collect();
        let joint = JointBudget::new(&members).unwrap();
        let matrix = joint.covariance().unwrap();
        let weights = &weights[..budgets.len()];
        let by_errors = joint.combine(weights).unwrap();
        prop_assert!((percent(&by_errors) - propagate(weights, &matrix).unwrap()).abs() < 1e-7);
        for (i, b) in budgets.iter().enumerate() {
            let alone = b.combine().standard.value();
            prop_assert!((matrix.standard_uncertainty(i).unwrap() - alone).abs() < 1e-12);
        }
    }
}
