//! What the keys do: strike out, pause, another technician, sound, leave.

use leverarm_session::view::Ask;
use leverarm_session::{Cue, Did, Effect, Key};

use crate::bench::{Bench, Hand, click_plan, short};

fn points() -> Bench {
    Bench::at_points(short(click_plan()))
}

#[test]
fn a_reading_is_struck_out_with_a_ready_reason_and_replaced() {
    let mut bench = points();
    bench.pull(Hand::click(40.0, 40.1));
    let (count, valid) = (bench.count(), bench.valid());
    bench.press('x');
    let Some(Ask::Choice { title, choices }) = bench.view().ask else { panic!() };
    assert!(title.contains(&format!("reading {count}")), "{title}");
    assert!(bench.aim.is_none());
    assert_eq!(choices[0].0, '1');
    bench.press('1');
    assert_eq!((bench.count(), bench.valid()), (count, valid - 1));
    assert_eq!(bench.last().1.as_deref(), Some("the hand slipped"));
    assert!(bench.view().rows.iter().any(|row| row.void.is_some()));
    bench.pull(Hand::click(40.0, 40.3));
    assert_eq!((bench.count(), bench.valid()), (count + 1, valid));
    // the time and the digits of what was struck stay
    let csv = leverarm_session::readings_csv(&bench.session.outcome()).unwrap();
    let csv = String::from_utf8(csv).unwrap();
    assert!(csv.contains(",void,the hand slipped,"), "{csv}");
}

#[test]
fn a_typed_reason_says_something() {
    let mut bench = points();
    bench.pull(Hand::click(40.0, 40.1));
    bench.press('x');
    bench.press('9');
    bench.type_line("  ... ");
    let Some(Ask::Line { fault, .. }) = bench.view().ask else { panic!() };
    assert_eq!(fault.as_deref(), Some("type the reason"));
    bench.type_line("socket, \"worn\"\u{1b}[2J");
    assert_eq!(bench.last().1.as_deref(), Some("... socket, \"worn\"[2J"));
}

#[test]
fn escape_leaves_a_reading_alone() {
    let mut bench = points();
    bench.pull(Hand::click(40.0, 40.1));
    let valid = bench.valid();
    bench.press('x');
    bench.press('9');
    bench.press('a');
    bench.key(Key::Backspace);
    bench.key(Key::Escape);
    bench.key(Key::Escape);
    assert!(bench.view().ask.is_none());
    assert_eq!(bench.valid(), valid);
    bench.pull(Hand::click(40.0, 40.1));
    assert_eq!(bench.valid(), valid + 1);
}

/// The last reading may be of the step before: the work goes back to it, and the record stays in the
/// order of the work.
#[test]
fn striking_the_last_of_a_step_goes_back_to_it() {
    let mut bench = points();
    bench.pull(Hand::click(40.0, 40.1));
    bench.pull(Hand::click(40.0, 40.1));
    assert!(bench.aim.as_ref().unwrap().target.value() > 100.0);
    bench.press('x');
    bench.press('2');
    assert_eq!(bench.aim.as_ref().unwrap().target.value(), 40.0);
    bench.work();
    let rows = bench.session.outcome().rows;
    let points: Vec<f64> = rows
        .iter()
        .filter(|row| row.series.word() == "points" && row.void.is_none())
        .map(|row| row.target.value())
        .collect();
    assert!(points.is_sorted(), "{points:?}");
    assert_eq!(points.len(), 6);
}

#[test]
fn striking_goes_from_the_last_backwards_through_zeros_and_preloads() {
    let mut bench = points();
    let valid = bench.valid();
    for left in (0..valid).rev() {
        bench.press('x');
        bench.press('4');
        assert_eq!(bench.valid(), left);
    }
    bench.press('x');
    assert!(bench.view().said.last().unwrap().text.contains("no reading to strike out"));
    bench.work();
    assert!(bench.is_finished);
}

#[test]
fn after_the_end_a_reading_can_still_be_struck_and_the_room_is_asked_anew() {
    let mut bench = Bench::begin(short(click_plan()));
    while bench.session.record().end.is_none() {
        bench.step();
    }
    assert!(matches!(bench.view().ask, Some(Ask::Finished { .. })));
    assert!(!bench.is_finished);
    bench.press('x');
    bench.press('1');
    assert!(bench.session.record().end.is_none());
    bench.work();
    assert!(bench.is_finished);
    assert!(bench.session.record().end.is_some());
    let entries = bench.entries.len();
    bench.press('x');
    bench.press('p');
    assert_eq!(bench.entries.len(), entries);
}

#[test]
fn a_pause_says_by_whom_and_stops_everything() {
    let mut bench = points();
    bench.press('p');
    let Some(Ask::Paused { words }) = bench.view().ask else { panic!() };
    assert!(words.starts_with("Paused by Runa Hjaltevik since 08:4"), "{words}");
    assert!(bench.aim.is_none());
    let entries = bench.entries.len();
    bench.pull(Hand::click(40.0, 40.1));
    assert_eq!(bench.entries.len(), entries);
    bench.press('p');
    assert!(bench.view().ask.is_none() && bench.aim.is_some());
    let pause = &bench.session.outcome().pauses[0];
    assert!(pause.to.unwrap() > pause.from);
    let valid = bench.valid();
    bench.pull(Hand::click(40.0, 40.1));
    assert_eq!(bench.valid(), valid + 1);
}

#[test]
fn another_technician_takes_over() {
    let mut bench = points();
    bench.press('t');
    bench.key(Key::Escape);
    assert!(bench.view().ask.is_none());
    bench.press('t');
    bench.type_line("");
    assert!(matches!(bench.view().ask, Some(Ask::Line { fault: Some(_), .. })));
    bench.type_line("Eskil Marnburg");
    assert_eq!(bench.view().technician, "Eskil Marnburg");
    bench.pull(Hand::click(40.0, 40.1));
    let outcome = bench.session.outcome();
    assert_eq!(outcome.rows.last().unwrap().technician, "Eskil Marnburg");
    assert_eq!(outcome.rows[0].technician, "Runa Hjaltevik");
    let names: Vec<&str> = outcome.technicians.iter().map(|span| span.name.as_str()).collect();
    assert_eq!(names, ["Runa Hjaltevik", "Eskil Marnburg"]);
    assert!(outcome.technicians[0].to <= outcome.technicians[1].from);
}

#[test]
fn the_sound_can_be_turned_off() {
    let mut bench = points();
    bench.press('s');
    assert!(!bench.view().has_sound);
    let cues = bench.cues.len();
    bench.pull(Hand::click(40.0, 40.1));
    assert_eq!(bench.cues.len(), cues);
    bench.press('s');
    bench.pull(Hand::click(40.0, 40.1));
    assert_eq!(bench.cues.last(), Some(&Cue::Taken));
}

#[test]
fn leaving_says_how_to_go_on_and_nothing_follows() {
    let mut bench = points();
    bench.press('l');
    assert_eq!(bench.effects[bench.effects.len() - 2..], [Effect::Disarm, Effect::Leave]);
    assert!(bench.view().said.last().unwrap().text.contains("goes on where this stopped"));
    let entries = bench.entries.len();
    bench.pull(Hand::click(40.0, 40.1));
    bench.enter();
    assert_eq!(bench.entries.len(), entries);
}

/// A bad pull cannot be made to vanish by a key.
#[test]
fn a_key_in_the_middle_of_a_pull_keeps_the_pull() {
    for key in ['x', 'p', 't', 'l'] {
        let mut bench = points();
        let count = bench.count();
        bench.rest(0.8);
        let mut is_pressed = false;
        bench.bare_pull(Hand::click(40.0, 40.1), |bench, t| {
            if t > 1.0 && !std::mem::replace(&mut is_pressed, true) {
                bench.press(key);
            }
        });
        let voided = bench.session.record().readings[count].void.clone().unwrap();
        assert!(voided.contains("broken off by a key"), "{key}: {voided}");
        match key {
            'x' => assert!(matches!(bench.view().ask, Some(Ask::Choice { .. }))),
            'p' => assert!(matches!(bench.view().ask, Some(Ask::Paused { .. }))),
            't' => assert!(matches!(bench.view().ask, Some(Ask::Line { .. }))),
            _ => assert!(bench.has_left),
        }
    }
}

#[test]
fn cautions_come_before_the_first_pull_and_are_on_record() {
    let mut bench = Bench::begin(short(click_plan()));
    bench.type_line("21.3");
    bench.type_line("45");
    let Some(Ask::Cautions { before, cautions }) = bench.view().ask else { panic!() };
    assert_eq!(before, "Preload, clockwise");
    assert!(!cautions.is_empty());
    assert!(bench.aim.is_none());
    let entries = bench.entries.len();
    bench.pull(Hand::click(200.0, 200.1));
    assert_eq!(bench.entries.len(), entries, "nothing is watched before");
    bench.key(Key::Escape);
    bench.press('y');
    assert!(matches!(bench.view().ask, Some(Ask::Cautions { .. })));
    bench.enter();
    let entry = bench.entries.last().unwrap();
    assert_eq!(entry.technician, "Runa Hjaltevik");
    assert_eq!(entry.did, Did::Acknowledged { step: 1, cautions });
    assert!(bench.aim.is_some());
}

#[test]
fn who_is_at_the_bench_is_asked_first() {
    let mut plan = short(click_plan());
    plan.technician = None;
    let mut bench = Bench::begin(plan);
    assert!(matches!(bench.view().ask, Some(Ask::Line { title, .. }) if title == "Who is at the bench?"));
    bench.key(Key::Escape);
    bench.press('x');
    assert!(matches!(bench.view().ask, Some(Ask::Line { .. })));
    bench.type_line("Runa Hjaltevik");
    bench.work();
    assert!(bench.session.outcome().rows.iter().all(|row| row.technician == "Runa Hjaltevik"));
}
