//! Indicating tools in each way, counter-clockwise, and two units.

use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::reading::{Direction, Recorded, Series};
use leverarm_metrology::tool::{ToolClass, TorqueRange};
use leverarm_pull::detector::Mode;
use leverarm_session::plan::PlanError;
use leverarm_session::view::Ask;
use leverarm_session::{Did, Effect, Indicated, Key, Plan, readings_csv};

use crate::bench::{Bench, Hand, plan_of, short, tool};

fn indicating(indicated: Indicated) -> Plan {
    short(plan_of(tool(ToolClass::IC, &[Direction::Clockwise]), "iso-6789-1", indicated))
}

fn csv(bench: &Bench) -> String {
    String::from_utf8(readings_csv(&bench.session.outcome()).unwrap()).unwrap()
}

#[test]
fn the_value_is_typed_after_each_pull() {
    let mut bench = Bench::at_points(indicating(Indicated::Typed));
    assert_eq!(bench.aim.as_ref().unwrap().mode, Mode::Peak);
    let valid = bench.valid();
    bench.pull(Hand::show(40.0, 40.3));
    // the pull is on disk before its value is asked
    assert!(matches!(bench.entries.last().unwrap().did, Did::Taken { .. }));
    let Some(Ask::Line { title, hint, .. }) = bench.view().ask else { panic!("{:?}", bench.view()) };
    assert!(title.contains("what did the tool show"), "{title}");
    assert!(hint.contains("in steps of 1 N·m"), "{hint}");
    for wrong in ["", "40,5", "40.5", "40 lbf·ft", "-40", "0"] {
        bench.type_line(wrong);
        assert!(matches!(bench.view().ask, Some(Ask::Line { fault: Some(_), .. })), "{wrong}");
        (0..12).for_each(|_| bench.key(Key::Backspace));
    }
    // far off is asked twice
    bench.type_line("400");
    assert!(matches!(bench.view().ask, Some(Ask::Line { fault: Some(_), .. })));
    (0..3).for_each(|_| bench.key(Key::Backspace));
    bench.type_line("41 N·m");
    assert!(bench.view().ask.is_none());
    assert_eq!(bench.valid(), valid + 1);
    let row = bench.session.outcome().rows.last().cloned().unwrap();
    assert_eq!(row.indicated.unwrap().to_string(), "41 N·m");
    bench.work();
    assert!(csv(&bench).contains("points,,40,41,40.3"), "{}", csv(&bench));
}

#[test]
fn a_value_that_nobody_read_strikes_the_pull_out() {
    let mut bench = Bench::at_points(indicating(Indicated::Typed));
    bench.pull(Hand::show(40.0, 40.3));
    bench.key(Key::Escape);
    bench.press('x');
    bench.press('5');
    assert_eq!(bench.last().1.as_deref(), Some("the tool was not read at the right moment"));
    assert!(bench.aim.is_some() && bench.view().ask.is_none());
    bench.work();
}

/// Cut off between the pull and its value, the value is asked again.
#[test]
fn the_value_is_asked_again_after_a_crash() {
    let mut bench = Bench::at_points(indicating(Indicated::Typed));
    bench.pull(Hand::show(40.0, 40.3));
    let mut again = Bench::resume(indicating(Indicated::Typed), &bench.entries, 1000.0);
    assert_eq!(again.session.record(), bench.session.record());
    assert!(
        matches!(again.view().ask, Some(Ask::Line { title, .. }) if title.contains("what did the tool show"))
    );
    assert!(again.aim.is_none());
    again.type_line("40");
    again.work();
}

#[test]
fn stored_values_are_left_to_be_paired() {
    let mut bench = Bench::begin(indicating(Indicated::Stored));
    bench.work();
    for row in bench.session.outcome().rows {
        assert_eq!(row.indicated.is_none(), row.series != Series::Zero, "{row:?}");
    }
    assert!(csv(&bench).contains("points,,40,,40."), "{}", csv(&bench));
}

#[test]
fn the_reference_is_read_while_the_tool_shows_the_target() {
    let mut bench = Bench::at_points(indicating(Indicated::AtTarget));
    assert_eq!(bench.aim.as_ref().unwrap().mode, Mode::Track);
    let valid = bench.valid();
    let hand = Hand { hold_s: 1.2, ..Hand::show(40.0, 40.25) };
    bench.rest(0.8);
    let mut is_pressed = false;
    bench.bare_pull(hand, |bench, t| {
        if t > 3.0 && !std::mem::replace(&mut is_pressed, true) {
            bench.enter();
        }
    });
    bench.rest(1.0);
    assert_eq!(bench.valid(), valid + 1, "{:?}", bench.last());
    let row = bench.session.outcome().rows.last().cloned().unwrap();
    assert!((row.reference.value() - 40.25).abs() <= 0.011, "{row:?}");
    assert_eq!(row.indicated.unwrap().to_string(), "40 N·m");
}

/// A plateau alone is no reading: what the tool showed then, nobody said.
#[test]
fn without_the_key_there_is_no_reading_at_the_target() {
    let mut bench = Bench::at_points(indicating(Indicated::AtTarget));
    bench.pull(Hand { hold_s: 1.2, ..Hand::show(40.0, 40.25) });
    assert!(bench.last().1.unwrap().contains("the key was not pressed"));
}

#[test]
fn an_indicating_tool_is_preloaded_to_its_maximum() {
    let mut bench = Bench::begin(indicating(Indicated::Typed));
    bench.work_until(|aim| aim.series == Series::Preload);
    bench.pull(Hand::show(200.0, 180.0));
    let reason = bench.last().1.unwrap();
    assert!(reason.contains("192.00 N·m are the least for a preload"), "{reason}");
    bench.pull(Hand::show(200.0, 212.0));
    assert!(bench.last().1.unwrap().contains("above the limit"));
    bench.pull(Hand::show(200.0, 199.0));
    assert_eq!(bench.valid(), 1);
}

#[test]
fn counter_clockwise_has_the_other_sign_and_magnitudes_in_the_record() {
    let plan =
        short(plan_of(tool(ToolClass::IIA, &[Direction::CounterClockwise]), "iso-6789-1", Indicated::AsSet));
    let mut bench = Bench::begin(plan);
    bench.work();
    assert!(bench.is_finished);
    for row in bench.session.outcome().rows.iter().filter(|row| row.series != Series::Zero) {
        assert!(row.reference.value() > 0.99 * row.target.value(), "{row:?}");
        assert_eq!(row.direction, Direction::CounterClockwise);
    }
    // the screen shows what the display shows, the bar the magnitude
    let mut bench = Bench::at_points(bench.session.plan().clone());
    bench.rest(0.8);
    (0..40).for_each(|_| bench.sample(-12.0));
    let view = bench.view();
    assert!(view.live.unwrap().digits.starts_with("-12.0") || view.bar.unwrap().value > 11.9);
    assert!((view.bar.unwrap().value - 12.0).abs() < 0.1);
}

/// Nothing is converted in the record: each cell has its unit.
#[test]
fn a_tool_in_pound_force_feet_on_a_display_in_newton_metres() {
    let ft = |digits: &str| Recorded::new(digits, TorqueUnit::PoundForceFoot).unwrap();
    let mut wrench = tool(ToolClass::IIA, &[Direction::Clockwise]);
    wrench.range = TorqueRange { lower: ft("30"), upper: ft("150") };
    wrench.resolution = Some(ft("1"));
    let mut bench = Bench::begin(short(plan_of(wrench, "iso-6789-1", Indicated::AsSet)));
    bench.work();
    let text = csv(&bench);
    let line: Vec<&str> = text.lines().find(|line| line.starts_with("points")).unwrap().split(',').collect();
    assert_eq!(&line[2..4], ["30 lbf·ft", "30 lbf·ft"]);
    assert!(line[4].starts_with("40.") && line[4].ends_with(" N·m"), "{line:?}");
    assert_eq!(line[5], "");
    // the zero has both units, too
    assert!(text.contains("zero,,0 lbf·ft,0 lbf·ft,0.00 N·m,,"), "{text}");
    // the screen has the unit of the target
    let mut bench = Bench::at_points(bench.session.plan().clone());
    bench.sample(13.56);
    let live = bench.view().live.unwrap();
    assert_eq!((live.digits.len(), live.unit.as_str()), (5.min(live.digits.len()), "lbf·ft"));
    assert!((live.digits.parse::<f64>().unwrap() - 10.0).abs() < 0.02, "{live:?}");
    let bar = bench.view().bar.unwrap();
    assert!((bar.value - 10.0).abs() < 0.02 && bar.target == 30.0, "{bar:?}");
}

#[test]
fn plans_that_lead_nowhere_are_refused() {
    let good = indicating(Indicated::Typed);
    let refused = |change: &dyn Fn(&mut Plan)| {
        let mut plan = good.clone();
        change(&mut plan);
        let error = plan.check().unwrap_err();
        assert!(!error.remedy().is_empty());
        error
    };
    assert_eq!(good.check(), Ok(()));
    assert!(matches!(refused(&|p| p.indicated = Indicated::AsSet), PlanError::Indicated { .. }));
    assert_eq!(refused(&|p| p.steps.clear()), PlanError::NoSteps);
    assert!(matches!(refused(&|p| p.instrument.sample_rate_hz = 5.0), PlanError::Detector(_)));
    assert!(matches!(refused(&|p| p.instrument.step = crate::bench::nm("0")), PlanError::Step { .. }));
    assert!(matches!(refused(&|p| p.job = "x".repeat(100_000)), PlanError::TooLong { .. }));
    let small = leverarm_metrology::quantity::Torque::from_newton_metres(100.0);
    assert!(matches!(refused(&|p| p.instrument.range = Some(small)), PlanError::Range { .. }));
    assert!(matches!(refused(&|p| p.limit.torque = small), PlanError::TooLow { .. }));
}

/// Every pull that is awaited is told to whoever makes it.
#[test]
fn each_pull_is_announced() {
    let mut bench = Bench::begin(indicating(Indicated::Typed));
    bench.work();
    let mut pulls = 0;
    let mut armed = 0;
    for effect in &bench.effects {
        match effect {
            Effect::Arm(aim) => {
                armed += 1;
                assert_eq!(aim.reading as usize, pulls + 1, "{aim:?}");
            }
            Effect::Write(entry, _) if matches!(entry.did, Did::Taken { .. } | Did::Voided { .. }) => {
                pulls += 1
            }
            _ => {}
        }
    }
    assert!(armed >= 7, "{armed}");
}
