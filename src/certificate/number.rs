//! The number of a certificate: what may stand in it, and the name of its folder.

use thiserror::Error;

/// The longest number that fits a page and a file system.
pub const LONGEST: usize = 64;

/// Why a text is not the number of a certificate.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NumberError {
    /// There is nothing, or too much.
    #[error("the certificate number '{given}' has {length} characters; 1 to {LONGEST} are possible")]
    Length {
        /// The number as given.
        given: String,
        /// Its length.
        length: usize,
    },
    /// It begins or ends with something else than a letter or a digit.
    #[error("the certificate number '{given}' must begin and end with a letter or a digit")]
    Ends {
        /// The number as given.
        given: String,
    },
    /// A character that cannot stand in it.
    #[error("the certificate number '{given}' holds '{found}'")]
    Character {
        /// The number as given.
        given: String,
        /// The character.
        found: char,
    },
}

impl NumberError {
    /// How to mend it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        "write a number of 1 to 64 letters, digits, '-', '_', '.', '/' and spaces that begins and ends with a letter \
         or a digit, such as 2026-0412/A"
    }
}

/// Looks at a number.
///
/// # Errors
/// [`NumberError`] for a text that is not the number of a certificate.
pub fn check(number: &str) -> Result<(), NumberError> {
    let given = || number.escape_debug().to_string();
    let length = number.chars().count();
    if length == 0 || length > LONGEST {
        return Err(NumberError::Length { given: given(), length });
    }
    let fits = |c: &char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | ' ');
    if let Some(found) = number.chars().find(|c| !fits(c)) {
        return Err(NumberError::Character { given: given(), found });
    }
    if !number.starts_with(char::is_alphanumeric) || !number.ends_with(char::is_alphanumeric) {
        return Err(NumberError::Ends { given: given() });
    }
    Ok(())
}

/// The name of the certificate's folder. Two numbers never share one.
#[must_use]
pub fn folder_name(number: &str) -> String {
    number.replace('/', "+")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_could_leave_its_folder_is_no_number() {
        for number in ["SK-2026-0412-1", "L-0001/A", "7", "A 12_b.3"] {
            assert_eq!(check(number), Ok(()));
        }
        assert!(matches!(check("../../evil"), Err(NumberError::Ends { .. })));
        assert!(matches!(check("a\\b"), Err(NumberError::Character { found: '\\', .. })));
        assert!(matches!(check("a\nb"), Err(NumberError::Character { found: '\n', .. })));
        assert!(matches!(check(""), Err(NumberError::Length { length: 0, .. })));
        assert!(matches!(check(&"x".repeat(65)), Err(NumberError::Length { length: 65, .. })));
        assert!(check("A ").is_err() && check("A.").is_err());
    }

    #[test]
    fn two_numbers_never_share_a_folder() {
        assert_ne!(folder_name("L-0001/A"), folder_name("L-0001-A"));
        assert_ne!(folder_name("L 1"), folder_name("L-1"));
    }
}
