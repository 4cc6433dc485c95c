//! D. Röske, Acta IMEKO 3(2) (2014) 23-27, which ISO 6789-2:2017 follows: sign of a deviation.
//!
//! Marks: the definition S; the numbers D, by its arithmetic.

use leverarm_metrology::decision::{DecisionRule, Verdict};
use leverarm_metrology::evaluate::{PointResult, evaluate};
use leverarm_metrology::reading::Series;
use leverarm_metrology::tool::ToolClass;

use crate::printed::agrees;
use crate::sample;

/// A wrench of class II A, whose permissible deviation is ±4 %, set to 100 N·m.
fn released_at(shown: f64) -> PointResult {
    let mut run = sample::run(ToolClass::IIA, 20.0, 100.0, Some(1.0));
    sample::push(&mut run, Series::Points, "", 100.0, shown);
    let run = sample::agreed(run, DecisionRule::Simple);
    let rulebook = sample::rulebook("iso-6789-1");
    evaluate(&run, &rulebook, &sample::ideal_reference()).unwrap().points.remove(0)
}

#[test]
fn a_wrench_that_releases_late_deviates_downwards() {
    agrees(released_at(104.0).mean_deviation.value(), "-3.846");
    agrees(released_at(96.0).mean_deviation.value(), "4.167");
}

#[test]
fn where_a_wrench_set_to_100_may_release() {
    // 96.154 to 104.167: 100/1.04 and 100/0.96, the second rounded up.
    let verdict = |shown| released_at(shown).verdict;
    assert_eq!(verdict(96.153), Verdict::Fail);
    assert_eq!(verdict(96.154), Verdict::Pass);
    assert_eq!(verdict(104.166), Verdict::Pass);
    assert_eq!(verdict(104.167), Verdict::Fail);
    // Four percent of the set value either way is another interval.
    assert_eq!(verdict(96.0), Verdict::Fail);
}

#[test]
fn under_either_rulebook_of_iso_6789() {
    use leverarm_metrology::rulebook::{Denominator, DeviationSign};
    for name in ["iso-6789-1", "iso-6789-2"] {
        let definition = sample::rulebook(name).deviation.value;
        assert_eq!(definition.sign, DeviationSign::ToolMinusReference, "{name}");
        assert_eq!(definition.denominator, Denominator::Reference, "{name}");
    }
}
