//! The session: inputs in, effects out.

mod ask;
mod keys;
mod port;
mod pulls;
mod room;
mod show;

use std::collections::VecDeque;

use chrono::{DateTime, FixedOffset};
use leverarm_metrology::reading::Recorded;
use leverarm_metrology::sequence::{Action, Step};
use leverarm_pull::detector::Event;

pub use self::port::{Aim, Cue, Effect, Input, Key, News, ResumeError, TraceFile};

use self::ask::Question;
use self::pulls::Held;
use crate::entry::{Did, Entry, Fact, VERSION};
use crate::outcome::Outcome;
use crate::plan::{Plan, PlanError};
use crate::record::Record;
use crate::text::{self, Line};
use crate::view::{Said, Tone};
use crate::watch::{self, Rest, Watch};
use crate::words;

/// Keys that wait while the disk is at work.
const KEYS_MAX: usize = 256;
/// Lines that are kept of what was said.
const SAID_MAX: usize = 6;

/// How the instrument is.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Link {
    Sought,
    Speaks,
    Troubled { message: String, remedy: String },
}

/// An entry on its way to the disk.
#[derive(Debug, Clone)]
struct Pending {
    entry: Entry,
    trace: Option<TraceFile>,
    advice: String,
    refused: Option<String>,
}

/// A guided session.
#[derive(Debug, Clone)]
pub struct Session {
    plan: Plan,
    record: Record,
    pending: Option<Pending>,
    /// each with whether it was given as a command, not typed
    keys: VecDeque<(Key, bool)>,
    question: Option<Question>,
    watch: Option<Watch>,
    watched_step: usize,
    /// the watch waits for its pull, and the world was told so
    is_armed: bool,
    rest: Rest,
    /// the step in hand is one of a zero
    at_zero: bool,
    held: Option<Held>,
    events: Vec<Event>,
    live: Option<Recorded>,
    link: Link,
    misread: u64,
    said: VecDeque<Said>,
    has_sound: bool,
    told_loaded: bool,
    has_left: bool,
}

impl Session {
    /// Begins.
    ///
    /// # Errors
    /// [`PlanError`] where no session can be led by the plan.
    pub fn begin(plan: Plan, now: DateTime<FixedOffset>) -> Result<(Session, Vec<Effect>), PlanError> {
        plan.check()?;
        let technician = text::fit(plan.technician.as_deref().unwrap_or_default().trim(), text::NAME_MAX);
        let fact = |(name, value): (&str, String)| Fact { name: name.to_owned(), value };
        let began = Did::Began {
            version: VERSION,
            job: plan.job.clone(),
            condition: plan.condition.words().to_owned(),
            tool: plan.tool_words(),
            rulebook: plan.rulebook.clone(),
            basis: plan.basis().into_iter().map(fact).collect(),
            inputs: plan.inputs.clone(),
        };
        let mut session = Session::new(plan);
        session.record.technician = technician;
        let mut out = Vec::new();
        session.write(began, None, now, &mut out);
        Ok((session, out))
    }

    /// Goes on from what the journal holds.
    ///
    /// # Errors
    /// [`ResumeError`] where the journal does not suit the plan: another tool, other files, other
    /// settings.
    pub fn resume(plan: Plan, entries: &[Entry]) -> Result<(Session, Vec<Effect>), ResumeError> {
        plan.check()?;
        if entries.is_empty() {
            return Err(ResumeError::Empty);
        }
        let mut session = Session::new(plan);
        for entry in entries {
            session.record.apply(&session.plan, entry)?;
        }
        let counted = session.record.readings.iter().filter(|kept| kept.void.is_none()).count();
        session.say(Tone::Plain, format!("Going on from the journal: {counted} readings count so far."));
        let mut out = Vec::new();
        session.advance(&mut out);
        if session.record.finished.is_some() {
            out.push(Effect::Finish);
        }
        Ok((session, out))
    }

    fn new(plan: Plan) -> Session {
        Session {
            plan,
            record: Record::default(),
            pending: None,
            keys: VecDeque::new(),
            question: None,
            watch: None,
            watched_step: 0,
            is_armed: false,
            rest: Rest::default(),
            at_zero: false,
            held: None,
            events: Vec::new(),
            live: None,
            link: Link::Sought,
            misread: 0,
            said: VecDeque::new(),
            has_sound: true,
            told_loaded: false,
            has_left: false,
        }
    }

    /// One input. A sample that brings nothing new costs no allocation.
    pub fn on(&mut self, input: Input, now: DateTime<FixedOffset>) -> Vec<Effect> {
        let mut out = Vec::new();
        match input {
            Input::Sample { time_s, recorded } => self.sample(time_s, recorded, now, &mut out),
            Input::Key(key) => self.key(key, now, &mut out),
            Input::News(news) => self.news(news, now, &mut out),
            Input::Written(number) => self.written(number, now, &mut out),
            Input::Refused { message } => self.refused(message, &mut out),
        }
        out
    }

    /// What was taken so far; the result of the session once it is finished.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        Outcome::of(&self.plan, &self.record)
    }

    /// What the entries that are on disk add up to.
    #[must_use]
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// What the session is led by.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Sends an entry to the disk. There is never more than one on its way.
    fn write(
        &mut self,
        did: Did,
        trace: Option<TraceFile>,
        now: DateTime<FixedOffset>,
        out: &mut Vec<Effect>,
    ) {
        self.write_with(did, trace, String::new(), now, out);
    }

    fn write_with(
        &mut self,
        did: Did,
        trace: Option<TraceFile>,
        advice: String,
        now: DateTime<FixedOffset>,
        out: &mut Vec<Effect>,
    ) {
        // a clock that was set back must not turn the order of the record
        let time = self.record.last.map_or(now, |last| if now < last { last } else { now });
        let technician = match &did {
            Did::Technician { name } => name.clone(),
            _ => self.record.technician.clone(),
        };
        let entry = Entry { number: self.record.entries + 1, time, technician, did };
        out.push(Effect::Write(Box::new(entry.clone()), trace.clone()));
        self.pending = Some(Pending { entry, trace, advice, refused: None });
    }

    fn written(&mut self, number: u64, now: DateTime<FixedOffset>, out: &mut Vec<Effect>) {
        let Some(pending) = self.pending.take_if(|pending| pending.entry.number == number) else { return };
        if let Err(error) = self.record.apply(&self.plan, &pending.entry) {
            // Every entry is made from the record, so this is a fault of the program. It is on disk, and
            // a journal that contradicts itself must not grow.
            self.say(Tone::Bad, format!("A fault of the program: {error}. Please report it."));
            self.has_left = true;
            out.push(Effect::Leave);
            return;
        }
        self.tell(&pending, out);
        self.advance(out);
        if let Some(held) = self.held.take() {
            self.conclude(held, now, out);
        }
        self.replay(now, out);
    }

    fn refused(&mut self, message: String, out: &mut Vec<Effect>) {
        let Some(pending) = &mut self.pending else { return };
        let message = text::fit(&message, text::TYPED_MAX);
        pending.refused = Some(message.clone());
        self.say(Tone::Bad, format!("The disk did not take it, so it does not count yet: {message}"));
        self.sound(Cue::Trouble, out);
    }

    /// Says what is on disk now.
    fn tell(&mut self, pending: &Pending, out: &mut Vec<Effect>) {
        match &pending.entry.did {
            Did::Taken { reading } => {
                self.say(Tone::Good, format!("Reading {}: {}", reading.number, reading.reference));
                if !reading.note.is_empty() {
                    self.say(Tone::Caution, format!("Reading {}: {}", reading.number, reading.note));
                }
                self.sound(Cue::Taken, out);
            }
            Did::Voided { reading, reason } => {
                let advice =
                    if pending.advice.is_empty() { String::new() } else { format!(": {}", pending.advice) };
                self.say(Tone::Bad, format!("Reading {} does not count: {reason}", reading.number));
                self.say(Tone::Plain, format!("Again{advice}."));
                self.sound(Cue::Voided, out);
            }
            Did::Disregarded { reason, .. } => self.say(Tone::Plain, format!("No reading: {reason}")),
            Did::Showed { reading, indicated } => {
                self.say(Tone::Good, format!("Reading {reading}: the tool showed {indicated}"));
            }
            Did::Struck { reading, reason } => {
                self.say(
                    Tone::Caution,
                    format!("Reading {reading} is struck out: {reason}. It is replaced."),
                );
            }
            Did::Technician { name } => self.say(Tone::Plain, format!("At the bench: {name}")),
            Did::Surroundings { temperature, humidity, .. } => {
                self.say(Tone::Good, format!("{temperature}, {humidity}"));
            }
            Did::Resumed => self.say(Tone::Plain, "Going on.".to_owned()),
            Did::Finished => {
                self.sound(Cue::Done, out);
                out.push(Effect::Finish);
            }
            Did::Began { .. } | Did::Acknowledged { .. } | Did::Paused => {}
        }
    }

    /// Turns to what comes next: a question, a zero, a pull.
    fn advance(&mut self, out: &mut Vec<Effect>) {
        if self.pending.is_some() || self.has_left {
            return;
        }
        self.question = None;
        self.at_zero = false;
        let at = self.record.step(&self.plan);
        let question = self.next_question(at);
        let readings = self.plan.steps.get(at).and_then(Step::readings).filter(|_| question.is_none());
        match readings {
            Some(readings) if watch::is_pulled(readings) => {
                if self.watch.is_none() || self.watched_step != at {
                    // the plan was checked with every step of it
                    self.watch = Watch::new(&self.plan, readings).ok();
                    self.watched_step = at;
                    self.told_loaded = false;
                }
                let aim = Aim {
                    reading: self.next_number(),
                    series: readings.series,
                    position: readings.position.clone(),
                    direction: readings.direction,
                    target: readings.target,
                    mode: self.plan.mode(readings),
                };
                self.is_armed = true;
                out.push(Effect::Arm(aim));
            }
            other => {
                self.at_zero = other.is_some();
                self.rest.clear();
                self.disarm(out);
            }
        }
        self.question = question;
    }

    fn next_question(&self, at: usize) -> Option<Question> {
        if self.record.finished.is_some() {
            return Some(Question::Over);
        }
        if self.record.technician.is_empty() {
            return Some(Question::Technician(Line::default()));
        }
        if self.record.pause().is_some() {
            return Some(Question::Paused);
        }
        if let Some(kept) = self.record.waiting(&self.plan) {
            return Some(Question::ToolValue { reading: kept.number, line: Line::default(), doubted: None });
        }
        let Some(step) = self.plan.steps.get(at) else { return Some(Question::Finish) };
        let cautions = words::to_acknowledge(step);
        if !cautions.is_empty() && !self.record.is_acknowledged(at) {
            return Some(Question::Cautions { step: at, cautions });
        }
        match step.action {
            Action::Environment(moment) => Some(Question::Temperature { moment, line: Line::default() }),
            Action::Readings(_) => None,
        }
    }

    fn disarm(&mut self, out: &mut Vec<Effect>) {
        self.watch = None;
        if std::mem::take(&mut self.is_armed) {
            out.push(Effect::Disarm);
        }
    }

    fn next_number(&self) -> u32 {
        u32::try_from(self.record.readings.len()).unwrap_or(u32::MAX).saturating_add(1)
    }

    fn say(&mut self, tone: Tone, text: String) {
        let said = Said { tone, text };
        if self.said.back() == Some(&said) {
            return;
        }
        if self.said.len() >= SAID_MAX {
            self.said.pop_front();
        }
        self.said.push_back(said);
    }

    fn sound(&self, cue: Cue, out: &mut Vec<Effect>) {
        if self.has_sound {
            out.push(Effect::Sound(cue));
        }
    }
}
