//! The time of a reading: `2026-11-18T09:12:33+01:00`, with or without an offset, with `T` or a
//! blank between day and time, with or without seconds, with one or two digits of the hour.

use crate::ingest::checks;
use crate::ingest::value::{Fault, shorten};
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, TimeZone};

/// A time as it was written. One without an offset is kept as UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stamp {
    pub(super) time: DateTime<FixedOffset>,
    pub(super) has_offset: bool,
}

/// Reads a time.
pub(super) fn read(text: &str) -> Option<Stamp> {
    let bytes = text.as_bytes();
    let (day, rest) = (bytes.get(..10)?, bytes.get(10..)?);
    let date = NaiveDate::from_ymd_opt(
        i32::try_from(number(day.get(..4)?)?).ok()?,
        signed(day, 4, b'-')?,
        signed(day, 7, b'-')?,
    )?;
    let (first, clock) = rest.split_first()?;
    if !matches!(first, b'T' | b't' | b' ') {
        return None;
    }
    let hour_digits = if clock.get(1) == Some(&b':') { 1 } else { 2 };
    let hour = number(clock.get(..hour_digits)?)?;
    let minute = signed(clock, hour_digits, b':')?;
    let clock = clock.get(hour_digits + 3..)?;
    let (second, nanosecond, tail) = if clock.first() == Some(&b':') {
        let (nanosecond, tail) = fraction(clock.get(3..)?)?;
        (signed(clock, 0, b':')?, nanosecond, tail)
    } else {
        (0, 0, clock)
    };
    let time = NaiveTime::from_hms_nano_opt(hour, minute, second, nanosecond)?;
    let (offset, has_offset) = offset(tail)?;
    let stamp = offset.from_local_datetime(&NaiveDateTime::new(date, time)).single()?;
    Some(Stamp { time: stamp, has_offset })
}

/// Why a cell is no time, and how to mend it.
pub(super) fn fault(cell: &str) -> Fault {
    let signs = |c: char| cell.chars().filter(|other| *other == c).count();
    let leading = cell.chars().take_while(char::is_ascii_digit).count();
    let behind = cell.chars().nth(leading);
    let (why, remedy) = match behind {
        Some('.' | '/' | '-') if (1..=2).contains(&leading) => (
            "has its day in an order that countries read differently",
            "write the year first, such as 2026-11-18 09:12:33; in a spreadsheet give the column the format YYYY-MM-DD HH:MM:SS",
        ),
        Some(':') if (1..=2).contains(&leading) && signs(':') <= 2 => (
            "has no day",
            "write the day before it, such as 2026-11-18 09:12:33; in a spreadsheet give the column the format YYYY-MM-DD HH:MM:SS",
        ),
        _ if cell.to_ascii_lowercase().ends_with('m') => {
            ("counts the hours to twelve", "write the hours from 0 to 23, such as 2026-11-18 14:12:33")
        }
        _ => (
            "is not a time that exists in this form",
            "write it such as 2026-11-18T09:12:33+01:00 or 2026-11-18 09:12:33",
        ),
    };
    Fault::new(
        &checks::TIME_UNREADABLE,
        format!("'{}' {why}", shorten(cell)),
        "year-month-day hour:minute:second, with or without offset",
        remedy,
    )
}

/// Two digits behind a sign.
fn signed(bytes: &[u8], at: usize, sign: u8) -> Option<u32> {
    if *bytes.get(at)? != sign {
        return None;
    }
    number(bytes.get(at + 1..at + 3)?)
}

fn number(digits: &[u8]) -> Option<u32> {
    digits.iter().try_fold(0_u32, |so_far, byte| {
        if byte.is_ascii_digit() { Some(so_far * 10 + u32::from(byte - b'0')) } else { None }
    })
}

/// Nanoseconds, and what stands behind them.
fn fraction(tail: &[u8]) -> Option<(u32, &[u8])> {
    let Some((b'.' | b',', digits)) = tail.split_first() else { return Some((0, tail)) };
    let length = digits.iter().take_while(|byte| byte.is_ascii_digit()).count();
    if length == 0 || length > 9 {
        return None;
    }
    let (digits, rest) = digits.split_at(length);
    let scale = 10_u32.pow(u32::try_from(9 - length).ok()?);
    Some((number(digits)? * scale, rest))
}

fn offset(tail: &[u8]) -> Option<(FixedOffset, bool)> {
    let utc = FixedOffset::east_opt(0)?;
    match tail {
        [] => Some((utc, false)),
        [b'Z' | b'z'] => Some((utc, true)),
        [sign @ (b'+' | b'-'), clock @ ..] if clock.len() == 5 => {
            let (hours, minutes) = (number(clock.get(..2)?)?, signed(clock, 2, b':')?);
            if hours > 23 || minutes > 59 {
                return None;
            }
            let seconds = i32::try_from(hours * 3600 + minutes * 60).ok()?;
            FixedOffset::east_opt(if *sign == b'-' { -seconds } else { seconds }).map(|offset| (offset, true))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn times_as_they_are_written() {
        for (text, printed, has_offset) in [
            ("2026-11-18T09:12:33+01:00", "2026-11-18T09:12:33+01:00", true),
            ("2026-11-18T09:12:33Z", "2026-11-18T09:12:33+00:00", true),
            ("2026-11-18 09:12:33", "2026-11-18T09:12:33+00:00", false),
            ("2026-11-18T09:12:33.25-05:30", "2026-11-18T09:12:33.250-05:30", true),
            ("2026-11-18 9:00:30", "2026-11-18T09:00:30+00:00", false),
            ("2026-11-18T09:12", "2026-11-18T09:12:00+00:00", false),
            ("2026-11-18 9:12+01:00", "2026-11-18T09:12:00+01:00", true),
        ] {
            let stamp = read(text).unwrap();
            assert_eq!((stamp.time.to_rfc3339().as_str(), stamp.has_offset), (printed, has_offset));
        }
    }

    #[test]
    fn times_that_are_refused() {
        for text in [
            "",
            "09:12",
            "2026-11-18",
            "18.11.2026 09:12:33",
            "2026-02-30T09:12:33",
            "2026-11-18T24:00:00",
            "2026-11-18T09:1",
            "2026-11-18T9:1:30",
            "2026-11-18T:12:30",
            "2026-11-18T09:12.5",
            "2026-11-18T09:12:33+1:00",
            "2026-11-18T09:12:33.",
            "2026-11-18T09:12:33+25:00",
            "2026-11-18T09:12:33 h",
            "２０２６-11-18T09:12:33",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
