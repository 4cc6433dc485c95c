//! Properties of any evaluation, whatever the readings: proptest on invented runs.

use leverarm_metrology::budget::{Budget, BudgetLine, Influence, Scope};
use leverarm_metrology::decision::{DecisionRule, Verdict, conformity_probability};
use leverarm_metrology::evaluate::{Evaluation, PointResult, evaluate};
use leverarm_metrology::floor::{FloorCause, Height};
use leverarm_metrology::quantity::{Percent, TorqueUnit};
use leverarm_metrology::reading::Status;
use leverarm_metrology::reference::Reference;
use leverarm_metrology::rounding::{Figures, Mode, ResultMode, RoundingRule, round_result};
use leverarm_metrology::rulebook::Rulebook;
use leverarm_metrology::run::Run;
use proptest::prelude::*;
use proptest::sample::{Index, select, subsequence};

use crate::sample::{self, TARGETS};

type Deviations = [[f64; 5]; 3];

/// Readings whose points lie and scatter about differently.
fn deviations() -> impl Strategy<Value = Deviations> {
    let point = (-5.0..5.0_f64, 0.01..1.0_f64, prop::array::uniform5(-1.0..1.0_f64));
    prop::array::uniform3(point.prop_map(|(centre, spread, of)| of.map(|x| centre + spread * x)))
}

fn rule() -> impl Strategy<Value = DecisionRule> {
    select(vec![DecisionRule::Simple, DecisionRule::GUARDED, DecisionRule::EachReading])
}

/// A full calibration under a rule.
pub fn run() -> impl Strategy<Value = Run> {
    (deviations(), 0.0..0.5_f64, rule())
        .prop_map(|(deviations, b, rule)| sample::agreed(sample::wrench(&deviations, b), rule))
}

pub fn rulebook() -> Rulebook {
    sample::rulebook("iso-6789-2")
}

/// A reference that is bent, so that it corrects and has a line for its interpolation.
fn reference() -> Reference {
    sample::reference(&[
        (0.0, 0.0, 0.05),
        (20.0, 20.02, 0.05),
        (50.0, 50.06, 0.1),
        (100.0, 100.1, 0.2),
        (150.0, 150.2, 0.3),
        (250.0, 250.4, 0.5),
    ])
}

fn evaluated(run: &Run) -> Evaluation {
    evaluate(run, &rulebook(), &reference()).unwrap()
}

fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs()).max(1e-3)
}

/// Everything relative that a point says.
fn relative_results(point: &PointResult) -> Vec<f64> {
    let uncertainty = point.uncertainty.as_ref().unwrap();
    let mut all: Vec<f64> = point.readings.iter().map(|r| r.deviation.value()).collect();
    all.extend(uncertainty.budget.lines.iter().map(|line| line.standard().value()));
    all.extend(&uncertainty.combined.shares);
    all.extend([
        point.mean_deviation.value(),
        point.standard_deviation.unwrap().value(),
        point.spread.value(),
        uncertainty.combined.standard.value(),
        uncertainty.expanded.k_effective,
        uncertainty.expanded.expanded.value(),
        uncertainty.interval.value(),
        point.limit.value(),
        point.conformity_probability.unwrap(),
    ]);
    all
}

pub fn heights(evaluation: &Evaluation) -> Vec<(FloorCause, f64)> {
    let newton_metres = |height| match height {
        Height::BelowRange => 0.0,
        Height::From(torque) => torque.newton_metres(),
        Height::AboveRange => f64::INFINITY,
    };
    evaluation.floor.parts.iter().map(|part| (part.cause, newton_metres(part.height))).collect()
}

/// The same run, every torque of it written in another unit.
fn rewritten(run: &Run, unit: TorqueUnit) -> Run {
    let mut other = run.clone();
    let range = &mut other.tool.range;
    range.lower = sample::rewritten(range.lower, unit);
    range.upper = sample::rewritten(range.upper, unit);
    other.tool.resolution = other.tool.resolution.map(|step| sample::rewritten(step, unit));
    for reading in &mut other.readings {
        reading.target = sample::rewritten(reading.target, unit);
        reading.indicated = sample::rewritten(reading.indicated, unit);
        reading.reference = sample::rewritten(reading.reference, unit);
    }
    other
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_unit_changes_no_relative_result(run in run(), unit in select(TorqueUnit::ALL.to_vec())) {
        let (here, there) = (evaluated(&run), evaluated(&rewritten(&run, unit)));
        for (a, b) in here.points.iter().zip(&there.points) {
            let (a, b) = (relative_results(a), relative_results(b));
            prop_assert_eq!(a.len(), b.len());
            for (a, b) in a.into_iter().zip(b) {
                prop_assert!(close(a, b, 1e-9), "{} {} in {}", a, b, unit);
            }
        }
        for ((cause, a), (_, b)) in heights(&here).into_iter().zip(heights(&there)) {
            prop_assert!(a.is_infinite() && b.is_infinite() || close(a, b, 1e-6), "{:?} {} {}", cause, a, b);
        }
    }

    #[test]
    fn the_order_of_readings_changes_no_statistic(run in run(), keys in prop::collection::vec(any::<u32>(), 145)) {
        let mut shuffled = run.clone();
        let mut order: Vec<usize> = (0..run.readings.len()).collect();
        order.sort_by_key(|&i| (keys.get(i).copied(), i));
        shuffled.readings = order.into_iter().map(|i| run.readings[i].clone()).collect();
        let (before, after) = (evaluated(&run), evaluated(&shuffled));
        prop_assert_eq!(before.points.len(), TARGETS.len());
        for (a, b) in before.points.iter().zip(&after.points) {
            prop_assert_eq!(a.target, b.target);
            let n = a.readings.len();
            // The readings themselves come in the new order; everything after them is of the point.
            let (a, b) = (relative_results(a), relative_results(b));
            // A sum in another order differs in its last bits, and a probability far out in the tail
            // of Student's t magnifies them by up to its degrees of freedom.
            for (a, b) in a.into_iter().zip(b).skip(n) {
                prop_assert!(close(a, b, 1e-10), "{} {}", a, b);
            }
        }
    }

    #[test]
    fn a_budget_line_never_lowers_the_combined_uncertainty(
        values in prop::collection::vec(0.0..3.0_f64, 0..12), added in 0.0..3.0_f64, place in any::<Index>(),
    ) {
        let line = |value| BudgetLine::rectangular(
            Influence::Resolution, Percent::new(value), Scope::PerReading, "invented",
        );
        let mut lines: Vec<BudgetLine> = values.into_iter().map(line).collect();
        let before = Budget { lines: lines.clone(), missing: vec![] }.combine();
        lines.insert(place.index(lines.len() + 1), line(added));
        let after = Budget { lines, missing: vec![] }.combine();
        // Added in another order, a sum of squares may end a last bit lower.
        let least = before.standard.value() * (1.0 - 1e-14);
        prop_assert!(after.standard.value() >= least);
        prop_assert!(after.standard.value() >= line(added).standard().value() * (1.0 - 1e-14));
    }

    #[test]
    fn more_of_the_reference_never_lowers_the_uncertainty(run in run(), drift in 0.0..0.5_f64) {
        let rulebook = rulebook();
        let lean = Reference { drift_per_year: Some(Percent::ZERO), ..reference() };
        let full = Reference {
            drift_per_year: Some(Percent::new(drift)), resolution_included: false, ..reference()
        };
        let lean = evaluate(&run, &rulebook, &lean).unwrap();
        let full = evaluate(&run, &rulebook, &full).unwrap();
        for (lean, full) in lean.points.iter().zip(&full.points) {
            let standard = |p: &PointResult| p.uncertainty.as_ref().unwrap().combined.standard;
            prop_assert!(standard(full) >= standard(lean));
        }
    }

    #[test]
    fn a_voided_reading_changes_nothing(
        run in run(),
        strays in prop::collection::vec((any::<Index>(), any::<Index>(), -50.0..50.0_f64), 1..6),
    ) {
        let mut with = run.clone();
        for (i, (which, place, off)) in strays.into_iter().enumerate() {
            let mut stray = run.readings[which.index(run.readings.len())].clone();
            stray.row = 1000 + u32::try_from(i).unwrap();
            stray.status = Status::Void { reason: "slipped".into() };
            stray.reference = sample::newton_metres(stray.target.value() * (1.0 + off / 100.0));
            // Not even by how it writes the target.
            stray.target = sample::rewritten(stray.target, TorqueUnit::PoundForceFoot);
            with.readings.insert(place.index(with.readings.len() + 1), stray);
        }
        let before = evaluated(&run);
        let mut after = evaluated(&with);
        for point in &mut after.points {
            prop_assert!(point.voided.iter().all(|row| *row >= 1000));
            point.voided.clear();
        }
        prop_assert_eq!(before, after);
    }

    #[test]
    fn the_guard_band_never_passes_what_simple_acceptance_fails(
        deviations in deviations(), b in 0.0..0.5_f64,
    ) {
        let run = sample::wrench(&deviations, b);
        let simple = evaluated(&sample::agreed(run.clone(), DecisionRule::Simple));
        let guarded = evaluated(&sample::agreed(run, DecisionRule::GUARDED));
        for (simple, guarded) in simple.points.iter().zip(&guarded.points) {
            prop_assert_ne!(guarded.verdict, Verdict::NotJudged);
            prop_assert!(guarded.verdict == Verdict::Fail || simple.verdict == Verdict::Pass);
            // What it says of its risk is true: under 2.5 % where the uncertainty is well known and
            // small beside the limits; never above the two tails of the coverage that k has at these
            // degrees of freedom.
            let u = guarded.uncertainty.as_ref().unwrap();
            let well_known = u.expanded.k_effective < 2.001;
            let small = u.expanded.expanded.value() < guarded.limit.value() / 2.0;
            if let (true, true, Some(risk)) = (well_known, small, guarded.false_acceptance()) {
                prop_assert!(risk < 0.025, "{}", risk);
            }
        }
        prop_assert!(guarded.verdict == Verdict::Fail || simple.verdict == Verdict::Pass);
    }

    #[test]
    fn each_reading_never_passes_what_simple_acceptance_fails(deviations in deviations()) {
        let run = sample::wrench(&deviations, 0.1);
        let simple = evaluated(&sample::agreed(run.clone(), DecisionRule::Simple));
        let each = evaluated(&sample::agreed(run, DecisionRule::EachReading));
        for (simple, each) in simple.points.iter().zip(&each.points) {
            prop_assert!(each.verdict == Verdict::Fail || simple.verdict == Verdict::Pass);
            prop_assert_eq!(each.verdict == Verdict::Pass, each.readings_outside() == 0);
        }
    }

    #[test]
    fn a_tighter_claim_never_turns_fail_into_pass(
        run in run(), looser in 0.5..5.0_f64, share in 0.1..1.0_f64,
    ) {
        let claimed = |percent| {
            let mut run = run.clone();
            run.tool.claim = Some(Percent::new(percent));
            evaluated(&run)
        };
        let (loose, tight) = (claimed(looser), claimed(looser * share));
        prop_assert!(tight.limit.permissible <= loose.limit.permissible);
        for (loose, tight) in loose.points.iter().zip(&tight.points) {
            prop_assert!(loose.verdict == Verdict::Pass || tight.verdict == Verdict::Fail);
        }
        prop_assert!(loose.verdict == Verdict::Pass || tight.verdict == Verdict::Fail);
    }

    #[test]
    fn a_conformity_probability_is_a_probability_and_falls_with_the_deviation(
        deviation in -20.0..20.0_f64, further in 0.0..5.0_f64, limit in 0.1..10.0_f64, u in 0.001..10.0_f64,
    ) {
        let p = |deviation| {
            conformity_probability(Percent::new(deviation), Percent::new(limit), Percent::new(u)).unwrap()
        };
        let (near, far) = (p(deviation), p(deviation + further * deviation.signum()));
        prop_assert!((0.0..=1.0).contains(&near));
        prop_assert!(far <= near + 1e-15);
        prop_assert!((p(-deviation) - near).abs() <= 1e-15);
    }

    #[test]
    fn both_are_rounded_to_one_place_and_never_far(
        result in -1e4..1e4_f64, mantissa in 1.0..10.0_f64, exponent in -5..4_i32,
        modes in (
            select(vec![Mode::HalfUp, Mode::HalfEven, Mode::Up]),
            select(vec![ResultMode::HalfUp, ResultMode::HalfEven]),
            select(vec![Figures::One, Figures::Two]),
        ),
    ) {
        let (uncertainty, of_result, figures) = modes;
        let rule = RoundingRule { uncertainty, result: of_result, figures };
        let expanded = mantissa * 10f64.powi(exponent);
        let rounded = round_result(result, expanded, rule).unwrap();
        let opposite = round_result(-result, expanded, rule).unwrap();
        let printed: f64 = rounded.expanded.to_string().parse().unwrap();

        prop_assert_eq!(rounded.result.decimals(), rounded.expanded.decimals());
        prop_assert!(printed >= expanded || uncertainty != Mode::Up);
        // A carry adds no figure: without leading zeros and trailing zeros of a whole number there
        // are as many figures as were asked for, or fewer.
        let text = rounded.expanded.to_string().replace('.', "");
        let figures_printed = text.trim_start_matches('0');
        let asked = if figures == Figures::Two { 2 } else { 1 };
        if rounded.expanded.decimals() > 0 {
            prop_assert_eq!(figures_printed.len(), asked);
        } else {
            prop_assert!(figures_printed[asked..].chars().all(|c| c == '0'));
        }
        // Symmetric about zero, and zero has no sign.
        prop_assert_eq!(rounded.result.decimal() + opposite.result.decimal(), 0.into());
        prop_assert!(!rounded.result.decimal().is_zero() || rounded.result.decimal().is_sign_positive());
        // What is rounded stays as it is.
        let again: f64 = rounded.result.to_string().parse().unwrap();
        prop_assert_eq!(round_result(again, printed, rule).unwrap(), rounded);
    }

    #[test]
    fn a_reading_struck_out_is_as_good_as_not_taken(run in run(), which in subsequence((0..5_usize).collect::<Vec<_>>(), 0..4)) {
        let mut voided = run.clone();
        for i in &which {
            voided.readings[*i].status = Status::Void { reason: "slipped".into() };
        }
        let mut removed = run.clone();
        let mut row = 0;
        removed.readings.retain(|_| { row += 1; !which.contains(&(row - 1)) });
        let voided = evaluated(&voided);
        let removed = evaluated(&removed);
        prop_assert_eq!(voided.points[0].voided.len(), which.len());
        prop_assert_eq!(voided.points[0].mean_deviation, removed.points[0].mean_deviation);
        prop_assert_eq!(voided.verdict, removed.verdict);
    }
}
