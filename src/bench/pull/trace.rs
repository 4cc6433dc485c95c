//! A trace: torque against time, as the display or the transducer gave it.

use leverarm_metrology::quantity::{Torque, TorqueUnit};
use thiserror::Error;

/// When the samples were taken.
#[derive(Debug, Clone, PartialEq)]
pub enum Timing {
    /// At an even rate.
    Uniform {
        /// time of the first sample, in seconds
        start_s: f64,
        /// samples a second
        rate_hz: f64,
    },
    /// Each at its own time, in seconds, ascending.
    Explicit {
        /// one for each sample
        times_s: Vec<f64>,
    },
}

/// Why it is no trace.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum TraceError {
    /// The sample rate is not a positive number, or the start is no number.
    #[error("start {start_s} s, rate {rate_hz} Hz: both must be numbers, the rate above zero")]
    Uniform {
        /// time of the first sample
        start_s: f64,
        /// samples a second
        rate_hz: f64,
    },
    /// There are more times than values, or fewer.
    #[error("{times} times for {values} values")]
    Counts {
        /// how many times
        times: usize,
        /// how many values
        values: usize,
    },
    /// A time that does not come after the one before it.
    #[error("sample {index} at {time_s} s does not come after {before_s} s")]
    Order {
        /// which sample, from 0
        index: usize,
        /// the time of the one before
        before_s: f64,
        /// its own
        time_s: f64,
    },
    /// A value or a time that is no number.
    #[error("sample {index} is no number: {value}")]
    NotFinite {
        /// which sample, from 0
        index: usize,
        /// what it is
        value: f64,
    },
}

/// One sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// seconds since the start of the recording
    pub time_s: f64,
    /// the torque that was indicated
    pub torque: Torque,
}

/// Torque against time. The values are kept in the unit in which they were spoken, so that not a
/// digit is lost.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    unit: TorqueUnit,
    timing: Timing,
    values: Vec<f64>,
}

impl Trace {
    /// A trace from values in one unit.
    ///
    /// # Errors
    /// [`TraceError`] where a value is no number, the times do not ascend or their count differs.
    pub fn new(unit: TorqueUnit, timing: Timing, values: Vec<f64>) -> Result<Trace, TraceError> {
        let not_finite = |list: &[f64]| {
            list.iter()
                .enumerate()
                .find(|(_, value)| !value.is_finite())
                .map(|(index, value)| (index, *value))
        };
        match &timing {
            Timing::Uniform { start_s, rate_hz } => {
                if !(start_s.is_finite() && rate_hz.is_finite() && *rate_hz > 0.0) {
                    return Err(TraceError::Uniform { start_s: *start_s, rate_hz: *rate_hz });
                }
            }
            Timing::Explicit { times_s } => {
                if times_s.len() != values.len() {
                    return Err(TraceError::Counts { times: times_s.len(), values: values.len() });
                }
                if let Some((index, value)) = not_finite(times_s) {
                    return Err(TraceError::NotFinite { index, value });
                }
                if let Some(index) = times_s.windows(2).position(|pair| pair[0] >= pair[1]) {
                    return Err(TraceError::Order {
                        index: index + 1,
                        before_s: times_s[index],
                        time_s: times_s[index + 1],
                    });
                }
            }
        }
        if let Some((index, value)) = not_finite(&values) {
            return Err(TraceError::NotFinite { index, value });
        }
        Ok(Trace { unit, timing, values })
    }

    /// The unit of the values.
    #[must_use]
    pub fn unit(&self) -> TorqueUnit {
        self.unit
    }

    /// When they were taken.
    #[must_use]
    pub fn timing(&self) -> &Timing {
        &self.timing
    }

    /// The values as they were given.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// How many samples there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// The time of a sample, in seconds.
    #[must_use]
    pub fn time_s(&self, index: usize) -> Option<f64> {
        match &self.timing {
            // a product, not a sum of steps: no error piles up
            Timing::Uniform { start_s, rate_hz } => {
                (index < self.values.len()).then(|| start_s + index as f64 / rate_hz)
            }
            Timing::Explicit { times_s } => times_s.get(index).copied(),
        }
    }

    /// The samples in order.
    pub fn samples(&self) -> impl Iterator<Item = Sample> + '_ {
        self.values.iter().enumerate().filter_map(|(index, value)| {
            Some(Sample { time_s: self.time_s(index)?, torque: Torque::new(*value, self.unit) })
        })
    }
}
