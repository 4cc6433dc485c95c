//! Temperature, humidity and zero against their limits: 18 °C to 28 °C, a change of 2 K at most and a
//! humidity of 90 % at most (ISO 6789-1:2017, 6.3, as the rulebook has it).

use leverarm_session::Effect;
use leverarm_session::view::Ask;
use leverarm_session::{Did, Key};

use crate::bench::{Bench, click_plan, short};

fn title(bench: &Bench) -> String {
    match bench.view().ask {
        Some(Ask::Choice { title, .. } | Ask::Line { title, .. }) => title,
        other => panic!("{other:?}"),
    }
}

fn fault(bench: &Bench) -> Option<String> {
    match bench.view().ask {
        Some(Ask::Line { fault, .. }) => fault,
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_cannot_be_is_typed_again() {
    let mut bench = Bench::begin(short(click_plan()));
    for wrong in ["", "warm", "21,3", "70 F", "210"] {
        bench.type_line(wrong);
        assert!(fault(&bench).is_some(), "{wrong}");
        (0..20).for_each(|_| bench.key(Key::Backspace));
    }
    bench.type_line("21.3 °C");
    bench.type_line("145");
    assert!(fault(&bench).unwrap().contains("145 % cannot be"));
    (0..3).for_each(|_| bench.key(Key::Backspace));
    bench.type_line("45 %");
    let start = bench.session.record().start.clone().unwrap();
    assert_eq!((start.temperature.as_str(), start.humidity.as_str()), ("21.3 °C", "45 %"));
    assert!(start.outside.is_empty() && start.reason.is_none());
}

#[test]
fn outside_is_said_with_both_numbers_and_typed_anew() {
    let mut bench = Bench::begin(short(click_plan()));
    bench.type_line("29.5");
    bench.type_line("92");
    let title = title(&bench);
    assert!(title.contains("29.5 °C is above the 18 °C to 28 °C"), "{title}");
    assert!(title.contains("92 % is above the 90 %"), "{title}");
    bench.press('1');
    bench.type_line("21.0");
    bench.type_line("45");
    assert!(bench.session.record().start.as_ref().unwrap().outside.is_empty());
}

#[test]
fn outside_is_kept_with_a_reason() {
    let mut bench = Bench::begin(short(click_plan()));
    bench.type_line("17.9");
    bench.type_line("45");
    bench.press('2');
    bench.type_line("-");
    assert!(fault(&bench).is_some());
    bench.type_line("customer agreed");
    let start = bench.session.record().start.clone().unwrap();
    assert_eq!(start.reason.as_deref(), Some("-customer agreed"));
    assert_eq!(start.outside.len(), 1);
    let remarks = bench.session.outcome().remarks;
    assert!(remarks[0].contains("17.9 °C is below"), "{remarks:?}");
    assert!(remarks[0].ends_with("went on: -customer agreed"), "{remarks:?}");
}

#[test]
fn the_change_is_checked_at_the_end() {
    let mut bench = Bench::begin(short(click_plan()));
    // the last step is that of the surroundings at the end
    let steps = bench.session.plan().steps.len();
    while bench.session.record().step(bench.session.plan()) + 1 < steps {
        bench.step();
    }
    bench.type_line("23.3");
    bench.type_line("45");
    assert!(bench.session.record().end.is_some(), "two kelvins are allowed");
    bench.press('x');
    bench.press('1');
    while bench.session.record().step(bench.session.plan()) + 1 < steps {
        bench.step();
    }
    bench.type_line("23.4");
    bench.type_line("45");
    assert!(
        title(&bench).to_lowercase().contains("went from 21.3 °c to 23.4 °c, 2.1 k"),
        "{}",
        title(&bench)
    );
    bench.press('2');
    bench.type_line("door was open");
    let Did::Surroundings { outside, reason, .. } = &bench.entries.last().unwrap().did else { panic!() };
    assert_eq!(outside.len(), 1);
    assert_eq!(reason.as_deref(), Some("door was open"));
}

/// A question that is closed comes again; in between the last reading can be struck out.
#[test]
fn the_question_at_the_end_lets_one_strike_out() {
    let mut bench = Bench::begin(short(click_plan()));
    let steps = bench.session.plan().steps.len();
    while bench.session.record().step(bench.session.plan()) + 1 < steps {
        bench.step();
    }
    let valid = bench.valid();
    bench.key(Key::Escape);
    assert!(bench.view().ask.is_none());
    bench.press('x');
    bench.press('1');
    assert_eq!(bench.valid(), valid - 1);
    bench.work();
}

fn at_zero(offset: f64) -> Bench {
    let mut bench = Bench::begin(short(click_plan()));
    while bench.view().step.is_none_or(|step| !step.title.starts_with("Zero")) {
        bench.step();
    }
    bench.zero = offset;
    bench
}

#[test]
fn a_zero_is_taken_when_it_stands_still() {
    let mut bench = at_zero(0.0);
    let count = bench.count();
    bench.enter();
    assert_eq!(bench.count(), count);
    assert!(bench.view().said.last().unwrap().text.contains("does not stand still"));
    for i in 0..400 {
        bench.sample(f64::from(i) * 0.01);
    }
    bench.enter();
    assert_eq!(bench.count(), count, "a zero that runs is none");
    bench.rest(1.0);
    bench.enter();
    assert_eq!(bench.last(), ("0.00 N·m".to_owned(), None));
}

#[test]
fn a_zero_that_is_off_is_set_or_kept_with_a_reason() {
    let mut bench = at_zero(0.12);
    let count = bench.count();
    bench.rest(1.0);
    bench.enter();
    assert!(title(&bench).contains("it shows 0.12 N·m"), "{}", title(&bench));
    bench.press('1');
    // whoever can sets the display to zero; here the bench of the test does
    assert!(bench.effects.contains(&Effect::SetZero));
    assert_eq!(bench.zero, 0.0);
    bench.rest(1.0);
    bench.enter();
    assert_eq!(bench.last(), ("0.00 N·m".to_owned(), None));
    assert_eq!(bench.count(), count + 1);

    let mut bench = at_zero(-0.12);
    bench.rest(1.0);
    bench.enter();
    bench.press('2');
    bench.type_line("no zero key");
    assert_eq!(bench.last(), ("-0.12 N·m".to_owned(), None));
    assert_eq!(bench.session.record().readings.last().unwrap().note, "no zero key");
}
