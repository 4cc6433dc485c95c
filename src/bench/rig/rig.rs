//! The rig: commands in, samples out, in constant memory.

use leverarm_metrology::quantity::Torque;

use crate::check::SettingsError;
use crate::command::{Command, CommandError};
use crate::fault::Losing;
use crate::pull::{Beginning, Pull};
use crate::response::FirstOrder;
use crate::settings::Settings;
use crate::store::{Memory, Stored};
use crate::tool::Tool;
use crate::transducer::Amplifier;
use crate::truth::Truth;

/// Within a pull the physics steps at least so often a second, whatever the sample rate: a block of
/// 500 Hz turns by 45° in such a step, and its swing is exact within it.
const STEPS_MIN_HZ: u32 = 4000;
/// Beyond this share of the range the display says overload.
const OVERLOAD: f64 = 1.1;

/// What the display makes of one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// its number, from 0
    pub index: u64,
    /// its time, s: the number over the sample rate
    pub time_s: f64,
    /// the torque as the display shows it, rounded to its step, N·m
    pub torque_nm: f64,
    /// the same in units of the last digit of the display
    pub digits: i64,
    /// whether the torque moves
    pub is_moving: bool,
    /// whether it is beyond the range, so that the display shows no value
    pub is_overload: bool,
    /// whether it gets lost on the way: the receiver must not see it
    pub is_dropped: bool,
    /// whether it gets lost because the connection is
    pub is_cut: bool,
}

#[derive(Debug, Clone, Copy)]
struct Ordered {
    target: Torque,
    at_s: f64,
    is_preload: bool,
}

/// A simulated bench.
#[derive(Debug, Clone)]
pub struct Rig {
    settings: Settings,
    index: u64,
    rate_hz: f64,
    substeps: u32,
    at_rest: FirstOrder,
    in_pull: FirstOrder,
    amplifier: Amplifier,
    losing: Losing,
    torque: f64,
    felt: f64,
    followed: f64,
    /// what was taken off when the display was set to zero, N·m
    tare_nm: f64,
    digit_nm: f64,
    overload_nm: f64,
    waiting: Option<Ordered>,
    pull: Option<Pull>,
    pulls: u64,
    set: Option<f64>,
    last_set: f64,
    releases: u32,
    truth: Option<Truth>,
    memory: Memory,
}

impl Rig {
    /// A bench with nothing on it but the tool, at time 0.
    ///
    /// # Errors
    /// [`SettingsError`] with the first setting that cannot be.
    pub fn new(settings: Settings) -> Result<Rig, SettingsError> {
        settings.check()?;
        let rate_hz = f64::from(settings.sample_rate_hz);
        let substeps = STEPS_MIN_HZ.div_ceil(settings.sample_rate_hz).max(1);
        let tau_s = settings.transducer.tau_s;
        let digit = libm::pow(10.0, -f64::from(settings.display.decimals));
        let memory = match &settings.tool {
            Tool::Indicating(tool) => tool.memory,
            Tool::Setting(_) => 0,
        };
        Ok(Rig {
            index: 0,
            rate_hz,
            substeps,
            at_rest: FirstOrder::new(1.0 / rate_hz, tau_s),
            in_pull: FirstOrder::new(1.0 / rate_hz / f64::from(substeps), tau_s),
            amplifier: Amplifier::new(settings.transducer, settings.seed, 1.0 / rate_hz),
            losing: Losing::new(settings.faults, settings.seed, rate_hz),
            torque: 0.0,
            felt: 0.0,
            followed: 0.0,
            tare_nm: 0.0,
            digit_nm: digit * settings.display.unit.newton_metres(),
            overload_nm: OVERLOAD * settings.transducer.range.newton_metres(),
            waiting: None,
            pull: None,
            pulls: 0,
            set: None,
            last_set: f64::NAN,
            releases: 0,
            truth: None,
            memory: Memory::new(memory),
            settings,
        })
    }

    /// Tells it what to do.
    ///
    /// # Errors
    /// [`CommandError`] when it cannot be done; nothing has changed then.
    pub fn command(&mut self, command: Command) -> Result<(), CommandError> {
        command.check(&self.settings)?;
        match command {
            Command::SetTool { torque } => self.set = Some(torque.newton_metres().abs()),
            Command::Pull { target, at_s } => {
                self.waiting = Some(Ordered { target, at_s, is_preload: false });
            }
            Command::Preload { target, at_s } => {
                self.waiting = Some(Ordered { target, at_s, is_preload: true });
            }
            Command::Unload => {
                if let Some(pull) = &mut self.pull {
                    pull.unload();
                }
            }
            Command::ChangeOperator(operator) => self.settings.operator = operator,
            Command::Idle => self.waiting = None,
            Command::SetZero => {
                if self.pull.is_none() {
                    self.tare_nm = self.followed;
                }
            }
        }
        Ok(())
    }

    /// The next sample.
    pub fn next_sample(&mut self) -> Sample {
        let index = self.index;
        let time_s = index as f64 / self.rate_hz;
        if index > 0 {
            self.advance();
        }
        if self.pull.is_none() {
            self.begin(time_s);
        }
        self.index = index.saturating_add(1);
        let signal = self.amplifier.signal(self.felt, time_s, self.temperature_c());
        let step = f64::from(self.settings.display.step);
        let digits = ((signal - self.tare_nm) / (self.digit_nm * step)).round() * step;
        // the display compares with what it showed a twentieth of a second before, more or less
        let moved = signal - self.followed;
        self.followed += moved * (20.0 / self.rate_hz).min(1.0);
        let (is_dropped, is_cut) = self.losing.at(index);
        if let Some(pull) = self.pull.as_mut().filter(|_| is_dropped) {
            pull.lose(is_cut);
        }
        Sample {
            index,
            time_s,
            torque_nm: digits * self.digit_nm,
            digits: digits as i64,
            is_moving: moved.abs() > 0.001 * self.overload_nm,
            is_overload: signal.abs() > self.overload_nm,
            is_dropped,
            is_cut,
        }
    }

    /// From the sample before to this one.
    fn advance(&mut self) {
        let Some(pull) = &mut self.pull else {
            self.felt = self.at_rest.step(self.felt, 0.0, 0.0);
            return;
        };
        for _ in 0..self.substeps {
            let torque = if pull.is_over() { 0.0 } else { pull.step() };
            self.felt = self.in_pull.step(self.felt, self.torque, torque);
            self.torque = torque;
        }
        if pull.is_over() {
            let truth = pull.truth();
            self.torque = 0.0;
            self.releases = self.releases.saturating_add(truth.releases);
            if let Some(indicated) = truth.indicated {
                self.memory.keep(truth.peak.time_s, indicated);
            }
            self.truth = Some(truth);
            self.pull = None;
        }
    }

    fn begin(&mut self, time_s: f64) {
        let Some(ordered) = self.waiting.take_if(|ordered| ordered.at_s <= time_s) else { return };
        let set = self.set.unwrap_or(ordered.target.newton_metres().abs());
        if set.to_bits() != self.last_set.to_bits() {
            self.last_set = set;
            self.releases = 0;
        }
        self.pulls = self.pulls.saturating_add(1);
        let beginning = Beginning {
            number: self.pulls,
            target: ordered.target,
            is_preload: ordered.is_preload,
            start_s: time_s,
            step_s: 1.0 / self.rate_hz / f64::from(self.substeps),
            temperature_c: self.temperature_c(),
            set,
            releases: self.releases,
        };
        self.pull = Some(Pull::new(&self.settings, &beginning));
    }

    /// What it is made from; the operator is the one of the moment.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The time of the next sample, s.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        self.index as f64 / self.rate_hz
    }

    /// The temperature at the time of the next sample, °C.
    #[must_use]
    pub fn temperature_c(&self) -> f64 {
        let room = &self.settings.room;
        room.temperature_c + room.kelvin_per_h * self.time_s() / 3600.0
    }

    /// Whether the hand is at the tool.
    #[must_use]
    pub fn is_pulling(&self) -> bool {
        self.pull.is_some()
    }

    /// Whether a pull waits for its time, or for the end of another one.
    #[must_use]
    pub fn is_ordered(&self) -> bool {
        self.waiting.is_some()
    }

    /// The torque at the last sample as it really is, N·m.
    #[must_use]
    pub fn true_torque_nm(&self) -> f64 {
        self.torque
    }

    /// What really happened in the last pull that is over.
    #[must_use]
    pub fn truth(&self) -> Option<Truth> {
        self.truth
    }

    /// The peaks that an electronic tool has kept, the oldest first.
    pub fn stored(&self) -> impl Iterator<Item = &Stored> {
        self.memory.peaks()
    }
}
