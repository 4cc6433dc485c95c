//! Runs before and after. Oracle: the closed form a′ = (1 + a)(1 + d′)/(1 + d) − 1, which is the
//! definition of a relative deviation over the reference torque (ISO 6789-2:2017, 6.2, from memory)
//! written for two states of one reference.

use std::num::NonZeroUsize;

use leverarm::metrology::decision::Verdict;
use leverarm::metrology::exposure::Model;
use leverarm::metrology::reference::Reference;
use leverarm::office::exposure::record::{Gravity, RunRow};
use leverarm::office::exposure::{Case, Question, examine, found, table, text};
use proptest::prelude::*;

use super::{case, cases, files, found as found_again, proportional, report};

const ALL: [&str; 5] =
    ["click-wrench-full", "guard-band-zone", "found-fails", "left-passes", "both-directions"];

/// The wrench of the samples, certified with a reference that deviates by so many percent everywhere.
fn wrench(percent: f64) -> Vec<Case> {
    let files = files("click-wrench-full", |run| run);
    vec![case("wrench", files.with("../references/rt-250.toml", proportional(percent, false)))]
}

fn calibrated_again(percent: f64) -> Reference {
    found::read(proportional(percent, true).as_bytes()).unwrap()
}

#[test]
fn a_shift_of_the_reference_moves_each_deviation_by_the_closed_form() {
    for (was, is) in [(0.0, 0.5), (0.0, -0.5), (0.2, 0.7), (-0.3, 1.1)] {
        let report = report(&calibrated_again(is), Model::AtOnce, wrench(was));
        assert_eq!(report.rows[0].points.len(), 3, "{:?}", report.rows);
        for point in &report.rows[0].points {
            let a = point.deviation_before_percent / 100.0;
            let expected = (1.0 + a) * (1.0 + is / 100.0) / (1.0 + was / 100.0) - 1.0 - a;
            assert!((point.shift_percent - expected * 100.0).abs() < 1e-7, "{was} {is} {point:?}");
        }
        // behind one indication now stands (1 + d)/(1 + d′) of the torque that was believed
        let change = report.largest_change_percent.unwrap();
        let expected = ((1.0 + was / 100.0) / (1.0 + is / 100.0) - 1.0) * 100.0;
        assert!((change - expected).abs() < 1e-7, "{change} {expected}");
    }
}

/// 2026-03-13 to 2027-03-12 are 364 days, to the run of 2026-11-18 250 days; a reference that showed
/// the truth and then 0.5 % more stands for x·(1 + f·(1/1.005 − 1)) in between. The mean of a point is
/// that of its readings' deviations, and each of them moves by the same factor.
#[test]
fn evenly_in_time_moves_it_by_the_share_of_the_time() {
    let report = report(&calibrated_again(0.5), Model::Linear, wrench(0.0));
    assert_eq!(report.rows[0].points.len(), 3, "{:?}", report.rows);
    for point in &report.rows[0].points {
        let torque = 1.0 + 250.0 / 364.0 * (1.0 / 1.005 - 1.0);
        let expected = (1.0 / torque - 1.0) * (100.0 + point.deviation_before_percent);
        assert!((point.shift_percent - expected).abs() < 1e-7, "{expected} {point:?}");
        let (before, after) = (point.expanded_before_percent.unwrap(), point.expanded_after_percent.unwrap());
        assert!(after > before, "the path in time is not known: {before} {after}");
    }
}

#[test]
fn a_reference_that_did_not_move_changes_nothing() {
    for model in Model::ALL {
        let report = report(&found_again(0.0), model, cases(&ALL));
        assert!(!report.is_changed(), "{:?}", report.counts);
        assert_eq!(report.counts.stands, ALL.len());
        for point in report.rows.iter().flat_map(|row| &row.points) {
            assert!(point.shift_percent.abs() < 1e-4, "{point:?}");
            assert_eq!(point.printed_before, point.printed_after);
            assert_eq!(point.printed_expanded_before, point.printed_expanded_after);
        }
    }
}

fn row<'a>(rows: &'a [RunRow], origin: &str) -> &'a RunRow {
    rows.iter().find(|row| row.origin == origin).unwrap()
}

#[test]
fn verdicts_change_both_ways_and_into_the_guard_band() {
    // the reference showed too little: tools that were set right gave more than they said
    let up = report(&found_again(4.5), Model::AtOnce, cases(&ALL));
    let wrench = row(&up.rows, "click-wrench-full");
    assert_eq!(wrench.gravity, Gravity::ToFail);
    assert_eq!((wrench.verdict_before, wrench.verdict_after), (Some(Verdict::Pass), Some(Verdict::Fail)));
    assert!(up.rows.windows(2).all(|pair| pair[0].gravity >= pair[1].gravity), "the gravest first");
    let gravities: Vec<Gravity> = [-5.0, -3.6, -3.4, -3.2, -3.0, -2.0, 2.0, 3.0, 3.2, 3.4, 3.6, 5.0]
        .into_iter()
        .flat_map(|p| report(&found_again(p), Model::AtOnce, cases(&ALL)).rows)
        .map(|row| row.gravity)
        .collect();
    for wanted in [Gravity::ToFail, Gravity::NoLongerDecided, Gravity::Stands] {
        assert!(gravities.contains(&wanted), "{wanted:?} {gravities:?}");
    }
    let points: Vec<Gravity> = [-3.0, -2.0, -1.0, 1.0, 2.0, 3.0]
        .into_iter()
        .flat_map(|p| report(&found_again(p), Model::AtOnce, cases(&["found-fails"])).rows)
        .flat_map(|row| row.points)
        .map(|point| point.gravity)
        .collect();
    assert!(points.contains(&Gravity::ToPass), "{points:?}");
}

#[test]
fn what_used_another_reference_or_another_time_is_left_out() {
    let mut all = cases(&["click-wrench-full", "electronic-30"]);
    let early = |run: String| run.replace("performed = \"2026-11-18\"", "performed = \"2026-03-01\"");
    let late = |run: String| run.replace("performed = \"2026-11-18\"", "performed = \"2027-04-01\"");
    all.push(case("late", files("click-wrench-full", late)));
    all.push(case("early", files("click-wrench-full", early)));
    let found = found_again(0.5);
    let since = "2026-03-13".parse().ok();
    let question = Question { found: &found, model: Model::AtOnce, since };
    let report = examine(&question, all.into_iter(), NonZeroUsize::MIN);
    let counts = report.counts;
    assert_eq!((counts.other_reference, counts.later, counts.earlier), (1, 1, 1));
    let origins: Vec<&str> = report.rows.iter().map(|row| row.origin.as_str()).collect();
    assert_eq!(origins, ["click-wrench-full"]);
}

#[test]
fn what_cannot_be_computed_again_is_named_and_counts_as_affected() {
    let mut all = cases(&["click-wrench-full"]);
    all.push(case("empty", leverarm::ingest::store::Memory::new()));
    let mut gone = case("gone", leverarm::ingest::store::Memory::new());
    gone.files = Err("the file run.toml is not in the record".to_owned());
    all.push(gone);
    // a calibration that stops at 150 N·m says nothing at 200 N·m
    let mut short = found_again(0.0);
    for curve in &mut short.curves {
        let points = curve.points().iter().copied().take(6).collect();
        *curve = leverarm::metrology::reference::CalibrationCurve::new(curve.direction, points).unwrap();
    }
    let report = report(&short, Model::AtOnce, all);
    assert_eq!(report.counts.not_recomputed, 3, "{:?}", report.rows);
    assert!(report.is_changed());
    let reason = row(&report.rows, "click-wrench-full").reason.clone().unwrap();
    assert!(reason.contains("outside the calibrated"), "{reason}");
    assert!(text::render(&report, false).contains("is not in the record"));
}

#[test]
fn threads_change_nothing_and_a_formula_is_no_formula() {
    let found = found_again(3.0);
    let question = Question { found: &found, model: Model::AtOnce, since: None };
    let one = |threads| {
        let mut all = cases(&ALL);
        all.push(case("=cmd", files("click-wrench-full", |run| run.replace("26-01743", "=HYPERLINK(1)"))));
        examine(&question, all.into_iter(), NonZeroUsize::new(threads).unwrap())
    };
    let (first, second) = (one(1), one(3));
    assert_eq!(first, second);
    let csv = String::from_utf8(table::to_bytes(&first).unwrap()).unwrap();
    assert!(csv.contains(",'=cmd,"), "{csv}");
    assert!(!csv.contains(",=cmd"), "{csv}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn a_larger_shift_moves_further_and_the_uncertainty_hardly(p in 0.05..1.5_f64) {
        let small = report(&found_again(p), Model::AtOnce, cases(&["click-wrench-full"]));
        let large = report(&found_again(p * 1.5), Model::AtOnce, cases(&["click-wrench-full"]));
        for (s, l) in small.rows[0].points.iter().zip(&large.rows[0].points) {
            prop_assert!(s.shift_percent > 0.0 && l.shift_percent > s.shift_percent);
            let (b, a) = (s.expanded_before_percent.unwrap(), s.expanded_after_percent.unwrap());
            prop_assert!((a - b).abs() < 0.05 * b, "{} {}", b, a);
        }
    }
}
