//! What the hand means to do in a pull: drawn from the habits of the operator.

use std::f64::consts::TAU;

use crate::chance::Chance;
use crate::operator::{Mistake, Operator};

/// A pull has so many jerks at most.
pub(crate) const JERKS: usize = 4;
/// A jerk lasts so long, s.
pub(crate) const JERK_S: f64 = 0.15;
/// At a click that never comes the hand gives up here, as a share of the target.
const GIVE_UP: f64 = 1.3;
/// A hasty pull takes so long from 80 % to 100 %, s.
const TOO_FAST_S: (f64, f64) = (0.08, 0.3);

/// An unrest of the hand.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Unrest {
    /// amplitude as a share of the torque
    pub(crate) share: f64,
    pub(crate) hz: f64,
    pub(crate) phase: f64,
}

/// What the hand means to do. Angles in degrees, speeds in degrees a second, times in seconds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plan {
    pub(crate) fast: f64,
    pub(crate) slow: f64,
    pub(crate) slow_from_deg: f64,
    /// where it stops if nothing releases
    pub(crate) stop_deg: f64,
    /// no further in any case
    pub(crate) limit_deg: f64,
    pub(crate) smoothing_s: f64,
    pub(crate) reaction_s: f64,
    pub(crate) over_deg: f64,
    pub(crate) hold_s: f64,
    pub(crate) let_go_s: f64,
    /// where it jerks, rising; infinite where it does not
    pub(crate) jerks: [f64; JERKS],
    pub(crate) jerk_speed: f64,
    /// it pulls a second time from this angle
    pub(crate) again_from_deg: Option<f64>,
    pub(crate) unrest: [Unrest; 3],
}

/// What is to be done with what tool.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Task {
    /// the angle at the target
    pub(crate) target_deg: f64,
    /// the angle at which the hand means to have arrived: where an indicating tool shows the target;
    /// none for a tool that releases
    pub(crate) arrival_deg: Option<f64>,
    /// the angle of the release, of which the hand knows nothing; a pull that stops short stops short of it
    pub(crate) release_deg: Option<f64>,
    pub(crate) is_preload: bool,
}

impl Plan {
    /// Draws one; the mistake is drawn first, so that habits do not depend on it.
    pub(crate) fn draw(operator: &Operator, task: &Task, chance: &mut Chance) -> (Plan, Option<Mistake>) {
        let unit = chance.unit();
        let mistake = if task.is_preload { None } else { operator.mistakes.pick(unit) };
        let spread = 0.01 * operator.spread_percent;
        let mut about = |time_s: f64| time_s * chance.about_one(spread);
        let (approach_s, mut loading_s) = (about(operator.approach_s), about(operator.loading_s));
        let (reaction_s, hold_s) = (about(operator.reaction_s), about(operator.hold_s));
        let (let_go_s, over) = (about(operator.let_go_s), about(0.01 * operator.over_pull_percent));
        let target = task.target_deg;
        if task.is_preload {
            loading_s *= 0.5;
        }
        let unrest = unrest(operator, chance);
        let mut smoothing_s = operator.smoothing_s;
        if mistake == Some(Mistake::TooFast) {
            loading_s = chance.even(TOO_FAST_S.0, TOO_FAST_S.1);
            // and it stops as abruptly as it goes: otherwise a dial would be approached slowly after all
            smoothing_s *= 0.3;
        }
        let stop = match task.arrival_deg {
            Some(arrival) => arrival * (1.0 + over),
            None => target * GIVE_UP,
        };
        let (fast, slow) = (0.8 * target / approach_s, 0.2 * target / loading_s);
        // a hand that changes from one speed to another with a time constant τ goes (v₁ − v₂)·τ further
        // than one that changes at once: it slows so much before 80 %
        let run_out = (fast - slow).max(0.0) * smoothing_s;
        let mut plan = Plan {
            fast,
            slow,
            slow_from_deg: (0.8 * target - run_out).max(0.2 * target),
            stop_deg: stop,
            limit_deg: 1.2 * stop,
            smoothing_s,
            reaction_s,
            over_deg: over * target,
            // a dial must be read before the hand lets go
            hold_s: if task.arrival_deg.is_some() { hold_s + 0.5 } else { hold_s },
            let_go_s,
            jerks: [f64::INFINITY; JERKS],
            jerk_speed: 0.0,
            again_from_deg: None,
            unrest,
        };
        match mistake {
            Some(Mistake::Jerky) => jerky(&mut plan, target, chance),
            Some(Mistake::StopsShort) => {
                // short of the target, and so of the release whatever its deviation, tremor included
                let end =
                    task.release_deg.unwrap_or(target).min(task.arrival_deg.unwrap_or(target)).min(target);
                plan.stop_deg = end * chance.even(0.83, 0.93);
            }
            Some(Mistake::PullsTwice) => plan.again_from_deg = Some(chance.even(0.1, 0.18) * target),
            Some(Mistake::TooFast) | None => {}
        }
        (plan, mistake)
    }
}

/// Two tremors in the band of the operator, which beat, and one slow unsteadiness.
fn unrest(operator: &Operator, chance: &mut Chance) -> [Unrest; 3] {
    let (low, high) = operator.tremor_hz;
    let mut one = |percent: f64, low: f64, high: f64| Unrest {
        share: 0.01 * percent * chance.even(0.6, 1.4),
        hz: chance.even(low, high),
        phase: chance.even(0.0, TAU),
    };
    [
        one(0.7 * operator.tremor_percent, low, high),
        one(0.3 * operator.tremor_percent, low, high),
        one(operator.wobble_percent, 0.5, 3.0),
    ]
}

/// Two to four falls by 4 % to 8 % of the target, between 55 % and 92 % of it.
fn jerky(plan: &mut Plan, target_deg: f64, chance: &mut Chance) {
    let count = chance.even(2.0, JERKS as f64 + 1.0) as usize;
    let width = 0.37 / count as f64;
    for (i, jerk) in plan.jerks.iter_mut().take(count).enumerate() {
        *jerk = target_deg * (0.55 + width * (i as f64 + chance.unit() * 0.6));
    }
    plan.jerk_speed = chance.even(0.04, 0.08) * target_deg / JERK_S;
}
