//! Properties of the whole: samplers against closed forms, threads, scaling, the adaptive procedure.

#![allow(clippy::unwrap_used)]

use std::num::NonZeroUsize;

use proptest::prelude::*;

use super::*;
use crate::budget::{Budget, BudgetLine, Influence, Scope};
use crate::coverage::Freedom;
use crate::quantity::Percent;
use crate::rounding::Figures;

fn run(threads: usize) -> Run {
    Run { seed: 20_080_101, threads: NonZeroUsize::new(threads).unwrap() }
}

fn alone(distribution: Distribution) -> LinearModel {
    LinearModel::new(0.0, &[Input { distribution, sensitivity: 1.0 }])
}

/// Distribution and kurtosis: fourth central moment over squared variance.
fn with_kurtosis() -> Vec<(Distribution, f64)> {
    // Of a sum of two rectangles of half widths (1 ± β)/2: fourth cumulants −2w⁴/15 add up.
    let trapezoid = |beta: f64| {
        let (wide, narrow) = ((1.0 + beta) / 2.0, (1.0 - beta) / 2.0);
        let variance = (wide * wide + narrow * narrow) / 3.0;
        3.0 - 2.0 / 15.0 * (wide.powi(4) + narrow.powi(4)) / (variance * variance)
    };
    let d: f64 = 0.5;
    let inexact = (1.0 + 2.0 * d * d + d.powi(4) / 5.0) / 5.0 / ((1.0 + d * d / 3.0) / 3.0).powi(2);
    vec![
        (Distribution::normal(2.0, 3.0).unwrap(), 3.0),
        (Distribution::student_t(-1.0, 0.5, 9.0).unwrap(), 3.0 + 6.0 / 5.0),
        (Distribution::student_t(0.0, 2.0, 20.5).unwrap(), 3.0 + 6.0 / 16.5),
        (Distribution::rectangular(-1.0, 4.0).unwrap(), trapezoid(1.0)),
        (Distribution::triangular(10.0, 12.0).unwrap(), trapezoid(0.0)),
        (Distribution::trapezoidal(-2.0, 2.0, 0.3).unwrap(), trapezoid(0.3)),
        (Distribution::arc_sine(-0.5, 0.5).unwrap(), 1.5),
        (Distribution::inexact_rectangular(-1.0, 1.0, d).unwrap(), inexact),
    ]
}

#[test]
fn moments_of_each_distribution_agree_with_its_closed_form() {
    let trials = 400_000;
    for (distribution, kurtosis) in with_kurtosis() {
        let (mean, sigma) = (distribution.mean().unwrap(), distribution.standard_deviation().unwrap());
        let n = trials as f64;
        let errors = (sigma / n.sqrt(), sigma * ((kurtosis - 1.0) / (4.0 * n)).sqrt());
        // The fast way, and the one by one of a function.
        let function = FunctionModel::new(vec![Source::Alone(distribution)], |x: &[f64]| x[0]);
        let both = [
            simulate(&alone(distribution), trials, run(2)).unwrap(),
            simulate(&function, trials, run(2)).unwrap(),
        ];
        for found in both {
            let (y, u) = (found.estimate().unwrap(), found.standard_uncertainty().unwrap());
            assert!((y - mean).abs() < 4.0 * errors.0, "{distribution:?}: {y}");
            assert!((u - sigma).abs() < 4.0 * errors.1, "{distribution:?}: {u}");
        }
    }
}

#[test]
fn the_median_of_three_is_a_t_of_four() {
    // Against t drawn the long way, with degrees of freedom as near to four as makes no difference.
    let short = simulate(&alone(Distribution::student_t(0.0, 1.0, 4.0).unwrap()), 1_000_000, run(2)).unwrap();
    let long =
        simulate(&alone(Distribution::student_t(0.0, 1.0, 4.000_001).unwrap()), 1_000_000, run(2)).unwrap();
    for percent in [20.0, 50.0, 90.0, 99.0] {
        let half = |s: &Simulation| 0.5 * s.coverage(percent, run(2).threads).unwrap().symmetric.length();
        assert!((half(&short) / half(&long) - 1.0).abs() < 0.015, "{percent}");
    }
}

fn nine() -> LinearModel {
    let mut distributions: Vec<Distribution> = with_kurtosis().into_iter().map(|(d, _)| d).collect();
    distributions.push(Distribution::student_t(0.0, 1.0, 4.0).unwrap());
    let inputs: Vec<Input> =
        distributions.into_iter().map(|distribution| Input { distribution, sensitivity: 0.7 }).collect();
    LinearModel::new(1.5, &inputs)
}

#[test]
fn threads_do_not_change_a_bit() {
    let wanted = Adaptive {
        percent: 95.45,
        kind: IntervalKind::Shortest,
        figures: Figures::Two,
        share: 0.5,
        most_trials: 3_000_000,
    };
    let once = simulate(&nine(), 123_457, run(1)).unwrap();
    let adapted = adaptive(&nine(), wanted, run(1)).unwrap();
    assert!(adapted.batches > 5 && adapted.outcome == Outcome::Stable, "{:?}", adapted.stability);
    for threads in [2, 3, 8] {
        let again = simulate(&nine(), 123_457, run(threads)).unwrap();
        assert!(once == again);
        assert_eq!(once.coverage(95.45, run(1).threads), again.coverage(95.45, run(threads).threads));
        assert!(adapted == adaptive(&nine(), wanted, run(threads)).unwrap());
    }
    assert!(once != simulate(&nine(), 123_457, Run { seed: 1, ..run(1) }).unwrap());
}

/// No logarithm takes part in a rectangular draw: these bits are the same on every machine, and
/// change only with the generator, its seeding, the size of a block or the order of the sums.
#[test]
fn bits_of_a_rectangular_simulation() {
    let model = alone(Distribution::rectangular(-1.0, 1.0).unwrap());
    let found = simulate(&model, 10_000, Run { seed: 1, ..run(2) }).unwrap();
    let bits = [found.values()[0], found.values()[4096], found.estimate().unwrap()].map(f64::to_bits);
    assert_eq!(bits, [4_603_788_725_155_774_704, 4_604_578_108_411_707_376, 13_786_401_012_553_463_998]);
}

#[test]
fn what_does_not_exist_is_not_given() {
    let of = |freedom| alone(Distribution::student_t(5.0, 1.0, freedom).unwrap());
    let wanted = Adaptive {
        percent: 95.0,
        kind: IntervalKind::Symmetric,
        figures: Figures::Two,
        share: 1.0,
        most_trials: 100_000,
    };
    let one = simulate(&of(1.0), 50_000, run(1)).unwrap();
    assert_eq!((one.estimate(), one.standard_uncertainty()), (None, None));
    assert!((one.coverage(50.0, run(1).threads).unwrap().symmetric.low - 4.0).abs() < 0.1);
    let two = simulate(&of(2.0), 50_000, run(1)).unwrap();
    assert!(two.estimate().is_some() && two.standard_uncertainty().is_none());
    assert_eq!(adaptive(&of(2.0), wanted, run(1)), Err(AdaptiveError::NoVariance));
    // Four have a variance, but one that settles slowly: to run out is an outcome.
    let found = adaptive(&of(4.0), Adaptive { share: 0.01, ..wanted }, run(2)).unwrap();
    assert_eq!((found.outcome, found.batches), (Outcome::OutOfTrials, 10));
    assert!(found.stability.worst() > found.tolerance);
}

#[test]
fn what_has_no_result_says_why() {
    let bad =
        FunctionModel::new(vec![Source::Alone(Distribution::normal(0.0, 1.0).unwrap())], |x: &[f64]| {
            if x[0] > 3.0 { f64::NAN } else { x[0] }
        });
    assert!(matches!(simulate(&bad, 100_000, run(2)), Err(SimulationError::NotFinite { trial: 2.. })));
    let wide = alone(Distribution::rectangular(-1e300, 1e300).unwrap());
    assert_eq!(simulate(&wide, 100, run(1)), Err(SimulationError::TooLarge));
    assert_eq!(simulate(&wide, 0, run(1)), Err(SimulationError::NoTrials));
    for wrong in [f64::NAN, f64::INFINITY, 0.0, -1.0, 1e-310] {
        assert!(matches!(Distribution::student_t(0.0, 1.0, wrong), Err(DistributionError::Freedom { .. })));
    }
    assert!(Distribution::rectangular(1.0, -1.0).is_err());
    assert!(Distribution::normal(0.0, -1.0).is_err());
    assert!(Distribution::trapezoidal(0.0, 1.0, 1.1).is_err());
    assert!(Distribution::inexact_rectangular(0.0, 1.0, 0.6).is_err());
}

fn line(value: f64, freedom: Freedom) -> BudgetLine {
    BudgetLine::normal(Influence::Repeatability, Percent::new(value), 2.0, freedom, Scope::PerReading, "test")
}

#[test]
fn a_budget_becomes_its_model() {
    let rectangular =
        BudgetLine::rectangular(Influence::Resolution, Percent::new(0.3), Scope::PerReading, "test");
    let lines = vec![line(0.2, Freedom::Infinite), line(0.4, Freedom::Finite(4.0)), rectangular];
    let model = LinearModel::of_budget(&Budget { lines, missing: vec![] }, Percent::new(-1.25)).unwrap();
    // 0.1² + 0.2² × 4/(4 − 2) + 0.3²/3
    let expected = (0.01_f64 + 0.08 + 0.03).sqrt();
    assert!((model.standard_deviation().unwrap() - expected).abs() < 1e-12);
    let found = simulate(&model, 200_000, run(2)).unwrap();
    assert!((found.estimate().unwrap() + 1.25).abs() < 4.0 * expected / 200_000_f64.sqrt());

    let empty = LinearModel::of_budget(&Budget::default(), Percent::new(0.5)).unwrap();
    let found = simulate(&empty, 10_000, run(2)).unwrap();
    assert_eq!((found.estimate(), found.standard_uncertainty()), (Some(0.5), Some(0.0)));

    let weak = Budget { lines: vec![line(0.2, Freedom::Finite(1.0))], missing: vec![] };
    let model = LinearModel::of_budget(&weak, Percent::ZERO).unwrap();
    assert_eq!((model.standard_deviation(), model.exist()), (None, Exist::Neither));
}

#[test]
fn joint_inputs_fold_into_a_linear_model_as_they_are_drawn() {
    let covariance = [vec![4.0, 1.8, -1.0], vec![1.8, 1.0, -0.3], vec![-1.0, -0.3, 2.0]];
    let joint = JointNormal::new(vec![1.0, 2.0, 3.0], &covariance).unwrap();
    let sensitivities = [1.0, -2.0, 0.5];
    let linear = LinearModel::new(0.0, &[]).and_joint(&joint, &sensitivities).unwrap();
    // c V cᵀ = 4 + 4 + 0.5 − 7.2 − 1.0 + 0.6 = 0.9
    assert!((linear.standard_deviation().unwrap() - 0.9_f64.sqrt()).abs() < 1e-12);
    let function = FunctionModel::new(vec![Source::Joint(joint)], |x: &[f64]| x[0] - 2.0 * x[1] + 0.5 * x[2]);
    let found = simulate(&function, 200_000, run(2)).unwrap();
    assert!((found.estimate().unwrap() + 1.5).abs() < 0.01);
    assert!((found.standard_uncertainty().unwrap() - 0.9_f64.sqrt()).abs() < 0.007);
}

fn any_distribution() -> impl Strategy<Value = Distribution> {
    let (centre, spread) = (-5.0..5.0_f64, 0.01..3.0_f64);
    (0..7_u8, centre, spread, 0.0..1.0_f64, 0.6..30.0_f64).prop_map(|(kind, c, s, share, nu)| match kind {
        0 => Distribution::normal(c, s).unwrap(),
        1 => Distribution::student_t(c, s, nu).unwrap(),
        2 => Distribution::rectangular(c - s, c + s).unwrap(),
        3 => Distribution::triangular(c - s, c + s).unwrap(),
        4 => Distribution::trapezoidal(c - s, c + s, share).unwrap(),
        5 => Distribution::arc_sine(c - s, c + s).unwrap(),
        _ => Distribution::inexact_rectangular(c - s, c + s, share * s * 0.99).unwrap(),
    })
}

fn any_inputs() -> impl Strategy<Value = Vec<Input>> {
    let input = (any_distribution(), -2.0..2.0_f64)
        .prop_map(|(distribution, sensitivity)| Input { distribution, sensitivity });
    proptest::collection::vec(input, 1..9)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn the_shortest_interval_is_no_longer_than_the_symmetric_one(
        inputs in any_inputs(), percent in 50.0..99.5_f64, trials in 500..20_000_usize,
    ) {
        let found = simulate(&LinearModel::new(0.0, &inputs), trials, run(1)).unwrap();
        let coverage = found.coverage(percent, run(1).threads).unwrap();
        prop_assert!(coverage.shortest.length() <= coverage.symmetric.length());
        // Both hold the share that was asked, to one trial.
        for interval in [coverage.symmetric, coverage.shortest] {
            let inside = found.values().iter().filter(|v| (interval.low..=interval.high).contains(v)).count();
            prop_assert!((inside as f64 - percent / 100.0 * trials as f64).abs() <= 1.5);
        }
    }

    #[test]
    fn any_number_of_threads_gives_the_same(inputs in any_inputs(), threads in 2..9_usize, trials in 1..20_000_usize) {
        let model = LinearModel::new(0.5, &inputs);
        prop_assert_eq!(simulate(&model, trials, run(1)), simulate(&model, trials, run(threads)));
    }

    #[test]
    fn a_scaled_model_has_scaled_results(inputs in any_inputs(), exponent in -8..8_i32) {
        // By a power of two, which rounds nothing.
        let factor = 2f64.powi(exponent);
        let scaled: Vec<Input> =
            inputs.iter().map(|i| Input { sensitivity: i.sensitivity * factor, ..*i }).collect();
        let one = simulate(&LinearModel::new(1.0, &inputs), 5_000, run(2)).unwrap();
        let other = simulate(&LinearModel::new(factor, &scaled), 5_000, run(2)).unwrap();
        prop_assert_eq!(one.estimate().map(|y| y * factor), other.estimate());
        prop_assert_eq!(one.standard_uncertainty().map(|u| u * factor), other.standard_uncertainty());
        let (one, other) = (one.coverage(95.0, run(1).threads).unwrap(), other.coverage(95.0, run(1).threads).unwrap());
        prop_assert_eq!(one.shortest.low * factor, other.shortest.low);
        prop_assert_eq!(one.symmetric.high * factor, other.symmetric.high);
    }
}
