//! GUM (JCGM 100:2008), 7.2.6: digits of an uncertainty and of its result.
//!
//! Marks: S, quoted in the published support pages of a maker of calibrators.

use leverarm_metrology::rounding::{Mode, RoundingRule, round_result, round_uncertainty};

const UP: RoundingRule = RoundingRule {
    uncertainty: Mode::Up,
    result: leverarm_metrology::rounding::ResultMode::HalfUp,
    figures: leverarm_metrology::rounding::Figures::Two,
};

#[test]
fn an_uncertainty_may_be_rounded_up() {
    // 10.47 mΩ might be rounded up to 11 mΩ.
    assert_eq!(round_uncertainty(10.47, UP).unwrap().to_string(), "11");
    assert_eq!(round_uncertainty(10.47, RoundingRule::default()).unwrap().to_string(), "10");
}

#[test]
fn common_sense_rounds_a_hair_above_down() {
    // 28.05 kHz should be rounded down to 28 kHz.
    assert_eq!(round_uncertainty(28.05, RoundingRule::default()).unwrap().to_string(), "28");
    // DIFFERENCE: who asks for "never down" gets 29; the rule is named and has no exception.
    assert_eq!(round_uncertainty(28.05, UP).unwrap().to_string(), "29");
}

#[test]
fn a_result_goes_to_the_place_of_its_uncertainty() {
    // 10.057 62 Ω with 27 mΩ is 10.058 Ω.
    let rounded = round_result(10.057_62, 0.027, RoundingRule::default()).unwrap();
    assert_eq!(rounded.result.to_string(), "10.058");
    assert_eq!(rounded.expanded.to_string(), "0.027");
}
