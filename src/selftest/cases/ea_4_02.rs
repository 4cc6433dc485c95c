//! EA-4/02: budgets of normal and rectangular lines.

use leverarm_metrology::budget::{BudgetLine, Influence, Scope};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::quantity::Percent;
use leverarm_metrology::rounding::{Figures, RoundingRule, round_uncertainty};
use leverarm_metrology::rulebook::CoverageRule;

use super::{BUDGET, Mark, Planned, combine};
use crate::selftest::case::{Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "ea-4-02-s9",
        source: "EA-4/02 M:2022, supplement S9",
        about: "A hand-held multimeter at 100 V: one rectangular line dominates.",
        exercises: BUDGET,
        mark: Mark::Reproduced,
        compute: multimeter,
    },
    Planned {
        id: "ea-4-02-s10",
        source: "EA-4/02 M:2022, supplement S10",
        about: "A vernier caliper at 150 mm: two rectangular lines dominate.",
        exercises: BUDGET,
        mark: Mark::Reproduced,
        compute: caliper,
    },
];

fn normal(u: f64) -> BudgetLine {
    let (value, freedom) = (Percent::new(u), Freedom::Infinite);
    BudgetLine::normal(Influence::Reference, value, 1.0, freedom, Scope::Common, "EA-4/02")
}

fn rectangular(half_width: f64) -> BudgetLine {
    let value = Percent::new(half_width);
    BudgetLine::rectangular(Influence::Resolution, value, Scope::Common, "EA-4/02")
}

fn one_figure(expanded: f64) -> Result<String, Stopped> {
    let rule = RoundingRule { figures: Figures::One, ..RoundingRule::default() };
    Ok(round_uncertainty(expanded, rule)?.to_string())
}

const FACTORS_ARE_GIVEN: &str = "The coverage factors 1.65 and 1.83 of these examples, for a sum that is nearly a rectangle or a \
     trapezoid, are given to the budget here; leverarm's budgets take the normal or t factor, which is \
     wider, and its Monte Carlo finds the shape by itself.";

fn multimeter(case: &mut Case) -> Result<(), Stopped> {
    let combined = combine(vec![normal(0.001), rectangular(0.05), rectangular(0.011)]);
    case.printed("combined standard uncertainty, V", "0.030", combined.standard.value());
    let expanded = combined.expand(95.0, CoverageRule::Fixed(1.65))?;
    case.reads("expanded uncertainty, k = 1.65, V", "0.05", &one_figure(expanded.expanded.value())?);
    case.mark(Mark::Derivable);
    case.printed("combined standard uncertainty, V", "0.0296", combined.standard.value());
    case.printed("share of the resolution in the variance", "0.95", combined.shares.get(1).copied());
    case.note(FACTORS_ARE_GIVEN);
    Ok(())
}

fn caliper(case: &mut Case) -> Result<(), Stopped> {
    let temperature = 1.7 * 2.0; // µm a kelvin, and ±2 K
    let lines = vec![rectangular(0.8), rectangular(temperature), rectangular(25.0), rectangular(50.0)];
    let standard = |i: usize| lines.get(i).map(|line| line.standard().value());
    case.printed("gauge blocks, µm", "0.46", standard(0));
    case.printed("temperature, µm", "2.0", standard(1));
    case.printed("mechanical effects, µm", "29", standard(3));
    let rounded = combine([0.46, 2.0, 15.0, 29.0].map(normal).to_vec());
    case.printed("combined, from rounded contributions, µm", "33", rounded.standard.value());
    let expanded = combine(lines).expand(95.0, CoverageRule::Fixed(1.83))?.expanded.value();
    case.reads("expanded uncertainty, k = 1.83, mm", "0.06", &one_figure(expanded / 1000.0)?);
    case.note(FACTORS_ARE_GIVEN);
    Ok(())
}
