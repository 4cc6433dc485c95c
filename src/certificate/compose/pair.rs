//! What two runs must share to stand on one certificate. What may change with a repair is printed
//! run by run instead.

use super::words::{capital, class, listed, percent};
use super::{ComposeError, Judged, front};
use crate::metrology::reading::Recorded;
use crate::metrology::tool::TorqueRange;

/// A fact that two runs of one certificate do not share.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// What it is about.
    pub what: &'static str,
    /// In the first run.
    pub first: String,
    /// In the other.
    pub other: String,
}

/// The differences, one a line.
pub(super) fn lines(differences: &[Difference]) -> String {
    let line = |d: &Difference| format!("\n  {}: {} | {}", d.what, d.first, d.other);
    differences.iter().map(line).collect()
}

/// Everything that two runs do not share and must.
pub(super) fn belong_together(first: &Judged<'_>, runs: &[Judged<'_>]) -> Result<(), ComposeError> {
    let mut found: Vec<Difference> = Vec::new();
    for other in runs.iter().skip(1) {
        let mut compare = |what, a: String, b: String| {
            if a != b {
                found.push(Difference { what, first: a, other: b });
            }
        };
        for (what, fact) in FACTS {
            compare(what, fact(first), fact(other));
        }
        // Digits may be written in two ways; the values count.
        let (a, b) = (&first.run.tool, &other.run.tool);
        if !same_range(&a.range, &b.range) {
            compare("range", front::range(&a.range), front::range(&b.range));
        }
        if !same(a.resolution.as_ref(), b.resolution.as_ref()) {
            let words = |r: &Option<Recorded>| or_none(r.as_ref().map(super::words::torque));
            compare("resolution", words(&a.resolution), words(&b.resolution));
        }
    }
    if found.is_empty() { Ok(()) } else { Err(ComposeError::Differ(found)) }
}

type Read = fn(&Judged<'_>) -> String;

/// Every fact that is one for the whole certificate.
const FACTS: [(&str, Read); 18] = [
    ("certificate number", |j| or_none(j.run.terms.number.clone())),
    ("certificate that it replaces", |j| or_none(j.run.terms.replaces.clone())),
    ("next calibration", |j| or_none(j.run.terms.interval.clone())),
    ("laboratory", |j| or_none(j.run.laboratory.name.clone())),
    ("address of the laboratory", |j| or_none(j.run.laboratory.address.clone())),
    ("customer", |j| or_none(j.run.customer.name.clone())),
    ("address of the customer", |j| or_none(j.run.customer.address.clone())),
    ("order", |j| or_none(j.run.customer.order.clone())),
    ("type and class", |j| class(j.run.tool.class).replace('\u{a0}', " ")),
    ("maker", |j| j.run.tool.maker.clone()),
    ("model", |j| j.run.tool.model.clone()),
    ("serial number", |j| j.run.tool.serial.clone()),
    ("maker’s claim", |j| or_none(j.run.tool.claim.map(|claim| format!("±{}", percent(claim))))),
    ("owner’s mark", |j| or_none(j.run.tool.owner_mark.clone())),
    ("rulebook", |j| format!("{} ({})", j.rulebook.name, j.rulebook.document())),
    ("decision rule", |j| or_none(j.run.agreement.map(|agreement| agreement.rule.title()))),
    ("sides of the limit", |j| j.run.sides.word().to_owned()),
    ("prior", |j| or_none(j.run.prior.as_ref().map(crate::printed::prior_words))),
];

fn or_none(value: Option<String>) -> String {
    value.unwrap_or_else(|| "not said".to_owned())
}

fn same(a: Option<&Recorded>, b: Option<&Recorded>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => a.torque().same_as(b.torque()),
        (None, None) => true,
        _ => false,
    }
}

fn same_range(a: &TorqueRange, b: &TorqueRange) -> bool {
    same(Some(&a.lower), Some(&b.lower)) && same(Some(&a.upper), Some(&b.upper))
}

/// A value that may differ from run to run: once where it is the same, else each with its run.
/// `None` where no run has it.
pub(super) fn each_run(runs: &[Judged<'_>], value: impl Fn(&Judged<'_>) -> Option<String>) -> Vec<Said> {
    let values: Vec<(String, Option<String>)> =
        runs.iter().map(|run| (run.run.condition.to_string(), value(run))).collect();
    let same = values.windows(2).all(|pair| pair[0].1 == pair[1].1);
    match values.first() {
        Some((_, only)) if same => only.iter().map(|text| Said { of: None, text: text.clone() }).collect(),
        _ => values
            .into_iter()
            .filter_map(|(condition, text)| Some(Said { of: Some(condition), text: text? }))
            .collect(),
    }
}

/// What a run says, and which one where there are two that differ.
pub(super) struct Said {
    /// "as found"
    pub of: Option<String>,
    /// what it says
    pub text: String,
}

impl Said {
    /// "Head, as found".
    pub(super) fn label(&self, label: &str) -> String {
        self.of.as_ref().map_or_else(|| label.to_owned(), |of| format!("{label}, {of}"))
    }
}

/// "18 November 2026", or "18 November 2026 (as found) and 20 November 2026 (as left)".
pub(super) fn in_words(said: &[Said]) -> String {
    let parts: Vec<String> = said
        .iter()
        .map(|one| match &one.of {
            Some(of) => format!("{} ({of})", one.text),
            None => one.text.clone(),
        })
        .collect();
    listed(&parts)
}

/// "As found, as left": the runs for which something holds, where that is not all of them.
pub(super) fn which(runs: &[Judged<'_>], holds: impl Fn(&Judged<'_>) -> bool) -> Option<String> {
    let names: Vec<String> =
        runs.iter().filter(|run| holds(run)).map(|run| run.run.condition.to_string()).collect();
    (names.len() < runs.len()).then(|| capital(&listed(&names)))
}
