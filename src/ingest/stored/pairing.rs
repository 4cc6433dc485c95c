//! Which stored value belongs to which reading: by order within a direction, held against the
//! values and, where both sides have them, the times. Whatever is doubtful is refused.
//!
//! The noise `h` of a reading is one step of the tool and a share of the reading. Where tool and
//! reference differ by a share that is common to a test point (up to 20 %) and by no more than `h`
//! beside it, then
//! * a right pairing is not refused as exchanged;
//! * two exchanged values are always refused where their reference readings differ by more than `4 h`;
//! * another count is always refused, and so is a whole table moved by one or two rows;
//! * where each side lacks another pull and both have times, what is not refused puts no value more
//!   than `7 h` from the one that belongs there. Without times the values alone must show it: then
//!   only a value of the same test point can stand there, and it does where the pulls of that point
//!   rise or fall in even steps. Times are worth mapping.
//!
//! Two pulls at one test point that agree within the noise cannot be told apart by their values:
//! exchanged, they change the deviation of each by no more than that, and the mean not at all.

use chrono::{DateTime, FixedOffset};
use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::{Direction, Reading};

use super::align::{GAP, Step, align, densest, median};
use super::doubt::{BenchSide, Doubt, ToolSide};
use super::group::{Group, Row};
use super::mapping::PairingKeys;
use super::values::StoredValue;

/// Most rows of one side that are paired at once.
pub const PAIRS_MAX: usize = 2000;

/// A pair that is farther from the others of its test point, in units of the noise, is not believed.
const MISFIT_MAX: f64 = 5.0;

/// A reading and its stored value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// place in the readings that were given
    pub reading: usize,
    /// place in the stored values that were given
    pub stored: usize,
    /// stored value less reference, in percent of the reference
    pub deviation_percent: f64,
    /// how far the pair is from the others of its test point, in units of the noise
    pub misfit: f64,
    /// clock of the tool less clock of the bench, s
    pub clock_s: Option<f64>,
}

/// How the two clocks stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Clock {
    /// tool less bench in the middle of all pairs, s
    pub offset_s: f64,
    /// how much the tool's clock gains, s in an hour; from the middles of both halves of the run
    pub drift_s_per_hour: f64,
    /// the pair that is farthest from the middle, s
    pub spread_s: f64,
}

/// A pairing that was not refused.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairing {
    /// the pairs, in the order of the readings
    pub pairs: Vec<Pair>,
    /// the clocks, where both sides have times
    pub clock: Option<Clock>,
}

/// The clock of a reading on the wall of the bench, ms.
#[must_use]
pub fn bench_ms(time: &DateTime<FixedOffset>) -> i64 {
    time.timestamp_millis() + i64::from(time.offset().local_minus_utc()) * 1000
}

/// Pairs readings with stored values. `step` is one step of the tool.
///
/// # Errors
/// [`Doubt`], where the pairing is not certain.
pub fn pair(
    readings: &[&Reading],
    stored: &[StoredValue],
    step: Torque,
    keys: &PairingKeys,
) -> Result<Pairing, Box<Doubt>> {
    if readings.len().max(stored.len()) > PAIRS_MAX {
        return Err(Box::new(Doubt::TooMany {
            readings: readings.len(),
            stored: stored.len(),
            limit: PAIRS_MAX,
        }));
    }
    let told = stored.iter().all(|value| value.direction.is_some()) && !stored.is_empty();
    let directions: &[Option<Direction>] =
        if told { &[Some(Direction::Clockwise), Some(Direction::CounterClockwise)] } else { &[None] };
    let timed = readings.iter().all(|reading| reading.time.is_some())
        && stored.iter().all(|value| value.time_ms.is_some());
    let mut groups = Vec::new();
    for direction in directions {
        let group = Group::of(readings, stored, *direction, step, keys, timed);
        let naming = Naming { readings, stored, group: &group };
        if group.bench.len() != group.tool.len() {
            return Err(naming.count());
        }
        groups.push(group);
    }
    // The clocks are the same two in both directions.
    let differences: Vec<f64> = groups.iter().flat_map(Group::clock_differences).collect();
    let common = median(differences);
    let mut pairs = Vec::new();
    for group in &groups {
        let naming = Naming { readings, stored, group };
        naming.look(common)?;
        pairs.extend(group.pairs());
    }
    pairs.sort_by_key(|pair| pair.reading);
    let clock = common.map(|offset_s| clock(offset_s, &pairs, readings));
    Ok(Pairing { pairs, clock })
}

fn clock(offset_s: f64, pairs: &[Pair], readings: &[&Reading]) -> Clock {
    let timed: Vec<(f64, f64)> = pairs
        .iter()
        .filter_map(|pair| {
            let time = readings.get(pair.reading)?.time.as_ref()?;
            #[allow(clippy::cast_precision_loss)]
            let bench_s = bench_ms(time) as f64 / 1000.0;
            Some((bench_s, pair.clock_s?))
        })
        .collect();
    let spread_s = timed.iter().map(|(_, s)| (s - offset_s).abs()).fold(0.0, f64::max);
    let (early, late) = timed.split_at(timed.len() / 2);
    let middle = |half: &[(f64, f64)]| {
        let times = median(half.iter().map(|(time, _)| *time).collect())?;
        Some((times, median(half.iter().map(|(_, s)| *s).collect())?))
    };
    let drift = middle(early).zip(middle(late)).map(|((t0, s0), (t1, s1))| {
        let hours = (t1 - t0) / 3600.0;
        if hours > 0.0 { (s1 - s0) / hours } else { 0.0 }
    });
    Clock { offset_s, drift_s_per_hour: drift.unwrap_or(0.0), spread_s }
}

/// A group, and the names of what is in it.
struct Naming<'a> {
    readings: &'a [&'a Reading],
    stored: &'a [StoredValue],
    group: &'a Group,
}

impl Naming<'_> {
    fn bench(&self, row: &Row) -> BenchSide {
        let reading = self.readings.get(row.at);
        BenchSide {
            reading: reading.map_or(0, |reading| reading.row),
            target: reading.map(|reading| reading.target.to_string()).unwrap_or_default(),
            reference: reading.map(|reading| reading.reference.to_string()).unwrap_or_default(),
        }
    }

    fn tool(&self, row: &Row) -> ToolSide {
        let value = self.stored.get(row.at);
        ToolSide {
            place: value.map(|value| value.place.clone()).unwrap_or(super::table::CellPlace {
                file: String::new(),
                sheet: None,
                row: 0,
                column: None,
            }),
            value: value.map(|value| value.torque.to_string()).unwrap_or_default(),
        }
    }

    /// Another count: who has no partner?
    fn count(&self) -> Box<Doubt> {
        let group = self.group;
        let (steps, _) = self.aligned();
        let (mut bench, mut tool) = (Vec::new(), Vec::new());
        for step in steps {
            match step {
                Step::Pair(..) => {}
                Step::Left(i) => bench.extend(group.bench.get(i).map(|row| self.bench(row))),
                Step::Right(j) => tool.extend(group.tool.get(j).map(|row| self.tool(row))),
            }
        }
        Box::new(Doubt::Count {
            direction: group.direction,
            readings: group.bench.len(),
            stored: group.tool.len(),
            bench,
            tool,
        })
    }

    /// The cheapest alignment; the bias of each test point comes from a first, coarse one.
    fn aligned(&self) -> (Vec<Step>, f64) {
        let group = self.group;
        let (left, right) = (group.bench.len(), group.tool.len());
        let offset = densest(group.near_differences(), group.time_tolerance_s);
        let coarse = align(left, right, |i, j| group.cost(i, j, None, offset));
        let bias = group.bias(coarse.0.iter().filter_map(|step| match step {
            Step::Pair(i, j) => Some((*i, *j)),
            _ => None,
        }));
        align(left, right, |i, j| group.cost(i, j, Some(&bias), offset))
    }

    /// Looks for every reason to doubt the pairing by order.
    fn look(&self, common: Option<f64>) -> Result<(), Box<Doubt>> {
        self.moved_or_exchanged()?;
        self.plausible()?;
        self.moved_within_point()?;
        self.together()?;
        self.in_time(common)?;
        self.alone()
    }

    fn moved_or_exchanged(&self) -> Result<(), Box<Doubt>> {
        let group = self.group;
        let count = group.bench.len();
        let bias = group.bias((0..count).map(|i| (i, i)));
        let offset = median(group.clock_differences());
        let cost: f64 = (0..count).map(|i| group.cost(i, i, Some(&bias), offset)).sum();
        let (steps, cost_moved) = self.aligned();
        let moved = steps.iter().find_map(|step| match step {
            Step::Pair(i, j) if i != j => Some((*i, *j)),
            _ => None,
        });
        let exchanged = group.exchanged(&bias);
        // The explanation that leaves the least is the one to name.
        let whole = [1, -1, 2, -2].into_iter().filter_map(|by| Some((by, group.moved_cost(by)?)));
        let whole = whole.min_by(|a, b| a.1.total_cmp(&b.1));
        match (exchanged, moved, whole) {
            (Some((_, _, gain)), _, Some((by, rest))) if rest < cost_moved.min(cost - gain) => {
                let skip = usize::try_from(-by).unwrap_or(0);
                let better = usize::try_from(by).unwrap_or(0);
                Err(self.shift(skip, better, cost, rest))
            }
            (Some((i, k, gain)), moved, _) if moved.is_none() || cost - gain <= cost_moved + GAP => {
                Err(self.swap(i, k))
            }
            (_, Some((i, j)), _) => Err(self.shift(i, j, cost, cost_moved)),
            _ => Ok(()),
        }
    }

    fn swap(&self, i: usize, k: usize) -> Box<Doubt> {
        let (bench, tool) = (&self.group.bench, &self.group.tool);
        let (Some(b0), Some(b1), Some(t0), Some(t1)) = (bench.get(i), bench.get(k), tool.get(i), tool.get(k))
        else {
            return self.count();
        };
        Box::new(Doubt::Swap {
            first_bench: self.bench(b0),
            first_tool: self.tool(t0),
            second_bench: self.bench(b1),
            second_tool: self.tool(t1),
            reference_difference: b1.nm - b0.nm,
            stored_difference: t1.nm - t0.nm,
            noise: super::group::exchange_noise(b0, b1),
        })
    }

    fn shift(&self, i: usize, j: usize, cost: f64, cost_moved: f64) -> Box<Doubt> {
        let (Some(bench), Some(tool), Some(better)) =
            (self.group.bench.get(i), self.group.tool.get(i), self.group.tool.get(j))
        else {
            return self.count();
        };
        let signed = |at: usize| i64::try_from(at).unwrap_or(i64::MAX);
        Box::new(Doubt::Shift {
            by: signed(j) - signed(i),
            bench: self.bench(bench),
            tool: self.tool(tool),
            better: self.tool(better),
            cost,
            cost_moved,
        })
    }

    fn plausible(&self) -> Result<(), Box<Doubt>> {
        let group = self.group;
        let wrong =
            group.bench.iter().zip(&group.tool).find(|(bench, tool)| !group.is_plausible(bench, tool));
        wrong.map_or(Ok(()), |(bench, tool)| {
            Err(Box::new(Doubt::Implausible {
                bench: self.bench(bench),
                tool: self.tool(tool),
                deviation_percent: super::group::deviation_percent(bench, tool),
                limit_percent: group.deviation_percent_max,
            }))
        })
    }

    fn moved_within_point(&self) -> Result<(), Box<Doubt>> {
        let Some((start, by, misfit, rest)) = self.group.moved_within_point() else { return Ok(()) };
        let skip = |by: i64| start + usize::try_from(by).unwrap_or(0);
        Err(self.shift(skip(-by), skip(by), misfit, rest))
    }

    fn together(&self) -> Result<(), Box<Doubt>> {
        let group = self.group;
        let pairs = group.pairs();
        let Some((at, pair)) =
            pairs.iter().enumerate().max_by(|a, b| a.1.misfit.abs().total_cmp(&b.1.misfit.abs()))
        else {
            return Ok(());
        };
        match (group.bench.get(at), group.tool.get(at)) {
            (Some(bench), Some(tool)) if pair.misfit.abs() > MISFIT_MAX => Err(Box::new(Doubt::Apart {
                bench: self.bench(bench),
                tool: self.tool(tool),
                distance: pair.misfit * bench.noise,
                misfit: pair.misfit.abs(),
                limit: MISFIT_MAX,
            })),
            _ => Ok(()),
        }
    }

    fn in_time(&self, common: Option<f64>) -> Result<(), Box<Doubt>> {
        let (Some(common_s), group) = (common, self.group) else { return Ok(()) };
        let differences = group.clock_differences();
        let worst = differences
            .iter()
            .enumerate()
            .max_by(|a, b| (a.1 - common_s).abs().total_cmp(&(b.1 - common_s).abs()));
        let Some((at, difference_s)) = worst else { return Ok(()) };
        if (difference_s - common_s).abs() <= group.time_tolerance_s {
            return Ok(());
        }
        let (Some(bench), Some(tool)) = (group.bench.get(at), group.tool.get(at)) else { return Ok(()) };
        Err(Box::new(Doubt::Time {
            bench: self.bench(bench),
            tool: self.tool(tool),
            difference_s: *difference_s,
            common_s,
            tolerance_s: group.time_tolerance_s,
        }))
    }

    /// Whether no pairing that is moved as a whole is nearly as good.
    fn alone(&self) -> Result<(), Box<Doubt>> {
        let group = self.group;
        let Some(misfit) = group.moved(0, None) else { return Ok(()) };
        for by in [1, -1, 2, -2] {
            let Some(rival) = group.moved(by, Some(misfit.clock_s)) else { continue };
            if rival.value > misfit.value.max(1.0) * 1.5 {
                continue;
            }
            let (Some(bench), Some(tool)) = (group.bench.first(), group.tool.first()) else { continue };
            return Err(Box::new(Doubt::Ambiguous {
                direction: group.direction,
                by,
                bench: self.bench(bench),
                tool: self.tool(tool),
                misfit: misfit.value,
                misfit_moved: rival.value,
            }));
        }
        Ok(())
    }
}
