//! JCGM 101:2008: what its examples share here: one seed, and agreement of what is drawn by chance.

use std::num::NonZeroUsize;

use leverarm_metrology::monte_carlo::{Interval, Run};

/// One seed for all examples: it was not chosen by what it gives.
pub fn run() -> Run {
    Run { seed: 101, threads: NonZeroUsize::new(2).unwrap() }
}

/// Holds a value found by trials against a printed one: within half a unit of the last digit, and
/// four standard errors of the trials.
#[track_caller]
pub fn near(computed: f64, printed: &str, standard_error: f64) {
    let value: f64 = printed.parse().unwrap();
    let decimals = printed.split_once('.').map_or(0, |(_, after)| after.len());
    let allowed = 0.5 * 10f64.powi(-i32::try_from(decimals).unwrap()) + 4.0 * standard_error;
    assert!((computed - value).abs() <= allowed, "computed {computed}, printed {printed} within {allowed}");
}

/// Both ends of an interval.
#[track_caller]
pub fn both_near(found: Interval, printed: [&str; 2], standard_error: f64) {
    near(found.low, printed[0], standard_error);
    near(found.high, printed[1], standard_error);
}

/// The probability that the sum of rectangular quantities of these half widths, each about 0, is
/// below x: Σ ±(x ± w₁ ± … ± wₙ)₊ⁿ / (n! Π 2wᵢ), over all choices of the inner signs, the outer one
/// negative for an odd number of minus signs. Exact, and no part of the program under test.
pub fn sum_is_below(x: f64, half_widths: &[f64]) -> f64 {
    let n = half_widths.len();
    let power = i32::try_from(n).unwrap();
    let total: f64 = (0..1_u32 << n)
        .map(|minus| {
            let shift: f64 =
                half_widths.iter().enumerate().map(|(i, w)| if minus >> i & 1 == 1 { -w } else { *w }).sum();
            let sign = if minus.count_ones() % 2 == 1 { -1.0 } else { 1.0 };
            sign * (x + shift).max(0.0).powi(power)
        })
        .sum();
    let factorial: f64 = (1..=n).map(|i| i as f64).product();
    total / (factorial * half_widths.iter().map(|w| 2.0 * w).product::<f64>())
}

/// The half width of the interval that holds such a sum with a probability, by bisection.
pub fn half_width_of_sum(probability: f64, half_widths: &[f64]) -> f64 {
    let (mut low, mut high) = (0.0, half_widths.iter().sum::<f64>());
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if sum_is_below(middle, half_widths) < 0.5 + 0.5 * probability { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
