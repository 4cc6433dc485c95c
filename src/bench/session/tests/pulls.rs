//! Pulls that do not count, and movements that are none.

use leverarm_pull::codec;
use leverarm_session::view::{Phase, Tone};
use leverarm_session::{Cue, Did, Input, News};

use crate::bench::{Bench, Hand, click_plan, short};

fn points() -> Bench {
    Bench::at_points(short(click_plan()))
}

fn void_of(hand: Hand) -> (Bench, String) {
    let mut bench = points();
    let before = bench.valid();
    bench.pull(hand);
    assert_eq!(bench.valid(), before, "{:?}", bench.last());
    let reason = bench.last().1.unwrap();
    assert_eq!(bench.cues.last(), Some(&Cue::Voided));
    (bench, reason)
}

#[test]
fn too_fast_is_said_with_both_numbers_and_kept_with_its_trace() {
    let (bench, reason) = void_of(Hand { loading_s: 0.31, ..Hand::click(40.0, 40.1) });
    assert!(reason.starts_with("80 % to 100 % took 0.3"), "{reason}");
    assert!(reason.contains(" s, the rulebook wants at least "), "{reason}");
    let kept = bench.session.record().readings.last().unwrap();
    let name = &kept.trace.as_ref().unwrap().file;
    assert!(bench.traces.iter().any(|trace| trace.file == *name && codec::decode(&trace.bytes).is_ok()));
    let said = bench.view().said;
    assert!(said.iter().any(|s| s.tone == Tone::Bad && s.text.contains("does not count")));
    assert!(said.iter().any(|s| s.text.contains("pull more slowly")), "{said:?}");
    // the reading is asked again
    assert_eq!(bench.view().step.unwrap().reading, Some(1));
    assert!(bench.aim.is_some());
}

#[test]
fn a_tool_that_never_released() {
    let (_, reason) = void_of(Hand::show(40.0, 41.0));
    assert!(reason.contains("never released"), "{reason}");
}

#[test]
fn a_pull_that_stopped_short() {
    let (_, reason) = void_of(Hand::show(40.0, 25.0));
    assert!(reason.contains("under 80 % of the target of 40 N·m"), "{reason}");
}

#[test]
fn a_hand_that_went_on_above_the_limit() {
    let mut bench = points();
    bench.work_until(|aim| aim.target.value() == 200.0 && aim.series.word() == "points");
    bench.pull(Hand { beyond: 20.0, ..Hand::click(200.0, 200.4) });
    let reason = bench.last().1.unwrap();
    assert!(reason.contains("above the limit of 208.33 N·m"), "{reason}");
    assert!(bench.cues.contains(&Cue::Stop));
    assert!(bench.view().said.iter().any(|s| s.text.contains("Let go")), "{:?}", bench.view().said);
}

/// A tool found far out of tolerance is to be on record as it is.
#[test]
fn a_tool_that_releases_above_the_limit_is_taken_with_a_note() {
    let mut bench = points();
    bench.work_until(|aim| aim.target.value() == 200.0 && aim.series.word() == "points");
    let before = bench.valid();
    bench.pull(Hand::click(200.0, 215.0));
    assert_eq!(bench.valid(), before + 1, "{:?}", bench.last());
    let kept = bench.session.record().readings.last().unwrap();
    assert!((kept.reference.value() - 215.0).abs() < 0.05);
    assert!(kept.note.contains("above the limit of 208.33 N·m"), "{}", kept.note);
}

#[test]
fn what_is_left_after_a_pull() {
    let (_, reason) = void_of(Hand { rest: 1.5, ..Hand::click(40.0, 40.1) });
    assert!(reason.contains("were left after it"), "{reason}");
}

#[test]
fn a_preload_is_judged_by_what_matters_for_it() {
    let mut bench = Bench::begin(short(click_plan()));
    bench.work_until(|aim| aim.series.word() == "preload");
    bench.pull(Hand { loading_s: 0.3, ..Hand::click(200.0, 201.0) });
    assert_eq!(bench.valid(), 1, "{:?}", bench.last());
    bench.pull(Hand { beyond: 20.0, ..Hand::click(200.0, 201.0) });
    assert_eq!(bench.valid(), 1);
    assert!(bench.last().1.unwrap().contains("above the limit"));
    bench.pull(Hand::show(200.0, 204.0));
    assert!(bench.last().1.unwrap().contains("never released"));
}

#[test]
fn a_bump_is_no_reading() {
    let mut bench = points();
    let before = bench.count();
    bench.pull(Hand::show(40.0, 6.0));
    assert_eq!(bench.count(), before);
    let Did::Disregarded { reason, trace, .. } = &bench.entries.last().unwrap().did else { panic!() };
    assert!(reason.contains("under 30 % of the target of 40 N·m"), "{reason}");
    assert!(bench.traces.iter().any(|file| file.file == trace.file));
    assert!(bench.aim.is_some());
}

#[test]
fn a_pull_the_other_way_is_said() {
    let mut bench = points();
    let before = bench.entries.len();
    bench.pull(Hand { sign: -1.0, ..Hand::click(40.0, 40.1) });
    assert_eq!(bench.entries.len(), before);
    let said = bench.view().said;
    assert!(
        said.iter().any(|s| s.text == "The torque goes counter-clockwise; clockwise is asked."),
        "{said:?}"
    );
}

#[test]
fn an_instrument_that_is_lost_in_the_middle() {
    let mut bench = points();
    bench.rest(0.8);
    let lost = News::Lost { message: "the cable is out".into(), remedy: "plug it in".into() };
    let mut is_lost = false;
    bench.bare_pull(Hand::click(40.0, 40.1), |bench, t| {
        if t > 1.0 && !std::mem::replace(&mut is_lost, true) {
            bench.on(Input::News(lost.clone()));
            bench.on(Input::News(News::Connected));
        }
    });
    let voided: Vec<_> =
        bench.session.record().readings.iter().filter_map(|kept| kept.void.clone()).collect();
    assert!(voided.len() == 1 && voided[0].contains("the instrument was lost during the pull"), "{voided:?}");
    bench.rest(1.5);
    let before = bench.valid();
    bench.pull(Hand::click(40.0, 40.1));
    assert_eq!(bench.valid(), before + 1, "{:?}", bench.last());
}

#[test]
fn a_load_that_stays_on_is_no_zero() {
    let mut bench = points();
    bench.press('p');
    bench.press('p');
    (0..1000).for_each(|_| bench.sample(30.0));
    assert!(
        bench.view().said.iter().any(|s| s.text.starts_with("Take the load off: the display stands at "))
    );
    assert_ne!(bench.view().live.unwrap().phase, Phase::Ready);
    let before = bench.valid();
    bench.rest(2.0);
    bench.pull(Hand::click(40.0, 40.1));
    assert_eq!(bench.valid(), before + 1, "{:?}", bench.last());
}

#[test]
fn the_phases_of_a_pull() {
    let mut bench = points();
    bench.rest(0.8);
    assert_eq!(bench.view().live.unwrap().phase, Phase::Ready);
    let mut seen = Vec::new();
    bench.bare_pull(Hand::click(40.0, 40.1), |bench, _| {
        let view = bench.view();
        let phase = view.live.unwrap().phase;
        if seen.last() != Some(&phase) {
            seen.push(phase);
        }
        if phase == Phase::Slowly {
            assert!(view.meter.unwrap().is_running);
        }
        let bar = view.bar.unwrap();
        assert!(bar.highest >= bar.value - 1e-9 || phase == Phase::Ready, "{bar:?}");
    });
    assert_eq!(seen, [Phase::Ready, Phase::Pulling, Phase::Slowly, Phase::LetGo]);
    let meter = bench.view().meter.unwrap();
    assert!(!meter.is_running && (meter.seconds - 2.0).abs() < 0.1, "{meter:?}");
}
