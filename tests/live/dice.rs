//! Chance with a seed.

use std::time::Duration;

/// xorshift64*, Vigna 2016; good enough to choose moments.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// From the environment variable, or else by the clock; printed, so that it can be thrown again.
    pub fn of(variable: &str) -> Dice {
        let given = std::env::var(variable).ok().and_then(|text| text.parse().ok());
        let by_clock =
            || std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap().as_millis() as u64;
        let seed = given.unwrap_or_else(by_clock);
        println!("{variable}={seed}");
        Dice::new(seed)
    }

    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    pub fn below(&mut self, end: u64) -> u64 {
        (self.next() >> 11) % end.max(1)
    }

    /// One in so many.
    pub fn one_in(&mut self, many: u64) -> bool {
        self.below(many) == 0
    }

    pub fn ms(&mut self, from: u64, to: u64) -> Duration {
        Duration::from_micros(1000 * from + self.below(1000 * (to - from)))
    }

    pub fn byte(&mut self) -> u8 {
        (self.next() >> 40) as u8
    }
}

/// A number from the environment, or else this one.
pub fn number(variable: &str, usual: u64) -> u64 {
    std::env::var(variable).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}
