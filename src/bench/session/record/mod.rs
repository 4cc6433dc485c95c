//! What the entries add up to: the readings, who was there, where the work stands. The one place that
//! says what an entry means, for a session that goes on and for one that is taken up again.

mod begun;
mod error;

use chrono::{DateTime, FixedOffset};
use leverarm_metrology::reading::{Recorded, Series};
use leverarm_metrology::sequence::{Action, Moment, Readings, Step};

use self::begun::Fault;
pub use self::error::RecordError;
use crate::entry::{Did, Entry, Taking, TraceRef, When};
use crate::plan::{Indicated, Plan};

/// The record of a session.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// how many entries there are
    pub entries: u64,
    /// when the last one was made
    pub last: Option<DateTime<FixedOffset>>,
    /// who is at the bench; empty where nobody has said it
    pub technician: String,
    /// who was there, and from when to when
    pub technicians: Vec<Span>,
    /// the readings, voided ones too, in the order of recording
    pub readings: Vec<Kept>,
    /// movements that were no readings
    pub disregarded: Vec<TraceRef>,
    /// what was acknowledged
    pub acknowledged: Vec<Acknowledged>,
    /// temperature and humidity before the first reading
    pub start: Option<Surroundings>,
    /// the same after the last one
    pub end: Option<Surroundings>,
    /// the pauses
    pub pauses: Vec<Pause>,
    /// when all was done
    pub finished: Option<DateTime<FixedOffset>>,
}

/// Somebody at the bench.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Span {
    /// who
    pub name: String,
    /// from when
    pub from: DateTime<FixedOffset>,
    /// the last entry made there
    pub to: DateTime<FixedOffset>,
}

/// A reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// its number in the record, from 1
    pub number: u32,
    /// the step of the plan, from 0
    pub step: usize,
    /// what the tool was set to or showed; none where it is still to be said
    pub indicated: Option<Recorded>,
    /// what the reference showed
    pub reference: Recorded,
    /// when
    pub time: DateTime<FixedOffset>,
    /// by whom
    pub technician: String,
    /// the reason why it does not count
    pub void: Option<String>,
    /// a remark
    pub note: String,
    /// loading time from 80 % to 100 % of the target, in seconds
    pub seconds: Option<String>,
    /// its trace
    pub trace: Option<TraceRef>,
}

/// Something that was acknowledged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acknowledged {
    /// before which step, from 0
    pub step: usize,
    /// what
    pub cautions: Vec<String>,
    /// by whom
    pub technician: String,
    /// when
    pub time: DateTime<FixedOffset>,
}

/// Temperature and humidity.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Surroundings {
    /// such as `21.3 °C`
    pub temperature: String,
    /// such as `45 %`
    pub humidity: String,
    /// what is outside the limits, in words
    pub outside: Vec<String>,
    /// why the work went on
    pub reason: Option<String>,
}

/// A pause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pause {
    /// by whom
    pub technician: String,
    /// from when
    pub from: DateTime<FixedOffset>,
    /// to when; none while it lasts
    pub to: Option<DateTime<FixedOffset>>,
}

impl Record {
    /// One entry more.
    ///
    /// # Errors
    /// [`RecordError`] where it does not follow the others or does not suit the plan; then nothing
    /// has changed.
    pub fn apply(&mut self, plan: &Plan, entry: &Entry) -> Result<(), RecordError> {
        let number = entry.number;
        let wanted = self.entries + 1;
        if number != wanted {
            return Err(RecordError::Number { found: number, wanted });
        }
        if self.last.is_some_and(|last| entry.time < last) {
            return Err(RecordError::Time { entry: number });
        }
        if matches!(entry.did, Did::Began { .. }) != (number == 1) {
            return Err(RecordError::Begin { entry: number });
        }
        self.act(plan, entry).map_err(|fault| match fault {
            Fault::Plan(error) => error,
            Fault::Why(why) => RecordError::Unsuited { entry: number, why },
        })?;
        self.entries = number;
        self.last = Some(entry.time);
        if let Some(span) = self.technicians.last_mut() {
            span.to = entry.time;
        }
        Ok(())
    }

    fn act(&mut self, plan: &Plan, entry: &Entry) -> Result<(), Fault> {
        if self.finished.is_some() {
            return Err(Fault::Why("the session was finished"));
        }
        match &entry.did {
            Did::Began { job, condition, tool, rulebook, basis, inputs, .. } => {
                let words = [("job", job), ("condition", condition), ("tool", tool), ("rulebook", rulebook)];
                begun::same(plan, words)?;
                begun::same_basis(plan, basis)?;
                begun::same_inputs(plan, inputs)?;
                self.enter(entry, &entry.technician);
            }
            Did::Technician { name } => self.enter(entry, name),
            Did::Acknowledged { step, cautions } => {
                if *step != self.step(plan) {
                    return Err(Fault::Why("another step was to be acknowledged"));
                }
                self.acknowledged.push(Acknowledged {
                    step: *step,
                    cautions: cautions.clone(),
                    technician: entry.technician.clone(),
                    time: entry.time,
                });
            }
            Did::Surroundings { moment, temperature, humidity, outside, reason } => {
                let now = plan.steps.get(self.step(plan)).map(|step| &step.action);
                if !matches!(now, Some(Action::Environment(at)) if When::from(*at) == *moment) {
                    return Err(Fault::Why("no surroundings were to be written down"));
                }
                let seen = Surroundings {
                    temperature: temperature.clone(),
                    humidity: humidity.clone(),
                    outside: outside.clone(),
                    reason: reason.clone(),
                };
                match moment {
                    When::Start => self.start = Some(seen),
                    When::End => self.end = Some(seen),
                }
            }
            Did::Taken { reading } => self.add(plan, entry, reading, None)?,
            Did::Voided { reading, reason } => self.add(plan, entry, reading, Some(reason.clone()))?,
            Did::Disregarded { trace, .. } => self.disregarded.push(trace.clone()),
            Did::Showed { reading, indicated } => self.show(plan, *reading, indicated)?,
            Did::Struck { reading, reason } => self.strike(*reading, reason)?,
            Did::Paused => {
                let (technician, from) = (entry.technician.clone(), entry.time);
                self.pauses.push(Pause { technician, from, to: None });
            }
            Did::Resumed => match self.pauses.last_mut().filter(|pause| pause.to.is_none()) {
                Some(pause) => pause.to = Some(entry.time),
                None => return Err(Fault::Why("there was no pause")),
            },
            Did::Finished if self.step(plan) < plan.steps.len() => {
                return Err(Fault::Why("the work was not done"));
            }
            Did::Finished => self.finished = Some(entry.time),
        }
        Ok(())
    }

    fn enter(&mut self, entry: &Entry, name: &str) {
        name.clone_into(&mut self.technician);
        if !name.is_empty() {
            self.technicians.push(Span { name: name.to_owned(), from: entry.time, to: entry.time });
        }
    }

    fn add(
        &mut self,
        plan: &Plan,
        entry: &Entry,
        taking: &Taking,
        void: Option<String>,
    ) -> Result<(), Fault> {
        let next = self.readings.len() as u64 + 1;
        if u64::from(taking.number) != next || taking.step != self.step(plan) {
            return Err(Fault::Why("another reading was to be taken"));
        }
        let step = plan.steps.get(taking.step).and_then(Step::readings);
        let is_it = |r: &&Readings| {
            r.series.word() == taking.series
                && r.position == taking.position
                && r.direction == taking.direction
                && r.target.to_string() == taking.target
        };
        if step.filter(is_it).is_none() {
            return Err(Fault::Why("its series, position, direction or target is not that of the step"));
        }
        let recorded =
            |text: &str| Recorded::parse(text).map_err(|_| Fault::Why("a torque in it cannot be read"));
        self.readings.push(Kept {
            number: taking.number,
            step: taking.step,
            indicated: taking.indicated.as_deref().map(recorded).transpose()?,
            reference: recorded(&taking.reference)?,
            time: entry.time,
            technician: entry.technician.clone(),
            void,
            note: taking.note.clone(),
            seconds: taking.seconds.clone(),
            trace: taking.trace.clone(),
        });
        Ok(())
    }

    fn show(&mut self, plan: &Plan, number: u32, indicated: &str) -> Result<(), Fault> {
        let waits = self.waiting(plan).is_some_and(|kept| kept.number == number);
        let kept = self.readings.last_mut().filter(|_| waits);
        let kept = kept.ok_or(Fault::Why("no reading waits for what the tool showed"))?;
        kept.indicated =
            Some(Recorded::parse(indicated).map_err(|_| Fault::Why("a torque in it cannot be read"))?);
        Ok(())
    }

    fn strike(&mut self, number: u32, reason: &str) -> Result<(), Fault> {
        let last = self.readings.iter_mut().rev().find(|kept| kept.void.is_none());
        let kept = last.filter(|kept| kept.number == number);
        let kept = kept.ok_or(Fault::Why("only the last reading that counts can be struck out"))?;
        kept.void = Some(reason.to_owned());
        // the surroundings at the end are those after the last reading
        self.end = None;
        Ok(())
    }

    /// The valid readings of a step.
    pub fn valid(&self, step: usize) -> impl Iterator<Item = &Kept> {
        self.readings.iter().filter(move |kept| kept.step == step && kept.void.is_none())
    }

    /// The last reading that counts.
    #[must_use]
    pub fn last_valid(&self) -> Option<&Kept> {
        self.readings.iter().rev().find(|kept| kept.void.is_none())
    }

    /// The reading whose tool's value is still to be typed.
    #[must_use]
    pub fn waiting(&self, plan: &Plan) -> Option<&Kept> {
        let kept = self.readings.last()?;
        (plan.indicated == Indicated::Typed && kept.void.is_none() && kept.indicated.is_none())
            .then_some(kept)
    }

    /// The step in hand, from 0: the first that is not done; as many as there are when all is done.
    ///
    /// Readings are struck out from the last one backwards only, so no later step ever has a valid
    /// reading: what is taken anew stands in the record in the order of the work, as the rulebook's
    /// sequence wants it.
    #[must_use]
    pub fn step(&self, plan: &Plan) -> usize {
        let is_done = |at: usize, step: &Step| match &step.action {
            Action::Environment(Moment::Start) => self.start.is_some(),
            Action::Environment(Moment::End) => self.end.is_some(),
            Action::Readings(readings) => self.valid(at).count() as u64 >= u64::from(readings.count),
        };
        plan.steps.iter().enumerate().position(|(at, step)| !is_done(at, step)).unwrap_or(plan.steps.len())
    }

    /// Whether what a step asks to be acknowledged was.
    #[must_use]
    pub fn is_acknowledged(&self, step: usize) -> bool {
        self.acknowledged.iter().any(|done| done.step == step)
    }

    /// The pause that lasts.
    #[must_use]
    pub fn pause(&self) -> Option<&Pause> {
        self.pauses.last().filter(|pause| pause.to.is_none())
    }
}

impl Kept {
    /// The work of its step.
    #[must_use]
    pub fn readings<'p>(&self, plan: &'p Plan) -> Option<&'p Readings> {
        plan.steps.get(self.step).and_then(Step::readings)
    }

    /// Whether it is compared with the tool's value.
    #[must_use]
    pub fn is_measured(&self, plan: &Plan) -> bool {
        self.readings(plan).is_some_and(|r| !matches!(r.series, Series::Preload | Series::Zero))
    }
}
