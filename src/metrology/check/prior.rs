//! Checks of what is known of such tools before this one was measured.

use super::Rule;
use super::bench::Bench;
use super::words::percent;
use crate::finding::{Check, Finding, Place, Severity};
use crate::run::PriorStatement;

static MISSING: Check = Check {
    name: "prior-missing",
    severity: Severity::Gap,
    about: "A decision rule that caps the risk over all tools comes with a stated prior of their deviations.",
    source: "JCGM 106:2012, clause 9; ISO/IEC 17025:2017, 7.8.6.1",
};
static IMPOSSIBLE: Check = Check {
    name: "prior-impossible",
    severity: Severity::Error,
    about: "A stated prior is a distribution: a share between 0 % and 100 % within limits on both sides, or a standard deviation above zero.",
    source: "JCGM 106:2012, clause 9",
};

pub(super) static RULES: &[Rule] =
    &[Rule { check: &IMPOSSIBLE, look: impossible }, Rule { check: &MISSING, look: missing }];

fn missing(bench: &Bench) -> Vec<Finding> {
    let Some(agreement) = bench.run.agreement.filter(|a| a.rule.needs_prior()) else { return vec![] };
    if bench.run.prior.is_some() {
        return vec![];
    }
    vec![
        Finding::new(
            &MISSING,
            Place::run("prior"),
            format!("the rule {} judges by a prior, and none is stated", agreement.rule),
        )
        .given("no prior")
        .wanted("a table [prior] with in_tolerance, or mean and standard_deviation, and source")
        .remedy("state what the laboratory's own history of the model says, or agree on another rule"),
    ]
}

fn impossible(bench: &Bench) -> Vec<Finding> {
    let Some(stated) = &bench.run.prior else { return vec![] };
    let Some(limits) = bench.limit.and_then(|limit| bench.run.sides.limits(limit)) else { return vec![] };
    if stated.statement.prior(&limits).is_some() {
        return vec![];
    }
    let (key, given, wanted) = match stated.statement {
        PriorStatement::InTolerance(share) => (
            "prior.in_tolerance",
            format!("{} of the tools within limits on side '{}'", percent(share), bench.run.sides.word()),
            "a share between 0 % and 100 %, within limits on both sides",
        ),
        PriorStatement::Normal { standard_deviation, .. } => (
            "prior.standard_deviation",
            format!("a standard deviation of {}", percent(standard_deviation)),
            "a standard deviation above 0 %",
        ),
    };
    vec![
        Finding::new(&IMPOSSIBLE, Place::run(key), format!("{given} is no distribution"))
            .given(given)
            .wanted(wanted)
            .remedy("correct the number; for a limit on one side state mean and standard_deviation"),
    ]
}
