//! The bench sheet as text, at most a hundred columns wide.

use std::fmt::Write;

use super::{Group, Sheet, StepView};
use crate::export::lines;

const WIDTH: usize = 100;
/// Readings on one line.
const ACROSS: u32 = 5;

/// The sheet with a line to write on for each reading.
#[must_use]
pub fn text(sheet: &Sheet) -> String {
    let mut out = String::new();
    wrapped(&mut out, "", &format!("Bench sheet, job {}, {}", sheet.job, sheet.condition));
    line(&mut out, "");
    if let Some(laboratory) = &sheet.laboratory {
        fact(&mut out, "Laboratory", laboratory);
    }
    sheet.facts.iter().for_each(|f| fact(&mut out, &f.label, &f.value));
    fact(&mut out, "Readings", &sheet.total.to_string());
    line(&mut out, "");
    let blank = "_".repeat(24);
    let technician = sheet.technician.as_deref().unwrap_or(&blank);
    line(&mut out, &format!("Technician  {technician}    Date  {blank}    Reference  {blank}"));
    section(&mut out, "Cautions");
    sheet.cautions.iter().for_each(|caution| wrapped(&mut out, "  - ", caution));
    section(&mut out, "How to fill it in");
    sheet.notes.iter().for_each(|note| wrapped(&mut out, "  - ", note));
    sheet.groups.iter().for_each(|group| add(&mut out, sheet, group));
    section(&mut out, "Replacements of readings that were struck out");
    line(&mut out, "  step, which, reason, new reading, time");
    for _ in 0..4 {
        line(&mut out, &format!("  {}", "_".repeat(WIDTH - 2)));
    }
    section(&mut out, "End of the sheet");
    line(&mut out, &format!("  Signature  {blank}    Pages or lines left empty are crossed out."));
    out
}

fn add(out: &mut String, sheet: &Sheet, group: &Group) {
    section(out, &group.title);
    if !group.cautions.is_empty() {
        line(out, "  [ ] cautions read");
    }
    wrapped(out, "  ", &group.about);
    for step in &group.steps {
        line(out, "");
        if step.series.is_none() {
            line(
                out,
                &format!(
                    "  {:>3}  temperature ________ °C    humidity ________ %    time ________",
                    step.number
                ),
            );
            continue;
        }
        line(out, &format!("  {:>3}  {}", step.number, head(step)));
        if let Some(how) = &step.how {
            wrapped(out, "       ", how);
        }
        boxes(out, sheet, step);
    }
}

fn head(step: &StepView) -> String {
    let position = match (step.position.as_str(), step.series) {
        ("", _) => String::new(),
        (name, Some("drive" | "interface")) => format!("  position {name}°"),
        (name, Some("reproducibility")) => format!("  sequence {name}"),
        (name, _) => format!("  {name}"),
    };
    let times = if step.count == 1 { String::new() } else { format!("  {} times", step.count) };
    let window = match (&step.lowest, &step.highest) {
        (Some(low), Some(high)) => format!("  reference may show {low} to {high} {}", step.unit),
        (Some(low), None) => format!("  reference may show {low} {} or more", step.unit),
        (None, Some(high)) => format!("  reference may show {high} {} or less", step.unit),
        (None, None) => String::new(),
    };
    format!("{} {}{position}{times}{window}", step.target, step.unit)
}

fn boxes(out: &mut String, sheet: &Sheet, step: &StepView) {
    let mut first = 1;
    while first <= step.count {
        let last = step.count.min(first + ACROSS - 1);
        let row = |name: &str| {
            let cells: Vec<String> = (first..=last).map(|i| format!("{i:>2} __________")).collect();
            format!("       {name:<10} {}", cells.join(" "))
        };
        if sheet.reads_tool {
            line(out, &row("tool"));
        }
        line(out, &row("reference"));
        first = last + 1;
    }
    line(out, "       time ________    remarks ____________________________________________________");
}

fn fact(out: &mut String, label: &str, value: &str) {
    lines::wrapped(out, &format!("{label:<22} "), &" ".repeat(23), value, WIDTH);
}

fn section(out: &mut String, title: &str) {
    line(out, &format!("\n{title}\n{}", "─".repeat(title.chars().count())));
}

fn line(out: &mut String, text: &str) {
    // Writing to a string does not fail.
    let _ = writeln!(out, "{}", text.trim_end());
}

/// A text that is set in as far as what stands before it.
fn wrapped(out: &mut String, first: &str, text: &str) {
    lines::wrapped(out, first, &" ".repeat(first.chars().count()), text, WIDTH);
}
