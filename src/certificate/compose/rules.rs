//! By which rules: method, deviation, uncertainty, and what the
//! certificate says of itself.

use super::words::{NO_BREAK, both_ways, listed, point_name};
use super::{ComposeError, Judged};
use crate::certificate::view::MethodView;
use crate::metrology::evaluate::PointResult;
use crate::metrology::rounding::RoundingRule;
use crate::metrology::rulebook::{CoverageRule, Denominator, DeviationSign, Purpose, Rulebook};
use crate::metrology::tool::Acting;
use crate::printed::{PrintedPoint, coverage};

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
        name: rulebook.certificate.method.clone(),
        statement: format!("{} {pull}", rulebook.certificate.statement),
        deviations,
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
            "the coverage factor k of each point, taken from Student’s distribution at the effective degrees of freedom of its budget, for a coverage probability of {}.",
            about(probability)
        ),
        CoverageRule::Fixed(k) => format!(
            "the coverage factor k\u{a0}=\u{a0}{}, which the method fixes{}. For {} the effective degrees of freedom of the budgets would have asked for {}.",
            coverage(k)?,
            if is_two(k) {
                ": where the result is normally distributed, that is a coverage probability of about 95\u{a0}%"
            } else {
                ""
            },
            about(probability),
            asked_factors(runs)?
        ),
    };
    let mut paragraphs = vec![
        format!("The expanded uncertainty U is the standard uncertainty of the mean deviation multiplied by {factor}"),
        "The interval W′ is the magnitude of the mean deviation plus U, added before both were rounded, so that it may differ by one in the last digit from the sum of the printed values. The deviation of the reference was corrected, so that nothing is added for it.".to_owned(),
    ];
    for judged in runs {
        let of = if runs.len() > 1 { format!(", {}", judged.run.condition) } else { String::new() };
        paragraphs.extend(trials(&of, judged, probability, rounding)?);
    }
    Ok(paragraphs)
}

/// "about 95 % (95.45 %)" for what k = 2 covers, else the probability itself.
fn about(probability: f64) -> String {
    if (probability - 95.45).abs() < 1e-9 {
        "about 95\u{a0}% (95.45\u{a0}%)".to_owned()
    } else {
        format!("{probability}{NO_BREAK}%")
    }
}

fn is_two(k: f64) -> bool {
    (k - 2.0).abs() < 1e-9
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
    let how = match valid {
        all if all == points.len() => {
            "The interval of the GUM was found valid to two digits at every test point by Monte Carlo".to_owned()
        }
        0 => "Monte Carlo found the interval of the GUM valid to two digits at no test point; its own interval is reported beside U".to_owned(),
        some => format!(
            "Monte Carlo found the interval of the GUM valid to two digits at {some} of {} test points; at the others its own interval is reported beside U",
            points.len()
        ),
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
        "This document holds only for the head that it names: another insert or extension changes the lever, and with it the torque at the joint.",
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
