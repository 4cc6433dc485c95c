//! How findings write numbers, rows and lists.

use crate::quantity::{Percent, Torque, TorqueUnit};
use crate::reading::Reading;
use crate::rounding::round_figures;
use crate::rulebook::Source;

/// A computed number to four significant figures, without trailing zeros.
pub(super) fn figures(value: f64) -> String {
    match round_figures(value, 4) {
        Ok(digits) => digits.decimal().normalize().to_string(),
        Err(_) => value.to_string(),
    }
}

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
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [front @ .., last] => format!("{} and {last}", front.join(", ")),
    }
}

/// `row 5`, `rows 5, 6 and 9`, `rows 5, 6, 7, 8 and 12 more`.
pub(super) fn rows(readings: &[&Reading]) -> String {
    const SHOWN: usize = 6;
    let mut numbers: Vec<String> = readings.iter().take(SHOWN).map(|r| r.row.to_string()).collect();
    if readings.len() > SHOWN {
        numbers.truncate(SHOWN - 1);
        numbers.push(format!("{} more", readings.len() - numbers.len()));
    }
    format!("{} {}", if readings.len() == 1 { "row" } else { "rows" }, list(&numbers))
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
