//! What a certificate consists of before anything is attached: its words, `result.json`, `result.csv`.

use chrono::NaiveDate;
use leverarm_metrology::decision::Verdict;
use leverarm_metrology::rounding::{RoundingError, RoundingRule};
use thiserror::Error;

use crate::assess::Assessed;
use crate::certificate::compose::{ComposeError, Issue, Judged, compose};
use crate::certificate::{CertificateView, Paper};
use crate::export::curve::{ChangeRecord, changes};
use crate::export::json::{self, CertificateRecord, RESULT_VERSION, ResultFile};
use crate::export::table_csv;

/// What the laboratory decides when it issues a certificate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decided {
    /// its number
    pub number: String,
    /// the day of issue
    pub issued: NaiveDate,
    /// the paper
    pub paper: Paper,
    /// whether the deviation curve over the range is drawn
    pub curve: bool,
    /// the number, where it was given beside `run.toml`
    pub given_number: Option<String>,
    /// who answers for it, where he was named beside `run.toml`
    pub given_approver: Option<String>,
    /// seed of the Monte Carlo trials; `None` where there were none
    pub seed: Option<u64>,
}

/// A certificate before anything is attached to it.
#[derive(Debug)]
pub struct Made {
    /// every printed word
    pub view: CertificateView,
    /// what `result.json` says
    pub record: ResultFile,
    /// `result.json`
    pub result: Vec<u8>,
    /// `result.csv`
    pub csv: Vec<u8>,
    /// of the last run: the state in which the customer gets the tool back
    pub verdict: Verdict,
}

/// Why there is none.
#[derive(Debug, Error)]
pub enum MakeError {
    /// The certificate cannot be composed.
    #[error(transparent)]
    Compose(#[from] ComposeError),
    /// A number has no printable digits.
    #[error("a result has no printable digits: {0}")]
    Rounding(#[from] RoundingError),
    /// `result.json` cannot be written.
    #[error("result.json cannot be made: {0}")]
    Json(#[from] serde_json::Error),
    /// `result.csv` cannot be written.
    #[error("result.csv cannot be made: {0}")]
    Csv(String),
}

/// Makes it of one run, or of as found and as left in this order.
///
/// # Errors
/// [`MakeError`], above all where the runs do not belong together or lack what must be printed.
pub fn make(runs: &[Assessed], decided: &Decided) -> Result<Made, MakeError> {
    let judged: Vec<Judged> = runs.iter().filter_map(Assessed::for_certificate).collect();
    let mut records = Vec::new();
    for run in runs {
        records.extend(run.record()?);
    }
    let issue = Issue {
        number: decided.number.clone(),
        issued: decided.issued,
        rounding: RoundingRule::default(),
        curve: decided.curve,
        inputs: inputs(runs, &judged),
    };
    let view = compose(&judged, &issue)?;
    let csv = table_csv::to_bytes(&records).map_err(|error| MakeError::Csv(error.to_string()))?;
    let verdict = records.last().map_or(Verdict::NotJudged, |record| record.verdict);
    let (first, last) = (judged.first(), judged.last());
    let record = ResultFile {
        format: "leverarm result",
        version: RESULT_VERSION,
        program: env!("CARGO_PKG_VERSION"),
        certificate: first.map(|first| CertificateRecord {
            number: decided.number.clone(),
            issued: decided.issued.to_string(),
            purpose: first.rulebook.purpose,
            approver: last.and_then(|last| last.run.people.approver.clone()),
            replaces: first.run.terms.replaces.clone(),
        }),
        runs: records,
        changes: changes_of(&judged)?,
    };
    let result = json::to_bytes(&record)?;
    Ok(Made { view, record, result, csv, verdict })
}

/// Name and hash of every input, each once; a file of one of two runs is named with its condition.
fn inputs(runs: &[Assessed], judged: &[Judged]) -> Vec<(String, String)> {
    let mut inputs: Vec<(String, String)> = Vec::new();
    for (run, judged) in runs.iter().zip(judged) {
        for input in &run.inputs {
            let own = runs.len() > 1 && !input.file.starts_with("..");
            let name = match own {
                true => format!("{}: {}", judged.run.condition, input.file),
                false => input.file.clone(),
            };
            let entry = (name, input.sha256.clone());
            if !inputs.contains(&entry) {
                inputs.push(entry);
            }
        }
    }
    inputs
}

/// What changed from as found to as left, where both are there.
fn changes_of(judged: &[Judged]) -> Result<Vec<ChangeRecord>, RoundingError> {
    match judged {
        [found, left] => changes(
            (found.reference, found.evaluation),
            (left.reference, left.evaluation),
            RoundingRule::default(),
        ),
        _ => Ok(Vec::new()),
    }
}
