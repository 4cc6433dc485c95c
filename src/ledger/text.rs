//! Texts of the record: names, free text, decimals. Bounded, and printable on one terminal.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why a text cannot stand in the record.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TextError {
    /// Nothing was given.
    #[error("the text is empty")]
    Empty,
    /// More characters than the record takes.
    #[error("the text has {given} characters, at most {most} are taken")]
    TooLong {
        /// how many there are
        given: usize,
        /// how many may be
        most: usize,
    },
    /// A character that no terminal and no paper shows.
    #[error("character {at} of the text is the control character U+{code:04X}")]
    Control {
        /// which character, from 1
        at: usize,
        /// its code point
        code: u32,
    },
    /// A name that begins or ends with a blank cannot be told from the one without.
    #[error("the name '{given}' begins or ends with a blank")]
    Blank {
        /// what was given
        given: String,
    },
    /// Not a decimal number.
    #[error("'{given}' is not a decimal number as 12.5 or -0.04")]
    NotADecimal {
        /// what was given
        given: String,
    },
}

impl TextError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            TextError::Empty => "give a text",
            TextError::TooLong { .. } => "shorten it; a long document is added as a file",
            TextError::Control { .. } => "take the character out",
            TextError::Blank { .. } => "take the blank away",
            TextError::NotADecimal { .. } => "write digits with a decimal point, without unit and exponent",
        }
    }
}

fn check(given: &str, most: usize, lines: bool) -> Result<(), TextError> {
    if given.is_empty() {
        return Err(TextError::Empty);
    }
    let count = given.chars().count();
    if count > most {
        return Err(TextError::TooLong { given: count, most });
    }
    let bad = |c: &char| c.is_control() && !(lines && matches!(c, '\n' | '\t'));
    match given.chars().enumerate().find(|(_, c)| bad(c)) {
        Some((at, c)) => Err(TextError::Control { at: at + 1, code: u32::from(c) }),
        None => Ok(()),
    }
}

macro_rules! text {
    ($(#[$doc:meta])* $name:ident, $check:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(String);

        impl $name {
            /// Takes the text after a check.
            ///
            /// # Errors
            /// [`TextError`] where it cannot stand in the record.
            pub fn new(given: impl Into<String>) -> Result<$name, TextError> {
                let given = given.into();
                let check: fn(&str) -> Result<(), TextError> = $check;
                check(&given)?;
                Ok($name(given))
            }

            /// The text.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl TryFrom<String> for $name {
            type Error = TextError;

            fn try_from(given: String) -> Result<$name, TextError> {
                $name::new(given)
            }
        }

        impl From<$name> for String {
            fn from(text: $name) -> String {
                text.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

text!(
    /// The name by which the record knows a thing or a person: one line, at most 120 characters.
    Id,
    |given| {
        check(given, 120, false)?;
        if given.trim() == given { Ok(()) } else { Err(TextError::Blank { given: given.to_owned() }) }
    }
);

text!(
    /// Free text: at most 8,000 characters, lines are allowed.
    Text,
    |given| check(given, 8_000, true)
);

text!(
    /// A decimal number as its digits stand, never a binary fraction.
    Decimal,
    |given| {
        check(given, 40, false)?;
        let (whole, part) = given.strip_prefix('-').unwrap_or(given).split_once('.').map_or_else(
            || (given.strip_prefix('-').unwrap_or(given), None),
            |(whole, part)| (whole, Some(part)),
        );
        let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
        if digits(whole) && part.is_none_or(digits) {
            Ok(())
        } else {
            Err(TextError::NotADecimal { given: given.to_owned() })
        }
    }
);

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn names_are_one_printable_line() {
        assert!(Id::new("RT-250").is_ok());
        assert_eq!(Id::new(""), Err(TextError::Empty));
        assert_eq!(Id::new(" RT-250"), Err(TextError::Blank { given: " RT-250".into() }));
        assert_eq!(Id::new("a\nb"), Err(TextError::Control { at: 2, code: 10 }));
        assert_eq!(Id::new("x".repeat(121)), Err(TextError::TooLong { given: 121, most: 120 }));
        assert!(Text::new("two\nlines").is_ok());
    }

    #[test]
    fn decimals_are_digits() {
        for good in ["0", "-0.04", "12.50", "100"] {
            assert_eq!(Decimal::new(good).unwrap().as_str(), good);
        }
        for bad in ["", ".5", "5.", "1e3", "+1", "--1", "1,5", "NaN", "-", "1.2.3"] {
            assert!(Decimal::new(bad).is_err(), "{bad}");
        }
    }
}
