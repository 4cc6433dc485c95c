//! Checks of a type study that stands in for a measurement in this run.

use super::Rule;
use super::bench::Bench;
use super::variations::{plans, was_measured};
use super::words::{clause, counted};
use crate::finding::{Check, Document, Finding, Place, Severity};
use crate::study::{TypeStudy, same_name};

static WIDTH: Check = Check {
    name: "study-width",
    severity: Severity::Error,
    about: "The widths of a type study are percentages from zero up.",
    source: "leverarm",
};
static NOT_ALLOWED: Check = Check {
    name: "study-not-allowed",
    severity: Severity::Gap,
    about: "A type study is used only where the rulebook lets one stand in for a measurement.",
    source: "the rulebook's budget",
};
static TOOLS: Check = Check {
    name: "study-tools",
    severity: Severity::Gap,
    about: "A type study rests on as many tools as the rulebook asks.",
    source: "ISO 6789-2:2017, 6.2 (from memory)",
};
static MODEL: Check = Check {
    name: "study-model",
    severity: Severity::Gap,
    about: "A type study is of the same maker and model as the tool.",
    source: "ISO 6789-2:2017, 6.2 (from memory)",
};
static LATER: Check = Check {
    name: "study-later",
    severity: Severity::Gap,
    about: "A type study was concluded before the readings.",
    source: "ISO/IEC 17025:2017, 7.6.1",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &WIDTH, look: width },
    Rule { check: &NOT_ALLOWED, look: not_allowed },
    Rule { check: &TOOLS, look: tools },
    Rule { check: &MODEL, look: model },
    Rule { check: &LATER, look: later },
];

fn key(path: &str) -> Place {
    Place::Key { document: Document::Study, path: path.to_owned() }
}

/// The study, where a variation rests on it: one that was not measured in this run.
fn relied_on<'a>(bench: &Bench<'a>) -> Option<&'a TypeStudy> {
    let run = bench.run;
    let is_needed = plans(bench).into_iter().any(|plan| !was_measured(bench, plan.variation));
    run.study.as_ref().filter(|_| is_needed)
}

fn width(bench: &Bench) -> Vec<Finding> {
    let Some(study) = &bench.run.study else { return vec![] };
    study
        .widths
        .iter()
        .filter(|(_, width)| !(0.0..100.0).contains(&width.value()))
        .map(|(variation, width)| {
            Finding::new(
                &WIDTH,
                key("widths"),
                format!(
                    "study {} gives {width} for {}; a width runs from 0 % to under 100 %",
                    study.id,
                    variation.words()
                ),
            )
            .given(width.to_string())
            .wanted("a full width in percent of the reference torque")
            .remedy("copy the width from the study's report, without a sign")
        })
        .collect()
}

fn not_allowed(bench: &Bench) -> Vec<Finding> {
    let Some(study) = relied_on(bench) else { return vec![] };
    if bench.rulebook.budget.as_ref().is_none_or(|plan| plan.study_tools_min.is_some()) {
        return vec![];
    }
    vec![
        Finding::new(
            &NOT_ALLOWED,
            Place::run("study"),
            format!(
                "rulebook {} lets no study stand in for a measurement, and the run names study {}",
                bench.rulebook.name, study.id
            ),
        )
        .given(study.id.clone())
        .wanted("the series that the budget asks, measured on this tool")
        .remedy("measure the missing series, or choose a rulebook that allows a study"),
    ]
}

fn tools(bench: &Bench) -> Vec<Finding> {
    let Some(study) = relied_on(bench) else { return vec![] };
    let least = bench.rulebook.budget.as_ref().and_then(|plan| plan.study_tools_min.as_ref());
    let Some(least) = least.filter(|least| study.tools < least.value) else { return vec![] };
    let given = counted(study.tools as usize, "tool");
    vec![
        Finding::new(
            &TOOLS,
            key("tools"),
            format!("study {} rests on {given}, and {} are asked", study.id, least.value),
        )
        .given(given)
        .wanted(counted(least.value as usize, "tool"))
        .remedy("measure the missing series on this tool, or extend the study")
        .clause(clause(&least.from)),
    ]
}

fn model(bench: &Bench) -> Vec<Finding> {
    let Some(study) = relied_on(bench) else { return vec![] };
    let tool = &bench.run.tool;
    [("maker", &study.maker, &tool.maker), ("model", &study.model, &tool.model)]
        .into_iter()
        .filter(|(_, of_study, of_tool)| !same_name(of_study, of_tool))
        .map(|(what, of_study, of_tool)| {
            Finding::new(
                &MODEL,
                key(what),
                format!("the {what} of study {} is '{of_study}', that of the tool is '{of_tool}'", study.id),
            )
            .given(of_study.clone())
            .wanted(of_tool.clone())
            .remedy("name the study of this model, or measure the missing series on this tool")
        })
        .collect()
}

fn later(bench: &Bench) -> Vec<Finding> {
    let performed = bench.run.performed;
    let Some(study) = relied_on(bench).filter(|study| study.concluded > performed) else { return vec![] };
    vec![
        Finding::new(
            &LATER,
            key("concluded"),
            format!(
                "study {} was concluded on {}, after the readings of {performed}",
                study.id, study.concluded
            ),
        )
        .given(study.concluded.to_string())
        .wanted(format!("{performed} or earlier"))
        .remedy("use the study that was valid on the day of the readings, or mend one of the dates"),
    ]
}
