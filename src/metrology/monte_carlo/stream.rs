//! Streams of random numbers: one seed, and from it as many streams as there are blocks.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// A stream of random numbers. Models draw from it and hand it on, nothing else.
#[derive(Debug, Clone)]
pub struct Stream {
    pub(super) generator: Xoshiro256PlusPlus,
}

/// The streams of a seed, in order. Each starts 2^128 numbers after the one before it, so that no
/// two of them overlap.
///
/// The generator is xoshiro256++ (Blackman and Vigna, ACM Trans. Math. Softw. 47 (2021) 36), of
/// period 2^256 − 1; JCGM 101, C.3 asks for one that passes the known batteries of tests.
pub(super) struct Streams {
    next: Xoshiro256PlusPlus,
}

impl Streams {
    pub(super) fn of_seed(seed: u64) -> Streams {
        Streams { next: Xoshiro256PlusPlus::seed_from_u64(seed) }
    }

    pub(super) fn next(&mut self) -> Stream {
        let stream = Stream { generator: self.next.clone() };
        self.next.jump();
        stream
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_xoshiro::rand_core::Rng;

    /// The generator and its seeding are part of the record: a change of the crate must show. The
    /// numbers come from the published algorithms (xoshiro256++, its jump, SplitMix64) written out
    /// in another language.
    #[test]
    fn a_seed_keeps_its_numbers() {
        let mut streams = Streams::of_seed(1);
        let mut draw = || streams.next().generator.next_u64();
        assert_eq!(draw(), FIRST);
        assert_eq!(draw(), SECOND);
    }

    const FIRST: u64 = 14_971_601_782_005_023_387;
    const SECOND: u64 = 15_779_930_236_080_080_313;
}
