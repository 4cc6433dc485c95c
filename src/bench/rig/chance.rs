//! Chance: one seed, and from it one stream for each purpose and each pull, so that a pull does not
//! depend on how many samples of noise were drawn before it.

use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// What a stream is for. Those of pulls are numbered from [`FIRST_PULL`] on.
pub(crate) const NOISE: u64 = 1;
pub(crate) const DROPOUTS: u64 = 2;
pub(crate) const LOSSES: u64 = 3;
pub(crate) const PHASES: u64 = 4;
pub(crate) const FIRST_PULL: u64 = 1000;

/// Spreads the numbers of the streams over the seeds. Not the constant of SplitMix64, with which
/// `seed_from_u64` counts: neighbouring streams would then share three quarters of their state.
const SPREAD: u64 = 0xd1b5_4a32_d192_ed03;

/// A stream of random numbers: xoshiro256++ (Blackman and Vigna, ACM Trans. Math. Softw. 47 (2021) 36).
#[derive(Debug, Clone)]
pub(crate) struct Chance {
    generator: Xoshiro256PlusPlus,
}

impl Chance {
    pub(crate) fn new(seed: u64, stream: u64) -> Chance {
        let generator = Xoshiro256PlusPlus::seed_from_u64(seed.wrapping_add(stream.wrapping_mul(SPREAD)));
        Chance { generator }
    }

    /// From 0 to 1, without 1.
    pub(crate) fn unit(&mut self) -> f64 {
        StandardUniform.sample(&mut self.generator)
    }

    pub(crate) fn even(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Standard normal.
    pub(crate) fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.generator)
    }

    /// About 1, spread by `share`, never further than three standard deviations: a human is never
    /// infinitely slow.
    pub(crate) fn about_one(&mut self, share: f64) -> f64 {
        (1.0 + share * self.normal().clamp(-3.0, 3.0)).max(0.1)
    }

    /// Exponential with this mean: the wait for an event that has no memory.
    pub(crate) fn wait(&mut self, mean: f64) -> f64 {
        -libm::log1p(-self.unit()) * mean
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean 0, variance 1, and streams that have nothing in common: each within five standard
    /// deviations of its expectation (σ of the mean 1/√n, of the variance √(2/n), of the product 1/√n).
    #[test]
    fn streams_are_normal_and_apart() {
        let n = 200_000;
        let (mut a, mut b) = (Chance::new(7, NOISE), Chance::new(7, DROPOUTS));
        let (mut sum, mut square, mut product) = (0.0, 0.0, 0.0);
        for _ in 0..n {
            let (x, y) = (a.normal(), b.normal());
            sum += x;
            square += x * x;
            product += x * y;
        }
        let root = f64::from(n).sqrt();
        assert!((sum / root).abs() < 5.0);
        assert!((square / f64::from(n) - 1.0).abs() < 5.0 * 2.0_f64.sqrt() / root);
        assert!((product / root).abs() < 5.0);
    }
}
