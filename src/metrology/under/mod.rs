//! One evaluation under several decision rules, side by side, and what it would take to settle a
//! point that a rule does not pass.
//!
//! For understanding only: laboratory and customer agree on one rule before the readings exist
//! (ISO/IEC 17025:2017, 7.1.3), and a rule that is chosen afterwards proves nothing.

mod density;
mod lever;
mod takes;

use crate::budget::Influence;
use crate::coverage::Freedom;
use crate::decision::{DecisionRule, Judgement, Measured, Uncertainty, Verdict, VerdictRisks};
use crate::evaluate::{Evaluation, PointResult, PointUncertainty};
use crate::quantity::Percent;
use crate::risk::{GlobalRisk, Prior, SpecificRisk};
use crate::rulebook::{CoverageRule, Rulebook};
use crate::run::Run;

pub use density::density;
pub use lever::{Lever, LeverNeed, Reach};
pub use takes::{Outlook, Takes, what_it_takes};

/// What stands behind the points of an evaluation: the rulebook's coverage, and the prior where one
/// was stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// coverage probability in percent, and where the coverage factor comes from
    pub coverage: Option<(f64, CoverageRule)>,
    /// what is known of such tools
    pub prior: Option<Prior>,
}

impl Ground {
    /// Of a run under its rulebook, with the permissible deviation of its evaluation.
    #[must_use]
    pub fn of(run: &Run, rulebook: &Rulebook, permissible: Percent) -> Ground {
        let limits = run.sides.limits(permissible);
        Ground {
            coverage: rulebook.budget.as_ref().map(|plan| (plan.probability.value, plan.coverage.value)),
            prior: run.prior.as_ref().zip(limits).and_then(|(stated, l)| stated.statement.prior(&l)),
        }
    }
}

/// What a rule needs and does not find.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lacking {
    /// any uncertainty: the rulebook asks for no budget
    Budget,
    /// these lines of the budget, which nobody measured
    Lines(Vec<Influence>),
    /// a prior
    Prior,
    /// a distribution: limits, uncertainty or degrees of freedom make none
    Distribution,
}

/// An evaluation under one rule.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderRule {
    /// the rule
    pub rule: DecisionRule,
    /// every point, in the order of the evaluation
    pub points: Vec<UnderPoint>,
    /// what the rule says of the tool
    pub verdict: Verdict,
}

/// A test point under one rule.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderPoint {
    /// guard band, zone and verdict
    pub judgement: Judgement,
    /// limit less guard band; `None` where no result is accepted or none judged
    pub acceptance_limit: Option<Percent>,
    /// why it was not judged
    pub lacking: Option<Lacking>,
    /// probability that this verdict is wrong
    pub specific_risk: Option<SpecificRisk>,
    /// risks over all such tools, where a prior is known
    pub global_risk: Option<GlobalRisk>,
    /// what it would take to settle it; `None` under a rule that leaves the uncertainty out, and
    /// where nothing was judged
    pub takes: Option<Takes>,
}

/// Judges an evaluation under each of the rules.
#[must_use]
pub fn under(evaluation: &Evaluation, rules: &[DecisionRule], ground: &Ground) -> Vec<UnderRule> {
    rules
        .iter()
        .map(|rule| {
            let points: Vec<UnderPoint> =
                evaluation.points.iter().map(|point| under_point(point, *rule, ground)).collect();
            let verdict = Verdict::of_all(points.iter().map(|p| p.judgement.verdict));
            UnderRule { rule: *rule, points, verdict }
        })
        .collect()
}

/// Judges a point under a rule.
#[must_use]
pub fn under_point(point: &PointResult, rule: DecisionRule, ground: &Ground) -> UnderPoint {
    let measured = measured(point);
    let judgement = rule.judge(&measured, point.limit, point.sides, ground.prior.as_ref());
    let lacking =
        (judgement.verdict == Verdict::NotJudged).then(|| lacking(point, rule, ground.prior.as_ref()));
    let limits = point.sides.limits(point.limit);
    let VerdictRisks { specific: specific_risk, global: global_risk } = measured
        .uncertainty
        .zip(limits)
        .map(|(known, limits)| rule.risks(&judgement, measured.mean, known, &limits, ground.prior.as_ref()))
        .unwrap_or_default();
    UnderPoint {
        acceptance_limit: judgement.guard.and_then(|guard| guard.acceptance(point.limit)),
        judgement,
        lacking,
        specific_risk,
        global_risk,
        takes: what_it_takes(point, rule, ground),
    }
}

/// The uncertainty of a point, where its budget is whole.
fn whole(point: &PointResult) -> Option<&PointUncertainty> {
    point.uncertainty.as_ref().filter(|u| u.budget.is_complete())
}

/// What a rule looks at. An uncertainty whose budget misses a line is a lower bound and none at all.
fn measured(point: &PointResult) -> Measured {
    let farthest = point
        .readings
        .iter()
        .map(|r| r.deviation)
        .max_by(|a, b| point.sides.toward_limit(*a).total_cmp(&point.sides.toward_limit(*b)));
    Measured {
        mean: point.mean_deviation,
        farthest: farthest.unwrap_or(point.mean_deviation),
        uncertainty: whole(point).map(PointUncertainty::known),
    }
}

fn lacking(point: &PointResult, rule: DecisionRule, prior: Option<&Prior>) -> Lacking {
    match &point.uncertainty {
        None => Lacking::Budget,
        Some(u) if !u.budget.is_complete() => Lacking::Lines(u.budget.missing.clone()),
        Some(_) if rule.needs_prior() && prior.is_none() => Lacking::Prior,
        Some(_) => Lacking::Distribution,
    }
}

/// Whether the mean of a point would pass with another uncertainty.
fn passes_with(
    point: &PointResult,
    rule: DecisionRule,
    ground: &Ground,
    k: f64,
    standard: f64,
    freedom: Freedom,
) -> bool {
    let uncertainty =
        Uncertainty { expanded: Percent::new(k * standard), standard: Percent::new(standard), freedom };
    let measured = Measured { uncertainty: Some(uncertainty), ..measured(point) };
    rule.judge(&measured, point.limit, point.sides, ground.prior.as_ref()).verdict == Verdict::Pass
}
