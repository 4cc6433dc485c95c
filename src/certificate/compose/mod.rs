//! From what was measured and judged to what is printed.
//!
//! [`compose`] chooses words and digits and computes nothing: every result is
//! the evaluation's, every rounded digit is the work of `metrology::rounding`.

mod budget;
mod condition;
mod curve;
mod decision;
mod figures;
mod front;
mod pair;
mod readings;
mod rules;
mod verdict;
mod words;

use chrono::{Datelike, NaiveDate};
use thiserror::Error;

use crate::metrology::evaluate::Evaluation;
use crate::metrology::finding::Finding;
use crate::metrology::reference::Reference;
use crate::metrology::rounding::{RoundingError, RoundingRule};
use crate::metrology::rulebook::Rulebook;
use crate::metrology::run::Run;

use super::number::{self, NumberError};
use super::view::{CertificateView, Fact, IssueDate};
pub use pair::Difference;
use words::day;

/// Name and version of the program.
const SOFTWARE: &str = concat!("leverarm ", env!("CARGO_PKG_VERSION"));

/// One run with all that it was judged by. A certificate has one, or two where
/// the tool was measured as found and as left.
#[derive(Debug, Clone, Copy)]
pub struct Judged<'a> {
    /// The run.
    pub run: &'a Run,
    /// The procedure.
    pub rulebook: &'a Rulebook,
    /// The reference.
    pub reference: &'a Reference,
    /// The result.
    pub evaluation: &'a Evaluation,
    /// What is suspicious and goes on the record.
    pub warnings: &'a [Finding],
}

/// What the laboratory decides when it issues a certificate.
#[derive(Debug, Clone)]
pub struct Issue {
    /// The certificate's unique number.
    pub number: String,
    /// The day of issue.
    pub issued: NaiveDate,
    /// How numbers are rounded for print.
    pub rounding: RoundingRule,
    /// Whether the deviation curve over the range is drawn.
    pub curve: bool,
    /// Name and SHA-256 of every input.
    pub inputs: Vec<(String, String)>,
}

/// Why there is no certificate.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ComposeError {
    /// There is no run.
    #[error("a certificate needs at least one run")]
    NoRun,
    /// The runs do not share what one certificate can say only once.
    #[error("one certificate cannot hold both runs, because they differ:{}", pair::lines(.0))]
    Differ(Vec<Difference>),
    /// The number is not one that a certificate can bear.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// Something that must be printed is not on record.
    #[error("a certificate must name what is not on record: {}", .0.join(", "))]
    Missing(Vec<&'static str>),
    /// A number that has no printable digits.
    #[error(transparent)]
    Rounding(#[from] RoundingError),
}

impl ComposeError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            ComposeError::NoRun => "name a run folder",
            ComposeError::Differ(_) => {
                "correct what is mistyped in one of the two run.toml, or certify each run on its own"
            }
            ComposeError::Number(error) => error.remedy(),
            ComposeError::Missing(_) => "put what is missing into run.toml",
            ComposeError::Rounding(_) => {
                "look for a reading or an uncertainty that is absurdly small or large"
            }
        }
    }
}

/// Composes the certificate of one tool from its runs, in the order of the work.
///
/// # Errors
/// [`ComposeError`] when the runs do not belong together, when something that
/// ISO/IEC 17025:2017, 7.8.2 asks for is not on record, or when a number cannot
/// be printed.
pub fn compose(runs: &[Judged<'_>], issue: &Issue) -> Result<CertificateView, ComposeError> {
    let (first, last) = match runs {
        [] => return Err(ComposeError::NoRun),
        [only] => (only, only),
        [first, .., last] => (first, last),
    };
    number::check(&issue.number)?;
    pair::belong_together(first, runs)?;
    let missing = front::missing(runs);
    if !missing.is_empty() {
        return Err(ComposeError::Missing(missing));
    }
    let conditions =
        runs.iter().map(|judged| condition::condition(judged, issue)).collect::<Result<Vec<_>, _>>()?;
    Ok(CertificateView {
        title: words::title(last).to_owned(),
        number: issue.number.clone(),
        issued: IssueDate {
            text: day(issue.issued),
            year: issue.issued.year(),
            month: u8::try_from(issue.issued.month()).unwrap_or(0),
            day: u8::try_from(issue.issued.day()).unwrap_or(0),
        },
        software: SOFTWARE.to_owned(),
        amendment: front::amendment(runs),
        laboratory: front::laboratory(first.run),
        customer: front::customer(first.run),
        item_line: front::item_line(&first.run.tool),
        item: front::item(runs),
        work: front::work(runs, issue),
        environment: front::environment(runs),
        verdicts: conditions.iter().map(|c| c.verdict.clone()).collect(),
        method: rules::method(runs),
        references: front::references(runs),
        decision: decision::decision(runs, issue.rounding)?,
        deviation_definition: rules::deviation_definition(first.rulebook),
        uncertainty: rules::uncertainty(runs, issue.rounding)?,
        conditions,
        changes: curve::change_rows(runs, issue.rounding)?,
        people: front::people(runs, issue),
        interval: runs.iter().find_map(|r| r.run.terms.interval.clone()),
        statements: rules::statements(runs),
        cautions: rules::cautions(),
        inputs: inputs(issue),
    })
}

/// What the certificate was made from, and by which program.
fn inputs(issue: &Issue) -> Vec<Fact> {
    if issue.inputs.is_empty() {
        return vec![];
    }
    let program = Fact::new("Program", SOFTWARE);
    let files = issue.inputs.iter().map(|(name, hash)| Fact::new(name, hash));
    std::iter::once(program).chain(files).collect()
}
