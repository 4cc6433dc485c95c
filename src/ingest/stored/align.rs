//! The cheapest way to lay two sequences beside each other without changing the order of either:
//! alignment with gaps, by dynamic programming (Needleman and Wunsch, J. Mol. Biol. 48 (1970) 443).

/// What leaving one row without a partner costs: a pair whose misfit is twice this is not believed.
pub(super) const GAP: f64 = 12.0;
/// A pair never costs more: one wild row must not move the others.
pub(super) const COST_MAX: f64 = 100.0;

/// One step of an alignment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Step {
    /// left and right row belong together
    Pair(usize, usize),
    /// a left row without a partner
    Left(usize),
    /// a right row without a partner
    Right(usize),
}

/// Lays `left` rows beside `right` rows; returns the steps and their cost.
pub(super) fn align(left: usize, right: usize, cost: impl Fn(usize, usize) -> f64) -> (Vec<Step>, f64) {
    #[derive(Clone, Copy)]
    enum From {
        Pair,
        Left,
        Right,
    }
    let width = right + 1;
    let mut before: Vec<f64> = std::iter::successors(Some(0.0), |sum| Some(sum + GAP)).take(width).collect();
    let mut moves = vec![From::Right; width * (left + 1)];
    for i in 1..=left {
        let mut row = Vec::with_capacity(width);
        let mut last = before.first().copied().unwrap_or(0.0) + GAP;
        row.push(last);
        if let Some(slot) = moves.get_mut(i * width) {
            *slot = From::Left;
        }
        for (j, pair) in before.windows(2).enumerate() {
            let [diagonal, above] = pair else { continue };
            let by_pair = diagonal + cost(i - 1, j).min(COST_MAX);
            let (by_left, by_right) = (above + GAP, last + GAP);
            // Where two ways cost the same, the pair is taken.
            let (best, from) = if by_pair <= by_left && by_pair <= by_right {
                (by_pair, From::Pair)
            } else if by_left <= by_right {
                (by_left, From::Left)
            } else {
                (by_right, From::Right)
            };
            last = best;
            row.push(best);
            if let Some(slot) = moves.get_mut(i * width + j + 1) {
                *slot = from;
            }
        }
        before = row;
    }
    let total = before.last().copied().unwrap_or(0.0);
    let (mut i, mut j) = (left, right);
    let mut steps = Vec::new();
    while i > 0 || j > 0 {
        match moves.get(i * width + j) {
            Some(From::Pair) if i > 0 && j > 0 => {
                (i, j) = (i - 1, j - 1);
                steps.push(Step::Pair(i, j));
            }
            Some(From::Left) if i > 0 => {
                i -= 1;
                steps.push(Step::Left(i));
            }
            _ if j > 0 => {
                j -= 1;
                steps.push(Step::Right(j));
            }
            _ => {
                i = i.saturating_sub(1);
                steps.push(Step::Left(i));
            }
        }
    }
    steps.reverse();
    (steps, total)
}

/// The middle of some numbers; of an even count the lower of the two in the middle.
pub(super) fn median(mut numbers: Vec<f64>) -> Option<f64> {
    numbers.sort_by(f64::total_cmp);
    numbers.get(numbers.len().checked_sub(1)? / 2).copied()
}

/// The number about which most of some numbers lie, within a tolerance on either side.
pub(super) fn densest(mut numbers: Vec<f64>, tolerance: f64) -> Option<f64> {
    numbers.sort_by(f64::total_cmp);
    let mut best: Option<(usize, f64)> = None;
    let mut end = 0;
    for (start, low) in numbers.iter().enumerate() {
        while numbers.get(end).is_some_and(|high| high - low <= 2.0 * tolerance) {
            end += 1;
        }
        let count = end - start;
        if best.is_none_or(|(most, _)| count > most) {
            best = numbers.get(start + (count - 1) / 2).map(|middle| (count, *middle));
        }
    }
    best.map(|(_, middle)| middle)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_row_is_found() {
        let (left, right) = ([1.0_f64, 2.0, 3.0, 4.0], [1.0_f64, 2.0, 4.0]);
        let (steps, cost) = align(4, 3, |i, j| 100.0 * (left[i] - right[j]).powi(2));
        assert_eq!(steps, [Step::Pair(0, 0), Step::Pair(1, 1), Step::Left(2), Step::Pair(3, 2)]);
        assert!((cost - GAP).abs() < 1e-9);
        assert_eq!(align(0, 2, |_, _| 0.0).0, [Step::Right(0), Step::Right(1)]);
        assert_eq!(align(0, 0, |_, _| 0.0).0, []);
    }

    #[test]
    fn middles() {
        assert_eq!(median(vec![3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(vec![]), None);
        assert_eq!(densest(vec![0.0, 50.0, 51.0, 52.0, 90.0], 2.0), Some(51.0));
    }
}
