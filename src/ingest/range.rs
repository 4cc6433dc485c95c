//! A range in words: `40 N·m .. 200 N·m`, `40 … 200 N·m`, `5 ft-lb - 100 ft-lb`, `1.5 to 30 N·m`.

use leverarm_metrology::reading::Recorded;
use leverarm_metrology::tool::TorqueRange;

use super::checks;
use super::value::{Fault, shorten, torque_fault};

/// Reads a range. The lower end may leave its unit to the upper one, as ranges are spoken; a range
/// without any unit is refused.
pub(super) fn range(text: &str) -> Result<TorqueRange, Fault> {
    let (low, high) = ends(text).ok_or_else(|| {
        Fault::new(
            &checks::RANGE_UNREADABLE,
            format!("'{}' does not name two ends", shorten(text)),
            "two torques",
            "write the lowest and the highest torque, such as 40 N·m .. 200 N·m",
        )
    })?;
    let upper = Recorded::parse(high).map_err(|error| torque_fault(&error))?;
    let bare = low.chars().all(|c| c.is_ascii_digit() || c == '.');
    let lower = if bare { Recorded::new(low, upper.unit()) } else { Recorded::parse(low) }
        .map_err(|error| torque_fault(&error))?;
    Ok(TorqueRange { lower, upper })
}

/// Cuts at the sign or word between the two ends.
fn ends(text: &str) -> Option<(&str, &str)> {
    let cut = ["...", "..", "…", "–", "—", " to "]
        .iter()
        .find_map(|sign| text.split_once(sign))
        .or_else(|| hyphen(text).and_then(|at| Some((text.get(..at)?, text.get(at + 1..)?))))?;
    let (low, high) = (cut.0.trim(), cut.1.trim());
    if low.is_empty() || high.is_empty() { None } else { Some((low, high)) }
}

/// The hyphen before the second number: the one in `ft-lb` has no digit behind it.
fn hyphen(text: &str) -> Option<usize> {
    text.char_indices().filter(|(_, c)| *c == '-').map(|(at, _)| at).find(|at| {
        let before = text.get(..*at).is_some_and(|t| !t.trim().is_empty());
        let after =
            text.get(at + 1..).is_some_and(|t| t.trim_start().starts_with(|c: char| c.is_ascii_digit()));
        before && after
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn ranges_as_people_write_them() {
        for (text, printed) in [
            ("40 N·m .. 200 N·m", "40 … 200 N·m"),
            ("40 N.m..200 N.m", "40 … 200 N·m"),
            ("40 … 200 Nm", "40 … 200 N·m"),
            ("5 ft-lb - 100 ft-lb", "5 … 100 lbf·ft"),
            ("5-100 lbf·ft", "5 … 100 lbf·ft"),
            ("1.5 to 30 N·m", "1.5 … 30 N·m"),
            ("60 cN·m – 6 N·m", "60 cN·m … 6 N·m"),
        ] {
            assert_eq!(range(text).unwrap().to_string(), printed, "{text}");
        }
    }

    #[test]
    fn ranges_that_are_refused() {
        for (text, check) in [
            ("40 .. 200", "number-without-unit"),
            ("200 N·m", "range-unreadable"),
            ("40 kgf/cm² .. 200 N·m", "unit-unknown"),
            ("-", "range-unreadable"),
            ("..", "range-unreadable"),
            ("4,5 N·m .. 20 N·m", "decimal-comma"),
        ] {
            assert_eq!(range(text).unwrap_err().check.name, check, "{text}");
        }
    }
}
