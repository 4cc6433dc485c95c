//! Dates of a PDF (ISO 32000-1, 7.9.4).

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, Utc};

/// `D:20261125103000Z`: a moment as a PDF writes it, in UTC, whole seconds.
#[must_use]
pub fn pdf_date(time: DateTime<Utc>) -> String {
    time.format("D:%Y%m%d%H%M%SZ").to_string()
}

/// Whether a moment can be written as a date of a PDF and of a certificate: years 1950 to 9999.
pub(crate) fn can_be_written(time: DateTime<Utc>) -> bool {
    (1950..=9999).contains(&time.year())
}

/// Reads a complete date: from year to second, with `Z` or an offset. `None` for anything less,
/// for a signing time that leaves its zone open says nothing.
#[must_use]
pub fn parse_date(text: &str) -> Option<DateTime<Utc>> {
    let digits = text.strip_prefix("D:")?;
    let part = |from: usize, to: usize| -> Option<u32> {
        let part = digits.get(from..to)?;
        part.bytes().all(|b| b.is_ascii_digit()).then(|| part.parse().ok())?
    };
    let date = NaiveDate::from_ymd_opt(i32::try_from(part(0, 4)?).ok()?, part(4, 6)?, part(6, 8)?)?;
    let local = date.and_hms_opt(part(8, 10)?, part(10, 12)?, part(12, 14)?)?;
    let seconds = offset_seconds(digits.get(14..)?)?;
    let zone = FixedOffset::east_opt(seconds)?;
    Some(local.and_local_timezone(zone).single()?.with_timezone(&Utc))
}

/// `Z`, `+01'00'`, `+01'00` or `-0530` without its quotes.
fn offset_seconds(text: &str) -> Option<i32> {
    if matches!(text, "Z" | "Z00'00'" | "Z00'00") {
        return Some(0);
    }
    let (sign, rest) = match text.strip_prefix('+') {
        Some(rest) => (1, rest),
        None => (-1, text.strip_prefix('-')?),
    };
    let rest: String = rest.chars().filter(|c| *c != '\'').collect();
    if rest.len() != 4 || !rest.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let hours: i32 = rest.get(..2)?.parse().ok()?;
    let minutes: i32 = rest.get(2..)?.parse().ok()?;
    Some(sign * (hours * 3_600 + minutes * 60))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use chrono::TimeZone;

    // ISO 32000-1, 7.9.4: its example is December 23, 1998, 19:52, eight hours behind UTC.
    #[test]
    fn the_example_of_the_standard_is_read() {
        let wanted = Utc.with_ymd_and_hms(1998, 12, 24, 3, 52, 0).unwrap();
        assert_eq!(parse_date("D:19981223195200-08'00"), Some(wanted));
        assert_eq!(parse_date("D:19981223195200-08'00'"), Some(wanted));
    }

    #[test]
    fn what_is_written_is_read() {
        let time = Utc.with_ymd_and_hms(2026, 11, 25, 10, 30, 5).unwrap();
        assert_eq!(pdf_date(time), "D:20261125103005Z");
        assert_eq!(parse_date(&pdf_date(time)), Some(time));
    }

    #[test]
    fn a_date_without_zone_or_with_rubbish_is_none() {
        for text in
            ["D:20261125103005", "20261125103005Z", "D:2026", "D:20261325103005Z", "D:2026112510300µZ"]
        {
            assert_eq!(parse_date(text), None, "{text}");
        }
    }
}
