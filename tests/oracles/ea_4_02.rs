//! EA-4/02 M:2022, supplementary examples S9 (multimeter at 100 V) and S10 (caliper at 150 mm).
//!
//! Marks: inputs and printed results R. Covered: the combination of normal and rectangular lines.
//! Not covered, since a budget here knows no such sum: the coverage factors of a dominating
//! rectangular (1.65) and trapezoidal (1.83) distribution. They stand here as given factors.
//! One percent of a budget line stands for one volt or one micrometre.

use leverarm_metrology::budget::{Budget, BudgetLine, Combined, Influence, Scope};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::quantity::Percent;
use leverarm_metrology::rounding::{Figures, RoundingRule, round_uncertainty};
use leverarm_metrology::rulebook::CoverageRule;

use crate::printed::{agrees, differs};

fn normal(u: f64) -> BudgetLine {
    let (value, freedom) = (Percent::new(u), Freedom::Infinite);
    BudgetLine::normal(Influence::Reference, value, 1.0, freedom, Scope::Common, "EA-4/02")
}

fn rectangular(half_width: f64) -> BudgetLine {
    let value = Percent::new(half_width);
    BudgetLine::rectangular(Influence::Resolution, value, Scope::Common, "EA-4/02")
}

fn combine(lines: Vec<BudgetLine>) -> Combined {
    Budget { lines, missing: vec![] }.combine()
}

/// The expanded uncertainty to one figure, as both examples state it.
fn one_figure(expanded: f64) -> String {
    let rule = RoundingRule { figures: Figures::One, ..RoundingRule::default() };
    round_uncertainty(expanded, rule).unwrap().to_string()
}

#[test]
fn s9_multimeter() {
    let combined = combine(vec![normal(0.001), rectangular(0.05), rectangular(0.011)]);
    agrees(combined.standard.value(), "0.030");
    agrees(combined.standard.value(), "0.0296");
    let expanded = combined.expand(95.0, CoverageRule::Fixed(1.65)).unwrap();
    assert_eq!(one_figure(expanded.expanded.value()), "0.05");
    // DIFFERENCE: left to itself, leverarm takes the normal factor: it covers more than it says.
    let own = combined.expand(95.45, CoverageRule::Effective).unwrap();
    agrees(own.k, "2.00");
    assert_eq!(one_figure(own.expanded.value()), "0.06");
}

#[test]
fn s9_the_resolution_dominates() {
    let combined = combine(vec![normal(0.001), rectangular(0.05), rectangular(0.011)]);
    agrees(combined.shares[1], "0.95");
    assert_eq!(combined.freedom, Freedom::Infinite);
}

#[test]
fn s10_caliper() {
    let temperature = 1.7 * 2.0; // µm a kelvin, and ±2 K
    let lines = vec![rectangular(0.8), rectangular(temperature), rectangular(25.0), rectangular(50.0)];
    agrees(lines[0].standard().value(), "0.46");
    agrees(lines[1].standard().value(), "2.0");
    // The example prints 15 and 29 µm, and 33 µm as their sum, from rounded contributions.
    agrees(lines[2].standard().value(), "14.4");
    agrees(lines[3].standard().value(), "29");
    agrees(combine([0.46, 2.0, 15.0, 29.0].map(normal).to_vec()).standard.value(), "33");
    let combined = combine(lines);
    differs(combined.standard.value(), "33");
    let expanded = combined.expand(95.0, CoverageRule::Fixed(1.83)).unwrap();
    assert_eq!(one_figure(expanded.expanded.value() / 1000.0), "0.06");
}
