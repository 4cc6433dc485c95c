//! The time of a reading: `2026-11-18T09:12:33+01:00`, with or without an offset, with `T` or a
//! blank between day and time.

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
    let hour = number(clock.get(..2)?)?;
    let minute = signed(clock, 2, b':')?;
    let second = signed(clock, 5, b':')?;
    let (nanosecond, tail) = fraction(clock.get(8..)?)?;
    let time = NaiveTime::from_hms_nano_opt(hour, minute, second, nanosecond)?;
    let (offset, has_offset) = offset(tail)?;
    let stamp = offset.from_local_datetime(&NaiveDateTime::new(date, time)).single()?;
    Some(Stamp { time: stamp, has_offset })
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
            "2026-11-18T09:12",
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
