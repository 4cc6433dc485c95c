//! Properties of the floor: at it the binding condition holds, just below it does not.

use leverarm_metrology::coverage::{Freedom, coverage_factor};
use leverarm_metrology::decision::DecisionRule;
use leverarm_metrology::evaluate::{Evaluation, evaluate};
use leverarm_metrology::floor::{FloorCause, Height};
use leverarm_metrology::quantity::{Percent, Torque};
use leverarm_metrology::reading::Direction;
use leverarm_metrology::reference::Reference;
use leverarm_metrology::run::Run;
use proptest::prelude::*;

use crate::properties::{heights, rulebook, run};
use crate::sample::{self, TARGETS};

/// Points that lie apart, with the wrench's step and the reference varied, so that each floor comes
/// to lie inside the range now and then.
fn at_the_floor() -> impl Strategy<Value = (Run, f64)> {
    let step = 0.05..2.0_f64;
    (run(), step, 0.5..4.0_f64, 0.2..3.0_f64).prop_map(|(mut run, step, claim, poor)| {
        run.tool.resolution = Some(sample::newton_metres(step));
        run.tool.claim = Some(Percent::new(claim));
        (run, poor)
    })
}

/// A reference whose uncertainty is one torque throughout, so that it is poor below.
fn constant_reference(poor: f64) -> Reference {
    let lines = [0.0, 20.0, 50.0, 100.0, 150.0, 250.0];
    sample::reference(&lines.map(|x| (x, x, 0.1 * poor)))
}

/// What each floor promises, said from its definition: whether it holds at a torque.
fn holds(
    run: &Run,
    reference: &Reference,
    evaluation: &Evaluation,
    cause: FloorCause,
    x: f64,
) -> Option<bool> {
    let limit = evaluation.limit.permissible.value();
    let quarter = limit / 4.0;
    match cause {
        FloorCause::Step => {
            let step = run.tool.resolution?.torque().newton_metres();
            Some(step / x * 100.0 <= quarter)
        }
        FloorCause::Reference => {
            let torque = Torque::from_newton_metres(x);
            let expanded = reference.relative_expanded(Direction::Clockwise, torque).ok()?;
            Some(expanded.value() <= quarter)
        }
        FloorCause::Scatter => {
            // The highest point at or below speaks, for this torque.
            let point = evaluation.points.iter().rfind(|p| p.target.value() <= x * (1.0 + 1e-6))?;
            let s = point.standard_deviation?.value() * point.mean_reference.newton_metres() / x;
            let k = coverage_factor(95.45, Freedom::Finite(4.0)).ok()?;
            let of_mean = evaluation.rule == Some(DecisionRule::GUARDED);
            Some(k * s / if of_mean { 5f64.sqrt() } else { 1.0 } <= limit)
        }
        FloorCause::GuardBand => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn at_the_floor_its_condition_holds_and_just_below_it_does_not((run, poor) in at_the_floor()) {
        let reference = constant_reference(poor);
        let evaluation = evaluate(&run, &rulebook(), &reference).unwrap();
        for part in &evaluation.floor.parts {
            let Height::From(torque) = part.height else { continue };
            let x = torque.newton_metres();
            prop_assert!((TARGETS[0]..=TARGETS[2] * 1.000_001).contains(&x));
            let at = |x| holds(&run, &reference, &evaluation, part.cause, x);
            prop_assert_ne!(at(x * (1.0 + 1e-9)), Some(false), "at {} {:?}", x, part);
            prop_assert_ne!(at(x * (1.0 - 1e-5)), Some(true), "below {} {:?}", x, part);
        }
    }

    #[test]
    fn a_floor_outside_the_range_is_said_to_be_so((run, poor) in at_the_floor()) {
        let reference = constant_reference(poor);
        let evaluation = evaluate(&run, &rulebook(), &reference).unwrap();
        for part in &evaluation.floor.parts {
            let at = |x| holds(&run, &reference, &evaluation, part.cause, x);
            match part.height {
                Height::BelowRange => prop_assert_ne!(at(TARGETS[0] * (1.0 + 1e-5)), Some(false)),
                // Exactly there: just below, another point speaks for the scatter.
                Height::AboveRange => prop_assert_ne!(at(TARGETS[2]), Some(true)),
                Height::From(_) => {}
            }
        }
    }

    #[test]
    fn the_floor_is_the_highest_of_its_parts((run, poor) in at_the_floor()) {
        let evaluation = evaluate(&run, &rulebook(), &constant_reference(poor)).unwrap();
        let heights = heights(&evaluation);
        let highest = heights.iter().map(|(_, height)| *height).fold(0.0, f64::max);
        match evaluation.floor.height {
            Height::BelowRange => prop_assert!(highest <= 0.0 && evaluation.floor.binding.is_none()),
            Height::From(torque) => {
                prop_assert!(torque.newton_metres() >= highest);
                prop_assert!(evaluation.floor.binding.is_some());
            }
            Height::AboveRange => prop_assert!(highest.is_infinite()),
        }
    }

    #[test]
    fn from_the_guard_bands_floor_on_a_tool_without_deviation_would_pass(
        scatter in prop::array::uniform3(prop::array::uniform5(-1.0..1.0_f64)),
        step in 0.05..2.0_f64, claim in 0.5..4.0_f64, poor in 0.2..3.0_f64,
    ) {
        let mut run = sample::agreed(sample::wrench(&scatter, 0.05), DecisionRule::GUARDED);
        run.tool.resolution = Some(sample::newton_metres(step));
        run.tool.claim = Some(Percent::new(claim));
        let evaluation = evaluate(&run, &rulebook(), &constant_reference(poor)).unwrap();
        let limit = evaluation.limit.permissible.value();
        let (_, floor) = heights(&evaluation)
            .into_iter()
            .find(|(cause, _)| *cause == FloorCause::GuardBand)
            .expect("a guarded rule has this floor");
        // The floor is asked at the target and the budget is of the mean reference torque, which
        // lies within 1 % of it here.
        for point in &evaluation.points {
            let expanded = point.uncertainty.as_ref().unwrap().expanded.expanded.value();
            let from = point.target.value() >= floor;
            prop_assert!(!from || expanded <= limit * 1.02, "{:?} {} {}", point.target, expanded, floor);
        }
        // And where not even the maximum is high enough, its own uncertainty says so.
        let top = evaluation.points[2].uncertainty.as_ref().unwrap().expanded.expanded.value();
        prop_assert!(floor.is_finite() || top >= limit * 0.98);
    }
}
