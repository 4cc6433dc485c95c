//! From a run folder to a judged run: read, check, evaluate. What the command line, the desk and a
//! batch call alike.

use std::path::Path;

use leverarm_metrology::check;
use leverarm_metrology::check::outcome;
use leverarm_metrology::evaluate::{EvaluateError, Evaluation, Options, evaluate_with};
use leverarm_metrology::finding::{Check, Finding, Severity};
use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::reference::Reference;
use leverarm_metrology::rounding::{RoundingError, RoundingRule};
use leverarm_metrology::rulebook::Rulebook;
use leverarm_metrology::run::Run;
use thiserror::Error;

use crate::certificate::compose::Judged;
use crate::export::json::{InputRecord, RunParts, RunRecord, run_record};
use crate::ingest::{self, Loaded, SourceMap};

/// Every check that a run goes through, those of the files first.
#[must_use]
pub fn catalogue() -> Vec<&'static Check> {
    ingest::checks::CATALOGUE.iter().chain(check::CATALOGUE).chain(outcome::CATALOGUE).copied().collect()
}

/// What the caller knows better than `run.toml`.
#[derive(Debug, Clone, Default)]
pub struct Overrides {
    /// the certificate's number
    pub number: Option<String>,
    /// who answers for it
    pub approver: Option<String>,
    /// what the evaluation does beyond the GUM
    pub options: Options,
}

/// A run with everything that was found out about it.
#[derive(Debug)]
pub struct Assessed {
    /// what can be evaluated; `None` when a finding is an error
    pub judged: Option<JudgedRun>,
    /// everything that the checks found
    pub findings: Vec<Finding>,
    /// the files, to point into
    pub sources: SourceMap,
    /// every input with its hash
    pub inputs: Vec<InputRecord>,
}

/// A run with its evaluation.
#[derive(Debug)]
pub struct JudgedRun {
    /// the run
    pub run: Run,
    /// its rulebook
    pub rulebook: Rulebook,
    /// its reference
    pub reference: Reference,
    /// its evaluation
    pub evaluation: Evaluation,
}

/// Why a run without an error still has no result.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AssessError {
    /// The evaluation refused what the checks let pass.
    #[error("the run cannot be evaluated: {0}")]
    Evaluate(#[from] EvaluateError),
    /// A number has no printable digits.
    #[error("a result has no printable digits: {0}")]
    Rounding(#[from] RoundingError),
}

/// Reads, checks and evaluates a run folder.
///
/// # Errors
/// [`AssessError::Evaluate`] when the evaluation refuses what no check found.
pub fn assess(folder: &Path, overrides: &Overrides) -> Result<Assessed, AssessError> {
    assess_loaded(ingest::load(folder), overrides)
}

/// Checks and evaluates what was read.
///
/// # Errors
/// [`AssessError::Evaluate`] when the evaluation refuses what no check found.
pub fn assess_loaded(mut loaded: Loaded, overrides: &Overrides) -> Result<Assessed, AssessError> {
    let inputs = loaded
        .inputs
        .iter()
        .map(|input| InputRecord { file: input.path.clone(), sha256: input.sha256.clone() })
        .collect();
    let judged = match (loaded.run.take(), loaded.rulebook.take(), loaded.reference.take()) {
        (Some(mut run), Some(rulebook), Some(reference)) => {
            if let Some(number) = &overrides.number {
                loaded.override_text("certificate.number", "--number", number);
                run.terms.number = Some(number.clone());
            }
            if let Some(approver) = &overrides.approver {
                loaded.override_text("people.approver", "--approver", approver);
                run.people.approver = Some(approver.clone());
            }
            loaded.admit(check::check(&run, &rulebook, &reference));
            if loaded.has_errors() {
                None
            } else {
                let evaluation = evaluate_with(&run, &rulebook, &reference, &overrides.options)?;
                loaded.findings.extend(outcome::outcome(&evaluation, &rulebook));
                Some(JudgedRun { run, rulebook, reference, evaluation })
            }
        }
        _ => None,
    };
    Ok(Assessed { judged, findings: loaded.findings, sources: loaded.sources, inputs })
}

impl Assessed {
    /// The run as left with the run as found beside it: that there are no results from before the
    /// adjustment is no longer so.
    #[must_use]
    pub fn beside_as_found(mut self) -> Assessed {
        self.findings.retain(|finding| finding.check.name != check::AS_FOUND_ABSENT.name);
        self
    }

    /// Whether nothing stands against a certificate.
    #[must_use]
    pub fn is_certifiable(&self) -> bool {
        self.judged.is_some() && self.findings.iter().all(|f| f.severity() == Severity::Warning)
    }

    /// The plain record of the run, for every format that is written; `None` when it cannot be
    /// evaluated.
    ///
    /// # Errors
    /// [`RoundingError`] when a number has no printable digits.
    pub fn record(&self) -> Result<Option<RunRecord>, RoundingError> {
        let Some(judged) = &self.judged else { return Ok(None) };
        let parts = RunParts {
            run: &judged.run,
            rulebook: &judged.rulebook,
            reference: &judged.reference,
            evaluation: &judged.evaluation,
            findings: &self.findings,
            inputs: self.inputs.clone(),
        };
        run_record(parts, RoundingRule::default()).map(Some)
    }

    /// What a certificate is composed of; `None` when the run cannot be evaluated.
    #[must_use]
    pub fn for_certificate(&self) -> Option<Judged<'_>> {
        self.judged.as_ref().map(|judged| Judged {
            run: &judged.run,
            rulebook: &judged.rulebook,
            reference: &judged.reference,
            evaluation: &judged.evaluation,
            warnings: &self.findings,
        })
    }
}

impl JudgedRun {
    /// The unit in which the tool's own range is written.
    #[must_use]
    pub fn unit(&self) -> TorqueUnit {
        self.run.tool.range.upper.unit()
    }
}
