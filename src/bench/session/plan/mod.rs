//! Everything that is known before the session: the work, the tool, the limits, the instrument.

mod error;

use leverarm_metrology::quantity::{Percent, Torque};
use leverarm_metrology::reading::{Direction, Recorded};
use leverarm_metrology::rulebook::{EnvironmentLimits, Rulebook};
use leverarm_metrology::run::{Condition, Run};
use leverarm_metrology::sequence::{Readings, Step, Window, sequence_on};
use leverarm_metrology::tool::{Acting, Tool};
use leverarm_pull::butterworth::{Butterworth, FilterError, Order};
use leverarm_pull::detector::{Detector, LoadingWindow, Mode, Sense, Settings, Thresholds};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

pub use self::error::PlanError;
use crate::watch;

/// Bytes of all that is to be acknowledged before one step: it goes into one line of the journal.
const CAUTIONS_BYTES_MAX: usize = 32 * 1024;
/// Bytes of the other texts together.
const TEXTS_BYTES_MAX: usize = 16 * 1024;

/// Everything that is known before the session.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// the laboratory's number of the job
    pub job: String,
    /// state of the tool
    pub condition: Condition,
    /// the tool
    pub tool: Tool,
    /// the rulebook's name
    pub rulebook: String,
    /// its title
    pub title: String,
    /// the work, in order
    pub steps: Vec<Step>,
    /// what the surroundings must be
    pub room: EnvironmentLimits,
    /// the permissible deviation that governs
    pub permissible: Percent,
    /// no pull may go higher
    pub limit: Limit,
    /// the display that speaks
    pub instrument: Instrument,
    /// how the tool's own value is got
    pub indicated: Indicated,
    /// who is at the bench, where that is known before
    pub technician: Option<String>,
    /// the files that the plan was made from: a journal is never continued on others
    pub inputs: Vec<InputFile>,
}

/// The torque beyond which nobody pulls.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// the torque at the reference
    pub torque: Torque,
    /// where it comes from, in words
    pub source: String,
}

/// The display that speaks.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// its name
    pub name: String,
    /// samples a second
    pub sample_rate_hz: f64,
    /// one step of the display, in the unit in which it speaks
    pub step: Recorded,
    /// where the transducer or the display ends
    pub range: Option<Torque>,
    /// the sign of a clockwise torque; the other direction has the other sign
    pub clockwise: Sense,
    /// the mains frequency, whose hum is taken out
    pub mains_hz: Option<f64>,
    /// a low-pass before the detector
    pub filter: Option<Filter>,
}

/// A Butterworth low-pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Filter {
    /// its order
    pub order: Order,
    /// its cut-off, in hertz
    pub cutoff_hz: f64,
}

/// How the tool's own value is got.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Indicated {
    /// it is what a setting tool is set to
    AsSet,
    /// it is typed after each pull
    Typed,
    /// it is paired later with the values that the tool kept
    Stored,
    /// it is the target: a key is pressed while the tool shows it, and the reference is read there
    AtTarget,
}

/// A file that the plan was made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InputFile {
    /// its name
    pub name: String,
    /// its SHA-256, as hexadecimal digits
    pub sha256: String,
}

impl Limit {
    /// The highest reference torque that a tool within its permissible deviation can have at its
    /// maximum: who pulls beyond it loads the tool above its maximum, whatever it shows.
    #[must_use]
    pub fn of(tool: &Tool, rulebook: &Rulebook, permissible: Percent) -> Limit {
        let maximum = tool.range.upper.torque();
        let window = Window::of(
            maximum,
            permissible,
            &rulebook.deviation.value,
            leverarm_metrology::decision::Sides::Both,
        );
        let torque = window.and_then(|window| window.highest).unwrap_or(maximum);
        let source = format!(
            "the tool's maximum of {}, and the permissible deviation of ±{permissible} of rulebook {}",
            tool.range.upper, rulebook.name
        );
        Limit { torque: if torque > maximum { torque } else { maximum }, source }
    }
}

impl Indicated {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Indicated::AsSet => "as set",
            Indicated::Typed => "typed",
            Indicated::Stored => "stored",
            Indicated::AtTarget => "at the target",
        }
    }
}

impl Plan {
    /// The plan of a run.
    ///
    /// # Errors
    /// [`PlanError`] where the rulebook does not cover the tool, or [`Plan::check`] refuses it.
    pub fn of(
        run: &Run,
        rulebook: &Rulebook,
        instrument: Instrument,
        indicated: Indicated,
        inputs: Vec<InputFile>,
    ) -> Result<Plan, PlanError> {
        let permissible = rulebook.governing_limit(&run.tool)?.permissible;
        let plan = Plan {
            job: run.job.clone(),
            condition: run.condition,
            tool: run.tool.clone(),
            rulebook: rulebook.name.clone(),
            title: rulebook.title.clone(),
            steps: sequence_on(&run.tool, rulebook, run.study.as_ref(), run.sides)?,
            room: rulebook.environment.clone(),
            permissible,
            limit: Limit::of(&run.tool, rulebook, permissible),
            instrument,
            indicated,
            technician: run.people.technician.clone().filter(|name| !name.trim().is_empty()),
            inputs,
        };
        plan.check()?;
        Ok(plan)
    }

    /// Whether a session can be led by it.
    ///
    /// # Errors
    /// [`PlanError`], the first thing that stands against it.
    pub fn check(&self) -> Result<(), PlanError> {
        if self.steps.is_empty() {
            return Err(PlanError::NoSteps);
        }
        let is_setting = self.tool.class.acting() == Acting::Setting;
        if is_setting != (self.indicated == Indicated::AsSet) {
            return Err(PlanError::Indicated { given: self.indicated.word(), class: self.tool.class.code() });
        }
        let step = self.instrument.step;
        if step.digits() <= Decimal::ZERO || step.decimals() > 12 {
            return Err(PlanError::Step { given: step });
        }
        let (limit, maximum) = (self.limit.torque, self.tool.range.upper);
        if !(limit.newton_metres().is_finite() && limit >= maximum.torque()) {
            return Err(PlanError::TooLow { given_nm: limit.newton_metres(), maximum });
        }
        self.filter()?;
        for readings in self.steps.iter().filter_map(Step::readings).filter(|r| watch::is_pulled(r)) {
            Detector::new(self.settings(readings))?;
            let range = self.instrument.range.filter(|range| *range < readings.target.torque());
            if let Some(range) = range {
                let range_nm = range.newton_metres();
                return Err(PlanError::Range { range_nm, target: readings.target });
            }
        }
        self.check_texts()
    }

    fn check_texts(&self) -> Result<(), PlanError> {
        let long = |what, bytes: usize, most| match bytes > most {
            true => Err(PlanError::TooLong { what, bytes, most }),
            false => Ok(()),
        };
        for step in &self.steps {
            let bytes = step.cautions.iter().map(String::len).sum();
            long("the cautions of a step", bytes, CAUTIONS_BYTES_MAX)?;
            let words = step
                .readings()
                .map_or(0, |r| r.position.len().saturating_add(r.how.as_ref().map_or(0, String::len)));
            long("the position of a step and how it is made", words, TEXTS_BYTES_MAX)?;
        }
        let tool = &self.tool;
        let inputs: usize = self.inputs.iter().map(|file| file.name.len() + file.sha256.len()).sum();
        let texts = [
            &self.job,
            &self.rulebook,
            &self.title,
            &tool.maker,
            &tool.model,
            &tool.serial,
            &self.instrument.name,
            &self.limit.source,
        ];
        long(
            "job, tool, rulebook and inputs",
            texts.iter().map(|t| t.len()).sum::<usize>() + inputs,
            TEXTS_BYTES_MAX,
        )
    }

    /// What of a pull is the reading.
    #[must_use]
    pub fn mode(&self, readings: &Readings) -> Mode {
        let is_preload = readings.series == leverarm_metrology::reading::Series::Preload;
        match self.indicated {
            Indicated::AsSet => Mode::FirstPeak,
            Indicated::AtTarget if !is_preload => Mode::Track,
            _ => Mode::Peak,
        }
    }

    /// The sign of the torque in a direction.
    #[must_use]
    pub fn sense(&self, direction: Direction) -> Sense {
        match (direction, self.instrument.clockwise) {
            (Direction::Clockwise, sense) => sense,
            (Direction::CounterClockwise, Sense::Positive) => Sense::Negative,
            (Direction::CounterClockwise, Sense::Negative) => Sense::Positive,
        }
    }

    pub(crate) fn sign(&self, direction: Direction) -> f64 {
        match self.sense(direction) {
            Sense::Positive => 1.0,
            Sense::Negative => -1.0,
        }
    }

    /// What the detector is told before the pulls of a step.
    #[must_use]
    pub fn settings(&self, readings: &Readings) -> Settings {
        Settings {
            mode: self.mode(readings),
            target: readings.target.torque().abs(),
            sense: self.sense(readings.direction),
            sample_rate_hz: self.instrument.sample_rate_hz,
            resolution: Some(self.instrument.step.torque()),
            mains_hz: self.instrument.mains_hz,
            window: readings
                .pull
                .map(|pull| LoadingWindow { seconds_min: pull.seconds_min, seconds_max: pull.seconds_max }),
            torque_limit: Some(self.limit.torque),
            sensor_range: self.instrument.range,
            thresholds: Thresholds::default(),
        }
    }

    /// The low-pass before the detector, at rest.
    ///
    /// # Errors
    /// [`FilterError`] where cut-off and sample rate do not suit each other.
    pub fn filter(&self) -> Result<Option<Butterworth>, FilterError> {
        let make =
            |filter: Filter| Butterworth::new(filter.order, filter.cutoff_hz, self.instrument.sample_rate_hz);
        self.instrument.filter.map(make).transpose()
    }

    /// What the judgement of the pulls rests on, name by name: a journal is not continued on another.
    #[must_use]
    pub fn basis(&self) -> Vec<(&'static str, String)> {
        let instrument = &self.instrument;
        let filter = instrument.filter.map_or_else(
            || "none".to_owned(),
            |f| {
                let order = match f.order {
                    Order::Second => 2,
                    Order::Fourth => 4,
                };
                format!("Butterworth low-pass, order {order}, {} Hz", f.cutoff_hz)
            },
        );
        let or_none = |text: Option<String>| text.unwrap_or_else(|| "none".to_owned());
        let sign = if instrument.clockwise == Sense::Positive { "positive" } else { "negative" };
        vec![
            ("instrument", instrument.name.clone()),
            ("sample rate", format!("{} Hz", instrument.sample_rate_hz)),
            ("step of the display", instrument.step.to_string()),
            ("range", or_none(instrument.range.map(|r| format!("{} N·m", r.newton_metres())))),
            ("sign of clockwise torque", sign.to_owned()),
            ("mains", or_none(instrument.mains_hz.map(|hz| format!("{hz} Hz")))),
            ("filter", filter),
            ("tool's value", self.indicated.word().to_owned()),
            ("limit", format!("{} N·m", self.limit.torque.newton_metres())),
            ("limit from", self.limit.source.clone()),
            ("steps", self.steps.len().to_string()),
        ]
    }

    /// The tool in a few words.
    #[must_use]
    pub fn tool_words(&self) -> String {
        let tool = &self.tool;
        format!("{} {}, serial {}, type {}, {}", tool.maker, tool.model, tool.serial, tool.class, tool.range)
    }
}
