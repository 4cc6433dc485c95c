//! Coverage intervals of the values of a simulation (JCGM 101, 5.3 and 7.7).

use std::num::NonZeroUsize;

use schemars::JsonSchema;
use serde::Serialize;
use thiserror::Error;

use super::tails::tails;

/// An interval that holds the measurand with a stated probability.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Interval {
    /// its lower end
    pub low: f64,
    /// its upper end
    pub high: f64,
}

impl Interval {
    /// Upper less lower end.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.high - self.low
    }
}

/// Which of the intervals of one probability is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum IntervalKind {
    /// as probable to lie below it as above it (3.15)
    Symmetric,
    /// the shortest of them all (3.16)
    Shortest,
}

/// The coverage intervals for one probability.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Coverage {
    /// the coverage probability, %
    pub percent: f64,
    /// the probabilistically symmetric interval
    pub symmetric: Interval,
    /// the shortest interval
    pub shortest: Interval,
}

impl Coverage {
    /// One of the two.
    #[must_use]
    pub fn interval(&self, kind: IntervalKind) -> Interval {
        match kind {
            IntervalKind::Symmetric => self.symmetric,
            IntervalKind::Shortest => self.shortest,
        }
    }
}

/// Why trials give no interval.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum TrialsError {
    /// A probability is more than nothing and less than certainty.
    #[error("a coverage probability lies between 0 % and 100 %, not at {percent} %")]
    Probability {
        /// what was asked, %
        percent: f64,
    },
    /// The interval would have to hold every trial, or none.
    #[error("{trials} trials are too few for an interval of {percent} %")]
    TooFew {
        /// what there is
        trials: usize,
        /// what was asked, %
        percent: f64,
    },
}

/// The number of trials q that an interval spans: the integer nearest to p·M (7.7.2).
fn spanned(percent: f64, trials: usize) -> Result<usize, TrialsError> {
    if !(percent > 0.0 && percent < 100.0) {
        return Err(TrialsError::Probability { percent });
    }
    let spanned = (percent * trials as f64 / 100.0 + 0.5).floor() as usize;
    if spanned == 0 || spanned >= trials { Err(TrialsError::TooFew { trials, percent }) } else { Ok(spanned) }
}

/// Both intervals, from the values in any order.
pub(super) fn coverage(values: &[f64], percent: f64, threads: NonZeroUsize) -> Result<Coverage, TrialsError> {
    let wrong = TrialsError::TooFew { trials: values.len(), percent };
    // With M values and q spanned, [y(r), y(r+q)] is an interval for r = 1 .. M − q: its lower end is
    // among the M − q lowest values, its upper end among as many highest.
    let outside = values.len() - spanned(percent, values.len())?;
    let ends = tails(values, outside, threads);
    let intervals = || ends.low.iter().zip(&ends.high).map(|(low, high)| Interval { low: *low, high: *high });
    // r = (M − q)/2, or the integer part of (M − q + 1)/2 (7.7.2).
    let symmetric = intervals().nth(outside.div_ceil(2).saturating_sub(1)).ok_or(wrong)?;
    // The first of equally short ones (7.7.4).
    let shortest = intervals()
        .reduce(|best, next| if next.length() < best.length() { next } else { best })
        .ok_or(wrong)?;
    Ok(Coverage { percent, symmetric, shortest })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn of(values: &[f64], percent: f64) -> Result<Coverage, TrialsError> {
        coverage(values, percent, NonZeroUsize::MIN)
    }

    #[test]
    fn ranks_are_those_of_the_clause() {
        // M = 100, p = 95 %: q = 95, M − q = 5, r = 3: from the 3rd to the 98th.
        let values: Vec<f64> = (1..=100).map(f64::from).collect();
        assert_eq!(of(&values, 95.0).unwrap().symmetric, Interval { low: 3.0, high: 98.0 });
        // p = 90 %: q = 90, M − q = 10, r = 5.
        assert_eq!(of(&values, 90.0).unwrap().symmetric, Interval { low: 5.0, high: 95.0 });
        // The first of equally short ones.
        assert_eq!(of(&values, 90.0).unwrap().shortest, Interval { low: 1.0, high: 91.0 });
    }

    #[test]
    fn the_shortest_leaves_the_long_tail_out() {
        let values: Vec<f64> = (0..1000).map(|i| f64::from(i) * f64::from(i)).collect();
        let found = of(&values, 95.0).unwrap();
        assert_eq!(found.shortest, Interval { low: 0.0, high: 950.0 * 950.0 });
        assert!(found.symmetric.length() > found.shortest.length());
    }

    #[test]
    fn what_gives_no_interval_is_said() {
        assert_eq!(of(&[1.0, 2.0], 95.0), Err(TrialsError::TooFew { trials: 2, percent: 95.0 }));
        assert_eq!(of(&[], 95.0), Err(TrialsError::TooFew { trials: 0, percent: 95.0 }));
        for percent in [0.0, 100.0, -3.0, f64::NAN] {
            assert!(matches!(of(&[1.0; 50], percent), Err(TrialsError::Probability { .. })));
        }
    }
}
