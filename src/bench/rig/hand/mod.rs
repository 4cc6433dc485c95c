//! The hand: an angle that goes with time, and what it does when it feels the tool release.

mod plan;

pub(crate) use plan::{Plan, Task};

use std::f64::consts::PI;

use crate::transducer::Wave;

/// The hand slows towards a place of rest with this many of its own time constants: the approach is then
/// critically damped and does not overshoot (x'' τ² + x' τ + x/4 = 0 has a double root).
const APPROACH: f64 = 4.0;
/// It has arrived within this share of the way.
const ARRIVED: f64 = 5e-4;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Phase {
    Loading,
    /// released, and not yet noticed
    Noticing {
        until_s: f64,
    },
    PullingOn {
        to_deg: f64,
    },
    Holding {
        until_s: f64,
    },
    LettingGo {
        from_deg: f64,
        to_deg: f64,
        since_s: f64,
        is_last: bool,
    },
    Gone,
}

/// The hand in one pull. Angles in degrees, times in seconds from its start.
#[derive(Debug, Clone)]
pub(crate) struct Hand {
    plan: Plan,
    phase: Phase,
    step_s: f64,
    /// what is left of a difference in speed after a step
    fade: f64,
    time_s: f64,
    angle: f64,
    speed: f64,
    jerk_until_s: f64,
    next_jerk: usize,
    waves: [(f64, Wave); 3],
}

impl Hand {
    pub(crate) fn new(plan: Plan, step_s: f64) -> Hand {
        let wave = |unrest: plan::Unrest| (unrest.share, Wave::new(unrest.hz, step_s, unrest.phase));
        Hand {
            fade: libm::exp(-step_s / plan.smoothing_s),
            waves: plan.unrest.map(wave),
            plan,
            phase: Phase::Loading,
            step_s,
            time_s: 0.0,
            angle: 0.0,
            speed: 0.0,
            jerk_until_s: f64::NEG_INFINITY,
            next_jerk: 0,
        }
    }

    /// Whether it has let go.
    pub(crate) fn is_gone(&self) -> bool {
        self.phase == Phase::Gone
    }

    /// The tool has released; a second release within the reaction time changes nothing.
    pub(crate) fn feel_release(&mut self) {
        if self.phase == Phase::Loading {
            self.phase = Phase::Noticing { until_s: self.time_s + self.plan.reaction_s };
        }
    }

    /// Lets go at once, to the angle at which nothing is felt any more.
    pub(crate) fn let_go(&mut self, free_deg: f64) {
        if !matches!(self.phase, Phase::LettingGo { is_last: true, .. } | Phase::Gone) {
            self.plan.again_from_deg = None;
            self.begin_to_let_go(free_deg);
        }
    }

    /// One step; `free_deg` is the angle at which the torque is gone. The angle, tremor included.
    pub(crate) fn step(&mut self, free_deg: f64) -> f64 {
        self.time_s += self.step_s;
        self.decide(free_deg);
        if let Phase::LettingGo { from_deg, to_deg, since_s, .. } = self.phase {
            let share = ((self.time_s - since_s) / self.plan.let_go_s).min(1.0);
            self.angle = to_deg + (from_deg - to_deg) * 0.5 * (1.0 + libm::cos(PI * share));
            self.speed = 0.0;
        } else {
            self.drive();
        }
        let unrest: f64 = self.waves.iter_mut().map(|(share, wave)| *share * wave.step()).sum();
        let strained = (self.angle - free_deg).max(0.0);
        self.angle + strained * unrest
    }

    /// The speed follows the wanted one with the time constant of the hand; exact for a step in which the
    /// wanted one stands still.
    fn drive(&mut self) {
        let wanted = self.wanted();
        let lag = (self.speed - wanted) * self.plan.smoothing_s * (1.0 - self.fade);
        self.angle = (self.angle + wanted * self.step_s + lag).max(0.0);
        self.speed = wanted + (self.speed - wanted) * self.fade;
    }

    fn wanted(&mut self) -> f64 {
        let plan = &self.plan;
        let toward = |to_deg: f64| (to_deg - self.angle) / (APPROACH * plan.smoothing_s);
        match self.phase {
            Phase::Loading => {
                if self.time_s < self.jerk_until_s {
                    return -plan.jerk_speed;
                }
                let speed = if self.angle < plan.slow_from_deg { plan.fast } else { plan.slow };
                speed.min(toward(plan.stop_deg).max(0.0))
            }
            Phase::Noticing { .. } => plan.slow.min(toward(plan.limit_deg).max(0.0)),
            Phase::PullingOn { to_deg } => (2.0 * plan.slow).min(toward(to_deg).max(0.0)),
            Phase::Holding { .. } | Phase::LettingGo { .. } | Phase::Gone => 0.0,
        }
    }

    fn decide(&mut self, free_deg: f64) {
        let arrived = |angle: f64, to_deg: f64| angle >= to_deg * (1.0 - ARRIVED);
        match self.phase {
            Phase::Loading => {
                if let Some(from) = self.plan.jerks.get(self.next_jerk).filter(|from| self.angle >= **from) {
                    debug_assert!(*from > 0.0);
                    self.next_jerk += 1;
                    self.jerk_until_s = self.time_s + plan::JERK_S;
                }
                if arrived(self.angle, self.plan.stop_deg) {
                    self.hold();
                }
            }
            Phase::Noticing { until_s } if self.time_s >= until_s => {
                let to_deg = (self.angle + self.plan.over_deg).min(self.plan.limit_deg);
                if self.plan.over_deg > 0.0 { self.phase = Phase::PullingOn { to_deg } } else { self.hold() }
            }
            Phase::PullingOn { to_deg } if arrived(self.angle, to_deg) => self.hold(),
            Phase::Holding { until_s } if self.time_s >= until_s => self.begin_to_let_go(free_deg),
            Phase::LettingGo { since_s, is_last, .. } if self.time_s - since_s >= self.plan.let_go_s => {
                // an angle held for one step more, so that the last one is exactly that of no torque
                self.phase = if is_last { Phase::Gone } else { Phase::Loading };
            }
            _ => {}
        }
    }

    fn hold(&mut self) {
        self.phase = Phase::Holding { until_s: self.time_s + self.plan.hold_s };
    }

    fn begin_to_let_go(&mut self, free_deg: f64) {
        let again = self.plan.again_from_deg.take();
        self.phase = Phase::LettingGo {
            from_deg: self.angle,
            to_deg: again.map_or(free_deg, |from| free_deg + from),
            since_s: self.time_s,
            is_last: again.is_none(),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan() -> Plan {
        Plan {
            fast: 8.0,
            slow: 1.0,
            slow_from_deg: 8.0,
            stop_deg: 12.0,
            limit_deg: 14.0,
            smoothing_s: 0.05,
            reaction_s: 0.2,
            over_deg: 0.0,
            hold_s: 0.3,
            let_go_s: 0.2,
            jerks: [f64::INFINITY; plan::JERKS],
            jerk_speed: 0.0,
            again_from_deg: None,
            unrest: [plan::Unrest { share: 0.0, hz: 10.0, phase: 0.0 }; 3],
        }
    }

    /// A speed that follows with a time constant τ gives θ = v·(t − τ(1 − e^(−t/τ))): a smooth start
    /// (first-order lag, any textbook).
    #[test]
    fn the_start_is_smooth() {
        let mut hand = Hand::new(plan(), 1e-4);
        for i in 1..5000 {
            let (angle, t) = (hand.step(0.0), f64::from(i) * 1e-4);
            let exact = 8.0 * (t - 0.05 * (1.0 - (-t / 0.05).exp()));
            assert!((angle - exact).abs() < 1e-9, "{t} {angle} {exact}");
        }
    }

    /// After the release it goes on for the reaction time, at the speed it had, holds and lets go.
    #[test]
    fn it_notices_late() {
        let mut hand = Hand::new(plan(), 1e-3);
        let mut angle = 0.0;
        while angle < 9.5 {
            angle = hand.step(0.0);
        }
        hand.feel_release();
        let (mut highest, mut steps): (f64, u32) = (0.0, 0);
        while !hand.is_gone() {
            angle = hand.step(0.0);
            highest = highest.max(angle);
            steps += 1;
        }
        // v·t_r, and v·τ of running out
        assert!((highest - (9.5 + 1.0 * 0.2 + 1.0 * 0.05)).abs() < 2e-3, "{highest}");
        assert!((f64::from(steps) * 1e-3 - (0.2 + 0.3 + 0.2)).abs() < 5e-3, "{steps}");
        assert_eq!(angle.to_bits(), 0.0_f64.to_bits());
    }

    #[test]
    fn it_comes_to_rest_without_overshoot() {
        let mut hand = Hand::new(plan(), 1e-3);
        let mut highest: f64 = 0.0;
        while !hand.is_gone() {
            highest = highest.max(hand.step(0.0));
        }
        assert!((12.0 * (1.0 - ARRIVED) - 1e-9..=12.0 * (1.0 + 1e-3)).contains(&highest), "{highest}");
    }
}
