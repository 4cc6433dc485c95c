//! The loading time of a pull, as it was recorded, and the trace that was kept of it.

use std::fmt;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use thiserror::Error;

use super::Reading;

/// How long a pull took from 80 % to 100 % of its target, in seconds, with the digits in which it was
/// written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct LoadingTime(Decimal);

/// Why a text is no loading time.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LoadingTimeError {
    /// The digits cannot be read.
    #[error("'{given}' is not a plain decimal number")]
    NotANumber {
        /// the text as it was written
        given: String,
    },
    /// No pull takes no time.
    #[error("'{given}' s is no time that a pull can take")]
    NotPositive {
        /// the text as it was written
        given: String,
    },
}

impl LoadingTimeError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            LoadingTimeError::NotANumber { .. } => "write the seconds as a plain number, such as 1.25",
            LoadingTimeError::NotPositive { .. } => "leave the cell empty where the time was not measured",
        }
    }
}

impl LoadingTime {
    /// From the digits of a number of seconds (decimal point, no grouping).
    ///
    /// # Errors
    /// [`LoadingTimeError`] when the digits are no plain decimal number above zero.
    pub fn new(digits: &str) -> Result<LoadingTime, LoadingTimeError> {
        let digits = digits.trim();
        let wrong = || LoadingTimeError::NotANumber { given: digits.to_owned() };
        let number = digits.strip_prefix(['+', '-']).unwrap_or(digits);
        if number.is_empty() || !number.bytes().all(|b| b.is_ascii_digit() || b == b'.') {
            return Err(wrong());
        }
        let decimal = Decimal::from_str_exact(digits).map_err(|_| wrong())?;
        if decimal <= Decimal::ZERO {
            return Err(LoadingTimeError::NotPositive { given: digits.to_owned() });
        }
        Ok(LoadingTime(decimal))
    }

    /// The digits as written.
    #[must_use]
    pub fn digits(self) -> Decimal {
        self.0
    }

    /// In seconds.
    #[must_use]
    pub fn seconds(self) -> f64 {
        // A Decimal has at most 29 digits: it always fits.
        self.0.to_f64().unwrap_or(f64::NAN)
    }

    /// One unit of its last digit, in seconds.
    #[must_use]
    pub fn step_s(self) -> f64 {
        Decimal::new(1, self.0.scale().min(28)).to_f64().unwrap_or(0.0)
    }
}

impl fmt::Display for LoadingTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} s", self.0)
    }
}

/// The trace of a pull that was kept with the run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptTrace {
    /// its file, relative to the run folder
    pub file: String,
    /// SHA-256 of its bytes, in lower-case hexadecimal digits; `None` as long as it was not read
    pub sha256: Option<String>,
}

/// The shortest loading time of some readings; `None` where there is no reading, or where one of them
/// has no time: what is not known of one bounds nothing for all.
pub fn shortest_loading<'a>(readings: impl IntoIterator<Item = &'a Reading>) -> Option<LoadingTime> {
    let times: Option<Vec<LoadingTime>> = readings.into_iter().map(|reading| reading.loading_time).collect();
    times?.into_iter().min()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_digits_are_kept() {
        let time = LoadingTime::new("1.20").unwrap();
        assert_eq!((time.to_string().as_str(), time.seconds(), time.step_s()), ("1.20 s", 1.2, 0.01));
        assert_eq!(LoadingTime::new("3").unwrap().step_s(), 1.0);
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in ["", "abc", "1,2", "1e3", "--1", "1.2.3", "."] {
            assert!(matches!(LoadingTime::new(text), Err(LoadingTimeError::NotANumber { .. })), "{text}");
        }
        for text in ["0", "0.00", "-1.5"] {
            assert!(matches!(LoadingTime::new(text), Err(LoadingTimeError::NotPositive { .. })), "{text}");
        }
    }
}
