//! On disk before it is said; one write at a time; a disk that refuses.

use leverarm_session::view::Ask;
use leverarm_session::{Cue, Did, Effect, Input, Key};

use crate::bench::{Bench, Hand, click_plan, short};

#[test]
fn nothing_is_said_before_it_is_written() {
    let mut bench = Bench::at_points(short(click_plan()));
    let (cues, valid, said) = (bench.cues.len(), bench.valid(), bench.view().said);
    bench.is_slow = true;
    bench.pull(Hand::click(40.0, 40.1));
    let Did::Taken { reading } = &bench.entries.last().unwrap().did else { panic!() };
    let wanted = format!("Reading {}: {}", reading.number, reading.reference);
    assert_eq!(bench.valid(), valid);
    assert_eq!(bench.view().said, said);
    assert!(bench.view().rows.iter().all(|row| row.number != valid as u32 + 1));
    assert!(!bench.cues[cues..].contains(&Cue::Taken));
    bench.is_slow = false;
    bench.sync();
    assert_eq!(bench.valid(), valid + 1);
    assert_eq!(bench.view().said.last().unwrap().text, wanted);
    assert_eq!(bench.cues.last(), Some(&Cue::Taken));
}

#[test]
fn a_pull_while_the_disk_works_is_kept_and_the_second_is_taken_after_it() {
    let mut bench = Bench::at_points(short(click_plan()));
    let valid = bench.valid();
    bench.is_slow = true;
    bench.pull(Hand::click(40.0, 40.1));
    bench.pull(Hand::click(40.0, 40.2));
    assert_eq!(bench.outstanding.len(), 1);
    bench.is_slow = false;
    bench.sync();
    assert_eq!(bench.valid(), valid + 2);
}

/// The second pull completes nothing: the step was done with the first.
#[test]
fn a_pull_too_many_is_no_reading_of_the_next_step() {
    let mut bench = Bench::at_points(short(click_plan()));
    bench.pull(Hand::click(40.0, 40.1));
    let count = bench.count();
    bench.is_slow = true;
    bench.pull(Hand::click(40.0, 40.1));
    bench.pull(Hand::click(40.0, 40.1));
    bench.is_slow = false;
    bench.sync();
    assert_eq!(bench.count(), count + 1);
    let Did::Disregarded { reason, .. } = &bench.entries.last().unwrap().did else { panic!() };
    assert_eq!(reason, "it was pulled before it was asked for");
    bench.work();
    assert!(bench.is_finished);
}

#[test]
fn a_disk_that_refuses_and_then_takes_it() {
    let mut bench = Bench::at_points(short(click_plan()));
    let valid = bench.valid();
    bench.is_slow = true;
    bench.pull(Hand::click(40.0, 40.1));
    bench.refuse();
    assert_eq!(bench.valid(), valid);
    let Some(Ask::Choice { title, .. }) = bench.view().ask else { panic!() };
    assert!(title.contains("no space left"), "{title}");
    bench.on(Input::Key(Key::Char('x')));
    assert_eq!(bench.valid(), valid);
    bench.is_slow = false;
    bench.enter();
    assert_eq!(bench.valid(), valid + 1);
    assert!(bench.traces.last().unwrap().file.ends_with(&format!("{:04}.ltrc", valid + 1)));
}

#[test]
fn a_disk_that_refuses_and_is_left() {
    let mut bench = Bench::at_points(short(click_plan()));
    bench.is_slow = true;
    bench.pull(Hand::click(40.0, 40.1));
    bench.refuse();
    bench.press('l');
    assert_eq!(bench.effects.last(), Some(&Effect::Leave));
    let entries = bench.entries.clone();
    let resumed = Bench::resume(short(click_plan()), &entries, 1000.0);
    assert_eq!(resumed.session.record().readings, bench.session.record().readings);
}

/// What was not on the screen is not acknowledged by a key that was pressed before it came.
#[test]
fn keys_in_between_answer_nothing_unseen() {
    let mut bench = Bench::begin(short(click_plan()));
    bench.is_slow = true;
    bench.type_line("21.3");
    bench.type_line("45");
    bench.enter();
    bench.enter();
    bench.is_slow = false;
    bench.sync();
    assert!(matches!(bench.view().ask, Some(Ask::Cautions { .. })), "{:?}", bench.view().ask);
    // typed text is not lost
    let mut plan = short(click_plan());
    plan.technician = None;
    let mut bench = Bench::begin(plan);
    bench.is_slow = true;
    bench.type_line("Runa Hjaltevik");
    bench.type_line("21.3");
    bench.type_line("45");
    bench.is_slow = false;
    bench.sync();
    assert_eq!(bench.session.record().start.as_ref().unwrap().temperature, "21.3 °C");
}
