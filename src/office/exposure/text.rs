//! The report on the terminal: what a manager must know, the gravest first.

use std::fmt::Write;

use leverarm_metrology::rounding::round_figures;

use super::record::{Gravity, PointRow, Report, RunRow};
use crate::diagnose::harmless;
use crate::export::lines::{table, wrapped};

const WIDTH: usize = 100;

/// The report. Points of runs of which every verdict stands are shown where all are asked for.
#[must_use]
pub fn render(report: &Report, all: bool) -> String {
    let mut out = String::new();
    head(&mut out, report);
    counts(&mut out, report);
    let shown: Vec<&RunRow> = report.rows.iter().filter(|row| all || row.is_affected()).collect();
    if !shown.is_empty() {
        out.push('\n');
        out.push_str(&points(&shown));
        out.push('\n');
    }
    remarks(&mut out, report);
    // Names of files and what stands in them were written by others.
    out.lines().map(|line| harmless(line) + "\n").collect()
}

fn head(out: &mut String, report: &Report) {
    let found = &report.found;
    // Writing into a String cannot fail.
    let _ = writeln!(out, "Exposure of the reference {} ({})", found.id, found.serial);
    let change = report.largest_change_percent.and_then(|change| round_figures(change, 3).ok());
    let change = change.map_or_else(String::new, |change| {
        format!(" The torque behind its indication changed by up to {} %.", change.signed())
    });
    let words = format!(
        "Found by the calibration {} of {}.{change} {} Both sides are evaluated by the GUM.",
        found.certificate,
        found.calibrated_on,
        model_words(report.model),
    );
    wrapped(out, "  ", "  ", &words, WIDTH);
    if let Some(since) = report.since {
        let _ = writeln!(out, "  Runs from {since} to {}.", found.calibrated_on);
    }
}

/// What the model assumes, in a sentence.
#[must_use]
pub fn model_words(model: &str) -> &'static str {
    match model {
        "linear" => "It is taken to have changed evenly in time between its two calibrations (model linear).",
        _ => {
            "It is taken to have been as found for every run since its last calibration, which is the \
             largest effect of a change in one direction (model at-once)."
        }
    }
}

fn counts(out: &mut String, report: &Report) {
    let counts = &report.counts;
    out.push('\n');
    for gravity in Gravity::ALL {
        let n = match gravity {
            Gravity::ToFail => counts.to_fail,
            Gravity::NoLongerDecided => counts.no_longer_decided,
            Gravity::NotRecomputed => counts.not_recomputed,
            Gravity::ToPass => counts.to_pass,
            Gravity::Stands => counts.stands,
        };
        let _ = writeln!(out, "  {:<20} {n:>6}", gravity.words());
    }
    let _ = writeln!(
        out,
        "  {:<20} {:>6}   {} points, {} with another verdict; customers affected: {}",
        "runs", counts.runs, counts.points, counts.points_changed, counts.customers_affected
    );
    let left = [
        (counts.other_reference, "with another reference"),
        (counts.earlier, "from before"),
        (counts.later, "after the new calibration"),
    ];
    let left: Vec<String> =
        left.iter().filter(|(n, _)| *n > 0).map(|(n, words)| format!("{n} {words}")).collect();
    if !left.is_empty() {
        let _ = writeln!(out, "  Left out: {}.", left.join(", "));
    }
}

fn points(rows: &[&RunRow]) -> String {
    let header = ["certificate", "tool", "point", "limit", "certified %", "now %", "shift %", " verdict"];
    let mut lines = Vec::new();
    for row in rows {
        let tool = row.whose.serial.clone().unwrap_or_else(|| "–".to_owned());
        let name =
            if row.superseded { format!("{} (superseded)", row.name()) } else { row.name().to_owned() };
        if row.points.is_empty() {
            let mut line = vec![name.clone(), tool.clone()];
            line.extend(["–"; 5].map(str::to_owned));
            line.push(format!(" {}", row.gravity.words()));
            lines.push(line);
        }
        for (number, point) in row.points.iter().enumerate() {
            let mut line =
                if number == 0 { vec![name.clone(), tool.clone()] } else { vec![String::new(); 2] };
            line.extend(cells(point));
            lines.push(line);
        }
    }
    table(header.map(str::to_owned).to_vec(), lines, 4..7)
}

fn cells(point: &PointRow) -> [String; 6] {
    let with = |result: &str, expanded: &Option<String>| match expanded {
        Some(expanded) => format!("{result} ± {expanded}"),
        None => result.to_owned(),
    };
    let verdict = match point.gravity {
        Gravity::Stands => format!(" {} stands", point.now()),
        _ => format!(" {} → {}", point.verdict_before.word(), point.now()),
    };
    [
        format!("{} {}", point.target, if point.direction == "clockwise" { "cw" } else { "ccw" }),
        point.limit.clone(),
        with(&point.printed_before, &point.printed_expanded_before),
        with(&point.printed_after, &point.printed_expanded_after),
        point.printed_shift.clone(),
        verdict,
    ]
}

fn remarks(out: &mut String, report: &Report) {
    for row in report.rows.iter().filter(|row| row.gravity == Gravity::NotRecomputed) {
        let reason = row.reason.as_deref().unwrap_or_default();
        wrapped(out, "  ", "    ", &format!("{} ({}): {reason}", row.name(), row.origin), WIDTH);
    }
    let differs = report.rows.iter().filter(|row| row.recorded_differs).map(RunRow::name);
    let differs: Vec<&str> = differs.collect();
    if !differs.is_empty() {
        let words = format!(
            "The record holds another verdict than the GUM alone gives for: {}. See whether Monte Carlo \
             stood behind them, and verify the record.",
            differs.join(", ")
        );
        wrapped(out, "  ", "    ", &words, WIDTH);
    }
}
