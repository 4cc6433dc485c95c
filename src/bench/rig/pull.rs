//! One pull, from the first touch to the end: hand, tool and truth together.

use leverarm_metrology::quantity::Torque;

use crate::chance::{Chance, FIRST_PULL};
use crate::hand::{Hand, Plan, Task};
use crate::mechanism::Latch;
use crate::settings::Settings;
use crate::tool::{IndicatingTool, SettingTool, Tool};
use crate::transducer::REFERENCE_C;
use crate::truth::{Moment, Truth};

/// What a pull begins with.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Beginning {
    pub(crate) number: u64,
    pub(crate) target: Torque,
    pub(crate) is_preload: bool,
    pub(crate) start_s: f64,
    pub(crate) step_s: f64,
    pub(crate) temperature_c: f64,
    /// what the setting tool is set to, N·m without sign
    pub(crate) set: f64,
    /// how often it has released since it was set
    pub(crate) releases: u32,
}

#[derive(Debug, Clone)]
enum Acting {
    Setting(Box<Latch>),
    /// what it shows for one N·m in this pull
    Indicating {
        factor: f64,
        resolution: f64,
    },
}

/// One pull. Angles and torques are without sign.
#[derive(Debug, Clone)]
pub(crate) struct Pull {
    hand: Hand,
    acting: Acting,
    k: f64,
    angle: f64,
    torque: f64,
    sign: f64,
    eighty: f64,
    hundred: f64,
    time_s: f64,
    step_s: f64,
    truth: Truth,
}

impl Pull {
    pub(crate) fn new(settings: &Settings, begin: &Beginning) -> Pull {
        let mut chance = Chance::new(settings.seed, FIRST_PULL.wrapping_add(begin.number.wrapping_mul(2)));
        let own = Chance::new(settings.seed, FIRST_PULL.wrapping_add(begin.number.wrapping_mul(2) + 1));
        let k = settings.stiffness_nm_per_deg();
        let target = begin.target.newton_metres().abs();
        let kelvin = begin.temperature_c - REFERENCE_C;
        let task = Task {
            target_deg: target / k,
            arrival_deg: None,
            release_deg: None,
            is_preload: begin.is_preload,
        };
        let (acting, task) = match &settings.tool {
            Tool::Setting(tool) => {
                let nominal = release(tool, settings.operator.grip_percent, begin, kelvin);
                let latch = Latch::new(*tool, k, begin.step_s, nominal, own);
                let task = Task { release_deg: Some(latch.release() / k), ..task };
                (Acting::Setting(Box::new(latch)), task)
            }
            Tool::Indicating(tool) => {
                let (factor, resolution) = shows(tool, kelvin, own.clone());
                let read = target + resolution * (chance.unit() - 0.5);
                let task = Task { arrival_deg: Some(read / factor / k), ..task };
                (Acting::Indicating { factor, resolution }, task)
            }
        };
        let (plan, mistake) = Plan::draw(&settings.operator, &task, &mut chance);
        Pull {
            hand: Hand::new(plan, begin.step_s),
            acting,
            k,
            angle: 0.0,
            torque: 0.0,
            sign: if begin.target.newton_metres() < 0.0 { -1.0 } else { 1.0 },
            eighty: 0.8 * target,
            hundred: target,
            time_s: begin.start_s,
            step_s: begin.step_s,
            truth: truth(begin, mistake),
        }
    }

    /// One step: the torque at its end, with its sign.
    pub(crate) fn step(&mut self) -> f64 {
        let free_deg = match &self.acting {
            Acting::Setting(latch) => latch.free_deg(),
            Acting::Indicating { .. } => 0.0,
        };
        let (before, torque_before) = (self.angle, self.torque);
        self.angle = self.hand.step(free_deg);
        let from_s = self.time_s;
        self.time_s += self.step_s;
        match &mut self.acting {
            Acting::Indicating { .. } => self.torque = (self.k * self.angle).max(0.0),
            Acting::Setting(latch) => {
                let release = latch.release();
                let (torque, released) = latch.step(before, self.angle);
                self.torque = torque;
                if let Some(share) = released {
                    self.hand.feel_release();
                    let at_s = from_s + share * self.step_s;
                    // a tool that was let go and is pulled again may stand above its next release already
                    self.released(at_s, release.max(torque_before));
                }
            }
        }
        if self.torque > self.truth.peak.torque.newton_metres().abs() {
            self.truth.peak = self.moment(self.time_s, self.torque);
        }
        self.pass(torque_before, from_s);
        self.sign * self.torque
    }

    fn released(&mut self, at_s: f64, torque: f64) {
        self.truth.releases += 1;
        let moment = self.moment(at_s, torque);
        self.truth.first_release.get_or_insert(moment);
        if torque > self.truth.peak.torque.newton_metres().abs() {
            self.truth.peak = moment;
        }
    }

    fn pass(&mut self, before: f64, from_s: f64) {
        let (torque, step_s) = (self.torque, self.step_s);
        let crossing = |level: f64| {
            let passes = before < level && torque >= level;
            passes.then(|| from_s + step_s * (level - before) / (torque - before))
        };
        if self.truth.eighty_s.is_none() {
            self.truth.eighty_s = crossing(self.eighty);
        }
        if self.truth.target_s.is_none() {
            self.truth.target_s = crossing(self.hundred);
        }
    }

    fn moment(&self, time_s: f64, torque: f64) -> Moment {
        Moment { time_s, torque: Torque::from_newton_metres(self.sign * torque) }
    }

    /// The hand lets go now.
    pub(crate) fn unload(&mut self) {
        let free_deg = if let Acting::Setting(latch) = &self.acting { latch.free_deg() } else { 0.0 };
        self.hand.let_go(free_deg);
    }

    /// Whether the hand has let go.
    pub(crate) fn is_over(&self) -> bool {
        self.hand.is_gone()
    }

    /// What gets lost of it.
    pub(crate) fn lose(&mut self, is_cut: bool) {
        self.truth.dropped = self.truth.dropped.saturating_add(1);
        self.truth.is_cut |= is_cut;
    }

    /// What really happened; whole when the pull is over.
    pub(crate) fn truth(&self) -> Truth {
        let peak = self.truth.peak.torque.newton_metres();
        let indicated = match self.acting {
            Acting::Setting(_) => None,
            Acting::Indicating { factor, resolution } => {
                let shown = peak * factor;
                let steps = if resolution > 0.0 { (shown / resolution).round() * resolution } else { shown };
                Some(Torque::from_newton_metres(steps))
            }
        };
        Truth { end_s: self.time_s, indicated, ..self.truth }
    }
}

/// The release torque before scatter, N·m.
fn release(tool: &SettingTool, grip_percent: f64, begin: &Beginning, kelvin: f64) -> f64 {
    let breakaway = tool.breakaway_percent * libm::pow(0.4, f64::from(begin.releases));
    let percent = tool.deviation_percent + breakaway + tool.temperature_percent_per_k * kelvin + grip_percent;
    let nominal = begin.set * (1.0 + 0.01 * percent) + tool.offset.newton_metres();
    nominal.max(0.01 * begin.set)
}

/// What an indicating tool shows for one N·m in this pull, and its step, N·m.
fn shows(tool: &IndicatingTool, kelvin: f64, mut chance: Chance) -> (f64, f64) {
    let percent = tool.deviation_percent
        + tool.temperature_percent_per_k * kelvin
        + tool.scatter_percent * chance.normal().clamp(-5.0, 5.0);
    ((1.0 + 0.01 * percent).max(0.1), tool.resolution.newton_metres())
}

fn truth(begin: &Beginning, mistake: Option<crate::operator::Mistake>) -> Truth {
    Truth {
        number: begin.number,
        target: begin.target,
        is_preload: begin.is_preload,
        mistake,
        start_s: begin.start_s,
        first_release: None,
        releases: 0,
        peak: Moment { time_s: begin.start_s, torque: Torque::ZERO },
        eighty_s: None,
        target_s: None,
        end_s: begin.start_s,
        indicated: None,
        dropped: 0,
        is_cut: false,
    }
}
