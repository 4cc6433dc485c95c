//! Names, texts and days as they come from the command line.

use chrono::NaiveDate;
use leverarm_ledger::event::CertificateNumber;
use leverarm_ledger::text::{Decimal, Id, Text};

/// A name of the record.
pub(super) fn id(text: &str) -> Result<Id, String> {
    Id::new(text).map_err(|error| format!("{error}; {}", error.remedy()))
}

/// Free text.
pub(super) fn text(text: &str) -> Result<Text, String> {
    Text::new(text).map_err(|error| format!("{error}; {}", error.remedy()))
}

/// A decimal number.
pub(super) fn decimal(text: &str) -> Result<Decimal, String> {
    Decimal::new(text).map_err(|error| format!("{error}; {}", error.remedy()))
}

/// A day.
pub(super) fn day(text: &str) -> Result<NaiveDate, String> {
    NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d")
        .map_err(|_| "write the date as YYYY-MM-DD, such as 2026-11-25".to_owned())
}

/// The number of a certificate, as it is printed: `SK-2026-0007`.
pub(super) fn number(text: &str) -> Result<CertificateNumber, String> {
    let wrong = || "write the number as it is printed, such as SK-2026-0007".to_owned();
    let (series, digits) = text.rsplit_once('-').ok_or_else(wrong)?;
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(wrong());
    }
    let number = digits.parse().map_err(|_| wrong())?;
    Ok(CertificateNumber { series: id(series)?, number })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_number_is_read_as_it_is_printed() {
        let read = number("SK-2026-0007").unwrap();
        assert_eq!((read.series.as_str(), read.number), ("SK-2026", 7));
        assert_eq!(read.to_string(), "SK-2026-0007");
        for bad in ["SK", "SK-", "SK-x", "-7", "SK-99999999999999999999"] {
            assert!(number(bad).is_err(), "{bad}");
        }
    }
}
