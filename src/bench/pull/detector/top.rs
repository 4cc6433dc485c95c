//! How high the torque was at its highest, from the samples around it.
//!
//! Three models look at every stretch of samples: its mean, the end of a rising line through it,
//! and the top of a parabola through it. Each says a torque that the pull reached: the mean whatever
//! the pull looks like, line and parabola where they describe the samples within their noise. The
//! answer is the one with the highest lower bound. A held top is so read from many samples, a top
//! from which the hand lets go from those before it, a rounded one from the parabola, and a jag of
//! one sample among few stands as it is.
//!
//! The highest of many noisy values is too high by chance. So the bound of a stretch of n out of N
//! samples lies c + √(2 ln(N/n)) standard deviations below its value, the penalty of a scan over all
//! scales (L. Dümbgen, V. G. Spokoiny, Annals of Statistics 29, 2001, 124-152): a short stretch wins
//! only with what its noise does not explain.

use super::block::Block;

/// c, in standard deviations.
const PENALTY: f64 = 2.0;
/// Residuals may exceed what is expected of noise by so many standard deviations.
const LACK_OF_FIT: f64 = 3.0;
/// Where a model is read it may run past the samples by so many standard deviations of their mean.
const PAST: f64 = 0.5;
/// A line and a parabola need so many samples: fewer do not show whether they are one.
const LINE: usize = 4;
const PARABOLA: usize = 6;
/// From so many samples on the noise is taken from them too, for it may be louder under load.
const MANY: usize = 64;
/// where it is louder by this factor.
const LOUDER: f64 = 1.8;

/// What is known of the noise, and of what the samples went through.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grain {
    /// standard deviation of a sample at zero
    pub(super) sample: f64,
    /// and at least: what rounding makes of it
    pub(super) least: f64,
    /// of a mean of `size` samples, which is more than σ/√n where the noise is not white
    pub(super) block: f64,
    pub(super) size: usize,
    pub(super) step_s: f64,
    /// by so much a ramp is late
    pub(super) delay_s: f64,
}

impl Grain {
    /// Standard deviation of the mean of `n` samples.
    fn mean(&self, n: usize) -> f64 {
        let white = self.sample / (n as f64).sqrt();
        let excess = self.block * (self.size as f64).sqrt() / self.sample.max(f64::MIN_POSITIVE);
        white * (1.0 + (excess.max(1.0) - 1.0) * (n as f64 / self.size as f64).min(1.0))
    }
}

/// The best so far.
#[derive(Debug, Clone, Copy)]
struct Best {
    bound: f64,
    top: Block,
}

/// The highest torque and when it was; `None` where there is no sample.
pub(super) fn estimate(samples: &[(f64, f64)], grain: &Grain) -> Option<Block> {
    let highest = samples.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let local = under_load(samples).map(|local| local.max(grain.least));
    // the median of a few rounded values is a rough measure: only a louder noise is believed
    let sample = local.filter(|local| *local > LOUDER * grain.sample).unwrap_or(grain.sample);
    let scan = Scan::new(samples, highest, Grain { sample, ..*grain });
    let mut best = Best { bound: f64::NEG_INFINITY, top: Block { time_s: highest.0, torque: highest.1 } };
    let mut n = 1;
    while n <= samples.len() {
        scan.straight(n, &mut best);
        if n >= PARABOLA {
            scan.parabolas(n, &mut best);
        }
        n += (n / 3).max(1);
    }
    Some(best.top)
}

/// Standard deviation of a sample by the median of the second differences, which neither the ramp
/// nor a release disturbs: |x₁ − 2x₂ + x₃| has the median 0.6745 √6 σ.
fn under_load(samples: &[(f64, f64)]) -> Option<f64> {
    if samples.len() < MANY {
        return None;
    }
    let bend = |w: &[(f64, f64)]| match w {
        [a, b, c] => (a.1 - 2.0 * b.1 + c.1).abs(),
        _ => 0.0,
    };
    let mut bends: Vec<f64> = samples.windows(3).map(bend).collect();
    let middle = bends.len() / 2;
    let (_, median, _) = bends.select_nth_unstable_by(middle, f64::total_cmp);
    Some(*median / (0.6745 * 6.0_f64.sqrt()))
}

/// Sums over the samples up to each.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    u: f64,
    uu: f64,
    y: f64,
    uy: f64,
    yy: f64,
}

impl Sums {
    fn plus(self, u: f64, y: f64) -> Sums {
        Sums { u: self.u + u, uu: self.uu + u * u, y: self.y + y, uy: self.uy + u * y, yy: self.yy + y * y }
    }

    fn minus(self, other: Sums) -> Sums {
        Sums {
            u: self.u - other.u,
            uu: self.uu - other.uu,
            y: self.y - other.y,
            uy: self.uy - other.uy,
            yy: self.yy - other.yy,
        }
    }
}

struct Scan {
    /// time from the highest sample in steps, torque less that of the highest
    points: Vec<(f64, f64)>,
    sums: Vec<Sums>,
    origin: (f64, f64),
    grain: Grain,
}

impl Scan {
    fn new(samples: &[(f64, f64)], origin: (f64, f64), grain: Grain) -> Scan {
        let point = |(time, torque): &(f64, f64)| ((time - origin.0) / grain.step_s, torque - origin.1);
        let points: Vec<(f64, f64)> = samples.iter().map(point).collect();
        let mut sum = Sums::default();
        let mut sums = Vec::with_capacity(points.len() + 1);
        sums.push(sum);
        for (u, y) in &points {
            sum = sum.plus(*u, *y);
            sums.push(sum);
        }
        Scan { points, sums, origin, grain }
    }

    fn penalty(&self, n: usize) -> f64 {
        PENALTY + (2.0 * libm::log(self.points.len() as f64 / n as f64)).sqrt()
    }

    fn offer(&self, best: &mut Best, n: usize, value: f64, standard: f64, u: f64) {
        let bound = value - self.penalty(n) * standard;
        if bound > best.bound {
            let top = Block { time_s: self.origin.0 + u * self.grain.step_s, torque: self.origin.1 + value };
            *best = Best { bound, top };
        }
    }

    /// Whether the squares of the residuals are those of noise, with so many degrees of freedom.
    fn is_noise(&self, squares: f64, freedom: f64) -> bool {
        let variance = self.grain.sample * self.grain.sample;
        squares <= variance * (freedom + LACK_OF_FIT * (2.0 * freedom).sqrt() + 2.0)
    }

    /// By how much a model may run past the mean of `n` samples.
    fn past(&self, n: usize) -> f64 {
        PAST * self.grain.sample / (n as f64).sqrt()
    }

    /// Means and the ends of lines of all stretches of `n` samples.
    fn straight(&self, n: usize, best: &mut Best) {
        let count = n as f64;
        let standard = self.grain.mean(n);
        let penalty = self.penalty(n);
        let (quarter, eighth) = (n.div_ceil(4), n.div_ceil(8));
        let late = self.sums.iter().skip(n);
        let parts = self.sums.iter().skip(n - quarter).zip(self.sums.iter().skip(n - eighth));
        for ((early, late), (fourth, last)) in self.sums.iter().zip(late).zip(parts) {
            let sum = late.minus(*early);
            let (u, y) = (sum.u / count, sum.y / count);
            if y - penalty * standard > best.bound {
                self.offer(best, n, y, standard, u);
            }
            let spread = sum.uu - count * u * u;
            if n < LINE || spread <= 1e-9 * sum.uu {
                continue;
            }
            let covariance = sum.uy - count * u * y;
            let slope = covariance / spread;
            // a top is reached from below: the line of a fall says nothing that the rise does not,
            // and too much where the notch still swings from the corner
            if slope <= 0.0 {
                continue;
            }
            // the samples of a stretch are even: its end is half a length from the middle; and a rise
            // comes late out of the notch
            let reach = 0.5 * (count - 1.0) + self.grain.delay_s / self.grain.step_s;
            let value = y + slope * reach;
            let widened = standard * (1.0 + count * reach * reach / spread).sqrt();
            if value - penalty * widened <= best.bound {
                continue;
            }
            let squares = sum.yy - count * y * y - slope * covariance;
            // near its end, where it is read, it must not run past the samples
            let runs_past = |from: &Sums, n: usize| {
                let part = late.minus(*from);
                y + slope * (part.u / n as f64 - u) - part.y / n as f64 > self.past(n)
            };
            let is_past = runs_past(fourth, quarter) || runs_past(last, eighth);
            if !is_past && self.is_noise(squares, count - 2.0) {
                self.offer(best, n, value, widened, u + reach);
            }
        }
    }

    /// The tops of parabolas through stretches of `n` samples, a few of them.
    fn parabolas(&self, n: usize, best: &mut Best) {
        let count = n as f64;
        let standard = self.grain.mean(n);
        for stretch in self.points.windows(n).step_by((n / 4).max(1)) {
            let sum = stretch.iter().fold((0.0, 0.0), |sum, (u, y)| (sum.0 + u, sum.1 + y));
            let (middle, mean) = (sum.0 / count, sum.1 / count);
            // even samples: odd moments about the middle vanish
            let (mut s2, mut s4, mut y1, mut y2, mut yy) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for (u, y) in stretch {
                let (u, y) = (u - middle, y - mean);
                let square = u * u;
                s2 += square;
                s4 += square * square;
                y1 += u * y;
                y2 += square * y;
                yy += y * y;
            }
            let det = s4 - s2 * s2 / count;
            if s2 <= 0.0 || det <= 1e-9 * s4 {
                continue;
            }
            let (slope, bend) = (y1 / s2, y2 / det);
            let at = -0.5 * slope / bend;
            if bend >= 0.0 || at.abs() > 0.5 * (count - 1.0) {
                continue;
            }
            let square = at * at - s2 / count;
            let value = mean + slope * at + bend * square;
            let widened = standard * (1.0 + count * (at * at / s2 + square * square / det)).sqrt();
            let third = n.div_ceil(3);
            let from = ((at + 0.5 * (count - third as f64)).max(0.0) as usize).min(n - third);
            let near = stretch.iter().skip(from).take(third).fold(0.0, |sum, (u, y)| {
                let u = u - middle;
                sum + mean + slope * u + bend * (u * u - s2 / count) - y
            });
            let is_past = near / third as f64 > self.past(third);
            if !is_past && self.is_noise(yy - slope * y1 - bend * y2, count - 3.0) {
                self.offer(best, n, value, widened, middle + at);
            }
        }
    }
}
