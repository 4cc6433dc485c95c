//! Finds a release: a fall that is sudden, larger than noise and unrest, and that stops again far
//! above zero. A hand that lets go falls on; a hand that trembles falls slowly.

use super::block::Blocks;
use super::settings::Thresholds;

/// The lag of the comparison between before and after, in seconds.
const LAG_S: f64 = 0.020;
/// The fall has stopped when there was no lower torque for so long, in seconds.
const REST_S: f64 = 0.008;
/// After a release the next one can come after so long, in seconds.
const DEAD_S: f64 = 0.060;
/// A second release drops by at least this share of the first: less is its ringing.
const AGAIN: f64 = 0.4;
/// Memory of the unrest, in seconds.
const UNREST_S: f64 = 0.6;
/// What falls on by less than this share of the drop rests.
const REST_SHARE: f64 = 0.15;
/// The middle of a release, from 15 % to 85 % of its fall, takes at most so long, in seconds.
const SUDDEN_S: f64 = 0.018;
/// The unrest is the second difference over this time, in seconds: half a tremor.
const HALF_SWING_S: f64 = 0.05;
/// The top of a fall is looked for so far back, in seconds.
const LOOK_BACK_S: f64 = 0.070;

/// Means of blocks before and after a gap.
#[derive(Debug, Clone, Copy)]
struct Window {
    before: usize,
    gap: usize,
    after: usize,
}

impl Window {
    /// From the middle of before to the middle of after, in seconds.
    fn lag_s(&self, step_s: f64) -> f64 {
        ((self.before + self.after) as f64 / 2.0 + self.gap as f64) * step_s
    }
}

const WINDOWS: [(usize, usize, usize); 5] = [(1, 0, 1), (1, 1, 1), (2, 1, 2), (2, 3, 2), (4, 4, 4)];

/// A fall that may be a release.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fall {
    /// the highest block before it
    pub(super) top: f64,
    pub(super) top_s: f64,
    /// the lowest block after it
    pub(super) low: f64,
    pub(super) low_s: f64,
    began_s: f64,
    found_s: f64,
}

#[derive(Debug, Clone, Copy)]
enum State {
    Watching,
    Falling(Fall),
    /// fell too long or too far: the hand lets go, or pauses
    LettingGo {
        low: f64,
        rise: f64,
    },
    /// released: wait until the torque has risen again
    Released {
        low: f64,
        rise: f64,
        until_s: f64,
    },
}

/// What the finder must know of the pull.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ground {
    /// standard deviation of a block mean
    pub(super) noise: f64,
    /// level of the zero before
    pub(super) zero: f64,
    /// below this torque nothing is looked for
    pub(super) from: f64,
}

/// The finder.
#[derive(Debug, Clone)]
pub(super) struct ClickFinder {
    windows: Vec<Window>,
    state: State,
    first_drop: Option<f64>,
    limits: Thresholds,
    forget: f64,
    /// mean square of the second differences
    unrest: f64,
}

impl ClickFinder {
    pub(super) fn new(limits: Thresholds, step_s: f64) -> ClickFinder {
        let window = |(before, gap, after)| Window { before, gap, after };
        let all = WINDOWS.into_iter().map(window).enumerate();
        let fits = |(index, window): &(usize, Window)| *index == 0 || window.lag_s(step_s) <= LAG_S;
        ClickFinder {
            windows: all.filter(fits).map(|(_, window)| window).collect(),
            state: State::Watching,
            first_drop: None,
            limits,
            forget: (step_s / UNREST_S).min(0.5),
            unrest: 0.0,
        }
    }

    /// Whether a fall is under way that may be a release.
    pub(super) fn is_falling(&self) -> bool {
        matches!(self.state, State::Falling(_))
    }

    /// A release, as soon as its fall has come to rest.
    pub(super) fn push(&mut self, blocks: &Blocks, ground: Ground) -> Option<Fall> {
        let now = blocks.back(0)?;
        self.watch_unrest(blocks, ground);
        match self.state {
            State::Watching => {
                if let Some(fall) = self.watch(blocks, ground) {
                    self.state = State::Falling(fall);
                }
                None
            }
            State::Falling(fall) => {
                self.state = self.follow(fall, blocks, ground)?;
                match self.state {
                    State::Released { .. } => Some(fall),
                    _ => None,
                }
            }
            State::LettingGo { low, rise } => {
                self.state = if now.torque > low + rise {
                    State::Watching
                } else {
                    State::LettingGo { low: low.min(now.torque), rise }
                };
                None
            }
            State::Released { low, rise, until_s } => {
                if now.time_s >= until_s && now.torque > low + rise {
                    self.state = State::Watching;
                } else {
                    self.state = State::Released { low: low.min(now.torque), rise, until_s };
                }
                None
            }
        }
    }

    fn watch_unrest(&mut self, blocks: &Blocks, ground: Ground) {
        let half = ((HALF_SWING_S / blocks.step_s()).round() as usize).max(1);
        let ago = |steps| blocks.back(steps);
        let (Some(now), Some(middle), Some(before)) = (ago(0), ago(half), ago(2 * half)) else { return };
        if before.torque - ground.zero > ground.from {
            let bend = now.torque - 2.0 * middle.torque + before.torque;
            self.unrest += self.forget * (bend * bend - self.unrest);
        }
    }

    fn watch(&self, blocks: &Blocks, ground: Ground) -> Option<Fall> {
        let mut found: Option<(Window, f64)> = None;
        let step_s = blocks.step_s();
        let unrest = (self.unrest - 6.0 * ground.noise * ground.noise).max(0.0).sqrt();
        for window in &self.windows {
            let before = blocks.mean(window.after + window.gap, window.before)?;
            let after = blocks.mean(0, window.after)?;
            let level = before.torque - ground.zero;
            if level < ground.from {
                continue;
            }
            let drop = before.torque - after.torque;
            let noise = ground.noise * (1.0 / window.before as f64 + 1.0 / window.after as f64).sqrt();
            let again = self.first_drop.map_or(0.0, |first| AGAIN * first);
            let by_noise = self.limits.drop_noise * noise;
            let by_hand = self.limits.drop_unrest * unrest * window.lag_s(step_s) / LAG_S;
            let least = by_noise.hypot(by_hand).max(self.limits.drop_min.fraction() * level).max(again);
            if drop > least && found.is_none() {
                found = Some((*window, after.torque));
            }
        }
        let (window, _) = found?;
        let span = window.before + window.gap + window.after;
        let mut top = blocks.back(window.after)?;
        for steps in window.after..span {
            let block = blocks.back(steps)?;
            if block.torque > top.torque {
                top = block;
            }
        }
        let mut low = blocks.back(0)?;
        for steps in 0..window.after {
            let block = blocks.back(steps)?;
            if block.torque < low.torque {
                low = block;
            }
        }
        Some(Fall {
            top: top.torque,
            top_s: top.time_s,
            low: low.torque,
            low_s: low.time_s,
            began_s: top.time_s,
            found_s: blocks.back(0)?.time_s,
        })
    }

    fn follow(&mut self, fall: Fall, blocks: &Blocks, ground: Ground) -> Option<State> {
        let (now, step_s) = (blocks.back(0)?, blocks.step_s());
        let fall =
            if now.torque < fall.low { Fall { low: now.torque, low_s: now.time_s, ..fall } } else { fall };
        let drop = fall.top - fall.low;
        let letting_go =
            State::LettingGo { low: fall.low, rise: (REST_SHARE * drop).max(3.0 * ground.noise) };
        if drop > self.limits.drop_max.fraction() * (fall.top - ground.zero) {
            return Some(letting_go);
        }
        let steps = ((REST_S / step_s).ceil() as usize).max(1);
        let passed_s = now.time_s - fall.began_s;
        let rests = blocks.back(steps)?.torque - now.torque < (REST_SHARE * drop).max(3.0 * ground.noise);
        if rests && now.time_s - fall.found_s > (steps as f64 - 0.5) * step_s {
            if !self.is_sudden(&fall, blocks, ground) {
                return Some(letting_go);
            }
            self.first_drop.get_or_insert(drop);
            return Some(State::Released { low: fall.low, rise: 0.5 * drop, until_s: now.time_s + DEAD_S });
        }
        let longest = self.limits.fall_s.max(2.0 * step_s) + steps as f64 * step_s;
        Some(if passed_s > longest + 0.5 * step_s { letting_go } else { State::Falling(fall) })
    }

    /// Whether the middle of the fall, from 15 % to 85 % of it, is fast enough: a hand that trembles
    /// at 12 Hz takes 20 ms.
    fn is_sudden(&self, fall: &Fall, blocks: &Blocks, ground: Ground) -> bool {
        let step_s = blocks.step_s();
        let mut top = fall.top;
        let mut steps = 0;
        while let Some(block) = blocks.back(steps).filter(|block| fall.low_s - block.time_s <= LOOK_BACK_S) {
            steps += 1;
            if block.time_s < fall.low_s && block.torque > top + 4.0 * ground.noise {
                top = block.torque;
            }
        }
        let drop = top - fall.low;
        let (mut start_s, mut end_s) = (None, None);
        for block in (0..steps).rev().filter_map(|back| blocks.back(back)) {
            if block.torque > top - 0.15 * drop {
                (start_s, end_s) = (Some(block.time_s), None);
            } else if block.torque < top - 0.85 * drop && end_s.is_none() {
                end_s = Some(block.time_s);
            }
            if block.time_s >= fall.low_s {
                break;
            }
        }
        let (Some(start_s), Some(end_s)) = (start_s, end_s) else { return false };
        end_s - start_s <= (SUDDEN_S + step_s).max(2.2 * step_s)
    }
}
