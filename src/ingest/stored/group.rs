//! Readings and stored values of one direction, as plain numbers beside each other.

use std::collections::BTreeMap;

use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::reading::{Direction, Reading};

use super::align::{COST_MAX, GAP, median};
use super::mapping::PairingKeys;
use super::pairing::{Pair, bench_ms};
use super::values::StoredValue;

/// A row of either side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Row {
    /// place in the list that was given
    pub(super) at: usize,
    /// the torque, N·m
    pub(super) nm: f64,
    /// the noise of the reading, N·m; 0 on the side of the tool
    pub(super) noise: f64,
    /// the test point, as the bits of its torque
    target: u64,
    time_s: Option<f64>,
}

/// How far a pairing is from one without noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Misfit {
    /// half the widest spread at a test point, in units of the noise
    pub(super) value: f64,
    /// the clock difference that is farthest from the middle, s
    pub(super) clock_s: f64,
}

/// One direction, or everything where the tool tells no direction.
#[derive(Debug, Clone)]
pub(super) struct Group {
    pub(super) direction: Option<Direction>,
    pub(super) bench: Vec<Row>,
    pub(super) tool: Vec<Row>,
    pub(super) time_tolerance_s: f64,
    pub(super) deviation_percent_max: f64,
    step_nm: f64,
}

/// Share of the bias of each test point.
pub(super) type Bias = BTreeMap<u64, f64>;

#[allow(clippy::cast_precision_loss)]
fn seconds(ms: i64) -> f64 {
    ms as f64 / 1000.0
}

fn nm(torque: Torque) -> f64 {
    torque.in_unit(TorqueUnit::NewtonMetre).abs()
}

/// So much of a difference of two readings may be noise before they are thought exchanged, N·m: a
/// little more than that of one, since a bias of up to 20 % takes its share of the difference.
pub(super) fn exchange_noise(a: &Row, b: &Row) -> f64 {
    1.2 * a.noise.max(b.noise)
}

/// Stored value less reference, in percent of the reference.
pub(super) fn deviation_percent(bench: &Row, tool: &Row) -> f64 {
    100.0 * (tool.nm - bench.nm) / bench.nm.max(f64::MIN_POSITIVE)
}

impl Group {
    pub(super) fn of(
        readings: &[&Reading],
        stored: &[StoredValue],
        direction: Option<Direction>,
        step: Torque,
        keys: &PairingKeys,
        timed: bool,
    ) -> Group {
        let step_nm = nm(step);
        let bench = readings
            .iter()
            .enumerate()
            .filter(|(_, reading)| direction.is_none_or(|d| d == reading.direction));
        let bench = bench.map(|(at, reading)| {
            let reference = nm(reading.reference.torque());
            Row {
                at,
                nm: reference,
                noise: (step_nm + reference * keys.noise_percent / 100.0).max(1e-9),
                target: nm(reading.target.torque()).to_bits(),
                time_s: reading.time.as_ref().filter(|_| timed).map(|time| seconds(bench_ms(time))),
            }
        });
        let tool = stored
            .iter()
            .enumerate()
            .filter(|(_, value)| direction.is_none() || value.direction == direction);
        let tool = tool.map(|(at, value)| Row {
            at,
            nm: nm(value.torque.torque()),
            noise: 0.0,
            target: 0,
            time_s: value.time_ms.filter(|_| timed).map(seconds),
        });
        Group {
            direction,
            bench: bench.collect(),
            tool: tool.collect(),
            time_tolerance_s: keys.time_tolerance_s,
            deviation_percent_max: keys.deviation_percent_max,
            step_nm,
        }
    }

    fn rows(&self, i: usize, j: usize) -> Option<(&Row, &Row)> {
        Some((self.bench.get(i)?, self.tool.get(j)?))
    }

    /// What a pair costs: the squares of its distance from the bias of its test point in units of
    /// the noise, and of its clocks in units of the tolerance. Without a bias the noise is wide.
    pub(super) fn cost(&self, i: usize, j: usize, bias: Option<&Bias>, offset_s: Option<f64>) -> f64 {
        const WIDE: f64 = 0.06;
        let Some((bench, tool)) = self.rows(i, j) else { return COST_MAX };
        let (share, scale) = match bias {
            Some(bias) => (bias.get(&bench.target).copied().unwrap_or(0.0), bench.noise),
            None => (0.0, bench.noise + WIDE * bench.nm),
        };
        let value = ((tool.nm - bench.nm * (1.0 + share)) / scale).powi(2);
        let clocks = tool.time_s.zip(bench.time_s).zip(offset_s);
        let time = clocks
            .map_or(0.0, |((tool, bench), offset)| ((tool - bench - offset) / self.time_tolerance_s).powi(2));
        (value.min(COST_MAX) + time.min(COST_MAX)).min(COST_MAX)
    }

    /// The middle deviation of each test point, as a share.
    pub(super) fn bias(&self, pairs: impl Iterator<Item = (usize, usize)>) -> Bias {
        let mut of_target: BTreeMap<u64, Vec<f64>> = BTreeMap::new();
        for (bench, tool) in pairs.filter_map(|(i, j)| self.rows(i, j)) {
            of_target.entry(bench.target).or_default().push(deviation_percent(bench, tool) / 100.0);
        }
        of_target.into_iter().filter_map(|(target, shares)| Some((target, median(shares)?))).collect()
    }

    /// Tool less bench of the pairs by order, s.
    pub(super) fn clock_differences(&self) -> Vec<f64> {
        self.differences(0)
    }

    fn differences(&self, by: i64) -> Vec<f64> {
        let pairs = self.moved_pairs(by);
        pairs.filter_map(|(bench, tool)| Some(tool.time_s? - bench.time_s?)).collect()
    }

    /// The differences of all pairs that may belong together where some rows are missing.
    pub(super) fn near_differences(&self) -> Vec<f64> {
        const NEAR: usize = 20;
        let reach = self.bench.len().abs_diff(self.tool.len()).min(NEAR) + 2;
        let reach = i64::try_from(reach).unwrap_or(2);
        (-reach..=reach).flat_map(|by| self.differences(by)).collect()
    }

    fn moved_pairs(&self, by: i64) -> impl Iterator<Item = (&Row, &Row)> {
        let skip = |by: i64| usize::try_from(by).unwrap_or(0);
        self.bench.iter().skip(skip(-by)).zip(self.tool.iter().skip(skip(by)))
    }

    /// Whether tool and reference are as near as those of a pair must be.
    pub(super) fn is_plausible(&self, bench: &Row, tool: &Row) -> bool {
        (tool.nm - bench.nm).abs() <= 2.0 * self.step_nm + bench.nm * self.deviation_percent_max / 100.0
    }

    /// The misfit of the pairing that is moved by some rows; `None` where it cannot be one, or where
    /// its clocks agree much less well than `rival_of_s`.
    pub(super) fn moved(&self, by: i64, rival_of_s: Option<f64>) -> Option<Misfit> {
        const PAIRS_MIN: usize = 2;
        /// Clocks that are read to a second scatter by so much.
        const CLOCK_S: f64 = 2.0;
        let mut spreads: BTreeMap<u64, (f64, f64, f64)> = BTreeMap::new();
        let mut count = 0;
        for (bench, tool) in self.moved_pairs(by) {
            if by != 0 && !self.is_plausible(bench, tool) {
                return None;
            }
            count += 1;
            let difference = tool.nm - bench.nm;
            let spread = spreads.entry(bench.target).or_insert((difference, difference, 0.0));
            *spread = (spread.0.min(difference), spread.1.max(difference), spread.2.max(bench.noise));
        }
        if count < PAIRS_MIN {
            return None;
        }
        let value =
            spreads.values().map(|(low, high, noise)| (high - low) / (2.0 * noise)).fold(0.0, f64::max);
        let differences = self.differences(by);
        let middle = median(differences.clone()).unwrap_or(0.0);
        let clock_s = differences.iter().map(|s| (s - middle).abs()).fold(0.0, f64::max);
        let limit = rival_of_s.map(|s| (3.0 * s).max(CLOCK_S).min(self.time_tolerance_s));
        if limit.is_some_and(|limit| clock_s > limit) { None } else { Some(Misfit { value, clock_s }) }
    }

    /// What the values cost when the whole table is moved, with the rows that then have no partner.
    pub(super) fn moved_cost(&self, by: i64) -> Option<f64> {
        let skip = |by: i64| usize::try_from(by).unwrap_or(0);
        let overlap = self.bench.len().checked_sub(skip(by.abs())).filter(|count| *count >= 2)?;
        let pairs = || (0..overlap).map(|i| (i + skip(-by), i + skip(by)));
        let bias = self.bias(pairs());
        let gaps: f64 = (0..by.abs()).map(|_| 2.0 * GAP).sum();
        Some(gaps + pairs().map(|(i, j)| self.cost(i, j, Some(&bias), None)).sum::<f64>())
    }

    /// A test point at which the values scatter by more than noise, and do not when they are moved by
    /// one row within it: its first row, the move, and the misfit before and after.
    pub(super) fn moved_within_point(&self) -> Option<(usize, i64, f64, f64)> {
        const PAIRS_MIN: usize = 2;
        /// A little more than the noise, which differs a little between the pulls of a point.
        const BEYOND: f64 = 1.15;
        let mut start = 0;
        while let Some(first) = self.bench.get(start) {
            let length = self.bench.iter().skip(start).take_while(|row| row.target == first.target).count();
            let misfit = |skip_bench: usize, skip_tool: usize| {
                let bench = self.bench.iter().skip(start).take(length).skip(skip_bench);
                let pairs = bench.zip(self.tool.iter().skip(start).take(length).skip(skip_tool));
                // Shares: a bias that is common to the point is no scatter.
                let shares = pairs.map(|(bench, tool)| deviation_percent(bench, tool) / 100.0);
                let differences = shares.map(|share| share * first.nm);
                let (low, high) =
                    differences.fold((f64::MAX, f64::MIN), |(low, high), d| (low.min(d), high.max(d)));
                (high - low) / (2.0 * first.noise)
            };
            let by_order = misfit(0, 0);
            if length > PAIRS_MIN && by_order > BEYOND {
                let moved = [(1, misfit(0, 1)), (-1, misfit(1, 0))];
                if let Some((by, rest)) = moved.into_iter().find(|(_, rest)| *rest <= 1.0) {
                    return Some((start, by, by_order, rest));
                }
            }
            start += length;
        }
        None
    }

    /// The two rows that fit best exchanged: the tool rises where the reference falls, both by more
    /// than noise. Also returns how much lower the misfit is then.
    pub(super) fn exchanged(&self, bias: &Bias) -> Option<(usize, usize, f64)> {
        let mut best: Option<(usize, usize, f64)> = None;
        let cost = |i: usize, j: usize| self.cost(i, j, Some(bias), None);
        for (i, (b0, t0)) in self.bench.iter().zip(&self.tool).enumerate() {
            for (k, (b1, t1)) in self.bench.iter().zip(&self.tool).enumerate().skip(i + 1) {
                let (reference, stored) = (b1.nm - b0.nm, t1.nm - t0.nm);
                let noise = exchange_noise(b0, b1);
                if reference * stored >= 0.0 || reference.abs().min(stored.abs()) <= noise {
                    continue;
                }
                let gain = cost(i, i) + cost(k, k) - cost(i, k) - cost(k, i);
                if best.is_none_or(|(_, _, most)| gain > most) {
                    best = Some((i, k, gain));
                }
            }
        }
        best
    }

    /// The pairs by order.
    pub(super) fn pairs(&self) -> Vec<Pair> {
        let bias = self.bias((0..self.bench.len()).map(|i| (i, i)));
        let sides = self.bench.iter().zip(&self.tool);
        sides
            .map(|(bench, tool)| {
                let share = bias.get(&bench.target).copied().unwrap_or(0.0);
                Pair {
                    reading: bench.at,
                    stored: tool.at,
                    deviation_percent: deviation_percent(bench, tool),
                    misfit: (tool.nm - bench.nm * (1.0 + share)) / bench.noise,
                    clock_s: tool.time_s.zip(bench.time_s).map(|(tool, bench)| tool - bench),
                }
            })
            .collect()
    }
}
