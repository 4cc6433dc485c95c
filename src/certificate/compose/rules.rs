//! By which rules: method, decision, deviation, uncertainty, and what the
//! certificate says of itself.

use super::words::{NO_BREAK, both_ways, class, day, listed, percent, point_name};
use super::{ComposeError, Judged};
use crate::certificate::view::{DecisionView, MethodView};
use crate::metrology::decision::DecisionRule;
use crate::metrology::evaluate::PointResult;
use crate::metrology::rounding::RoundingRule;
use crate::metrology::rulebook::{
    CoverageRule, Denominator, DeviationSign, GoverningLimit, IdleClaim, Purpose, Rulebook,
};
use crate::metrology::tool::Acting;
use crate::printed::{PrintedPoint, coverage, prior_words};

pub(super) fn method(runs: &[Judged<'_>]) -> MethodView {
    let Some(first) = runs.first() else {
        return MethodView { name: String::new(), statement: String::new(), deviations: vec![] };
    };
    let rulebook = first.rulebook;
    let mut deviations: Vec<String> = Vec::new();
    for text in runs.iter().flat_map(|r| &r.run.terms.method_deviations) {
        if !deviations.contains(text) {
            deviations.push(text.clone());
        }
    }
    let pull = match first.run.tool.class.acting() {
        Acting::Indicating => "The method has the load raised evenly until the tool shows the value.",
        Acting::Setting => {
            "The method has the load raised to about 80\u{a0}% of the value and then slowly and evenly to the release."
        }
    };
    MethodView {
        name: format!("{}:{}", rulebook.standard, rulebook.edition),
        statement: format!("{}. {pull} {}", rulebook.title, rulebook.remarks.join(" ")),
        deviations,
    }
}

/// The rule in words, with limits, guard band and result (ISO/IEC 17025:2017, 7.8.6).
pub(super) fn decision(runs: &[Judged<'_>], rounding: RoundingRule) -> Result<DecisionView, ComposeError> {
    let agreed = runs.last().and_then(|last| Some((last, last.run.agreement?)));
    let Some((last, agreement)) = agreed else {
        return Ok(DecisionView {
            rule: "none agreed".to_owned(),
            statement: vec!["No decision rule was agreed, so no statement of conformity is made.".to_owned()],
            claim: None,
        });
    };
    let when = match agreement.agreed {
        Some(date) => format!("Agreed with the customer on {}, before the readings. ", day(date)),
        None => String::new(),
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
        statement.push(format!("Prior: {}.", prior_words(prior)));
    }
    for judged in runs {
        let of = if runs.len() > 1 { format!(", {}", judged.run.condition) } else { String::new() };
        let points = &judged.evaluation.points;
        if agreement.rule.needs_uncertainty() {
            let label = format!("Guard band{of}");
            statement.extend(at_points(&label, points, rounding, |p| {
                p.guard_band.as_ref().map(|w| format!("{w}{NO_BREAK}%"))
            })?);
        }
        let risks: [(&str, fn(&PrintedPoint) -> Option<String>); 4] = [
            ("Probability that the acceptance is wrong", |p| p.false_acceptance.clone()),
            ("Probability that the rejection is wrong", |p| p.false_rejection.clone()),
            ("Of all such tools, not conforming and accepted", |p| p.consumer_risk.clone()),
            ("Of all such tools, conforming and rejected", |p| p.producer_risk.clone()),
        ];
        for (label, value) in risks {
            statement.extend(at_points(&format!("{label}{of}"), points, rounding, value)?);
        }
    }
    Ok(DecisionView { rule: rule_name(agreement.rule), statement, claim: claim_words(limit) })
}

/// Keeps the equation of the guard band and the percentages together.
fn one_line(words: &str) -> String {
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
            "Permissible deviation {permissible} for {} and the tool’s maximum ({}).",
            class(judged.run.tool.class),
            limit.class_from.source
        )
    }
}

/// Something that is said of each point in turn; `None` where it is said of none. What is the same
/// everywhere is said once.
fn at_points(
    label: &str,
    points: &[PointResult],
    rounding: RoundingRule,
    value: impl Fn(&PrintedPoint) -> Option<String>,
) -> Result<Option<String>, ComposeError> {
    let both = both_ways(points);
    let mut found: Vec<(String, String)> = Vec::new();
    for point in points {
        let printed = PrintedPoint::new(point, rounding)?;
        found.extend(value(&printed).map(|text| (text.replace(' ', "\u{a0}"), point_name(point, both))));
    }
    let Some((first, _)) = found.first() else { return Ok(None) };
    if found.len() == points.len() && found.iter().all(|(text, _)| text == first) {
        return Ok(Some(format!("{label}: {first} at every test point.")));
    }
    let parts: Vec<String> = found.iter().map(|(text, name)| format!("{text} at {name}")).collect();
    Ok(Some(format!("{label}: {}.", listed(&parts))))
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

/// Sign and denominator of a deviation, in words.
pub(super) fn deviation_definition(rulebook: &Rulebook) -> String {
    let definition = &rulebook.deviation.value;
    let (difference, negative) = match definition.sign {
        DeviationSign::ToolMinusReference => (
            "the value of the tool less the reference torque",
            "A negative deviation means that the joint receives more torque than the tool says.",
        ),
        DeviationSign::ReferenceMinusTool => (
            "the reference torque less the value of the tool",
            "A positive deviation means that the joint receives more torque than the tool says.",
        ),
    };
    let whole = match definition.denominator {
        Denominator::Reference => "the reference torque",
        Denominator::Tool => "the value of the tool",
    };
    format!(
        "The deviation of a reading is {difference}, divided by {whole}, in percent. The value of the tool is what was set on it or what it showed; the reference torque is what the reference showed, corrected for its own deviation. {negative} The deviation of a test point is the mean of the deviations of its readings."
    )
}

/// What the expanded uncertainty means.
pub(super) fn uncertainty(runs: &[Judged<'_>], rounding: RoundingRule) -> Result<Vec<String>, ComposeError> {
    let Some(first) = runs.first() else { return Ok(vec![]) };
    let plan = match (&first.rulebook.budget, first.rulebook.purpose) {
        (Some(plan), Purpose::Calibration) => plan,
        _ => {
            return Ok(vec![format!(
                "This paper states no measurement uncertainty of the tool: the method compares readings with limits and asks that the uncertainty of the reference be at most {}{NO_BREAK}% of the permissible deviation. It is not a calibration certificate.",
                first.rulebook.reference_share.value
            )]);
        }
    };
    let probability = plan.probability.value;
    let factor = match plan.coverage.value {
        CoverageRule::Effective => format!(
            "the coverage factor k of each point, taken from Student’s distribution at the effective degrees of freedom of its budget, for a coverage probability of {probability}{NO_BREAK}%."
        ),
        CoverageRule::Fixed(k) => format!(
            "the coverage factor k\u{a0}=\u{a0}{}, which the method fixes. For a coverage probability of {probability}{NO_BREAK}% the effective degrees of freedom would have asked for {}.",
            coverage(k)?,
            asked_factors(runs)?
        ),
    };
    let mut paragraphs = vec![
        format!("The expanded uncertainty U is the standard uncertainty of the mean deviation multiplied by {factor}"),
        "The interval W′ is the magnitude of the mean deviation plus U. The deviation of the reference was corrected, so that nothing is added for it.".to_owned(),
    ];
    for judged in runs {
        let of = if runs.len() > 1 { format!(", {}", judged.run.condition) } else { String::new() };
        paragraphs.extend(trials(&of, judged, probability, rounding)?);
    }
    Ok(paragraphs)
}

/// What Monte Carlo says, where it was run: the intervals to report, and why (JCGM 101, clause 8).
fn trials(
    of: &str,
    judged: &Judged<'_>,
    probability: f64,
    rounding: RoundingRule,
) -> Result<Option<String>, ComposeError> {
    let points = &judged.evaluation.points;
    let checks = || points.iter().filter_map(|p| p.uncertainty.as_ref()?.monte_carlo.as_ref());
    if checks().next().is_none() {
        return Ok(None);
    }
    let valid = checks().filter(|check| check.validation.is_valid()).count();
    let seed = checks().next().map_or(0, |check| check.seed);
    let how = if valid == points.len() {
        "The interval of the GUM was found valid to two digits at every test point by Monte Carlo".to_owned()
    } else {
        format!(
            "Monte Carlo found the interval of the GUM valid to two digits at {valid} of {} test points; at the others its own interval is reported",
            points.len()
        )
    };
    let label = format!("{how} (JCGM 101, seed {seed}). Intervals of {probability}{NO_BREAK}% coverage{of}");
    at_points(&label, points, rounding, |p| p.reported.clone())
}

/// "k = 2.05", or from the lowest to the highest.
fn asked_factors(runs: &[Judged<'_>]) -> Result<String, ComposeError> {
    let mut factors: Vec<f64> = runs
        .iter()
        .flat_map(|r| &r.evaluation.points)
        .filter_map(|p| p.uncertainty.as_ref().map(|u| u.expanded.k_effective))
        .collect();
    factors.sort_by(f64::total_cmp);
    let (Some(low), Some(high)) = (factors.first(), factors.last()) else {
        return Ok("no other factor".to_owned());
    };
    let (low, high) = (coverage(*low)?, coverage(*high)?);
    Ok(if low == high {
        format!("k\u{a0}=\u{a0}{low}")
    } else {
        format!("k\u{a0}=\u{a0}{low} to {high}, point by point")
    })
}

/// What the certificate says of itself.
pub(super) fn statements(runs: &[Judged<'_>]) -> Vec<String> {
    let mut statements = vec![
        "The results relate only to the item that is described here, in the condition and with the head that are named.".to_owned(),
        "This document may be reproduced only in full, unless the laboratory agrees in writing.".to_owned(),
    ];
    statements.extend(runs.iter().flat_map(|r| &r.run.terms.remarks).cloned());
    statements
}

/// How not to be hurt, and where what was shown ends. What a rulebook says to
/// mind is for the bench and is not printed here.
pub(super) fn cautions() -> Vec<String> {
    [
        "A certificate is true only for the head that it names: another insert or extension changes the lever, and with it the torque at the joint.",
        "Torque tools can hurt people, and a tool under load can slip or break: stand clear of the line of the lever, and pull rather than push.",
        "What the makers of tool and joint say, local codes and licensed practice come before this document.",
    ]
    .map(str::to_owned)
    .to_vec()
}

/// The points that `pick` chooses, by name; all of them as "every test point".
pub(super) fn points_where(points: &[PointResult], pick: impl Fn(&PointResult) -> bool) -> Option<String> {
    let both = both_ways(points);
    let names: Vec<String> = points.iter().filter(|p| pick(p)).map(|p| point_name(p, both)).collect();
    match names.len() {
        0 => None,
        all if all == points.len() && all > 1 => Some("every test point".to_owned()),
        _ => Some(listed(&names)),
    }
}
