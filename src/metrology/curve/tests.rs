#![allow(clippy::unwrap_used)]

use proptest::prelude::*;

use super::*;
use crate::budget::{Budget, BudgetLine, Influence, Scope};
use crate::covariance::tests as fixtures;
use crate::covariance::{CovarianceMatrix, JointBudget, Member, propagate};
use crate::coverage::Freedom;
use crate::quantity::{Percent, Torque};
use crate::reading::Direction;

fn points(pairs: &[(f64, f64)]) -> Vec<CurvePoint> {
    pairs.iter().map(|&(x, y)| CurvePoint { x, y }).collect()
}

const RISING: [(f64, f64); 5] = [(40.0, -0.4), (80.0, -0.9), (120.0, -1.3), (160.0, -1.2), (200.0, -1.9)];

#[test]
fn a_curve_through_its_points_is_found_again() {
    let cubic: Vec<(f64, f64)> = [40.0, 70.0, 90.0, 130.0, 200.0]
        .iter()
        .map(|x: &f64| (*x, 1.0 - 0.02 * x + 1e-6 * x.powi(3)))
        .collect();
    let v = CovarianceMatrix::diagonal(&[0.1, 0.2, 0.1, 0.3, 0.1]).unwrap();
    let fit = Fit::generalised(&points(&cubic), &v, Degree::Cubic).unwrap();
    let (parameters, _) = fit.parameters_about(0.0).unwrap();
    for (found, wanted) in parameters.iter().zip([1.0, -0.02, 0.0, 1e-6]) {
        assert!((found - wanted).abs() < 1e-12, "{parameters:?}");
    }
    assert!(fit.lack_of_fit().unwrap().p_value > 0.999_999);
    for (u, degree) in [(1.0, Degree::Line), (0.1, Degree::Quadratic), (0.01, Degree::Cubic)] {
        let v = CovarianceMatrix::diagonal(&[u; 5]).unwrap();
        assert_eq!(choose(&points(&cubic), &v, 5.0).unwrap().fit().map(Fit::degree), Some(degree), "{u}");
    }
}

#[test]
fn what_makes_no_fit_is_refused() {
    let two = points(&[(1.0, 1.0), (1.0, 2.0), (2.0, 2.0)]);
    let v = CovarianceMatrix::diagonal(&[1.0; 3]).unwrap();
    let few = |found, wanted| Err(CurveError::TooFewPoints { found, wanted });
    assert_eq!(Fit::generalised(&two, &v, Degree::Quadratic), few(2, 3));
    assert_eq!(Fit::ordinary(&two[1..], Degree::Line), few(2, 3));
    assert_eq!(Fit::generalised(&[], &v, Degree::Line), few(0, 2));
    assert_eq!(
        Fit::generalised(&two[..2], &v, Degree::Line),
        few(1, 2),
        "torques are counted before the covariance is looked at"
    );
    assert_eq!(
        Fit::generalised(&points(&RISING), &v, Degree::Line),
        Err(CurveError::Size { points: 5, covariances: 3 })
    );
    let broken = points(&[(1.0, f64::NAN), (2.0, 2.0)]);
    assert_eq!(Fit::ordinary(&broken, Degree::Line), Err(CurveError::NotFinite { index: 1 }));
    let one_error = CovarianceMatrix::correlated(&[1.0, 2.0, 3.0], &vec![vec![1.0; 3]; 3]).unwrap();
    let three = points(&[(1.0, 1.0), (2.0, 2.0), (3.0, 2.0)]);
    assert_eq!(
        Fit::generalised(&three, &one_error, Degree::Line),
        Err(CurveError::NotPositiveDefinite { index: 2 })
    );
    assert_eq!(choose(&three, &v, 100.0), Err(CurveError::Significance { percent: 100.0 }));
}

#[test]
fn three_points_off_a_line_leave_nothing_that_can_be_tested() {
    let v = CovarianceMatrix::diagonal(&[0.01; 3]).unwrap();
    let choice = choose(&points(&[(40.0, 0.0), (120.0, 1.0), (200.0, 0.0)]), &v, 5.0).unwrap();
    assert_eq!((choice.fit(), choice.tried.len()), (None, 1));
}

fn run_budgets() -> Vec<Budget> {
    [0.20, 0.15, 0.12, 0.10, 0.10]
        .iter()
        .map(|own| {
            let line = |influence, value, freedom, scope| {
                BudgetLine::normal(influence, Percent::new(value), 1.0, freedom, scope, "test")
            };
            Budget {
                lines: vec![
                    line(Influence::Repeatability, *own, Freedom::Finite(4.0), Scope::PerReading),
                    line(Influence::Reference, 0.4, Freedom::Infinite, Scope::Common),
                ],
                missing: vec![],
            }
        })
        .collect()
}

#[test]
fn a_shared_reference_lifts_the_curve_and_does_not_tilt_it() {
    let budgets = run_budgets();
    let members: Vec<Member> = RISING
        .iter()
        .zip(&budgets)
        .map(|(&(x, _), budget)| Member {
            run: 0,
            reference: "RT-1",
            certificate: "C1",
            direction: Direction::Clockwise,
            torque: Torque::from_newton_metres(x),
            budget,
        })
        .collect();
    let joint = JointBudget::new(&members).unwrap();
    let matrix = joint.covariance().unwrap();
    let curve = DeviationCurve::new(&points(&RISING), joint, Degree::Line).unwrap();
    let slope = |fit: &Fit| fit.parameters_about(0.0).unwrap().1.standard_uncertainty(1).unwrap();
    let whole: Vec<f64> = budgets.iter().map(|b| b.combine().standard.value()).collect();
    let wrong =
        Fit::generalised(&points(&RISING), &CovarianceMatrix::diagonal(&whole).unwrap(), Degree::Line)
            .unwrap();
    assert!(slope(&wrong) / slope(curve.fit()) > 2.0, "{} {}", slope(&wrong), slope(curve.fit()));
    // In the middle the reference stays: nothing averages it down.
    let band = curve.at(Torque::from_newton_metres(120.0), 95.45).unwrap();
    assert!(band.standard.value() > 0.4 && wrong.at(120.0).standard < 0.25, "{band:?}");
    // The band by the points' errors is that of the parameters' covariance.
    for x in [40.0, 100.0, 230.0] {
        let band = curve.at(Torque::from_newton_metres(x), 95.45).unwrap();
        let value = curve.fit().at(x);
        assert!((band.standard.value() - value.standard).abs() < 1e-12);
        assert!((propagate(&curve.fit().weights(x), &matrix).unwrap() - value.standard).abs() < 1e-12);
        assert!(matches!(band.freedom, Freedom::Finite(nu) if nu > 4.0) && band.k > 2.0);
        assert_eq!(band.extrapolated, x > 200.0);
    }
}

#[test]
fn the_curve_of_a_run_or_what_contradicts_it() {
    let budget = || Some(fixtures::budget(0.05, 0.03, 0.04, 0.25, 0.15));
    let points = |middle: f64| {
        [("40", 0.5), ("120", middle), ("200", -0.5)]
            .map(|(target, deviation)| fixtures::point(target, deviation, budget()))
    };
    let of_run = |middle: f64, direction| {
        DeviationCurve::of_run(&fixtures::reference("C1"), &points(middle), direction, 5.0)
    };
    let straight = of_run(0.05, Direction::Clockwise).unwrap();
    let band = straight.curve.unwrap().at(Torque::from_newton_metres(80.0), 95.45).unwrap();
    assert!((band.deviation.value() - 0.27).abs() < 0.02 && band.expanded.value() > 2.0 * 0.29, "{band:?}");
    let bent = of_run(0.6, Direction::Clockwise).unwrap();
    assert_eq!((bent.choice.tried.len(), bent.curve), (1, None));
    assert!(bent.choice.tried[0].lack_of_fit().unwrap().p_value < 1e-6);
    assert_eq!(
        of_run(0.0, Direction::CounterClockwise),
        Err(CurveError::Covariance(crate::covariance::CovarianceError::Empty))
    );
}

/// Degree, value and standard uncertainty at 100, χ² and its p-value: by mpmath 1.3 with 40 digits,
/// `C = (A.T * V**-1 * A)**-1; b = C * (A.T * V**-1 * y)`, monomials in x itself.
const GENERALISED: [(Degree, f64, f64, f64, f64); 3] = [
    (
        Degree::Line,
        -0.941_254_958_274_089,
        0.330_622_045_452_797,
        10.491_769_846_384_9,
        0.014_816_831_073_434_2,
    ),
    (
        Degree::Quadratic,
        -0.963_800_668_231_379,
        0.332_359_049_763_334,
        10.050_376_491_773,
        0.006_570_349_537_239_33,
    ),
    (
        Degree::Cubic,
        -1.165_832_684_022_37,
        0.340_554_628_306_461,
        2.649_188_743_239_53,
        0.103_602_756_107_977,
    ),
];

#[test]
fn generalised_least_squares_as_computed_elsewhere() {
    let own: [f64; 5] = [0.20, 0.15, 0.12, 0.10, 0.10];
    let common = [0.40, 0.35, 0.30, 0.28, 0.27];
    let entry = |i: usize, j: usize| common[i] * common[j] + if i == j { own[i].powi(2) } else { 0.0 };
    let rows: Vec<Vec<f64>> = (0..5).map(|i| (0..5).map(|j| entry(i, j)).collect()).collect();
    let v = CovarianceMatrix::from_rows(&rows).unwrap();
    for (degree, value, standard, chi_square, p_value) in GENERALISED {
        let fit = Fit::generalised(&points(&RISING), &v, degree).unwrap();
        let (at, test) = (fit.at(100.0), fit.lack_of_fit().unwrap());
        assert!((at.value - value).abs() < 1e-13 && (at.standard - standard).abs() < 1e-13, "{at:?}");
        assert!((test.chi_square / chi_square - 1.0).abs() < 1e-12, "{test:?}");
        assert!((test.p_value / p_value - 1.0).abs() < 1e-11, "{test:?}");
    }
}

#[test]
fn significance_of_chi_square() {
    // Upper 5 % points of χ² (recomputed): 3.841459 for one degree of freedom, 7.814728 for three.
    let fit = |y: f64| {
        let v = CovarianceMatrix::diagonal(&[1.0; 3]).unwrap();
        Fit::generalised(&points(&[(-1.0, 0.0), (0.0, y), (1.0, 0.0)]), &v, Degree::Line)
            .unwrap()
            .lack_of_fit()
            .unwrap()
    };
    let test = fit((3.841_458_820_694_124_f64 * 1.5).sqrt());
    assert_eq!(test.freedom, 1);
    assert!(
        (test.chi_square - 3.841_458_820_694_124).abs() < 1e-12 && (test.p_value - 0.05).abs() < 1e-10,
        "{test:?}"
    );
}

proptest! {
    #[test]
    fn a_diagonal_covariance_is_weighted_least_squares(
        ys in prop::collection::vec(-5.0..5.0, 5), us in prop::collection::vec(0.05..3.0, 5),
    ) {
        let xs = [40.0, 80.0, 120.0, 160.0, 200.0];
        let data: Vec<CurvePoint> = xs.iter().zip(&ys).map(|(&x, &y)| CurvePoint { x, y }).collect();
        let fit = Fit::generalised(&data, &CovarianceMatrix::diagonal(&us).unwrap(), Degree::Line).unwrap();
        // The closed form, about the weighted mean (ISO/TS 28037:2010, clause 6).
        let weight: Vec<f64> = us.iter().map(|u| 1.0 / (u * u)).collect();
        let mean = |of: &[f64]| of.iter().zip(&weight).map(|(v, w)| v * w).sum::<f64>() / weight.iter().sum::<f64>();
        let (x0, y0) = (mean(&xs), mean(&ys));
        let sxx: f64 = xs.iter().zip(&weight).map(|(x, w)| w * (x - x0).powi(2)).sum();
        let sxy: f64 = xs.iter().zip(&ys).zip(&weight).map(|((x, y), w)| w * (x - x0) * (y - y0)).sum();
        let (parameters, covariance) = fit.parameters_about(x0).unwrap();
        prop_assert!((parameters[0] - y0).abs() < 1e-11 && (parameters[1] - sxy / sxx).abs() < 1e-12);
        prop_assert!((covariance.standard_uncertainty(1).unwrap() * sxx.sqrt() - 1.0).abs() < 1e-10);
        prop_assert!(covariance.correlation(0, 1).unwrap().abs() < 1e-7);
    }

    #[test]
    fn the_unit_of_torque_does_not_matter(
        ys in prop::collection::vec(-5.0..5.0, 5), us in prop::collection::vec(0.05..3.0, 5), common in 0.0..2.0, unit in 1e-3..1e3,
    ) {
        let rows: Vec<Vec<f64>> = (0..5)
            .map(|i| (0..5).map(|j| common * common + if i == j { us[i] * us[i] } else { 0.0 }).collect())
            .collect();
        let v = CovarianceMatrix::from_rows(&rows).unwrap();
        for degree in Degree::ALL {
            let fit = |unit: f64| {
                let data: Vec<CurvePoint> =
                    ys.iter().enumerate().map(|(i, &y)| CurvePoint { x: 40.0 * (i + 1) as f64 * unit, y }).collect();
                Fit::generalised(&data, &v, degree).unwrap()
            };
            let (here, there) = (fit(1.0), fit(unit));
            for x in [20.0, 100.0, 200.0] {
                let (a, b) = (here.at(x), there.at(x * unit));
                prop_assert!((a.value - b.value).abs() < 1e-9 && (a.standard - b.standard).abs() < 1e-9);
            }
            let (a, b) = (here.lack_of_fit().unwrap(), there.lack_of_fit().unwrap());
            prop_assert!((a.p_value - b.p_value).abs() < 1e-9);
        }
    }
}
