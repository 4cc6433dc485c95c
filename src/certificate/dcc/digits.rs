//! A decimal number as digits: read as it was printed, written as it was read.

use std::fmt;

use thiserror::Error;

/// Longest text of a number.
const LONGEST: usize = 64;
/// Greatest power of ten that is written out in digits.
const WIDEST: i32 = 40;

/// A finite decimal number as text, such as `-0.20` or `1.5E-3` (`si:decimalType` without `NaN`).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digits(String);

/// Why a text is no number.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DigitsError {
    /// It is not written as a decimal number; `NaN` and `INF` are none either.
    #[error("'{given}' is no decimal number")]
    NotANumber {
        /// the text, cut after 64 characters
        given: String,
    },
    /// It is longer than any number of a certificate.
    #[error("a number of {length} characters, where {LONGEST} are read")]
    TooLong {
        /// how long
        length: usize,
    },
    /// It is beyond what can be computed with.
    #[error("{given} is too large to compute with")]
    TooLarge {
        /// the text
        given: String,
    },
}

impl Digits {
    /// The number in a text. A minus sign as it is printed (U+2212) becomes a hyphen, a leading plus
    /// sign is dropped; no other character changes.
    ///
    /// # Errors
    /// [`DigitsError`] where the text is no finite decimal number.
    pub fn new(text: &str) -> Result<Digits, DigitsError> {
        if text.len() > LONGEST {
            return Err(DigitsError::TooLong { length: text.len() });
        }
        let plain = text.replace('\u{2212}', "-");
        let plain = plain
            .strip_prefix('+')
            .filter(|rest| !rest.starts_with('-'))
            .map_or(plain.clone(), str::to_owned);
        let no = || DigitsError::NotANumber { given: text.chars().take(LONGEST).collect() };
        let unsigned = plain.strip_prefix('-').unwrap_or(&plain);
        let (mantissa, exponent) = match unsigned.split_once(['e', 'E']) {
            Some((mantissa, exponent)) => (mantissa, Some(exponent)),
            None => (unsigned, None),
        };
        let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
        let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        if whole.len() + fraction.len() == 0 || !digits(whole) || !digits(fraction) {
            return Err(no());
        }
        if let Some(exponent) = exponent {
            let bare = exponent.strip_prefix(['+', '-']).unwrap_or(exponent);
            if bare.is_empty() || !digits(bare) {
                return Err(no());
            }
        }
        let value: f64 = plain.parse().map_err(|_| no())?;
        if value.is_finite() { Ok(Digits(plain)) } else { Err(DigitsError::TooLarge { given: plain }) }
    }

    /// As it is written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The nearest binary number; finite.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.0.parse().unwrap_or(0.0)
    }

    /// One step of its last digit: 0.01 of 40.20, 100 of 15E2.
    #[must_use]
    pub fn last_digit(&self) -> f64 {
        let (mantissa, exponent) = self.parts();
        let places = mantissa.split_once('.').map_or(0, |(_, fraction)| fraction.len() as i32);
        10_f64.powi(exponent.saturating_sub(places))
    }

    /// The same number times a power of ten, without an exponent and with every digit kept: a decimal
    /// point moves, nothing is rounded. `None` where more than 40 zeros would have to be written.
    #[must_use]
    pub fn plain(&self, power: i32) -> Option<Digits> {
        let (mantissa, exponent) = self.parts();
        let move_by = exponent.checked_add(power).filter(|by| by.abs() <= WIDEST)?;
        let (sign, unsigned) = match mantissa.strip_prefix('-') {
            Some(rest) => ("-", rest),
            None => ("", mantissa),
        };
        let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, ""));
        let mut digits = format!("{whole}{fraction}");
        let mut point = whole.len() as i32 + move_by;
        if point <= 0 {
            digits.insert_str(0, &"0".repeat(1 + point.unsigned_abs() as usize));
            point = 1;
        }
        let point = point as usize;
        if digits.len() < point {
            digits.push_str(&"0".repeat(point - digits.len()));
        }
        let (whole, fraction) = digits.split_at(point);
        let whole = whole.trim_start_matches('0');
        let whole = if whole.is_empty() { "0" } else { whole };
        // a point with nothing behind it is dropped
        let dot = if fraction.is_empty() { "" } else { "." };
        Some(Digits(format!("{sign}{whole}{dot}{fraction}")))
    }

    /// The same number with the other sign; zero has none.
    #[must_use]
    pub fn negated(&self) -> Digits {
        match self.0.strip_prefix('-') {
            Some(rest) => Digits(rest.to_owned()),
            None if self.value() == 0.0 => self.clone(),
            None => Digits(format!("-{}", self.0)),
        }
    }

    fn parts(&self) -> (&str, i32) {
        match self.0.split_once(['e', 'E']) {
            // an exponent that no i32 holds belongs to a zero, as the value is finite
            Some((mantissa, exponent)) => (mantissa, exponent.parse().unwrap_or(i32::MAX)),
            None => (&self.0, 0),
        }
    }
}

impl fmt::Display for Digits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn plain(text: &str, power: i32) -> Option<String> {
        Digits::new(text).unwrap().plain(power).map(|digits| digits.as_str().to_owned())
    }

    #[test]
    fn what_is_printed_is_kept() {
        for text in ["40.20", "-0.200", "0", "1.", ".5", "1.5E-3"] {
            assert_eq!(Digits::new(text).unwrap().as_str(), text);
        }
        assert_eq!(Digits::new("\u{2212}0.20").unwrap().as_str(), "-0.20");
        assert_eq!(Digits::new("+1.0").unwrap().as_str(), "1.0");
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in
            ["", "-", ".", "NaN", "INF", "-INF", "1,5", "1e", "1e+", "0x1", "1 2", "+-1", "--1", "1e999"]
        {
            assert!(Digits::new(text).is_err(), "{text}");
        }
        assert_eq!(Digits::new(&"1".repeat(65)), Err(DigitsError::TooLong { length: 65 }));
    }

    // Oracle: moving a decimal point by hand.
    #[test]
    fn a_power_of_ten_moves_the_point() {
        assert_eq!(plain("1.250", 3).unwrap(), "1250");
        assert_eq!(plain("1.2505", 3).unwrap(), "1250.5");
        assert_eq!(plain("-0.0015", 2).unwrap(), "-0.15");
        assert_eq!(plain("15", -2).unwrap(), "0.15");
        assert_eq!(plain("1.50E-3", 2).unwrap(), "0.150");
        assert_eq!(plain("2E1", 3).unwrap(), "20000");
        assert_eq!(plain("007.10", 0).unwrap(), "7.10");
        assert_eq!(plain("1E40", 1), None);
        assert_eq!(plain("0E99999999999", 1), None);
    }

    #[test]
    fn the_step_of_the_last_digit() {
        for (text, step) in [("40.20", 0.01), ("40", 1.0), ("1.5E-3", 1e-4), ("15E2", 100.0)] {
            assert!((Digits::new(text).unwrap().last_digit() / step - 1.0).abs() < 1e-12, "{text}");
        }
    }
}
