//! Oracle: the closed form in the module's own heading, worked by hand; common practice, no published
//! source.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use chrono::NaiveDate;
use proptest::prelude::*;

use super::*;
use crate::reading::Recorded;
use crate::tool::TorqueRange;

fn nm(value: f64) -> Torque {
    Torque::from_newton_metres(value)
}

fn day(month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, month, day).unwrap()
}

/// A curve whose reference shows so many percent too much, at every torque.
fn curve(percent: f64, expanded: f64) -> CalibrationCurve {
    let points = [10.0, 50.0, 100.0, 200.0]
        .map(|applied| CalibrationPoint {
            indicated: nm(applied * (1.0 + percent / 100.0)),
            applied: nm(applied),
            expanded: nm(applied * expanded / 100.0),
            k: 2.0,
        })
        .to_vec();
    CalibrationCurve::new(Direction::Clockwise, points).unwrap()
}

fn reference(certificate: &str, calibrated_on: NaiveDate, curve: CalibrationCurve) -> Reference {
    let recorded = |text| Recorded::parse(text).unwrap();
    Reference {
        id: "RT-250".into(),
        description: "torque transducer".into(),
        serial: "Q250-0931".into(),
        certificate: certificate.into(),
        calibrated_by: "Marrenfirth Institute".into(),
        traceability: None,
        calibrated_on,
        due: NaiveDate::from_ymd_opt(2028, 1, 1).unwrap(),
        range: TorqueRange { lower: recorded("10 N·m"), upper: recorded("200 N·m") },
        resolution: recorded("0.01 N·m"),
        resolution_included: true,
        curves: vec![curve],
        drift_per_year: Some(Percent::new(0.05)),
        interpolation: None,
        temperature: None,
    }
}

#[test]
fn half_a_percent_more_on_the_display_is_half_a_percent_less_behind_it() {
    let was = reference("A", day(1, 1), curve(0.0, 0.1));
    let found = reference("B", day(12, 27), curve(0.5, 0.2));
    let now = as_known_now(&was, &found, Model::AtOnce, day(7, 1)).unwrap();
    let at = now.curve(Direction::Clockwise).unwrap().at(nm(100.0)).unwrap();
    // 100/1.005 = 99.502 487 56…
    assert!((at.torque.newton_metres() - 99.502_487_562_189_06).abs() < 1e-10);
    // a tool set to 100 deviates by 100/99.5025 − 1 = +0.5 %, and not by 0 %
    let deviation = (nm(100.0) - at.torque).percent_of(at.torque).value();
    assert!((deviation - 0.5).abs() < 1e-10, "{deviation}");
    // the uncertainty is that of the new calibration: 0.2 % expanded, 0.1 % standard
    assert!((at.standard_uncertainty.percent_of(at.torque).value() - 0.1).abs() < 1e-9);
    assert_eq!((now.calibrated_on, now.certificate.as_str()), (day(1, 1), "B"));
    let change = largest_change(&was, &found).unwrap().value();
    assert!((change - (1.0 / 1.005 - 1.0) * 100.0).abs() < 1e-10, "{change}");
}

#[test]
fn halfway_in_time_is_half_of_the_change_and_the_shape_is_least_known() {
    // 360 days between the calibrations, 180 to the run
    let was = reference("A", day(1, 1), curve(0.0, 0.1));
    let found = reference("B", day(12, 27), curve(0.5, 0.2));
    let now = as_known_now(&was, &found, Model::Linear, day(6, 30)).unwrap();
    let at = now.curve(Direction::Clockwise).unwrap().at(nm(100.0)).unwrap();
    let whole = 100.0 / 1.005 - 100.0;
    assert!((at.correction.newton_metres() - whole / 2.0).abs() < 1e-6, "{at:?}");
    // between 0.05 (0.1 % at 100) and 0.099502 (0.2 % at 99.50): 0.074751; a quarter of 0.4975,
    // rectangular: 0.0718
    let expected = ((0.05 + 0.099_502_488) / 2.0_f64).hypot(whole.abs() / 4.0 / 3.0_f64.sqrt());
    assert!((at.standard_uncertainty.newton_metres() - expected).abs() < 1e-4, "{at:?} {expected}");
}

#[test]
fn at_either_calibration_the_line_in_time_is_that_calibration() {
    let (old, new) = (curve(0.1, 0.1), curve(-0.4, 0.3));
    for (fraction, end) in [(0.0, &old), (1.0, &new)] {
        let mixed = mixed(&old, &new, fraction).unwrap();
        for x in [12.0, 49.0, 50.0, 77.0, 150.0, 199.0] {
            let (a, b) = (mixed.at(nm(x)).unwrap(), end.at(nm(x)).unwrap());
            assert!((a.correction - b.correction).newton_metres().abs() < 1e-9);
            let grown = (a.standard_uncertainty - b.standard_uncertainty).newton_metres().abs();
            assert!(grown < 1e-3 * b.standard_uncertainty.newton_metres(), "{x}: {a:?} {b:?}");
        }
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let was = reference("A", day(3, 1), curve(0.0, 0.1));
    let found = reference("B", day(9, 1), curve(0.5, 0.2));
    for performed in [day(2, 28), day(9, 2)] {
        for model in Model::ALL {
            let refused = as_known_now(&was, &found, model, performed);
            assert!(matches!(refused, Err(ExposureError::NotBetween { .. })), "{refused:?}");
        }
    }
    let other = Reference { serial: "other".into(), ..found.clone() };
    let refused = as_known_now(&was, &other, Model::AtOnce, day(5, 1));
    assert!(matches!(refused, Err(ExposureError::OtherReference { .. })), "{refused:?}");
    let far = CalibrationCurve::new(
        Direction::Clockwise,
        [500.0, 900.0]
            .map(|x| CalibrationPoint { indicated: nm(x), applied: nm(x), expanded: nm(1.0), k: 2.0 })
            .to_vec(),
    )
    .unwrap();
    let far = Reference { curves: vec![far], ..found };
    let refused = as_known_now(&was, &far, Model::Linear, day(5, 1));
    assert!(matches!(refused, Err(ExposureError::NothingInCommon { .. })), "{refused:?}");
    assert_eq!(largest_change(&was, &far), None);
}

#[test]
fn the_gravest_change_is_last() {
    assert!(Change::ALL.windows(2).all(|pair| pair[0] < pair[1]));
}

proptest! {
    #[test]
    fn the_same_calibration_changes_nothing(percent in -2.0..2.0_f64, expanded in 0.01..1.0_f64, on in 1u32..28) {
        let was = reference("A", day(1, 1), curve(percent, expanded));
        for model in Model::ALL {
            let now = as_known_now(&was, &was, model, day(6, on)).unwrap();
            prop_assert_eq!(&now, &was);
            let later = Reference { calibrated_on: day(12, 1), ..was.clone() };
            prop_assert_eq!(&as_known_now(&was, &later, model, day(6, on)).unwrap(), &was);
        }
    }

    #[test]
    fn the_line_in_time_lies_between_its_ends(a in -1.0..1.0_f64, b in -1.0..1.0_f64, f in 0.0..=1.0_f64, x in 12.0..190.0_f64) {
        let (old, new) = (curve(a, 0.1), curve(b, 0.1));
        let now = mixed(&old, &new, f).unwrap().at(nm(x)).unwrap();
        let ends = [&old, &new].map(|curve| curve.at(nm(x)).unwrap().correction.newton_metres());
        // straight lines between points of the two calibrations do not meet to the last digit
        let slack = 1e-3 * x * (a - b).abs() / 100.0 + 1e-9;
        let c = now.correction.newton_metres();
        prop_assert!(c >= ends[0].min(ends[1]) - slack && c <= ends[0].max(ends[1]) + slack, "{} {:?}", c, ends);
    }
}
