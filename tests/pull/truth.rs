//! A pull as physics would have it, with its truth known: a hand that pulls and trembles, a spring
//! that clicks, a transducer that hums and rounds. Shares no code with the detector.
//!
//! The mechanism releases when the torque reaches its release torque for the first time. Then the
//! torque falls as a damped spring swings (step response of second order), rests for the time that
//! the hand needs to notice, and goes on: let go at once, or pulled on to a higher torque before.
//! The truth is the highest noise-free torque before the first reduction.

use std::f64::consts::TAU;

use crate::dice::Dice;

/// How a hand lets go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LettingGo {
    Smooth,
    Even,
    Abrupt,
}

/// All that was drawn. Torques in N·m, times in seconds.
#[derive(Debug, Clone)]
pub struct Plan {
    pub rate_hz: f64,
    pub target: f64,
    /// None: an indicating tool
    pub release: Option<Release>,
    /// from 80 % to 100 % of the target
    pub loading_s: f64,
    pub first_80_s: f64,
    pub zero_s: f64,
    pub hold_s: f64,
    pub let_go_s: f64,
    pub let_go: LettingGo,
    /// amplitude as a share of the torque, frequency, phase
    pub tremor: (f64, f64, f64),
    pub wobble: (f64, f64, f64),
    /// standard deviation of a sample
    pub noise: f64,
    /// amplitude, frequency, phase
    pub hum: (f64, f64, f64),
    pub mains_hz: f64,
    /// step of the display; 0: none
    pub step: f64,
    pub zero: f64,
    /// where between two samples the recording begins
    pub phase: f64,
}

/// The spring and the click.
#[derive(Debug, Clone, Copy)]
pub struct Release {
    pub torque: f64,
    /// as a share of it
    pub drop: f64,
    pub natural_hz: f64,
    pub damping: f64,
    pub dwell_s: f64,
    /// how far the hand pulls on, as a share of the release torque
    pub over_pull: Option<f64>,
    /// how fast, in units of the rise before
    pub haste: f64,
    /// rise in the dwell, in units of the rise before
    pub creep: f64,
}

impl Plan {
    pub fn draw(dice: &mut Dice, clicks: bool) -> Plan {
        let target = dice.log(0.5, 1000.0);
        let rate_hz = dice.log(50.0, 10_000.0);
        let release = clicks.then(|| Release {
            torque: target * dice.even(0.94, 1.05),
            drop: dice.log(0.01, 0.20),
            natural_hz: dice.log(25.0, 150.0),
            damping: dice.even(0.3, 0.9),
            dwell_s: dice.log(0.05, 0.3),
            over_pull: dice.chance(0.5).then(|| dice.log(0.01, 0.3)),
            haste: dice.even(0.5, 2.0),
            creep: dice.even(0.0, 0.3),
        });
        // four in five: white noise as an anti-aliasing filter passes it; the fifth: as it comes
        let noise = if dice.chance(0.8) {
            dice.log(2e-5, 2e-3) * (rate_hz / 1000.0).sqrt()
        } else {
            dice.log(2e-5, 2e-3)
        };
        let mains_hz = dice.pick(&[50.0, 60.0]);
        let hum = if dice.chance(0.5) { dice.log(1e-5, 2e-3) } else { 0.0 };
        Plan {
            rate_hz,
            target,
            release,
            loading_s: dice.log(0.5, 4.0),
            first_80_s: dice.even(0.4, 1.0),
            zero_s: dice.even(0.6, 1.0),
            hold_s: dice.even(0.0, 1.5),
            let_go_s: dice.log(0.06, 0.4),
            let_go: dice.pick(&[LettingGo::Smooth, LettingGo::Even, LettingGo::Abrupt]),
            tremor: (dice.log(1e-4, 3e-3), dice.even(8.0, 12.0), dice.even(0.0, TAU)),
            wobble: (dice.log(1e-3, 1e-2), dice.even(0.5, 3.0), dice.even(0.0, TAU)),
            noise: noise * target,
            hum: (hum * target, mains_hz + dice.even(-0.05, 0.05), dice.even(0.0, TAU)),
            mains_hz,
            step: if dice.chance(0.5) { dice.log(5e-5, 1e-3) * target } else { 0.0 },
            zero: dice.even(-2e-3, 2e-3) * target,
            phase: dice.unit(),
        }
    }

    /// What the hand does before anything clicks: a quick rise to 80 %, then even, then held.
    fn hand(&self, t: f64) -> f64 {
        let t = t - self.zero_s;
        if t <= 0.0 {
            return 0.0;
        }
        let rise = 0.2 * self.target / self.loading_s;
        let smooth = if t < self.first_80_s {
            // meets the even rise with the same slope
            let u = t / self.first_80_s;
            let (level, slope) = (0.8 * self.target, rise * self.first_80_s);
            level * u * u * (3.0 - 2.0 * u) + slope * u * u * (u - 1.0)
        } else {
            let end = if self.release.is_some() { 1.3 } else { 1.0 };
            (0.8 * self.target + rise * (t - self.first_80_s)).min(end * self.target)
        };
        smooth * (1.0 + self.unrest(t))
    }

    /// By how much of the torque it advances from sample to sample at most, rise and tremor together.
    pub fn advance(&self) -> f64 {
        let swing = |(amplitude, hz, _): (f64, f64, f64)| amplitude * hz * TAU;
        (0.2 / self.loading_s + swing(self.tremor) + swing(self.wobble)) / self.rate_hz
    }

    /// Standard deviation of a sample by noise and by rounding, as a share of the target.
    pub fn noise_share(&self) -> f64 {
        (self.noise * self.noise + self.step * self.step / 12.0).sqrt() / self.target
    }

    /// Amplitude of the hum as a share of the target, where it is too fast for the sample rate.
    pub fn hum_share(&self) -> f64 {
        if self.rate_hz < 3.0 * self.mains_hz { self.hum.0 / self.target } else { 0.0 }
    }

    fn unrest(&self, t: f64) -> f64 {
        let swing = |(amplitude, hz, phase): (f64, f64, f64)| amplitude * (TAU * hz * t + phase).sin();
        swing(self.tremor) + swing(self.wobble)
    }

    fn grip(&self, since: f64) -> f64 {
        let u = since / self.let_go_s;
        if u <= 0.0 {
            return 1.0;
        }
        match self.let_go {
            LettingGo::Abrupt => (-4.0 * u).exp() * (1.0 - u * 0.25).max(0.0),
            _ if u >= 1.0 => 0.0,
            LettingGo::Smooth => 0.5 + 0.5 * (u * TAU / 2.0).cos(),
            LettingGo::Even => 1.0 - u,
        }
    }
}

/// A pull whose truth is known.
pub struct Pull {
    pub plan: Plan,
    /// when the mechanism released
    pub click_s: f64,
    /// the torque just before the first reduction, without noise and without the zero
    pub first_peak: f64,
    /// the lowest torque after the release, before anything rises again
    pub dip: f64,
    let_go_s: f64,
    pub end_s: f64,
}

impl Pull {
    pub fn of(plan: Plan) -> Pull {
        let reached = plan.zero_s + plan.first_80_s + plan.loading_s;
        let mut pull =
            Pull { click_s: f64::INFINITY, first_peak: 0.0, dip: 0.0, let_go_s: 0.0, end_s: 0.0, plan };
        pull.let_go_s = reached + pull.plan.hold_s;
        if let Some(release) = pull.plan.release {
            pull.click_s = first_reaching(&pull.plan, release.torque);
            pull.let_go_s = pull.click_s + release.dwell_s;
            if release.over_pull.is_some() {
                pull.let_go_s += pull.over_pull_s(&release) + 0.1 * pull.plan.hold_s;
            }
            let steps = (0..2000).map(|i| pull.torque(pull.click_s + i as f64 * 1e-5));
            let (mut top, mut low) = (f64::NEG_INFINITY, f64::INFINITY);
            for torque in steps {
                if low == f64::INFINITY && torque >= top {
                    top = torque;
                } else {
                    low = low.min(torque);
                }
            }
            (pull.first_peak, pull.dip) = (top, low);
        }
        pull.end_s = pull.let_go_s
            + pull.plan.let_go_s * if pull.plan.let_go == LettingGo::Abrupt { 4.0 } else { 1.0 };
        pull
    }

    fn over_pull_s(&self, release: &Release) -> f64 {
        let rise = 0.2 * self.plan.target / self.plan.loading_s * release.haste;
        (release.over_pull.unwrap_or(0.0) + release.drop) * release.torque / rise
    }

    /// The torque that is really there.
    pub fn torque(&self, t: f64) -> f64 {
        let plan = &self.plan;
        let grip = plan.grip(t - self.let_go_s);
        let since = t - self.click_s;
        let Some(release) = plan.release.filter(|_| since > 0.0) else {
            return plan.hand(t) * grip;
        };
        let rise = 0.2 * plan.target / plan.loading_s;
        let mut share = 1.0 - release.drop * swing(since, release.natural_hz, release.damping);
        share += release.creep * rise * since.min(release.dwell_s) / release.torque;
        if let Some(over) = release.over_pull {
            let u = ((since - release.dwell_s) / self.over_pull_s(&release)).clamp(0.0, 1.0);
            share += (over + release.drop) * u * u * (3.0 - 2.0 * u);
        }
        let unrest = plan.unrest(t - plan.zero_s) - plan.unrest(self.click_s - plan.zero_s);
        release.torque * share * (1.0 + unrest) * grip
    }

    /// What the display shows: time and torque.
    pub fn samples<'a>(&'a self, dice: &'a mut Dice) -> impl Iterator<Item = (f64, f64)> + 'a {
        let plan = &self.plan;
        let count = ((self.end_s + 0.8) * plan.rate_hz) as usize;
        (0..count).map(move |i| {
            let t = (i as f64 + plan.phase) / plan.rate_hz;
            let (amplitude, hz, phase) = plan.hum;
            let mut x = self.torque(t) + plan.zero + plan.noise * dice.normal();
            if amplitude > 0.0 {
                x += amplitude * (TAU * hz * t + phase).sin();
            }
            (t, if plan.step > 0.0 { (x / plan.step).round() * plan.step } else { x })
        })
    }
}

/// Step response of a damped spring (K. Ogata, Modern Control Engineering, 5-3).
fn swing(t: f64, natural_hz: f64, damping: f64) -> f64 {
    let w = TAU * natural_hz;
    let root = (1.0 - damping * damping).sqrt();
    let wd = w * root;
    1.0 - (-damping * w * t).exp() * ((wd * t).cos() + damping / root * (wd * t).sin())
}

/// When the hand's torque is there for the first time.
fn first_reaching(plan: &Plan, torque: f64) -> f64 {
    let (mut low, mut high) = (0.0, 0.0);
    while plan.hand(high) < torque {
        low = high;
        high += 1e-3;
    }
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if plan.hand(middle) < torque { low = middle } else { high = middle }
    }
    high
}
