//! Local polynomials: what the torque was at one moment, from samples before or around it.
//!
//! How many samples to use is chosen by the intersection of confidence intervals (A. Goldenshluger,
//! A. Nemirovski, Math. Methods of Statistics 6, 1997, 135-170; V. Katkovnik, IEEE Trans. Signal
//! Processing 47, 1999, 2567-2571): the window grows while the wider fits agree with the narrower
//! ones within their noise, and stops where curvature begins to show.

/// Half width of the intervals that must intersect, in standard deviations.
const AGREEMENT: f64 = 1.7;

/// A value with what the noise makes of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Estimate {
    /// the value
    pub(crate) value: f64,
    /// its standard deviation by noise alone
    pub(crate) standard: f64,
}

/// Running sums of a least-squares polynomial about u = 0.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    s: [f64; 5],
    y: [f64; 3],
}

impl Sums {
    fn add(&mut self, u: f64, y: f64) {
        let mut power = 1.0;
        for i in 0..5 {
            self.s[i] += power;
            if i < 3 {
                self.y[i] += power * y;
            }
            power *= u;
        }
    }

    /// The straight line's value at u = 0 and the factor from the noise of a sample to its own.
    fn line(&self) -> Option<(f64, f64)> {
        let [n, s1, s2, ..] = self.s;
        let det = n * s2 - s1 * s1;
        (det > 1e-9 * n * s2).then(|| ((s2 * self.y[0] - s1 * self.y[1]) / det, (s2 / det).sqrt()))
    }

    /// The same of the parabola.
    fn parabola(&self) -> Option<(f64, f64)> {
        let n = self.s[0];
        // sums in units of the window, so that they are of one size
        let [s0, s1, s2, s3, s4] =
            [n, self.s[1] / n, self.s[2] / (n * n), self.s[3] / (n * n * n), self.s[4] / (n * n * n * n)];
        let [y0, y1, y2] = [self.y[0], self.y[1] / n, self.y[2] / (n * n)];
        let c0 = s2 * s4 - s3 * s3;
        let c1 = s2 * s3 - s1 * s4;
        let c2 = s1 * s3 - s2 * s2;
        let det = s0 * c0 + s1 * c1 + s2 * c2;
        (det > 1e-9 * s0 * c0).then(|| ((c0 * y0 + c1 * y1 + c2 * y2) / det, (c0 / det).sqrt()))
    }
}

/// A chain of ever wider fits of one degree.
#[derive(Debug, Clone, Copy)]
struct Chain {
    low: f64,
    high: f64,
    last: Option<Estimate>,
    open: bool,
}

impl Chain {
    const NEW: Chain = Chain { low: f64::NEG_INFINITY, high: f64::INFINITY, last: None, open: true };

    fn widen(&mut self, fit: Option<(f64, f64)>, noise: f64) {
        let Some((value, gain)) = fit.filter(|_| self.open) else { return };
        let standard = gain * noise;
        self.low = self.low.max(value - AGREEMENT * standard);
        self.high = self.high.min(value + AGREEMENT * standard);
        if self.low > self.high {
            self.open = false;
        } else {
            self.last = Some(Estimate { value, standard });
        }
    }
}

/// The torque at `at_s` from samples `(time, torque)` given from the nearest to the farthest, each
/// with noise of this standard deviation; `step_s` is the interval between them.
pub(crate) fn local(
    samples: impl Iterator<Item = (f64, f64)>,
    at_s: f64,
    step_s: f64,
    noise: f64,
) -> Option<Estimate> {
    let mut sums = Sums::default();
    let (mut line, mut parabola) = (Chain::NEW, Chain::NEW);
    let (mut count, mut next, mut base) = (0_usize, 2_usize, None);
    for (time, torque) in samples {
        let base = *base.get_or_insert(torque);
        sums.add((time - at_s) / step_s, torque - base);
        count += 1;
        if count < next {
            continue;
        }
        next = count + (count / 5).max(1);
        line.widen(sums.line(), noise);
        if count >= 5 {
            parabola.widen(sums.parabola(), noise);
        }
        if !line.open && !parabola.open {
            break;
        }
    }
    let base = base?;
    let best = match (line.last, parabola.last) {
        (Some(line), Some(parabola)) if parabola.standard < line.standard => parabola,
        (Some(line), _) => line,
        (None, parabola) => parabola.unwrap_or(Estimate { value: 0.0, standard: noise }),
    };
    Some(Estimate { value: best.value + base, standard: best.standard })
}
