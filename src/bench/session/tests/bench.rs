//! The bench of the tests: a plan, a clock, a disk, and pulls made of numbers.

use chrono::{DateTime, FixedOffset, TimeDelta};
use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::reading::{Direction, Recorded};
use leverarm_metrology::rulebook::{Rulebook, embedded};
use leverarm_metrology::run::Condition;
use leverarm_metrology::sequence::{Action, sequence};
use leverarm_metrology::tool::{Tool, ToolClass, TorqueRange};
use leverarm_pull::detector::Sense;
use leverarm_session::entry::Did;
use leverarm_session::journal::{self, Chain};
use leverarm_session::plan::{InputFile, Instrument, Limit};
use leverarm_session::view::{Ask, View};
use leverarm_session::{Aim, Cue, Effect, Entry, Indicated, Input, Key, News, Plan, Session, TraceFile};

pub use crate::hand::Hand;
use crate::hand::along;

pub const RATE_HZ: f64 = 500.0;

pub fn nm(digits: &str) -> Recorded {
    Recorded::new(digits, TorqueUnit::NewtonMetre).unwrap()
}

pub fn tool(class: ToolClass, directions: &[Direction]) -> Tool {
    Tool {
        class,
        maker: "Brundholt".into(),
        model: "BC 200".into(),
        serial: "26-01743".into(),
        range: TorqueRange { lower: nm("40"), upper: nm("200") },
        resolution: Some(nm("1")),
        directions: directions.to_vec(),
        claim: None,
        drive: Some("1/2 in square".into()),
        head: None,
        length: None,
        uses: None,
        owner_mark: None,
    }
}

pub fn plan_of(tool: Tool, name: &str, indicated: Indicated) -> Plan {
    let rulebook = Rulebook::parse(embedded(name).unwrap().text).unwrap();
    let permissible = rulebook.governing_limit(&tool).unwrap().permissible;
    Plan {
        job: "SK-2026-0412".into(),
        condition: Condition::AsFound,
        steps: sequence(&tool, &rulebook, None).unwrap(),
        rulebook: rulebook.name.clone(),
        title: rulebook.title.clone(),
        room: rulebook.environment.clone(),
        permissible,
        limit: Limit::of(&tool, &rulebook, permissible),
        instrument: Instrument {
            name: "RT-250 display".into(),
            sample_rate_hz: RATE_HZ,
            step: nm("0.01"),
            range: Some(Torque::from_newton_metres(250.0)),
            clockwise: Sense::Positive,
            mains_hz: None,
            filter: None,
        },
        indicated,
        technician: Some("Runa Hjaltevik".into()),
        inputs: vec![InputFile { name: "run.toml".into(), sha256: "00".repeat(32) }],
        tool,
    }
}

/// A click wrench, clockwise, by part 1: one environment, five preloads, a zero, three points of five.
pub fn click_plan() -> Plan {
    plan_of(tool(ToolClass::IIA, &[Direction::Clockwise]), "iso-6789-1", Indicated::AsSet)
}

/// The same with one preload and two readings at each point, for tests that need only the way.
pub fn short(mut plan: Plan) -> Plan {
    for step in &mut plan.steps {
        if let Action::Readings(readings) = &mut step.action {
            readings.count = readings.count.min(2);
        }
    }
    plan
}

/// The bench: session, disk, clock.
pub struct Bench {
    pub session: Session,
    pub entries: Vec<Entry>,
    pub bytes: Vec<u8>,
    pub traces: Vec<TraceFile>,
    pub effects: Vec<Effect>,
    pub aim: Option<Aim>,
    pub cues: Vec<Cue>,
    pub is_finished: bool,
    pub has_left: bool,
    /// effects that write wait here while the disk is slow
    pub is_slow: bool,
    pub outstanding: Vec<u64>,
    pub unit: TorqueUnit,
    pub zero: f64,
    pub calls: u64,
    chain: Chain,
    clock_s: f64,
    ticks: u64,
    noise: u64,
}

impl Bench {
    pub fn begin(plan: Plan) -> Bench {
        let unit = plan.instrument.step.unit();
        let (session, effects) = Session::begin(plan, time(0.0)).unwrap();
        let mut bench = Bench::of(session, unit);
        bench.follow(effects);
        bench.on(Input::News(News::Connected));
        bench
    }

    pub fn resume(plan: Plan, entries: &[Entry], from_s: f64) -> Bench {
        let unit = plan.instrument.step.unit();
        let (session, effects) = Session::resume(plan, entries).unwrap();
        let mut bench = Bench::of(session, unit);
        bench.clock_s = from_s;
        for entry in entries {
            let (bytes, chain) = journal::encode(&bench.chain, entry).unwrap();
            bench.bytes.extend(bytes);
            bench.chain = chain;
        }
        bench.entries = entries.to_vec();
        bench.follow(effects);
        bench.on(Input::News(News::Connected));
        bench
    }

    fn of(session: Session, unit: TorqueUnit) -> Bench {
        Bench {
            session,
            entries: Vec::new(),
            bytes: Vec::new(),
            traces: Vec::new(),
            effects: Vec::new(),
            aim: None,
            cues: Vec::new(),
            is_finished: false,
            has_left: false,
            is_slow: false,
            outstanding: Vec::new(),
            unit,
            zero: 0.0,
            calls: 0,
            chain: Chain::start(),
            clock_s: 0.0,
            ticks: 0,
            noise: 1,
        }
    }

    pub fn clock_s(&self) -> f64 {
        self.clock_s
    }

    pub fn wait(&mut self, seconds: f64) {
        self.clock_s += seconds;
    }

    pub fn on(&mut self, input: Input) {
        self.calls += 1;
        let effects = self.session.on(input, time(self.clock_s));
        self.follow(effects);
    }

    fn follow(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match &effect {
                Effect::Write(entry, trace) => {
                    assert!(self.outstanding.is_empty(), "two writes at once");
                    let (bytes, chain) = journal::encode(&self.chain, entry).unwrap();
                    if let Some(trace) = trace {
                        self.traces.push(trace.clone());
                    }
                    self.bytes.extend(bytes);
                    self.chain = chain;
                    self.entries.push(Entry::clone(entry));
                    self.outstanding.push(entry.number);
                }
                Effect::Arm(aim) => self.aim = Some(aim.clone()),
                Effect::Disarm => self.aim = None,
                Effect::SetZero => self.zero = 0.0,
                Effect::Sound(cue) => self.cues.push(*cue),
                Effect::Finish => self.is_finished = true,
                Effect::Leave => self.has_left = true,
            }
            self.effects.push(effect);
        }
        if !self.is_slow {
            self.sync();
        }
    }

    /// The disk says what it has.
    pub fn sync(&mut self) {
        while let Some(number) = self.outstanding.pop() {
            self.on(Input::Written(number));
        }
    }

    /// The disk refuses the entry that is on its way.
    pub fn refuse(&mut self) {
        self.outstanding.pop().unwrap();
        let entry = self.entries.pop().unwrap();
        // the journal is what it was before
        self.bytes.clear();
        self.chain = Chain::start();
        for entry in &self.entries {
            let (bytes, chain) = journal::encode(&self.chain, entry).unwrap();
            self.bytes.extend(bytes);
            self.chain = chain;
        }
        if matches!(entry.did, Did::Taken { .. } | Did::Voided { .. } | Did::Disregarded { .. }) {
            self.traces.pop();
        }
        self.on(Input::Refused { message: "no space left".into() });
    }

    pub fn key(&mut self, key: Key) {
        self.wait(0.2);
        self.on(Input::Key(key));
    }

    pub fn press(&mut self, c: char) {
        self.key(Key::Char(c));
    }

    pub fn enter(&mut self) {
        self.key(Key::Enter);
    }

    pub fn type_line(&mut self, text: &str) {
        text.chars().for_each(|c| self.press(c));
        self.enter();
    }

    /// One sample, in the unit of the display.
    pub fn sample(&mut self, torque: f64) {
        // a ripple of a display's last digit in the place of noise
        self.noise =
            self.noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let ripple = ((self.noise >> 40) as f64 / (1u64 << 24) as f64 - 0.5) * 0.02;
        self.ticks += 1;
        self.clock_s += 1.0 / RATE_HZ;
        let digits = format!("{:.2}", torque + self.zero + ripple);
        let recorded = Recorded::new(&digits, self.unit).unwrap();
        self.on(Input::Sample { time_s: self.ticks as f64 / RATE_HZ, recorded });
    }

    pub fn rest(&mut self, seconds: f64) {
        (0..(seconds * RATE_HZ) as u32).for_each(|_| self.sample(0.0));
    }

    /// A pull between two rests.
    pub fn pull(&mut self, hand: Hand) {
        self.rest(0.8);
        self.bare_pull(hand, |_, _| {});
        (0..(0.8 * RATE_HZ) as u32).for_each(|_| self.sample(hand.rest * hand.sign));
    }

    pub fn bare_pull(&mut self, hand: Hand, mut at: impl FnMut(&mut Bench, f64)) {
        let knots = hand.knots();
        let end_s = knots.last().unwrap().0;
        for i in 0..(end_s * RATE_HZ).ceil() as u32 {
            let t = f64::from(i) / RATE_HZ;
            self.sample(hand.sign * along(&knots, t));
            at(self, t);
        }
    }

    pub fn view(&self) -> View {
        self.session.view()
    }

    /// What the record says of the last reading: digits, reason of its void.
    pub fn last(&self) -> (String, Option<String>) {
        let kept = self.session.record().readings.last().unwrap();
        (kept.reference.to_string(), kept.void.clone())
    }

    pub fn count(&self) -> usize {
        self.session.record().readings.len()
    }

    pub fn valid(&self) -> usize {
        self.session.record().readings.iter().filter(|kept| kept.void.is_none()).count()
    }

    /// The value of the aim in the unit of the display.
    pub fn target(&self) -> f64 {
        self.aim.as_ref().unwrap().target.torque().in_unit(self.unit)
    }

    pub fn sign(&self) -> f64 {
        if self.aim.as_ref().unwrap().direction == Direction::Clockwise { 1.0 } else { -1.0 }
    }

    /// The next thing that a careful technician does. False when there is nothing left.
    pub fn step(&mut self) -> bool {
        match self.view().ask {
            Some(Ask::Cautions { .. }) => self.enter(),
            Some(Ask::Line { title, .. }) => {
                let text = match title {
                    t if t.starts_with("Who") => "Runa Hjaltevik".to_owned(),
                    t if t.starts_with("Temperature") => "21.3".to_owned(),
                    t if t.starts_with("Relative") => "45".to_owned(),
                    t if t.contains("tool show") => {
                        let number = self.session.record().readings.last().unwrap().step;
                        let readings = self.session.plan().steps[number].readings().unwrap();
                        readings.target.digits().to_string()
                    }
                    t => panic!("not foreseen: {t}"),
                };
                self.type_line(&text);
            }
            Some(Ask::Finished { .. }) if self.is_finished => return false,
            Some(Ask::Finished { .. }) => self.enter(),
            Some(other) => panic!("not foreseen: {other:?}"),
            None if self.aim.is_some() => {
                let (target, sign) = (self.target(), self.sign());
                let number = f64::from(self.aim.as_ref().unwrap().reading);
                let top = target * (1.0 + 0.0004 * (number % 7.0));
                let is_setting = self.session.plan().indicated == Indicated::AsSet;
                let hand = if is_setting { Hand::click(target, top) } else { Hand::show(target, top) };
                self.pull(Hand { sign, ..hand });
            }
            None => {
                self.rest(0.8);
                self.enter();
            }
        }
        true
    }

    pub fn work(&mut self) {
        for _ in 0..2000 {
            if !self.step() {
                return;
            }
        }
        panic!("the work has no end: {:?}", self.view());
    }

    /// Works until something is awaited at this series and target.
    pub fn work_until(&mut self, is_there: impl Fn(&Aim) -> bool) {
        for _ in 0..2000 {
            if self.aim.as_ref().is_some_and(&is_there) && self.view().ask.is_none() {
                return;
            }
            assert!(self.step(), "never there");
        }
    }

    /// At the first test point.
    pub fn at_points(plan: Plan) -> Bench {
        let mut bench = Bench::begin(plan);
        bench.work_until(|aim| aim.series == leverarm_metrology::reading::Series::Points);
        bench
    }
}

pub fn time(seconds: f64) -> DateTime<FixedOffset> {
    let begin = DateTime::parse_from_rfc3339("2026-11-18T08:40:00+01:00").unwrap();
    begin + TimeDelta::milliseconds((seconds * 1000.0) as i64)
}
