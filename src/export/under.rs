//! `leverarm evaluate --under`: one run under several decision rules, as records. They stand beside
//! `result.json`, never in it: a certificate knows one rule.

pub mod density;
mod digits;
pub mod text;

use leverarm_metrology::budget::Influence;
use leverarm_metrology::decision::{DecisionRule, Guard, RuleKind, Sides, Verdict, Zone};
use leverarm_metrology::evaluate::{Evaluation, PointResult};
use leverarm_metrology::quantity::Percent;
use leverarm_metrology::rounding::{RoundingError, RoundingRule, round_decimals};
use leverarm_metrology::run::StatedPrior;
use leverarm_metrology::under::{Lacking, LeverNeed, Outlook, Reach, Takes, UnderPoint, UnderRule};
use schemars::JsonSchema;
use serde::Serialize;

use self::digits::{not_above, not_below, three};
use super::json::{GlobalRiskRecord, ResultFile};
use crate::printed::{PrintedPoint, prior_words};

/// What every comparison begins with.
pub const CAUTION: &str = "For understanding only: one rule a job, agreed before the readings exist. No rule \
                           may be chosen from this comparison afterwards.";

/// What `leverarm evaluate --under … --json` prints: the result, and beside it the comparison.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EvaluatedUnder {
    /// as without `--under`
    #[serde(flatten)]
    pub result: ResultFile,
    /// the comparison
    pub under: ComparisonRecord,
}

/// A run under several rules.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ComparisonRecord {
    /// what it may be used for
    pub caution: &'static str,
    /// the prior in words, where one was stated
    pub prior: Option<String>,
    /// one entry a rule
    pub rules: Vec<RuleRecord>,
}

/// A run under one rule.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RuleRecord {
    /// the rule, as `run.toml` says it
    pub rule: String,
    /// the rule in words
    pub words: String,
    /// whether it is the one that was agreed
    pub agreed: bool,
    /// whether the rulebook allows it
    pub allowed: bool,
    /// what it says of the tool
    pub verdict: Verdict,
    /// every test point
    pub points: Vec<UnderPointRecord>,
}

/// A test point under one rule. Numbers are not rounded.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UnderPointRecord {
    /// as it is printed, under this rule
    pub printed: PrintedPoint,
    /// what the rule says
    pub verdict: Verdict,
    /// on which sides the permissible deviation limits
    pub sides: Sides,
    /// where the judged deviation lies
    pub zone: Option<Zone>,
    /// why it was not judged
    pub not_judged: Option<String>,
    /// guard band on each side, %
    pub guard_band: Option<Percent>,
    /// limit less guard band, %
    pub acceptance_limit: Option<Percent>,
    /// whether the rule would accept no result at all
    pub nothing_accepted: bool,
    /// probability that the true deviation is within the limits
    pub conformity_probability: Option<f64>,
    /// probability that an acceptance is wrong
    pub false_acceptance: Option<f64>,
    /// probability that a rejection is wrong
    pub false_rejection: Option<f64>,
    /// risks over all such tools, where a prior was stated
    pub global_risk: Option<GlobalRiskRecord>,
    /// what it would take; absent under a rule that leaves the uncertainty out
    pub takes: Option<TakesRecord>,
}

/// How a point stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OutlookRecord {
    /// it passes
    Passes,
    /// its mean is within the limit, its uncertainty holds it back
    Held,
    /// its mean is on or beyond the limit: no uncertainty is small enough
    Beyond,
}

/// What it would take for a point to pass, or what it has in hand.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TakesRecord {
    /// how it stands
    pub outlook: OutlookRecord,
    /// combined standard uncertainty as it is, %
    pub standard: Percent,
    /// the largest combined standard uncertainty with which it passes, k and degrees of freedom as
    /// they are, %; absent where there is none, or where none is too large
    pub standard_max: Option<Percent>,
    /// the same as it is printed, rounded so that it still passes
    pub printed_standard_max: Option<String>,
    /// the influence with the largest share of the variance
    pub largest_line: Option<Influence>,
    /// that share, 0 to 1
    pub largest_share: Option<f64>,
    /// that share in percent, as it is printed
    pub printed_largest_share: Option<String>,
    /// by how much the mean lies beyond the limit, %
    pub beyond_by: Option<Percent>,
    /// the same as it is printed
    pub printed_beyond_by: Option<String>,
    /// by how much the mean must move toward nothing to pass with the uncertainty as it is, %
    pub adjust_by: Option<Percent>,
    /// the same as it is printed, rounded so that it suffices
    pub printed_adjust_by: Option<String>,
    /// what each lever alone would have to be, everything else as it is
    pub levers: Vec<LeverRecord>,
    /// where none alone is enough: the fewest that are enough together
    pub together: Vec<LeverRecord>,
}

/// A lever.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LeverRecord {
    /// which: the reference (its lines together, expanded with k = 2), the resolution (one step), the
    /// number of readings, or a variation (its full width b)
    pub lever: &'static str,
    /// `%`, `N·m` or `readings`
    pub unit: &'static str,
    /// what it is
    pub now: f64,
    /// what it may be at most, or for readings must be at least; absent where this lever alone settles
    /// nothing
    pub needed: Option<f64>,
    /// what it is, as it is printed
    pub printed_now: String,
    /// what is needed, as it is printed: rounded so that it suffices
    pub printed_needed: Option<String>,
}

/// What a comparison is made of.
pub struct Parts<'a> {
    /// the evaluation
    pub evaluation: &'a Evaluation,
    /// the same under each rule
    pub under: &'a [UnderRule],
    /// the rules that the rulebook allows
    pub allowed: &'a [RuleKind],
    /// the prior
    pub prior: Option<&'a StatedPrior>,
    /// how results are rounded
    pub rounding: RoundingRule,
}

/// The comparison as records.
///
/// # Errors
/// [`RoundingError`] when a number has no printable digits.
pub fn record(parts: &Parts) -> Result<ComparisonRecord, RoundingError> {
    let rule = |under: &UnderRule| {
        let points = parts.evaluation.points.iter().zip(&under.points);
        Ok(RuleRecord {
            rule: under.rule.to_string(),
            words: under.rule.words(),
            agreed: parts.evaluation.rule == Some(under.rule),
            allowed: parts.allowed.contains(&under.rule.kind()),
            verdict: under.verdict,
            points: points
                .map(|(point, of_rule)| point_record(point, of_rule, under.rule, parts.rounding))
                .collect::<Result<_, RoundingError>>()?,
        })
    };
    Ok(ComparisonRecord {
        caution: CAUTION,
        prior: parts.prior.map(prior_words),
        rules: parts.under.iter().map(rule).collect::<Result<_, RoundingError>>()?,
    })
}

/// A point as the rule judges it.
fn rejudged(point: &PointResult, under: &UnderPoint) -> PointResult {
    PointResult {
        guard: under.judgement.guard,
        zone: under.judgement.zone,
        verdict: under.judgement.verdict,
        specific_risk: under.specific_risk,
        global_risk: under.global_risk,
        ..point.clone()
    }
}

fn point_record(
    point: &PointResult,
    under: &UnderPoint,
    rule: DecisionRule,
    rounding: RoundingRule,
) -> Result<UnderPointRecord, RoundingError> {
    let judged = rejudged(point, under);
    let printed = PrintedPoint::new(&judged, rounding)?;
    Ok(UnderPointRecord {
        printed,
        verdict: judged.verdict,
        sides: point.sides,
        zone: judged.zone,
        not_judged: under.lacking.as_ref().map(|lacking| reason(lacking, rule)),
        guard_band: judged.guard.and_then(Guard::width),
        acceptance_limit: under.acceptance_limit,
        nothing_accepted: judged.nothing_accepted(),
        conformity_probability: point.conformity_probability,
        false_acceptance: judged.false_acceptance(),
        false_rejection: judged.false_rejection(),
        global_risk: under
            .global_risk
            .map(|risk| GlobalRiskRecord { consumer: risk.consumer, producer: risk.producer }),
        takes: under.takes.as_ref().map(|takes| takes_record(takes, point)).transpose()?,
    })
}

/// Why a rule does not judge, in words.
fn reason(lacking: &Lacking, rule: DecisionRule) -> String {
    match lacking {
        Lacking::Budget => "it needs an uncertainty, and the rulebook asks for no budget".to_owned(),
        Lacking::Lines(lines) => {
            let names: Vec<&str> = lines.iter().map(|line| line.words()).collect();
            format!("it needs the whole budget, and nobody measured: {}", names.join(", "))
        }
        Lacking::Prior => "it needs a prior, and run.toml states none".to_owned(),
        Lacking::Distribution => {
            format!("limits, uncertainty and degrees of freedom give `{rule}` nothing to judge by")
        }
    }
}

fn takes_record(takes: &Takes, point: &PointResult) -> Result<TakesRecord, RoundingError> {
    let (mut levers, mut together): (&[LeverNeed], &[LeverNeed]) = (&[], &[]);
    let (outlook, standard_max, beyond_by) = match &takes.outlook {
        Outlook::Passes { standard_max } => (OutlookRecord::Passes, *standard_max, None),
        Outlook::Held { standard_max, levers: alone, together: several } => {
            (levers, together) = (alone, several);
            (OutlookRecord::Held, Some(*standard_max), None)
        }
        Outlook::Beyond { by } => (OutlookRecord::Beyond, None, Some(*by)),
    };
    let records = |needs: &[LeverNeed]| -> Result<Vec<LeverRecord>, RoundingError> {
        needs.iter().map(|need| lever_record(need, point)).collect()
    };
    let (line, share) = takes.largest.unzip();
    Ok(TakesRecord {
        outlook,
        standard: takes.standard,
        standard_max,
        printed_standard_max: standard_max.map(|u| not_above(u.value())).transpose()?,
        largest_line: line,
        largest_share: share,
        printed_largest_share: share
            .map(|share| round_decimals(share * 100.0, 0).map(|digits| digits.to_string()))
            .transpose()?,
        beyond_by,
        printed_beyond_by: beyond_by.map(|by| three(by.value())).transpose()?,
        adjust_by: takes.adjust_by,
        printed_adjust_by: takes.adjust_by.map(|by| not_below(by.value())).transpose()?,
        levers: records(levers)?,
        together: records(together)?,
    })
}

fn lever_record(need: &LeverNeed, point: &PointResult) -> Result<LeverRecord, RoundingError> {
    let lever = need.lever.words();
    Ok(match need.reach {
        Reach::Relative { now, at_most } => LeverRecord {
            lever,
            unit: "%",
            now: now.value(),
            needed: at_most.map(Percent::value),
            printed_now: format!("{} %", three(now.value())?),
            printed_needed: at_most.map(|most| Ok(format!("{} %", not_above(most.value())?))).transpose()?,
        },
        Reach::Step { now, at_most } => {
            let unit = point.target.unit();
            LeverRecord {
                lever,
                unit: "N·m",
                now: now.newton_metres(),
                needed: at_most.map(|most| most.newton_metres()),
                printed_now: format!("{} {unit}", three(now.in_unit(unit))?),
                printed_needed: at_most
                    .map(|most| Ok(format!("{} {unit}", not_above(most.in_unit(unit))?)))
                    .transpose()?,
            }
        }
        Reach::Count { now, at_least } => LeverRecord {
            lever,
            unit: "readings",
            now: now as f64,
            needed: at_least.map(|n| n as f64),
            printed_now: now.to_string(),
            printed_needed: at_least.map(|n| n.to_string()),
        },
    })
}

/// The JSON Schema of what `leverarm evaluate --under … --json` prints.
#[must_use]
pub fn schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(EvaluatedUnder);
    schema.insert("title".to_owned(), "leverarm result under several rules".into());
    schema.to_value()
}
