//! The block of a click mechanism as a damped oscillator: x'' + 2ζω x' + ω² x = 0 about its place of
//! rest (any textbook of vibrations, such as S. S. Rao, Mechanical Vibrations, chapter 2; from memory).

/// One step of it, exact while the place of rest stands still.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Swing {
    xx: f64,
    xv: f64,
    vx: f64,
    vv: f64,
}

impl Swing {
    /// For a natural frequency in hertz, a damping ratio below 1 and steps in seconds.
    pub(crate) fn new(natural_hz: f64, damping: f64, step_s: f64) -> Swing {
        let omega = std::f64::consts::TAU * natural_hz;
        let decay = damping * omega;
        let damped = omega * (1.0 - damping * damping).sqrt();
        let envelope = libm::exp(-decay * step_s);
        let (sine, cosine) = (libm::sin(damped * step_s), libm::cos(damped * step_s));
        let (sine, cosine) = (envelope * sine / damped, envelope * cosine);
        Swing { xx: cosine + decay * sine, xv: sine, vx: -omega * omega * sine, vv: cosine - decay * sine }
    }

    /// Distance from the place of rest and speed after a step.
    pub(crate) fn step(&self, distance: f64, speed: f64) -> (f64, f64) {
        (self.xx * distance + self.xv * speed, self.vx * distance + self.vv * speed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The step response of second order: 1 − e^(−ζωt)(cos ω_d t + ζ/√(1−ζ²) sin ω_d t), and its first
    /// overshoot e^(−πζ/√(1−ζ²)) (any textbook of control).
    #[test]
    fn it_swings_as_the_textbook_says() {
        let (hz, zeta, step_s) = (60.0, 0.5_f64, 1e-5);
        let (swing, omega) = (Swing::new(hz, zeta, step_s), std::f64::consts::TAU * hz);
        let root = (1.0 - zeta * zeta).sqrt();
        let (mut x, mut v, mut highest) = (-1.0, 0.0, f64::MIN);
        for i in 1..10_000 {
            (x, v) = swing.step(x, v);
            let t = f64::from(i) * step_s;
            let (sine, cosine) = (omega * root * t).sin_cos();
            let exact = -(-zeta * omega * t).exp() * (cosine + zeta / root * sine);
            assert!((x - exact).abs() < 1e-9);
            highest = highest.max(x);
        }
        let overshoot = (-std::f64::consts::PI * zeta / root).exp();
        assert!((highest - overshoot).abs() < 1e-5, "{highest} {overshoot}");
    }
}
