//! The click: a latch that holds up to the release torque, then slips by an angle.
//!
//! Torque M = k·(θ − s): θ the angle of the hand, s the angle by which the mechanism has slipped, k the
//! stiffness of tool and device in series. At M = M_r the latch lets go and s swings by
//! d·M_r/k, so that M comes to rest d lower.

use crate::chance::Chance;
use crate::swing::Swing;
use crate::tool::{Mechanism, SettingTool};

/// After so many time constants of its envelope the cam has come to rest: e⁻⁴, 2 %.
const REST: f64 = 4.0;
/// The tilting block has latched when the hand has gone back to this share of where it began to.
const LATCHED: f64 = 0.5;

/// The mechanism in one pull. Angles in degrees, torques in N·m, all positive.
#[derive(Debug, Clone)]
pub(crate) struct Latch {
    tool: SettingTool,
    k: f64,
    step_s: f64,
    swing: Swing,
    chance: Chance,
    nominal: f64,
    release: f64,
    slip: f64,
    speed: f64,
    rest: f64,
    width: f64,
    is_latched: bool,
    since_s: f64,
}

impl Latch {
    /// A latched mechanism that releases about `nominal` N·m, scattered by what the tool has.
    pub(crate) fn new(tool: SettingTool, k: f64, step_s: f64, nominal: f64, chance: Chance) -> Latch {
        let swing = Swing::new(tool.natural_hz, tool.damping, step_s);
        let mut latch = Latch {
            tool,
            k,
            step_s,
            swing,
            chance,
            nominal,
            release: nominal,
            slip: 0.0,
            speed: 0.0,
            rest: 0.0,
            width: 0.0,
            is_latched: true,
            since_s: 0.0,
        };
        latch.draw();
        latch
    }

    /// The torque at which it will release next.
    pub(crate) fn release(&self) -> f64 {
        self.release
    }

    /// The angle of the hand at which the torque is zero when all has come to rest.
    pub(crate) fn free_deg(&self) -> f64 {
        match self.tool.mechanism {
            Mechanism::TiltingBlock => 0.0,
            Mechanism::Cam => self.rest,
        }
    }

    fn draw(&mut self) {
        let scatter = 0.01 * self.tool.scatter_percent * self.chance.normal();
        self.release = (self.nominal * (1.0 + scatter)).max(0.05 * self.nominal);
        self.width = 0.01 * self.tool.drop_percent * self.release / self.k;
    }

    /// One step, in which the hand goes from one angle to another: the torque at its end and, if it
    /// released, after which share of the step.
    pub(crate) fn step(&mut self, before_deg: f64, after_deg: f64) -> (f64, Option<f64>) {
        let torque_before = self.k * (before_deg - self.slip);
        let (slip, speed) = (self.slip, self.speed);
        self.settle(self.swing);
        self.since_s += self.step_s;
        let mut released = None;
        if self.is_latched {
            let torque = self.k * (after_deg - self.slip);
            if torque >= self.release {
                let share = ((self.release - torque_before) / (torque - torque_before)).clamp(0.0, 1.0);
                (self.slip, self.speed) = (slip, speed);
                self.let_go(share);
                released = Some(share);
            }
        }
        self.go_back(after_deg);
        ((self.k * (after_deg - self.slip)).max(0.0), released)
    }

    fn settle(&mut self, swing: Swing) {
        let (distance, speed) = swing.step(self.slip - self.rest, self.speed);
        (self.slip, self.speed) = (self.rest + distance, speed);
    }

    /// Lets go after a share of the step, and swings for what is left of it.
    fn let_go(&mut self, share: f64) {
        let (natural_hz, damping) = (self.tool.natural_hz, self.tool.damping);
        if share > 0.0 {
            self.settle(Swing::new(natural_hz, damping, share * self.step_s));
        }
        self.is_latched = false;
        self.since_s = (1.0 - share) * self.step_s;
        self.rest += self.width;
        if share < 1.0 {
            self.settle(Swing::new(natural_hz, damping, (1.0 - share) * self.step_s));
        }
    }

    /// Latches again: the cam in its next notch, the block as the torque goes.
    fn go_back(&mut self, hand_deg: f64) {
        match self.tool.mechanism {
            Mechanism::Cam => {
                let envelope_s = 1.0 / (std::f64::consts::TAU * self.tool.natural_hz * self.tool.damping);
                if !self.is_latched && self.since_s >= REST * envelope_s {
                    self.is_latched = true;
                    self.draw();
                }
            }
            Mechanism::TiltingBlock => {
                let from_deg = 0.01 * self.tool.relatch_percent * self.release / self.k;
                if self.rest > 0.0 && hand_deg < from_deg {
                    // in step with the hand: the torque falls all the way and does not jump
                    self.rest = self.rest.min(self.width * (hand_deg / from_deg).max(0.0));
                    if !self.is_latched && hand_deg < LATCHED * from_deg {
                        self.is_latched = true;
                        self.draw();
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::panic)]
    use super::*;
    use crate::tool::Tool;
    use leverarm_metrology::quantity::Torque;

    const STEP_S: f64 = 1e-4;

    fn latch(mechanism: Mechanism, drop_percent: f64) -> Latch {
        let Tool::Setting(tool) = Tool::click_wrench(Torque::from_newton_metres(100.0)) else { panic!() };
        let tool = SettingTool { mechanism, drop_percent, scatter_percent: 0.0, ..tool };
        Latch::new(tool, 10.0, STEP_S, 80.0, Chance::new(1, 1))
    }

    /// Torque and releases of a hand that goes at `speed` degrees a second up to `to`.
    fn ramp(latch: &mut Latch, speed: f64, to: f64) -> Vec<(f64, f64, Option<f64>)> {
        let step = speed * STEP_S;
        let steps = (to / step).round() as u32;
        let angle = |i: u32| f64::from(i) * step;
        (0..steps)
            .map(|i| {
                let (torque, released) = latch.step(angle(i), angle(i + 1));
                (angle(i + 1), torque, released)
            })
            .collect()
    }

    /// Below the release the tool is a spring: M = k·θ (Hooke). It releases when k·θ = M_r, and at rest
    /// the torque is lower by the drop.
    #[test]
    fn a_spring_then_a_drop() {
        for drop in [1.0, 6.0, 20.0] {
            let run = ramp(&mut latch(Mechanism::TiltingBlock, drop), 5.0, 9.0);
            let at = run.iter().position(|(_, _, released)| released.is_some()).unwrap_or(0);
            for (angle, torque, _) in run.iter().take(at) {
                assert!((torque - 10.0 * angle).abs() < 1e-9 && *torque < 80.0);
            }
            let released = run.iter().filter_map(|(angle, _, share)| share.map(|share| (angle, share)));
            let angles: Vec<f64> =
                released.map(|(angle, share)| angle - (1.0 - share) * 5.0 * STEP_S).collect();
            assert!(angles.len() == 1 && (angles[0] - 8.0).abs() < 1e-9, "{angles:?}");
            let (angle, torque, _) = run[run.len() - 1];
            assert!((torque - (10.0 * angle - 0.8 * drop)).abs() < 1e-6, "{torque}");
        }
    }

    /// Every notch of a cam is one release: after the first at 8°, one each d·M_r/k.
    #[test]
    fn a_cam_releases_again_and_again() {
        let run = ramp(&mut latch(Mechanism::Cam, 10.0), 1.0, 11.9);
        let clicks = run.iter().filter(|(_, _, released)| released.is_some()).count();
        assert_eq!(clicks, 5); // at 8.0, 8.8, 9.6, 10.4, 11.2
        assert!(run.iter().all(|(_, torque, _)| *torque < 80.0 + 1e-6));
    }

    #[test]
    fn a_block_latches_when_the_torque_has_gone_and_not_before() {
        let mut latch = latch(Mechanism::TiltingBlock, 6.0);
        ramp(&mut latch, 5.0, 9.0);
        let mut last = f64::MAX;
        for i in 0..9000 {
            let angle = |i: i32| 9.0 - f64::from(i) * 1e-3;
            let (torque, released) = latch.step(angle(i), angle(i + 1));
            assert!(released.is_none() && torque <= last + 1e-9, "{torque} {last}");
            last = torque;
        }
        assert!(last < 1e-3);
        let again = ramp(&mut latch, 5.0, 9.0);
        assert_eq!(again.iter().filter(|(_, _, released)| released.is_some()).count(), 1);
    }
}
