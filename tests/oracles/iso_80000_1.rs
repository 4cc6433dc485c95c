//! ISO 80000-1:2009, annex B: rounding of numbers, rules A (halves to even) and B (halves away).
//!
//! Marks: the examples M; that each follows from the rule's own words D.

use leverarm_metrology::rounding::{Figures, Mode, ResultMode, RoundingRule, round_result};

/// Rounds to tenths (an uncertainty of 1.2) or to tens (an uncertainty of 120).
fn rounded(value: f64, uncertainty: f64, result: ResultMode) -> String {
    let rule = RoundingRule { uncertainty: Mode::HalfUp, result, figures: Figures::Two };
    round_result(value, uncertainty, rule).unwrap().result.to_string()
}

#[test]
fn nearest_multiple() {
    for mode in [ResultMode::HalfEven, ResultMode::HalfUp] {
        for (value, printed) in [(12.223, "12.2"), (12.251, "12.3"), (12.275, "12.3")] {
            assert_eq!(rounded(value, 1.2, mode), printed);
        }
        for (value, printed) in [(1222.3, "1220"), (1225.1, "1230"), (1227.5, "1230")] {
            assert_eq!(rounded(value, 120.0, mode), printed);
        }
    }
}

#[test]
fn rule_a_takes_the_even_multiple() {
    assert_eq!(rounded(12.25, 1.2, ResultMode::HalfEven), "12.2");
    assert_eq!(rounded(12.35, 1.2, ResultMode::HalfEven), "12.4");
    assert_eq!(rounded(-12.25, 1.2, ResultMode::HalfEven), "-12.2");
    assert_eq!(rounded(-12.35, 1.2, ResultMode::HalfEven), "-12.4");
    assert_eq!(rounded(1225.0, 120.0, ResultMode::HalfEven), "1220");
    assert_eq!(rounded(1235.0, 120.0, ResultMode::HalfEven), "1240");
}

#[test]
fn rule_b_takes_the_greater_multiple() {
    assert_eq!(rounded(12.25, 1.2, ResultMode::HalfUp), "12.3");
    assert_eq!(rounded(12.35, 1.2, ResultMode::HalfUp), "12.4");
    // By magnitude, as the annex has it for negative numbers.
    assert_eq!(rounded(-12.25, 1.2, ResultMode::HalfUp), "-12.3");
    assert_eq!(rounded(1225.0, 120.0, ResultMode::HalfUp), "1230");
    assert_eq!(rounded(1235.0, 120.0, ResultMode::HalfUp), "1240");
}

#[test]
fn once_and_not_in_stages() {
    // The annex's warning: 12.251 is 12.3 in one step, and would be 12.2 by way of 12.25 (rule A).
    assert_eq!(rounded(12.251, 1.2, ResultMode::HalfEven), "12.3");
    let by_way_of = rounded(12.251, 0.12, ResultMode::HalfEven);
    assert_eq!(by_way_of, "12.25");
    assert_eq!(rounded(by_way_of.parse().unwrap(), 1.2, ResultMode::HalfEven), "12.2");
}
