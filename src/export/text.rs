//! The table of `leverarm evaluate`: what a technician reads at the bench before anybody prints a
//! certificate. Plain text; colour carries nothing.

use std::fmt::Write;

use leverarm_metrology::budget::Influence;
use leverarm_metrology::decision::{Verdict, Zone};
use leverarm_metrology::finding::Severity;
use leverarm_metrology::floor::Height;
use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::rounding::RoundingError;

use super::json::{PointRecord, RunRecord};
use super::lines::table;
use crate::printed::{floor_words, trimmed};

/// Renders a run. `unit` is the one in which the floor is said.
///
/// # Errors
/// [`RoundingError`] when a number has no printable digits.
pub fn render(run: &RunRecord, unit: TorqueUnit) -> Result<String, RoundingError> {
    let mut out = String::new();
    head(&mut out, run)?;
    out.push('\n');
    out.push_str(&points(run));
    out.push('\n');
    if let Some(budget) = budget(run) {
        out.push_str(
            "\nBudget: standard uncertainty in % of the reference torque, and share of the variance\n\n",
        );
        out.push_str(&budget);
        out.push('\n');
        missing(&mut out, run);
    }
    out.push('\n');
    tail(&mut out, run, unit)?;
    Ok(out)
}

fn head(out: &mut String, run: &RunRecord) -> Result<(), RoundingError> {
    let tool = &run.tool;
    let d = &run.decision;
    let limit = trimmed(d.limit.value())?;
    let whose = if d.by_claim {
        format!("by the maker's claim (the class permits ±{} %)", trimmed(d.class_limit.value())?)
    } else {
        format!("for class {}", tool.class)
    };
    let rule = match (&d.rule, &d.agreed) {
        (Some(rule), Some(agreed)) => format!("{rule}, agreed {agreed}"),
        (Some(rule), None) => format!("{rule}, date of the agreement not on record"),
        (None, _) => "none agreed: nothing is judged".to_owned(),
    };
    let rows = [
        (
            "Tool",
            format!(
                "{} {}, serial {}, class {}, {}",
                tool.maker, tool.model, tool.serial, tool.class, tool.range
            ),
        ),
        ("Run", format!("{}, {}, {}", run.job, run.condition, run.performed)),
        (
            "Rulebook",
            format!(
                "{} ({}:{}), reference {}",
                run.rulebook.name, run.rulebook.standard, run.rulebook.edition, run.reference.id
            ),
        ),
        ("Limit", format!("±{limit} % {whose}")),
        ("Rule", rule),
    ];
    for (label, text) in rows {
        // Writing into a String cannot fail.
        let _ = writeln!(out, "{label:<10} {text}");
    }
    let definition = run.rulebook.deviation.trim_start_matches("Deviation: ");
    for (i, sentence) in definition.split_inclusive(". ").enumerate() {
        let _ = writeln!(out, "{:<10} {}", if i == 0 { "Deviation" } else { "" }, sentence.trim_end());
    }
    Ok(())
}

fn goes_both_ways(run: &RunRecord) -> bool {
    let mut directions = run.points.iter().map(|p| &p.printed.direction);
    let first = directions.next();
    directions.any(|direction| Some(direction) != first)
}

fn points(run: &RunRecord) -> String {
    let calibrated = run.points.iter().any(|p| p.uncertainty.is_some());
    let both_ways = goes_both_ways(run);
    let first = run.points.first().map_or("", |p| p.printed.direction.as_str());
    let mut header = vec![if both_ways { "test point" } else { first }];
    if both_ways {
        header.push("");
    }
    header.extend(["n", "reference", "deviation %", "s %", "spread %"]);
    if calibrated {
        header.extend(["U %", "k", "W′ %"]);
    }
    header.extend(["accepted %", "outside", " verdict"]);
    let row = |point: &PointRecord| {
        let p = &point.printed;
        let voided = if p.voided == "0" { p.n.clone() } else { format!("{} (+{} void)", p.n, p.voided) };
        let mut row = vec![p.target.clone()];
        if both_ways {
            row.push(p.direction.clone());
        }
        row.extend([
            voided,
            p.mean_reference.clone(),
            p.mean_deviation.clone(),
            dash(&p.standard_deviation),
            p.spread.clone(),
        ]);
        if calibrated {
            row.extend([dash(&p.expanded), dash(&p.k), dash(&p.interval)]);
        }
        row.extend([dash(&p.acceptance_limit), p.readings_outside.clone(), verdict(point)]);
        row
    };
    let right = if both_ways { 2 } else { 1 }..header.len() - 1;
    table(header.into_iter().map(str::to_owned).collect(), run.points.iter().map(row).collect(), right)
}

fn dash(value: &Option<String>) -> String {
    value.clone().unwrap_or_else(|| "–".to_owned())
}

fn verdict(point: &PointRecord) -> String {
    match (point.verdict, point.zone) {
        (Verdict::Fail, Some(Zone::GuardBand)) => "FAIL (guard band)".to_owned(),
        _ => point.printed.verdict.clone(),
    }
}

/// The lines of all points side by side; `None` when there is no budget.
fn budget(run: &RunRecord) -> Option<String> {
    let mut influences: Vec<Influence> = Vec::new();
    for line in run.points.iter().filter_map(|p| p.uncertainty.as_ref()).flat_map(|u| &u.lines) {
        if !influences.contains(&line.influence) {
            influences.push(line.influence);
        }
    }
    if influences.is_empty() {
        return None;
    }
    let both_ways = goes_both_ways(run);
    let mut header = vec!["line".to_owned(), String::new()];
    header.extend(run.points.iter().map(|p| {
        let way = if both_ways {
            if p.printed.direction.starts_with("counter") { " ccw" } else { " cw" }
        } else {
            ""
        };
        format!("{}{way}", p.printed.target)
    }));
    let mut rows = Vec::new();
    for influence in influences {
        let mut row = vec![influence.words().to_owned(), influence.symbol().to_owned()];
        row.extend(run.points.iter().map(|p| budget_cell(p, influence)));
        rows.push(row);
    }
    let mut combined = vec!["combined".to_owned(), "w".to_owned()];
    let mut freedom = vec!["effective degrees of freedom".to_owned(), "ν_eff".to_owned()];
    for p in &run.points {
        combined.push(format!("{}       ", dash(&p.printed.combined)));
        freedom.push(format!("{}       ", dash(&p.printed.freedom)));
    }
    rows.extend([combined, freedom]);
    let right = 2..header.len();
    Some(table(header, rows, right))
}

fn budget_cell(point: &PointRecord, influence: Influence) -> String {
    let Some(u) = &point.uncertainty else { return "–".to_owned() };
    let cells: Vec<String> = u
        .lines
        .iter()
        .filter(|l| l.influence == influence)
        .map(|l| format!("{} {:>4.0} %", l.printed.standard, l.share * 100.0))
        .collect();
    if cells.is_empty() { "–".to_owned() } else { cells.join("\n") }
}

fn missing(out: &mut String, run: &RunRecord) {
    let mut missing: Vec<Influence> = run
        .points
        .iter()
        .filter_map(|p| p.uncertainty.as_ref())
        .flat_map(|u| u.missing.iter().copied())
        .collect();
    missing.sort_unstable();
    missing.dedup();
    if !missing.is_empty() {
        let names: Vec<&str> = missing.iter().map(|m| m.words()).collect();
        let _ = writeln!(
            out,
            "\nNot measured: {}. The uncertainties above are lower bounds until it is.",
            names.join(", ")
        );
    }
}

fn tail(out: &mut String, run: &RunRecord, unit: TorqueUnit) -> Result<(), RoundingError> {
    let failed: Vec<String> = run
        .points
        .iter()
        .filter(|p| p.verdict == Verdict::Fail)
        .map(|p| format!("{} {}", p.printed.target, p.printed.direction))
        .collect();
    let sentence = match run.verdict {
        Verdict::Pass if run.certifiable => "CONFORMS at every test point under the agreed rule.".to_owned(),
        Verdict::Pass => "would conform at every test point that was measured.".to_owned(),
        Verdict::ConditionalPass => {
            "CONFORMS ON CONDITION: at some point by less than the guard band.".to_owned()
        }
        Verdict::ConditionalFail => {
            "DOES NOT CONFORM, ON CONDITION: at some point by no more than the guard band.".to_owned()
        }
        Verdict::Fail => format!("DOES NOT CONFORM under the agreed rule: {}.", failed.join(", ")),
        Verdict::NotJudged => "NOT JUDGED: the rule needs what is not on record.".to_owned(),
    };
    let _ = writeln!(out, "{:<10} {sentence}", "Verdict");
    let gaps = run.findings.iter().filter(|f| f.severity == Severity::Gap).count();
    if gaps > 0 {
        let (what, them) = if gaps == 1 { ("gap", "it is") } else { ("gaps", "they are") };
        let _ = writeln!(
            out,
            "{:<10} NOT CERTIFIABLE: {gaps} {what} in the record, listed below; the verdict means nothing until {them} closed.",
            ""
        );
    }
    let _ = writeln!(out, "{:<10} {}", "Floor", floor_words(&run.floor, unit)?);
    for part in &run.floor.parts {
        let height = match part.height {
            Height::BelowRange => "does not bind in the range".to_owned(),
            Height::From(torque) => format!(
                "from {} {unit}",
                leverarm_metrology::rounding::round_figures(torque.in_unit(unit), 3)?
            ),
            Height::AboveRange => "not reached at the maximum".to_owned(),
        };
        let _ = writeln!(out, "{:<10}   {}: {height}", "", part.cause.words());
    }
    Ok(())
}
