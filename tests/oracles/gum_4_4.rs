//! GUM (JCGM 100:2008), 4.4.3: twenty temperature readings (type A), and 4.4.5: rectangular bounds.
//!
//! Marks: the readings and the printed results R.

use leverarm_metrology::budget::{BudgetLine, Influence, Scope};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::quantity::Percent;
use leverarm_metrology::rounding::{ResultMode, RoundingRule, round_result};
use leverarm_metrology::statistics::Sample;

use crate::printed::agrees;

/// In °C, rising.
const READINGS: [f64; 20] = [
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95,
    101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
];

fn sample() -> Sample {
    Sample::new(READINGS.to_vec()).unwrap()
}

#[test]
fn mean_and_standard_deviation() {
    let sample = sample();
    agrees(sample.mean(), "100.145");
    agrees(sample.standard_deviation().unwrap(), "1.49");
    agrees(sample.standard_deviation().unwrap(), "1.489");
    agrees(sample.standard_deviation_of_mean().unwrap(), "0.33");
    agrees(sample.standard_deviation_of_mean().unwrap(), "0.333");
    assert_eq!(sample.freedom(), Freedom::Finite(19.0));
}

#[test]
fn the_mean_as_the_guide_prints_it() {
    // The mean is 100.145 exactly, and the guide prints 100.14: halves to the even digit.
    // DIFFERENCE: leverarm rounds halves away from zero unless it is told otherwise.
    let u = sample().standard_deviation_of_mean().unwrap();
    let even = RoundingRule { result: ResultMode::HalfEven, ..RoundingRule::default() };
    assert_eq!(round_result(100.145, u, even).unwrap().result.to_string(), "100.14");
    let default = round_result(100.145, u, RoundingRule::default()).unwrap();
    assert_eq!(default.result.to_string(), "100.15");
    assert_eq!(default.expanded.to_string(), "0.33");
}

#[test]
fn rectangular_bounds_of_four_degrees_each_way() {
    // One percent stands for one degree: a line is linear in its value.
    let half_width = Percent::new(4.0);
    let line = BudgetLine::rectangular(Influence::Temperature, half_width, Scope::Common, "GUM 4.4.5");
    agrees(line.standard().value(), "2.3");
    assert_eq!(line.freedom, Freedom::Infinite);
}
