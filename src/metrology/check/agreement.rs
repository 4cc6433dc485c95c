//! Checks of the decision rule and of when it was agreed.

use super::Rule;
use super::bench::Bench;
use super::words::{clause, either};
use crate::finding::{Check, Finding, Place, Severity};

static NOT_ALLOWED: Check = Check {
    name: "decision-not-allowed",
    severity: Severity::Error,
    about: "The decision rule is one that the rulebook allows.",
    source: "the rulebook's decision rules",
};
static MISSING: Check = Check {
    name: "decision-missing",
    severity: Severity::Gap,
    about: "A decision rule is on record.",
    source: "ISO/IEC 17025:2017, 7.1.3 and 7.8.6",
};
static AGREED: Check = Check {
    name: "decision-agreed-missing",
    severity: Severity::Gap,
    about: "The day on which the customer agreed to the decision rule is on record, unless the procedure leaves no choice.",
    source: "ISO/IEC 17025:2017, 7.1.3",
};
static LATE: Check = Check {
    name: "decision-agreed-late",
    severity: Severity::Gap,
    about: "The decision rule was agreed before the readings.",
    source: "ISO/IEC 17025:2017, 7.1.3; ILAC-G8:09/2019",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &NOT_ALLOWED, look: not_allowed },
    Rule { check: &MISSING, look: missing },
    Rule { check: &AGREED, look: agreed },
    Rule { check: &LATE, look: late },
];

fn allowed(bench: &Bench) -> String {
    let rules: Vec<String> = bench.rulebook.decisions.value.iter().map(ToString::to_string).collect();
    either(&rules)
}

fn not_allowed(bench: &Bench) -> Vec<Finding> {
    let Some(agreement) = bench.run.agreement else { return vec![] };
    let decisions = &bench.rulebook.decisions;
    if decisions.value.contains(&agreement.rule.kind()) {
        return vec![];
    }
    vec![
        Finding::new(
            &NOT_ALLOWED,
            Place::run("run.decision"),
            format!("rulebook {} allows {}, not {}", bench.rulebook.name, allowed(bench), agreement.rule),
        )
        .given(agreement.rule.to_string())
        .wanted(allowed(bench))
        .remedy("agree with the customer on a rule that the rulebook allows, or on another rulebook")
        .clause(clause(&decisions.from)),
    ]
}

fn missing(bench: &Bench) -> Vec<Finding> {
    if bench.run.agreement.is_some() {
        return vec![];
    }
    vec![
        Finding::new(
            &MISSING,
            Place::run("run.decision"),
            format!(
                "no decision rule is on record, so nothing can be judged; rulebook {} allows {}",
                bench.rulebook.name,
                allowed(bench)
            ),
        )
        .given("nothing")
        .wanted(allowed(bench))
        .remedy("agree on a rule with the customer before the readings, and add decision = \"…\" to [run]"),
    ]
}

/// A rule that the procedure itself fixes need not be agreed (7.1.3 excepts it).
fn is_inherent(bench: &Bench) -> bool {
    bench.rulebook.decisions.value.len() == 1
}

fn agreed(bench: &Bench) -> Vec<Finding> {
    let Some(agreement) = bench.run.agreement else { return vec![] };
    if agreement.agreed.is_some() || is_inherent(bench) {
        return vec![];
    }
    vec![
        Finding::new(
            &AGREED,
            Place::run("run.decision_agreed"),
            format!("nothing says when the customer agreed to the rule {}", agreement.rule),
        )
        .given("nothing")
        .wanted(format!("a day on or before {}", bench.run.performed))
        .remedy("add the day of the order or of the agreement, from the letter or mail in which it stands"),
    ]
}

fn late(bench: &Bench) -> Vec<Finding> {
    let performed = bench.run.performed;
    let Some(day) = bench.run.agreement.and_then(|a| a.agreed).filter(|day| *day > performed) else {
        return vec![];
    };
    vec![
        Finding::new(
            &LATE,
            Place::run("run.decision_agreed"),
            format!("the decision rule was agreed on {day}, after the readings of {performed}"),
        )
        .given(day.to_string())
        .wanted(format!("{performed} or earlier"))
        .remedy("a rule that is chosen with the results in sight is none; agree first, then measure again"),
    ]
}
