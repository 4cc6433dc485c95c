//! The comparison on the terminal.

use std::fmt::Write;

use leverarm_metrology::decision::{Verdict, Zone};

use super::{ComparisonRecord, LeverRecord, OutlookRecord, RuleRecord, TakesRecord, UnderPointRecord};
use crate::export::lines::{self, table};

/// Renders a comparison.
#[must_use]
pub fn render(comparison: &ComparisonRecord) -> String {
    let mut out = String::from("Under each decision rule\n");
    // Writing into a String cannot fail.
    let _ = writeln!(out, "  {}\n", super::CAUTION.replacen(". No rule ", ".\n  No rule ", 1));
    out.push_str(&summary(comparison));
    out.push('\n');
    not_judged(&mut out, comparison);
    if let Some(prior) = &comparison.prior {
        let _ = writeln!(out, "\nPrior: {prior}");
    }
    let points = comparison.rules.first().map_or(0, |rule| rule.points.len());
    for index in 0..points {
        out.push('\n');
        point(&mut out, comparison, index);
    }
    out
}

fn owned<const N: usize>(words: [&str; N]) -> Vec<String> {
    words.map(str::to_owned).to_vec()
}

fn or_dash(value: Option<&String>) -> String {
    value.cloned().unwrap_or_else(|| "–".to_owned())
}

/// A line a rule: what it says of the tool.
fn summary(comparison: &ComparisonRecord) -> String {
    let rows = comparison
        .rules
        .iter()
        .map(|rule| {
            let passed = rule.points.iter().filter(|p| p.verdict == Verdict::Pass).count();
            let judged = rule.points.iter().filter(|p| p.verdict != Verdict::NotJudged).count();
            let points = if judged == 0 {
                "–".to_owned()
            } else {
                format!("{passed} of {} pass", rule.points.len())
            };
            vec![rule.rule.clone(), rule.verdict.word().to_owned(), points, remark(rule)]
        })
        .collect();
    table(owned(["rule", "tool", "points", "remark"]), rows, 0..0)
}

fn remark(rule: &RuleRecord) -> String {
    match (rule.agreed, rule.allowed) {
        (true, _) => "agreed",
        (false, false) => "the rulebook does not allow it",
        (false, true) => "",
    }
    .to_owned()
}

/// A sentence a reason, with the rules that it holds for.
fn not_judged(out: &mut String, comparison: &ComparisonRecord) {
    let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
    for rule in &comparison.rules {
        let Some(reason) = rule.points.iter().find_map(|p| p.not_judged.as_deref()) else { continue };
        match reasons.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, rules)) => rules.push(&rule.rule),
            None => reasons.push((reason, vec![&rule.rule])),
        }
    }
    for (reason, rules) in reasons {
        out.push('\n');
        wrapped(out, "", &format!("Not judged under {}: {reason}.", rules.join(", ")));
    }
}

fn name(rule: &RuleRecord) -> String {
    if rule.agreed { format!("{} (agreed)", rule.rule) } else { rule.rule.clone() }
}

fn point(out: &mut String, comparison: &ComparisonRecord, index: usize) {
    let of_point: Vec<(&RuleRecord, &UnderPointRecord)> =
        comparison.rules.iter().filter_map(|rule| Some((rule, rule.points.get(index)?))).collect();
    let Some((_, first)) = of_point.first() else { return };
    let p = &first.printed;
    let _ = write!(out, "{} {}: mean {} %", p.target, p.direction, p.mean_deviation);
    if let (Some(expanded), Some(combined), Some(k)) = (&p.expanded, &p.combined, &p.k) {
        let _ = write!(out, ", u {combined} %, k {k}, U {expanded} %");
    }
    let _ = write!(out, ", limit {}", first.sides.words(&format!("{} %", p.limit)));
    if let Some(probability) = &p.conformity_probability {
        let _ = write!(out, ", P(conform) {probability}");
    }
    out.push_str("\n\n");
    out.push_str(&verdicts(&of_point));
    out.push('\n');
    if let Some(takes) = of_point.iter().find_map(|(_, p)| p.takes.as_ref()) {
        out.push('\n');
        sentences(out, takes, &of_point);
        levers(out, &of_point);
    }
}

fn verdicts(of_point: &[(&RuleRecord, &UnderPointRecord)]) -> String {
    let with_prior = of_point.iter().any(|(_, p)| p.global_risk.is_some());
    let mut header = owned(["rule", "guard band %", "accepted %", "P(wrong)", "passes to u %"]);
    if with_prior {
        header.extend(owned(["consumer", "producer"]));
    }
    header.push(" verdict".to_owned());
    let rows = of_point
        .iter()
        .map(|(rule, p)| {
            let printed = &p.printed;
            let wrong = printed.false_acceptance.as_ref().or(printed.false_rejection.as_ref());
            let guard = match p.guard_band {
                Some(width) if width.value() <= 0.0 => "0".to_owned(),
                _ => or_dash(printed.guard_band.as_ref()),
            };
            let mut row = vec![name(rule), guard, or_dash(printed.acceptance_limit.as_ref()), or_dash(wrong)];
            row.push(p.takes.as_ref().map_or_else(|| "–".to_owned(), up_to));
            if with_prior {
                row.push(or_dash(printed.consumer_risk.as_ref()));
                row.push(or_dash(printed.producer_risk.as_ref()));
            }
            row.push(verdict(p));
            row
        })
        .collect();
    let right = 1..header.len() - 1;
    table(header, rows, right)
}

fn up_to(takes: &TakesRecord) -> String {
    match (takes.outlook, &takes.printed_standard_max) {
        (_, Some(most)) => most.clone(),
        (OutlookRecord::Passes, None) => "any".to_owned(),
        (OutlookRecord::Held | OutlookRecord::Beyond, None) => "none".to_owned(),
    }
}

fn verdict(point: &UnderPointRecord) -> String {
    match (point.verdict, point.zone) {
        (Verdict::Fail, Some(Zone::GuardBand)) => "FAIL (guard band)".to_owned(),
        _ => point.verdict.word().to_owned(),
    }
}

/// What holds the point, in words.
fn sentences(out: &mut String, takes: &TakesRecord, of_point: &[(&RuleRecord, &UnderPointRecord)]) {
    if let (Some(line), Some(share)) = (takes.largest_line, &takes.printed_largest_share) {
        let _ = writeln!(out, "  The largest line is {line}: {share} % of the variance.");
    }
    let all = || of_point.iter().filter_map(|(rule, p)| Some((rule, p.takes.as_ref()?)));
    if let Some(by) = all().find_map(|(_, takes)| takes.printed_beyond_by.as_ref()) {
        let _ = writeln!(
            out,
            "  The mean lies {}: no uncertainty is small enough, the tool must be adjusted.",
            if by == "0" { "on the limit".to_owned() } else { format!("beyond the limit by {by} %") }
        );
    }
    let moves: Vec<String> = all()
        .filter_map(|(rule, takes)| {
            Some(format!("{}\u{a0}% ({})", takes.printed_adjust_by.as_ref()?, rule.rule))
        })
        .collect();
    if !moves.is_empty() {
        let moves = moves.join(", ");
        let sentence = format!("With this uncertainty it passes once its mean moves toward zero by {moves}.");
        wrapped(out, "  ", &sentence);
    }
}

/// What each lever would have to be, a line a lever and a column a rule; where none alone is enough
/// under a rule, what is enough together.
fn levers(out: &mut String, of_point: &[(&RuleRecord, &UnderPointRecord)]) {
    let held: Vec<(&RuleRecord, &TakesRecord)> = of_point
        .iter()
        .filter_map(|(rule, p)| Some((*rule, p.takes.as_ref()?)))
        .filter(|(_, takes)| takes.outlook == OutlookRecord::Held)
        .collect();
    let settles = |takes: &TakesRecord| takes.levers.iter().any(|lever| lever.needed.is_some());
    let some: Vec<_> = held.iter().copied().filter(|(_, takes)| settles(takes)).collect();
    if let Some((_, first)) = some.first() {
        let mut header = owned(["lever", "now"]);
        header.extend(some.iter().map(|(rule, _)| rule.rule.clone()));
        let rows = (0..first.levers.len()).map(|i| lever_row(&some, &first.levers[i], i)).collect();
        let right = 1..header.len();
        out.push_str("  What each alone would have to be, everything else as it is:\n\n");
        let _ = writeln!(out, "{}", table(header, rows, right));
    }
    let none: Vec<_> = held.iter().copied().filter(|(_, takes)| !settles(takes)).collect();
    if none.is_empty() {
        return;
    }
    if !some.is_empty() {
        out.push('\n');
    }
    out.push_str("  No single change is enough; together, for example:\n");
    for (rule, takes) in none {
        let parts: Vec<String> = takes
            .together
            .iter()
            .filter_map(|l| {
                let needed = l.printed_needed.as_ref()?.replace(' ', "\u{a0}");
                Some(format!("{} {}\u{a0}{needed}", words(l), bound(l)))
            })
            .collect();
        let parts = if parts.is_empty() {
            "nothing short of a quarter of every line".to_owned()
        } else {
            parts.join(" and ")
        };
        wrapped(out, "    ", &format!("{}: {parts}", rule.rule));
    }
}

fn lever_row(held: &[(&RuleRecord, &TakesRecord)], lever: &LeverRecord, index: usize) -> Vec<String> {
    let mut row = vec![words(lever), lever.printed_now.clone()];
    row.extend(held.iter().map(|(_, takes)| {
        let needed = takes.levers.get(index).and_then(|l| l.printed_needed.as_ref());
        needed.map_or_else(|| "not alone".to_owned(), |needed| format!("{} {needed}", bound(lever)))
    }));
    row
}

fn bound(lever: &LeverRecord) -> &'static str {
    if lever.unit == "readings" { "≥" } else { "≤" }
}

fn words(lever: &LeverRecord) -> String {
    match lever.lever {
        "reference" => "reference, U (k = 2)".to_owned(),
        "resolution" => "resolution of the tool".to_owned(),
        "number of readings" => lever.lever.to_owned(),
        variation => format!("{variation}, b"),
    }
}

/// Lines after the first are set in by two.
fn wrapped(out: &mut String, indent: &str, words: &str) {
    lines::wrapped(out, indent, &format!("{indent}  "), words, WIDTH);
}

/// Columns of a line of prose.
const WIDTH: usize = 106;
