//! Small words and digits that every part of the certificate uses.

use chrono::NaiveDate;

use super::Judged;
use crate::metrology::decision::{Sides, Verdict, bare};
use crate::metrology::evaluate::PointResult;
use crate::metrology::finding::joined;
use crate::metrology::quantity::Percent;
use crate::metrology::reading::{Direction, Recorded};
use crate::metrology::rulebook::Purpose;
use crate::metrology::tool::ToolClass;

/// Keeps a number and its unit on one line.
pub(super) const NO_BREAK: char = '\u{a0}';

/// "18 November 2026".
pub(super) fn day(date: NaiveDate) -> String {
    date.format("%-d\u{a0}%B\u{a0}%Y").to_string()
}

/// A recorded torque with its unit, on one line and with a true minus.
pub(super) fn torque(recorded: &Recorded) -> String {
    format!("{}{NO_BREAK}{}", digits(recorded), recorded.unit())
}

/// The digits of a recorded torque, with a true minus.
pub(super) fn digits(recorded: &Recorded) -> String {
    recorded.digits().to_string().replace('-', "−")
}

/// A stated percentage such as a limit: the digits that somebody wrote.
pub(super) fn percent(value: Percent) -> String {
    format!("{}{NO_BREAK}%", value.value()).replace('-', "−")
}

/// A text as it was typed, for paper: a hyphen before a digit and after nothing that it could join
/// becomes a true minus, an apostrophe within a word a curved one.
pub(super) fn typeset(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = ' ';
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        let next = rest.peek().copied().unwrap_or(' ');
        out.push(match c {
            '-' if !before.is_alphanumeric() && next.is_ascii_digit() => '−',
            '\'' if before.is_alphabetic() && next.is_alphabetic() => '’',
            _ => c,
        });
        before = c;
    }
    out
}

/// A limit in a column: "±4", "≤ +4", "≥ −4".
pub(super) fn limit_in_column(sides: Sides, digits: &str) -> String {
    let (bare, below_zero) = bare(digits);
    match (sides, below_zero) {
        (Sides::Both, _) => format!("±{digits}"),
        (Sides::Upper, false) => format!("≤{NO_BREAK}+{bare}"),
        (Sides::Upper, true) => format!("≤{NO_BREAK}−{bare}"),
        (Sides::Lower, false) => format!("≥{NO_BREAK}−{bare}"),
        (Sides::Lower, true) => format!("≥{NO_BREAK}+{bare}"),
    }
}

/// What a statement of conformity is made against: "type II, class A of ISO 6789-1:2017".
pub(super) fn specification(judged: &Judged<'_>) -> String {
    let tool = judged.run.tool.class;
    judged.rulebook.certificate.specification(tool, &class(tool))
}

/// A text with its first letter large.
pub(super) fn capital(text: &str) -> String {
    let mut rest = text.chars();
    rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}

/// "a", "a and b", "a, b and c".
pub(super) fn listed(items: &[String]) -> String {
    joined(items, "and")
}

/// The title of the paper. A conformance test that the tool did not pass is no
/// declaration of conformance.
pub(super) fn title(last: &Judged<'_>) -> &'static str {
    match (last.rulebook.purpose, last.evaluation.verdict) {
        (Purpose::Calibration, _) => "Calibration certificate",
        (Purpose::Conformance, Verdict::Pass) => "Declaration of conformance",
        (Purpose::Conformance, _) => "Report of a conformance test",
    }
}

/// "type II, class A".
pub(super) fn class(class: ToolClass) -> String {
    match class.code().split_once(' ') {
        Some((kind, letter)) => format!("type{NO_BREAK}{kind}, class{NO_BREAK}{letter}"),
        None => class.code().to_owned(),
    }
}

/// "40 N·m", or "40 N·m counter-clockwise" where the run went both ways.
pub(super) fn point_name(point: &PointResult, both_ways: bool) -> String {
    let target = torque(&point.target);
    if both_ways { format!("{target} {}", point.direction) } else { target }
}

/// Whether a run has test points in both directions.
pub(super) fn both_ways(points: &[PointResult]) -> bool {
    [Direction::Clockwise, Direction::CounterClockwise]
        .into_iter()
        .all(|direction| points.iter().any(|point| point.direction == direction))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_read_as_people_write_them() {
        let items = ["a", "b", "c"].map(String::from);
        assert_eq!(listed(&items), "a, b and c");
        assert_eq!(listed(&items[..2]), "a and b");
        assert_eq!(listed(&items[..1]), "a");
    }

    #[test]
    fn a_minus_is_told_from_a_hyphen() {
        assert_eq!(typeset("-4.414 % (-2 %), 2026-11-18, RT-250"), "−4.414 % (−2 %), 2026-11-18, RT-250");
        assert_eq!(typeset("the tool's 'TE 30'"), "the tool’s 'TE 30'");
    }

    #[test]
    fn class_and_capital() {
        assert_eq!(class(ToolClass::IIA), "type\u{a0}II, class\u{a0}A");
        assert_eq!(capital("as found"), "As found");
    }
}
