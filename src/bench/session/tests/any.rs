//! Any inputs in any order: no panic, one write at a time, entries without a gap that fold to the
//! record.

use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::reading::{Direction, Recorded};
use leverarm_metrology::tool::ToolClass;
use leverarm_session::{Effect, Entry, Indicated, Input, Key, News, Plan, Record, Session};
use proptest::prelude::*;

use crate::bench::{click_plan, plan_of, short, time, tool};

#[derive(Debug, Clone)]
enum Move {
    Key(Key),
    /// torque and how many samples
    Torque(f64, u16),
    /// from the torque before to this one, over so many samples
    Ramp(f64, u16),
    Time(f64),
    OtherUnit,
    News(u8),
    Answer,
    WrongAnswer(u64),
    Refuse,
    View,
}

fn key() -> impl Strategy<Value = Key> {
    prop_oneof![
        Just(Key::Enter),
        Just(Key::Enter),
        Just(Key::Escape),
        Just(Key::Backspace),
        prop::sample::select("xptsy12459 0.-".chars().collect::<Vec<char>>()).prop_map(Key::Char),
        any::<char>().prop_map(Key::Char),
    ]
}

fn any_move() -> impl Strategy<Value = Move> {
    prop_oneof![
        4 => key().prop_map(Move::Key),
        3 => (-300.0..300.0_f64, 1_u16..600).prop_map(|(torque, n)| Move::Torque(torque, n)),
        3 => (1_u16..800).prop_map(|n| Move::Torque(0.0, n)),
        4 => (-50.0..260.0_f64, 1_u16..1500).prop_map(|(torque, n)| Move::Ramp(torque, n)),
        1 => prop_oneof![Just(f64::NAN), Just(f64::INFINITY), -1e9..1e9_f64].prop_map(Move::Time),
        1 => Just(Move::OtherUnit),
        1 => (0_u8..4).prop_map(Move::News),
        6 => Just(Move::Answer),
        1 => any::<u64>().prop_map(Move::WrongAnswer),
        1 => Just(Move::Refuse),
        2 => Just(Move::View),
    ]
}

struct Any {
    session: Session,
    plan: Plan,
    clock_s: f64,
    last: f64,
    outstanding: Option<Entry>,
    disk: Vec<Entry>,
}

impl Any {
    fn on(&mut self, input: Input) {
        let effects = self.session.on(input, time(self.clock_s));
        self.follow(effects);
    }

    fn follow(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            if let Effect::Write(entry, _) = effect {
                assert!(self.outstanding.is_none(), "two writes at once");
                assert_eq!(entry.number, self.disk.len() as u64 + 1);
                self.outstanding = Some(*entry);
            }
        }
    }

    fn sample(&mut self, torque: f64) {
        self.last = torque;
        self.clock_s += 1.0 / crate::bench::RATE_HZ;
        let recorded = Recorded::new(&format!("{torque:.2}"), TorqueUnit::NewtonMetre).unwrap();
        self.on(Input::Sample { time_s: self.clock_s, recorded });
    }

    fn go(&mut self, step: &Move) {
        match step {
            Move::Key(key) => self.on(Input::Key(*key)),
            Move::Torque(torque, n) => (0..*n).for_each(|_| self.sample(*torque)),
            Move::Ramp(torque, n) => {
                let from = self.last;
                for i in 1..=*n {
                    self.sample(from + (torque - from) * f64::from(i) / f64::from(*n));
                }
            }
            Move::Time(time_s) => {
                let recorded = Recorded::new("1.00", TorqueUnit::NewtonMetre).unwrap();
                self.on(Input::Sample { time_s: *time_s, recorded });
            }
            Move::OtherUnit => {
                let recorded = Recorded::new("1.00", TorqueUnit::PoundForceFoot).unwrap();
                self.on(Input::Sample { time_s: self.clock_s, recorded });
            }
            Move::News(which) => self.on(Input::News(match which {
                0 => News::Connected,
                1 => News::Lost { message: "\u{1b}[2J gone".into(), remedy: String::new() },
                2 => News::Silent { seconds: 3 },
                _ => News::Misread { message: "x".repeat(10_000) },
            })),
            Move::Answer => {
                if let Some(entry) = self.outstanding.take() {
                    let number = entry.number;
                    self.disk.push(entry);
                    self.on(Input::Written(number));
                }
            }
            Move::WrongAnswer(number) => {
                if self.outstanding.as_ref().is_none_or(|entry| entry.number != *number) {
                    self.on(Input::Written(*number));
                }
            }
            Move::Refuse => {
                if self.outstanding.take().is_some() {
                    self.on(Input::Refused { message: "full".into() });
                    self.on(Input::Key(Key::Enter));
                }
            }
            Move::View => {
                let view = self.session.view();
                if let Some(bar) = view.bar {
                    assert!(bar.end > 0.0 && bar.value >= 0.0 && bar.highest >= 0.0);
                }
            }
        }
    }
}

fn plans() -> [Plan; 3] {
    let tool = tool(ToolClass::IC, &[Direction::Clockwise]);
    [
        short(click_plan()),
        short(plan_of(tool.clone(), "iso-6789-1", Indicated::Typed)),
        short(plan_of(tool, "iso-6789-2", Indicated::AtTarget)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(160))]

    #[test]
    fn any_inputs_are_survived(which in 0_usize..3, moves in prop::collection::vec(any_move(), 1..120)) {
        let plan = plans()[which].clone();
        let (session, effects) = Session::begin(plan.clone(), time(0.0)).unwrap();
        let mut any = Any { session, plan, clock_s: 0.0, last: 0.0, outstanding: None, disk: Vec::new() };
        any.follow(effects);
        // past the first questions, lest most draws end there
        for step in "a21\n45\n\n".chars() {
            any.go(&Move::Answer);
            any.go(&Move::Key(match step { '\n' => Key::Enter, 'a' => Key::Escape, c => Key::Char(c) }));
            if step == 'a' {
                any.go(&Move::Key(Key::Enter));
            }
        }
        for step in &moves {
            any.go(step);
        }
        any.go(&Move::Answer);
        let mut record = Record::default();
        for entry in &any.disk {
            record.apply(&any.plan, entry).unwrap();
        }
        if any.outstanding.is_none() {
            prop_assert_eq!(&record, any.session.record());
        }
        let _ = leverarm_session::readings_csv(&any.session.outcome()).unwrap();
    }
}
