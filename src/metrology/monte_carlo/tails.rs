//! The lowest and the highest values of many, sorted, without sorting what lies between.
//!
//! A 95.45 % interval is made of the outer 4.55 % on either side: sorting a million values for it
//! would cost about as much as drawing them.

use std::num::NonZeroUsize;

use super::workers::each;

/// The ends of the sorted values. Both are as long as was asked, in rising order.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tails {
    pub low: Vec<f64>,
    pub high: Vec<f64>,
}

/// Below this many values a whole sort is as fast.
const FEW: usize = 4096;
/// How many values guess where the tails begin.
const SAMPLE: usize = 4096;
/// How many values one piece of work looks through.
const PIECE: usize = 1 << 16;

/// The `count` lowest and the `count` highest of finite values.
pub(super) fn tails(values: &[f64], count: usize, threads: NonZeroUsize) -> Tails {
    if values.len() > FEW
        && count < values.len() / 4
        && let Some(found) = by_guess(values, count, threads)
    {
        return found;
    }
    let all = sorted(values.to_vec());
    let count = count.min(all.len());
    Tails { low: all[..count].to_vec(), high: all[all.len() - count..].to_vec() }
}

/// Sorted by way of integers in the same order (that of `f64::total_cmp`), which compare faster.
fn sorted(values: Vec<f64>) -> Vec<f64> {
    // Negative numbers have their bits below the sign turned over; doing it again turns them back.
    let turn = |bits: i64| bits ^ ((bits >> 63).cast_unsigned() >> 1).cast_signed();
    let mut keys: Vec<i64> = values.into_iter().map(|v| turn(v.to_bits().cast_signed())).collect();
    keys.sort_unstable();
    keys.into_iter().map(|key| f64::from_bits(turn(key).cast_unsigned())).collect()
}

/// Guesses from a sample where the tails begin, gathers what lies beyond, and sorts that. `None`
/// when the guess gathered too few. The result is exact, whatever the guess.
fn by_guess(values: &[f64], count: usize, threads: NonZeroUsize) -> Option<Tails> {
    let sample = sorted(values.iter().copied().step_by(values.len().div_ceil(SAMPLE)).collect());
    // Four standard deviations of the count in the sample as a margin.
    let expected = sample.len() as f64 * (count as f64 / values.len() as f64);
    let margin = (expected + 4.0 * expected.sqrt() + 8.0) as usize;
    let last = sample.len().checked_sub(1)?;
    let (below, above) = (*sample.get(margin.min(last))?, *sample.get(last.saturating_sub(margin))?);
    let pieces = each(values.chunks(PIECE).collect(), threads, |piece| beyond(piece, below, above));
    let low: Vec<f64> = pieces.iter().flat_map(|(low, _)| low).copied().collect();
    let high: Vec<f64> = pieces.iter().flat_map(|(_, high)| high).copied().collect();
    if low.len() < count || high.len() < count {
        return None;
    }
    let mut ends = each(vec![low, high], threads, sorted);
    let mut high = ends.pop()?;
    let mut low = ends.pop()?;
    low.truncate(count);
    high.drain(..high.len() - count);
    Some(Tails { low, high })
}

fn beyond(values: &[f64], below: f64, above: f64) -> (Vec<f64>, Vec<f64>) {
    let (mut low, mut high) = (Vec::with_capacity(values.len() / 8), Vec::with_capacity(values.len() / 8));
    for value in values {
        if *value <= below {
            low.push(*value);
        }
        if *value >= above {
            high.push(*value);
        }
    }
    (low, high)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn check(values: &[f64], count: usize) {
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        for threads in 1..4 {
            let found = tails(values, count, NonZeroUsize::new(threads).unwrap());
            assert_eq!(found.low, sorted[..count]);
            assert_eq!(found.high, sorted[sorted.len() - count..]);
        }
    }

    #[test]
    fn zero_and_below_are_in_order() {
        let found = sorted(vec![1.0, -1.0, 0.0, -0.0, f64::MIN, f64::MAX, -5e-324]);
        assert_eq!(found, [f64::MIN, -1.0, -5e-324, -0.0, 0.0, 1.0, f64::MAX]);
        assert!(found[3].is_sign_negative() && found[4].is_sign_positive());
        check(&(0..20_000).map(|i| f64::from(i % 4001) - 2000.5).collect::<Vec<_>>(), 700);
    }

    #[test]
    fn they_are_those_of_a_whole_sort() {
        let scrambled: Vec<f64> = (0..200_000_u64).map(|i| ((i * 7_919 + 13) % 200_003) as f64).collect();
        for count in [1, 10, 9_100, 49_999, 120_000] {
            check(&scrambled, count);
        }
        check(&scrambled[..100], 5);
    }

    #[test]
    fn a_guess_that_misleads_costs_time_and_nothing_else() {
        // Every sampled value is in the middle, or all are equal, or they come sorted.
        let step = 200_000_usize.div_ceil(SAMPLE);
        let spiky: Vec<f64> =
            (0..200_000).map(|i| if i % step == 0 { 0.5 } else { (i % 7) as f64 }).collect();
        check(&spiky, 9_100);
        check(&vec![1.0; 50_000], 2_000);
        check(&(0..50_000).map(f64::from).collect::<Vec<_>>(), 2_275);
    }
}
