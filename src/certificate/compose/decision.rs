//! The decision rule, the limits and what follows from both at each point.

use super::pair::{each_run, in_words};
use super::words::{NO_BREAK, both_ways, capital, day, percent, point_name, specification, torque};
use super::{ComposeError, Judged};
use crate::certificate::view::{DecisionRow, DecisionView};
use crate::metrology::decision::DecisionRule;
use crate::metrology::rounding::RoundingRule;
use crate::metrology::rulebook::{GoverningLimit, IdleClaim};
use crate::printed::{PrintedPoint, prior_words};

/// The rule in words, with limits, guard band and result (ISO/IEC 17025:2017, 7.8.6).
pub(super) fn decision(runs: &[Judged<'_>], rounding: RoundingRule) -> Result<DecisionView, ComposeError> {
    let agreed = runs.last().and_then(|last| Some((last, last.run.agreement?)));
    let Some((last, agreement)) = agreed else {
        return Ok(DecisionView {
            rule: "none agreed".to_owned(),
            statement: vec!["No decision rule was agreed, so no statement of conformity is made.".to_owned()],
            points: vec![],
            note: None,
            claim: None,
        });
    };
    let days = each_run(runs, |judged| judged.run.agreement?.agreed.map(day));
    let when = if days.is_empty() {
        String::new()
    } else {
        format!("Agreed with the customer on {}, before the readings. ", in_words(&days))
    };
    let limit = &last.evaluation.limit;
    let mut statement = vec![
        format!("{when}{}", one_line(&agreement.rule.words())),
        format!(
            "{} Verdicts are taken from unrounded values; a value on the limit conforms.",
            limit_words(last)
        ),
    ];
    if let Some(prior) = &last.run.prior {
        statement.push(format!("Prior knowledge of such tools: {}.", one_line(&prior_words(prior))));
    }
    let points = decision_rows(runs, rounding)?;
    let note = note(&points);
    Ok(DecisionView { rule: rule_name(agreement.rule), statement, points, note, claim: claim_words(limit) })
}

/// What the columns mean, and by which distribution each is found.
fn note(points: &[DecisionRow]) -> Option<String> {
    let any = |has: fn(&DecisionRow) -> bool| points.iter().any(has);
    let mut sentences = Vec::new();
    if any(|row| row.wrong.is_some()) {
        sentences.push(
            "A verdict is wrong where the tool was accepted and its true deviation lies outside the limits, or was \
             rejected and it lies within them; the probability follows from this measurement alone, by Student’s \
             distribution at the effective degrees of freedom.",
        );
    }
    if any(|row| row.consumer.is_some() || row.producer.is_some()) {
        sentences.push(
            "The shares of all such tools follow from the prior and the combined uncertainty, by normal distributions.",
        );
    }
    (!sentences.is_empty()).then(|| sentences.join(" "))
}

/// Guard band and risks of each point, where a rule or a prior gives any.
fn decision_rows(runs: &[Judged<'_>], rounding: RoundingRule) -> Result<Vec<DecisionRow>, ComposeError> {
    let mut rows = Vec::new();
    for judged in runs {
        let points = &judged.evaluation.points;
        let both = both_ways(points);
        let banded = judged.evaluation.rule.is_some_and(DecisionRule::needs_uncertainty);
        for point in points {
            let printed = PrintedPoint::new(point, rounding)?;
            let guard = printed.guard_band.filter(|_| banded).map(|w| format!("{w}{NO_BREAK}%"));
            let wrong = printed.false_acceptance.or(printed.false_rejection);
            let unbroken = |text: String| text.replace(' ', "\u{a0}");
            rows.push(DecisionRow {
                condition: (runs.len() > 1).then(|| capital(judged.run.condition.words())),
                point: point_name(point, both),
                guard,
                wrong: wrong.map(unbroken),
                consumer: printed.consumer_risk.map(unbroken),
                producer: printed.producer_risk.map(unbroken),
            });
        }
    }
    let said = |row: &DecisionRow| {
        row.guard.is_some() || row.wrong.is_some() || row.consumer.is_some() || row.producer.is_some()
    };
    Ok(if rows.iter().any(said) { rows } else { vec![] })
}

/// Keeps the equation of the guard band and the percentages together.
pub(super) fn one_line(words: &str) -> String {
    words.replace("w = ", "w\u{a0}=\u{a0}").replace(" U", "\u{a0}U").replace(" %", "\u{a0}%")
}

pub(super) fn rule_name(rule: DecisionRule) -> String {
    one_line(&rule.title())
}

fn limit_words(judged: &Judged<'_>) -> String {
    let limit = &judged.evaluation.limit;
    let permissible = judged.evaluation.sides.words(&percent(limit.permissible));
    if limit.by_claim {
        format!("Permissible deviation {permissible}, by the claim of the tool’s maker.")
    } else {
        format!(
            "Permissible deviation {permissible} for {}, at a maximum of {}.",
            specification(judged),
            torque(&judged.run.tool.range.upper)
        )
    }
}

fn claim_words(limit: &GoverningLimit) -> Option<String> {
    let of_class = percent(limit.class_permissible);
    if limit.by_claim {
        return Some(format!(
            "The maker of this tool claims ±{}, which is tighter than the ±{of_class} of its class. The tool was judged by its maker’s claim.",
            percent(limit.permissible)
        ));
    }
    match limit.idle_claim? {
        IdleClaim::Looser { claim } => Some(format!(
            "The maker of this tool claims ±{}, which is looser than the ±{of_class} of its class. The tool was judged by its class.",
            percent(claim)
        )),
        IdleClaim::NotAllowed { claim } => Some(format!(
            "The maker of this tool claims ±{}. The method judges by the class alone, and so was this tool: ±{of_class}.",
            percent(claim)
        )),
    }
}
