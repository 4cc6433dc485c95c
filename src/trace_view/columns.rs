//! A trace in so many columns of a picture. Of each column the first, the lowest, the highest and the
//! last sample are kept, at their own times: a line through them covers the same places of a picture
//! of that width as a line through all samples, and no peak is lost
//! (U. Jugel et al., "M4: A Visualization-Oriented Time Series Data Aggregation", VLDB 2014).

use leverarm_pull::trace::{Timing, Trace};

use super::open::{duration_s, since_first_s};

/// A sample: seconds since the first one, value in the unit of the trace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dot {
    /// seconds since the first sample
    pub time_s: f64,
    /// in the unit of the trace
    pub value: f64,
}

/// What falls into one column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// which column, from 0
    pub index: usize,
    /// the first sample
    pub first: Dot,
    /// the lowest; the first of several
    pub lowest: Dot,
    /// the highest; the first of several
    pub highest: Dot,
    /// the last
    pub last: Dot,
}

impl Column {
    fn of(index: usize, dot: Dot) -> Column {
        Column { index, first: dot, lowest: dot, highest: dot, last: dot }
    }

    /// Its samples in the order of time, each once.
    fn dots(&self) -> impl Iterator<Item = Dot> {
        let (a, b) = (self.lowest, self.highest);
        let between = if a.time_s <= b.time_s { [a, b] } else { [b, a] };
        let mut before = None;
        [self.first, between[0], between[1], self.last]
            .into_iter()
            .filter(move |dot| before.replace(dot.time_s) != Some(dot.time_s))
    }
}

/// In which of `count` columns a time lies, where the trace lasts `span_s`.
#[must_use]
pub fn column_of(time_s: f64, span_s: f64, count: usize) -> usize {
    let share = if span_s > 0.0 { time_s / span_s } else { 0.0 };
    ((share * count as f64) as usize).min(count.saturating_sub(1))
}

/// The columns that hold a sample, from left to right. One pass, memory by the columns.
#[must_use]
pub fn columns(trace: &Trace, count: usize) -> Vec<Column> {
    let span_s = duration_s(trace);
    match trace.timing() {
        Timing::Uniform { rate_hz, .. } => {
            gather(trace.values(), (0..trace.len()).map(|index| index as f64 / rate_hz), span_s, count)
        }
        Timing::Explicit { times_s } => {
            let first = times_s.first().copied().unwrap_or_default();
            gather(trace.values(), times_s.iter().map(|time| time - first), span_s, count)
        }
    }
}

fn gather(values: &[f64], times_s: impl Iterator<Item = f64>, span_s: f64, count: usize) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::with_capacity(count.min(values.len()));
    for (time_s, value) in times_s.zip(values.iter().copied()) {
        let (index, dot) = (column_of(time_s, span_s, count), Dot { time_s, value });
        match columns.last_mut().filter(|column| column.index == index) {
            Some(column) => {
                if value < column.lowest.value {
                    column.lowest = dot;
                }
                if value > column.highest.value {
                    column.highest = dot;
                }
                column.last = dot;
            }
            None => columns.push(Column::of(index, dot)),
        }
    }
    columns
}

/// The lines to draw through the columns: one is broken where no sample came for longer than `gap_s`,
/// for what nobody saw is not drawn.
#[must_use]
pub fn strokes(columns: &[Column], gap_s: f64) -> Vec<Vec<Dot>> {
    let mut strokes: Vec<Vec<Dot>> = Vec::new();
    let mut before_s = f64::NEG_INFINITY;
    for column in columns {
        match strokes.last_mut().filter(|_| column.first.time_s - before_s <= gap_s) {
            Some(stroke) => stroke.extend(column.dots()),
            None => strokes.push(column.dots().collect()),
        }
        before_s = column.last.time_s;
    }
    strokes
}

/// Samples a second: as the trace says, or the median over stretches of 64 samples, which neither
/// gaps nor samples that come in bursts disturb. `None` for a single sample.
#[must_use]
pub fn rate_hz(trace: &Trace) -> Option<f64> {
    const STRETCH: usize = 64;
    if let Timing::Uniform { rate_hz, .. } = trace.timing() {
        return Some(*rate_hz);
    }
    let steps = trace.len().checked_sub(1).filter(|steps| *steps > 0)?;
    let stretch = steps.min(STRETCH);
    let length = |from: usize| since_first_s(trace, from + stretch) - since_first_s(trace, from);
    let mut lengths: Vec<f64> = (0..=steps - stretch).step_by(stretch).map(length).collect();
    let middle = lengths.len() / 2;
    let (_, median, _) = lengths.select_nth_unstable_by(middle, f64::total_cmp);
    Some(stretch as f64 / *median).filter(|rate| rate.is_finite() && *rate > 0.0)
}

/// After so many seconds without a sample the line of a trace is broken, as the detector counts a gap.
#[must_use]
pub fn gap_s(trace: &Trace) -> f64 {
    rate_hz(trace).map_or(f64::INFINITY, |rate| 3.5 / rate)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::float_cmp_const)]
    use leverarm_metrology::quantity::TorqueUnit;
    use proptest::prelude::*;

    use super::*;

    fn trace(timing: Timing, values: Vec<f64>) -> Trace {
        Trace::new(TorqueUnit::NewtonMetre, timing, values).unwrap()
    }

    fn any_trace() -> impl Strategy<Value = Trace> {
        let samples = prop::collection::vec((1e-6..0.1_f64, -200.0..200.0_f64), 1..400);
        (samples, any::<bool>()).prop_map(|(samples, is_even)| {
            let values: Vec<f64> = samples.iter().map(|(_, value)| *value).collect();
            let mut time_s = 3.0;
            let times_s = samples.iter().map(|(step, _)| {
                time_s += step;
                time_s
            });
            let timing = if is_even {
                Timing::Uniform { start_s: -2.0, rate_hz: 700.0 }
            } else {
                Timing::Explicit { times_s: times_s.collect() }
            };
            trace(timing, values)
        })
    }

    proptest! {
        /// The oracle looks at every sample for every column.
        #[test]
        fn the_extremes_of_every_column_are_drawn(trace in any_trace(), count in 1_usize..60) {
            let strokes = strokes(&columns(&trace, count), gap_s(&trace)).concat();
            let span_s = duration_s(&trace);
            for index in 0..count {
                let is_within = |time_s: f64| column_of(time_s, span_s, count) == index;
                let of_trace: Vec<f64> = (0..trace.len())
                    .filter(|i| is_within(since_first_s(&trace, *i)))
                    .map(|i| trace.values()[i])
                    .collect();
                let drawn: Vec<f64> =
                    strokes.iter().filter(|dot| is_within(dot.time_s)).map(|dot| dot.value).collect();
                let extremes = |list: &[f64]| {
                    (list.iter().copied().reduce(f64::min), list.iter().copied().reduce(f64::max))
                };
                prop_assert_eq!(extremes(&of_trace), extremes(&drawn));
                prop_assert_eq!(of_trace.first(), drawn.first());
                prop_assert_eq!(of_trace.last(), drawn.last());
                prop_assert!(drawn.len() <= 4);
            }
            prop_assert!(strokes.windows(2).all(|pair| pair[0].time_s < pair[1].time_s));
        }
    }

    #[test]
    fn few_samples_stay_as_they_are() {
        let values = vec![0.0, 3.0, 1.0, 2.0];
        let trace = trace(Timing::Uniform { start_s: 0.0, rate_hz: 10.0 }, values.clone());
        let strokes = strokes(&columns(&trace, 1000), gap_s(&trace));
        assert_eq!(strokes.len(), 1);
        assert_eq!(strokes[0].iter().map(|dot| dot.value).collect::<Vec<_>>(), values);
    }

    #[test]
    fn a_million_flat_samples_are_two_dots_a_column() {
        let trace = trace(Timing::Uniform { start_s: 0.0, rate_hz: 10_000.0 }, vec![7.0; 1_000_000]);
        let columns = columns(&trace, 100);
        assert_eq!(columns.len(), 100);
        assert_eq!(strokes(&columns, gap_s(&trace)), [strokes(&columns, f64::INFINITY)[0].clone()]);
        assert_eq!(strokes(&columns, gap_s(&trace))[0].len(), 200);
    }

    #[test]
    fn what_nobody_saw_is_not_drawn() {
        let times_s: Vec<f64> =
            (0..200).map(|i| f64::from(i) * 0.01 + if i < 90 { 0.0 } else { 2.0 }).collect();
        let trace = trace(Timing::Explicit { times_s }, vec![1.0; 200]);
        assert!((rate_hz(&trace).unwrap() - 100.0).abs() < 1e-6);
        let strokes = strokes(&columns(&trace, 400), gap_s(&trace));
        assert_eq!(strokes.len(), 2);
        assert!((strokes[1][0].time_s - 2.9).abs() < 1e-9);
    }

    #[test]
    fn the_rate_is_that_of_samples_in_bursts_too() {
        let bursts: Vec<f64> =
            (0..640).map(|i| f64::from(i / 16) * 0.016 + f64::from(i % 16) * 1e-6).collect();
        let trace = trace(Timing::Explicit { times_s: bursts }, vec![0.0; 640]);
        assert!((rate_hz(&trace).unwrap() - 1000.0).abs() < 1.0, "{:?}", rate_hz(&trace));
    }
}
