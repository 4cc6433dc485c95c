//! The first-order response of transducer and amplifier: τ·y' = x − y.

/// One step of it, exact while the input is a straight line within the step (triangle-hold equivalent:
/// Franklin, Powell, Workman, Digital Control of Dynamic Systems; from memory).
#[derive(Debug, Clone, Copy)]
pub(crate) struct FirstOrder {
    decay: f64,
    before: f64,
    after: f64,
}

impl FirstOrder {
    /// For steps of `step_s` and the time constant `tau_s`, both in seconds. Without a time constant
    /// the output is the input.
    pub(crate) fn new(step_s: f64, tau_s: f64) -> FirstOrder {
        if tau_s <= 0.0 {
            return FirstOrder { decay: 0.0, before: 0.0, after: 1.0 };
        }
        let h = step_s / tau_s;
        let decay = libm::exp(-h);
        let mean = -libm::expm1(-h) / h;
        FirstOrder { decay, before: mean - decay, after: 1.0 - mean }
    }

    /// The output after a step in which the input goes from `x0` to `x1`.
    pub(crate) fn step(&self, y: f64, x0: f64, x1: f64) -> f64 {
        self.decay * y + self.before * x0 + self.after * x1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ramp of slope a is answered by a·(t − τ + τ e^(−t/τ)): at last it lags by τ (any textbook of
    /// signals and systems).
    #[test]
    fn a_ramp_lags_by_tau() {
        for (step_s, tau_s) in [(1e-3, 0.02), (1e-2, 0.002), (2.5e-4, 1.0)] {
            let (response, slope, mut y) = (FirstOrder::new(step_s, tau_s), 30.0, 0.0);
            for i in 0..2000 {
                let (t0, t1) = (f64::from(i) * step_s, f64::from(i + 1) * step_s);
                y = response.step(y, slope * t0, slope * t1);
                let exact = slope * (t1 - tau_s + tau_s * (-t1 / tau_s).exp());
                assert!((y - exact).abs() < 1e-9 * slope, "{y} {exact}");
            }
        }
    }

    /// A step is answered by 1 − e^(−t/τ).
    #[test]
    fn a_step_is_answered_exponentially() {
        let (response, mut y) = (FirstOrder::new(0.001, 0.01), 0.0);
        for i in 1..100 {
            y = response.step(y, 1.0, 1.0);
            assert!((y - (1.0 - (-f64::from(i) * 0.1).exp())).abs() < 1e-12);
        }
        assert_eq!(FirstOrder::new(0.001, 0.0).step(5.0, 1.0, 2.0).to_bits(), 2.0_f64.to_bits());
    }
}
