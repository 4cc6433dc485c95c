//! How findings write numbers, rows and lists.

use crate::finding::joined;
use crate::quantity::{Percent, Torque, TorqueUnit};
use crate::reading::Reading;
use crate::rulebook::Source;

pub(super) use crate::rounding::figures;

/// A computed percentage.
pub(super) fn percent(value: Percent) -> String {
    format!("{} %", figures(value.value()))
}

/// A computed torque in the unit in which the record speaks of it.
pub(super) fn torque(value: Torque, unit: TorqueUnit) -> String {
    format!("{} {unit}", figures(value.in_unit(unit)))
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn list(items: &[String]) -> String {
    joined(items, "and")
}

/// `a`, `a or b`, `a, b or c`.
pub(super) fn either(items: &[String]) -> String {
    joined(items, "or")
}

/// `reading 5`, `readings 5, 6 and 9`, `readings 5 to 9 and 12`, `readings 1, 3, 5, 7, 9 and 12 more`:
/// counted from the first reading, as the certificate counts them, and not by the lines of a file.
pub(super) fn rows(readings: &[&Reading]) -> String {
    const SHOWN: usize = 6;
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for reading in readings {
        match runs.last_mut() {
            Some((_, last)) if last.checked_add(1) == Some(reading.row) => *last = reading.row,
            _ => runs.push((reading.row, reading.row)),
        }
    }
    let shown = if runs.len() > SHOWN { SHOWN - 1 } else { runs.len() };
    let mut words = Vec::new();
    let mut said = 0_usize;
    for (first, last) in runs.into_iter().take(shown) {
        said += (last - first) as usize + 1;
        match last - first {
            0 => words.push(first.to_string()),
            1 => words.extend([first.to_string(), last.to_string()]),
            _ => words.push(format!("{first} to {last}")),
        }
    }
    if said < readings.len() {
        words.push(format!("{} more", readings.len() - said));
    }
    format!("{} {}", if readings.len() == 1 { "reading" } else { "readings" }, list(&words))
}

/// A message that was put together from clauses, as a sentence: a capital first and a full stop.
pub(super) fn sentence(message: &str) -> String {
    let mut letters = message.chars();
    let first = letters.next().map(char::to_uppercase).into_iter().flatten();
    first.chain(letters).chain(std::iter::once('.')).collect()
}

/// `1 reading`, `4 readings`.
pub(super) fn counted(n: usize, thing: &str) -> String {
    if n == 1 { format!("1 {thing}") } else { format!("{n} {thing}s") }
}

/// Nothing was said: empty, spaces, or a mere placeholder such as `-` or `?`.
pub(super) fn blank(text: &str) -> bool {
    !text.chars().any(char::is_alphanumeric)
}

/// Nothing was said, where even the key may be missing.
pub(super) fn unsaid(text: Option<&String>) -> bool {
    text.is_none_or(|text| blank(text))
}

/// A clause of the rulebook with how sure we are of it.
pub(super) fn clause(from: &Source) -> String {
    format!("{} ({})", from.source, from.certainty.words())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::sample::Sample;

    #[test]
    fn readings_are_said_in_runs_and_never_all_of_them() {
        let readings = Sample::good().run.readings;
        let pick = |numbers: &[usize]| {
            let picked: Vec<&Reading> = numbers.iter().map(|n| &readings[n - 1]).collect();
            rows(&picked)
        };
        assert_eq!(pick(&[5]), "reading 5");
        assert_eq!(pick(&[5, 6]), "readings 5 and 6");
        assert_eq!(pick(&[5, 6, 7, 8, 12]), "readings 5 to 8 and 12");
        assert_eq!(pick(&[1, 3, 5, 7, 9, 11, 13, 14]), "readings 1, 3, 5, 7, 9 and 3 more");
    }

    #[test]
    fn placeholders_say_nothing() {
        assert!(blank(" ") && blank("-") && blank("?") && blank("…"));
        assert!(!blank("Ö") && !blank("7"));
    }
}
