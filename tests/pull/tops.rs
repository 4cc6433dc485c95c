//! Pulls of an indicating tool, with tops of every shape, whose highest torque is known. Shares no
//! code with the detector.

use std::f64::consts::{PI, TAU};

use crate::dice::Dice;

/// What the torque does at its top.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// turns as half a cosine
    Rounded,
    /// stands, then the hand lets go
    Held,
    /// is let go while it rises, within five milliseconds or at once
    LetGo,
    /// falls as evenly as it rose
    Apex,
    /// falls by a few percent within a fraction of a second, as a hand that tires
    Sagging,
    /// goes up and down in straight lines by some percent
    Jagged,
}

impl Shape {
    pub const ALL: [Shape; 6] =
        [Shape::Rounded, Shape::Held, Shape::LetGo, Shape::Apex, Shape::Sagging, Shape::Jagged];

    pub fn words(self) -> &'static str {
        match self {
            Shape::Rounded => "rounded",
            Shape::Held => "held",
            Shape::LetGo => "let go while it rises",
            Shape::Apex => "a corner",
            Shape::Sagging => "sagging",
            Shape::Jagged => "jagged",
        }
    }
}

/// All that was drawn. Torques in N·m, times in seconds.
#[derive(Debug, Clone)]
pub struct Top {
    pub shape: Shape,
    pub rate_hz: f64,
    pub target: f64,
    /// as a share of the target
    height: f64,
    zero_s: f64,
    first_80_s: f64,
    loading_s: f64,
    /// how long the top takes
    top_s: f64,
    /// sag or jags, as a share of the torque
    depth: f64,
    let_go_s: f64,
    jags: Vec<f64>,
    /// amplitude as a share of the torque, frequency, phase
    tremor: (f64, f64, f64),
    pub noise: f64,
    pub hum: (f64, f64, f64),
    pub mains_hz: f64,
    pub step: f64,
    pub zero: f64,
    phase: f64,
}

impl Top {
    pub fn draw(dice: &mut Dice) -> Top {
        let shape = dice.pick(&Shape::ALL);
        let target = dice.log(0.5, 1000.0);
        let rate_hz = dice.log(20.0, 10_000.0);
        let noise = dice.log(2e-5, 2e-3) * if dice.chance(0.8) { (rate_hz / 1000.0).sqrt() } else { 1.0 };
        let mains_hz = dice.pick(&[50.0, 60.0]);
        // what the sample rate cannot tell from torque is kept small
        let loudest = if rate_hz < 3.0 * mains_hz { 2e-4 } else { 2e-3 };
        let hum = if dice.chance(0.5) { dice.log(1e-5, loudest) } else { 0.0 };
        let abrupt = shape == Shape::LetGo;
        Top {
            shape,
            rate_hz,
            target,
            height: dice.even(0.94, 1.10),
            zero_s: dice.even(0.6, 1.0),
            first_80_s: dice.even(0.4, 1.0),
            loading_s: dice.log(0.5, 4.0),
            top_s: if shape == Shape::Jagged { dice.log(0.36, 2.0) } else { dice.log(0.1, 2.0) },
            depth: dice.log(0.01, 0.1),
            let_go_s: if abrupt { dice.even(-0.005, 0.005).max(0.0) } else { dice.log(0.06, 0.4) },
            jags: (0..64).map(|_| dice.unit()).collect(),
            tremor: (dice.log(1e-4, 3e-3), dice.even(8.0, 12.0), dice.even(0.0, TAU)),
            noise: noise * target,
            hum: (hum * target, mains_hz + dice.even(-0.05, 0.05), dice.even(0.0, TAU)),
            mains_hz,
            step: if dice.chance(0.5) { dice.log(5e-5, 1e-3) * target } else { 0.0 },
            zero: dice.even(-2e-3, 2e-3) * target,
            phase: dice.unit(),
        }
    }

    /// When the rise is over.
    fn risen_s(&self) -> f64 {
        self.zero_s + self.first_80_s + self.loading_s
    }

    /// When the hand begins to let go.
    fn let_go_s(&self) -> f64 {
        match self.shape {
            Shape::LetGo | Shape::Apex => self.risen_s(),
            _ => self.risen_s() + self.top_s,
        }
    }

    fn end_s(&self) -> f64 {
        self.let_go_s() + self.let_go_s
    }

    /// The torque that is really there.
    pub fn torque(&self, t: f64) -> f64 {
        if t <= self.zero_s || t > self.end_s() {
            return 0.0;
        }
        let (a, hz, phase) = self.tremor;
        let since = t - self.let_go_s();
        let grip = if since <= 0.0 { 1.0 } else { 1.0 - since / self.let_go_s };
        self.target * self.height * self.hand(t) * grip * (1.0 + a * (TAU * hz * t + phase).sin())
    }

    /// As a share of the height.
    fn hand(&self, t: f64) -> f64 {
        let early = t - self.zero_s;
        if early < self.first_80_s {
            return 0.4 - 0.4 * (PI * early / self.first_80_s).cos();
        }
        let late = t - self.risen_s();
        if late <= 0.0 {
            return 1.0 + 0.2 * late / self.loading_s;
        }
        let u = (late / self.top_s).min(1.0);
        match self.shape {
            // goes on with the slope of the rise and turns
            Shape::Rounded => {
                let rise = 0.2 * self.top_s / self.loading_s;
                1.0 + rise / PI * (PI * u).sin() - self.depth * (0.5 - 0.5 * (PI * u).cos())
            }
            Shape::Held | Shape::LetGo | Shape::Apex => 1.0,
            Shape::Sagging => 1.0 - self.depth * (1.0 - (-5.0 * u).exp()),
            Shape::Jagged => {
                let at = u * 12.0;
                let index = (at as usize).min(11);
                let (from, to) = (self.jags[index] * f64::from(index > 0), self.jags[index + 1]);
                1.0 + self.depth * (from + (to - from) * (at - index as f64))
            }
        }
    }

    /// The highest torque, and the highest of those moments at which a sample is taken.
    pub fn truth(&self) -> (f64, f64) {
        let (from, to) = (self.zero_s + self.first_80_s, self.end_s());
        let count = ((to - from) / 1e-3) as usize + 1;
        let coarse = |i: usize| from + (to - from) * i as f64 / count as f64;
        let best = (0..=count).max_by(|i, j| self.torque(coarse(*i)).total_cmp(&self.torque(coarse(*j))));
        let about = coarse(best.unwrap());
        let fine = (-200..=200).map(|i| self.torque((about + f64::from(i) * 1e-5).min(to)));
        let corner = [self.risen_s(), self.let_go_s()].map(|t| self.torque(t));
        // a corner of a jag lies between
        let jags = (0..=12).map(|i| self.torque(self.risen_s() + self.top_s * f64::from(i) / 12.0));
        let truth = fine.chain(corner).chain(jags).fold(0.0, f64::max);
        let sampled = (0..self.count()).map(|i| self.torque(self.time_s(i))).fold(0.0, f64::max);
        (truth, sampled)
    }

    fn count(&self) -> usize {
        ((self.end_s() + 0.8) * self.rate_hz) as usize
    }

    fn time_s(&self, i: usize) -> f64 {
        (i as f64 + self.phase) / self.rate_hz
    }

    /// What the display shows: time and torque.
    pub fn samples<'a>(&'a self, dice: &'a mut Dice) -> impl Iterator<Item = (f64, f64)> + 'a {
        (0..self.count()).map(move |i| {
            let t = self.time_s(i);
            let (amplitude, hz, phase) = self.hum;
            let mut x = self.torque(t) + self.zero + self.noise * dice.normal();
            if amplitude > 0.0 {
                x += amplitude * (TAU * hz * t + phase).sin();
            }
            (t, if self.step > 0.0 { (x / self.step).round() * self.step } else { x })
        })
    }

    /// The hum that is left: all of it where the sample rate is too low to take it out, else what a
    /// notch of 2 Hz between its −3 dB points passes of a mains frequency that is off.
    pub fn hum_left(&self) -> f64 {
        let (amplitude, hz, _) = self.hum;
        if self.rate_hz < 3.0 * self.mains_hz { amplitude } else { amplitude * (hz - self.mains_hz).abs() }
    }

    /// Standard deviation of a sample by noise, rounding and the hum that is left.
    pub fn grain(&self) -> f64 {
        let hum = self.hum_left();
        (self.noise * self.noise + self.step * self.step / 12.0 + hum * hum / 2.0).sqrt()
    }
}
