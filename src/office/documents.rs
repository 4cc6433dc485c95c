//! The certificate of a job, out of the record, under the number that the ledger drew.

use chrono::{DateTime, NaiveDate, Utc};
use leverarm_ledger::event::{CertificateNumber, Condition, Verdict};
use leverarm_ledger::state::{Job, RunRecord};
use leverarm_ledger::store::Reading;
use leverarm_metrology::finding::Severity;
use leverarm_metrology::run;
use thiserror::Error;

use crate::assess::{AssessError, Assessed, Overrides, assess_loaded};
use crate::certificate::compose::Judged;
use crate::certificate::proof::{
    Decided, LaboratoryKey, MakeError, PackError, Parts, RunSource, Sealing, document, gather, make, pack,
    record,
};
use crate::certificate::{Paper, RenderError, Renderer, number};
use crate::ingest::{self, Input};

use super::recompute::{self, RunError, StoredRun, run_of};

const RUN_FILE: &str = "run.toml";
const PDF: &str = "certificate.pdf";

/// What is decided when a certificate is issued, but for its number.
#[derive(Debug, Clone)]
pub struct Terms {
    /// who answers for it, as it is printed
    pub approver: String,
    /// the day of issue
    pub issued: NaiveDate,
    /// the paper
    pub paper: Paper,
    /// whether the deviation curve over the range is drawn
    pub curve: bool,
}

/// What an amendment says: the certificate that it replaces, and what changed.
#[derive(Debug, Clone)]
pub struct Amending {
    /// the one that holds no more
    pub replaces: CertificateNumber,
    /// what changed, and why
    pub changed: String,
    /// a corrected `run.toml`, put in the place of the one of the run in the same state of the tool
    pub corrected: Vec<Vec<u8>>,
}

/// Why there is no certificate.
#[derive(Debug, Error)]
pub enum DocumentsError {
    /// A run cannot be had or evaluated.
    #[error("run '{run}': {error}")]
    Run {
        /// which
        run: String,
        /// why
        #[source]
        error: RunError,
    },
    /// Something that a certificate needs is missing.
    #[error("run '{run}' lacks what a certificate needs: {}", what.join("; "))]
    Gaps {
        /// which
        run: String,
        /// what
        what: Vec<String>,
    },
    /// The evaluation comes out otherwise than it was recorded.
    #[error("run '{run}' comes out as {now}, and {recorded} is recorded")]
    OtherVerdict {
        /// which
        run: String,
        /// the verdict now
        now: Verdict,
        /// the one recorded
        recorded: Verdict,
    },
    /// Two runs that cannot stand on one certificate.
    #[error("as left ({left}) was measured before as found ({found})")]
    Order {
        /// day of as found
        found: NaiveDate,
        /// day of as left
        left: NaiveDate,
    },
    /// Nothing was measured.
    #[error("the job has no evaluated run")]
    NoRun,
    /// The number cannot stand on a certificate.
    #[error(transparent)]
    Number(#[from] number::NumberError),
    /// The corrected `run.toml` cannot be used.
    #[error("the corrected run.toml: {reason}")]
    Corrected {
        /// why
        reason: String,
    },
    /// It cannot be composed.
    #[error(transparent)]
    Make(#[from] MakeError),
    /// It cannot be sealed or set.
    #[error(transparent)]
    Pack(#[from] PackError),
    /// The typesetter cannot start.
    #[error(transparent)]
    Render(#[from] RenderError),
}

/// The runs of a certificate, evaluated, before it has a number.
pub struct Prepared {
    terms: Terms,
    runs: Vec<Assessed>,
    stores: Vec<StoredRun>,
    inputs: Vec<Vec<Input>>,
    country: Option<String>,
    seed: Option<u64>,
    renderer: Renderer,
    /// each run.toml that is not the one of the run folder, by the name under which it is kept
    changed: Vec<(String, Vec<u8>)>,
}

/// The runs that a certificate of a job stands on: the last one of each state of the tool, as found
/// before as left.
#[must_use]
pub fn runs_of(job: &Job) -> Vec<&RunRecord> {
    let last = |condition| job.runs.iter().rfind(|record| record.run.condition == condition);
    match last(Condition::New) {
        Some(new) => vec![new],
        None => [last(Condition::AsFound), last(Condition::AsLeft)].into_iter().flatten().collect(),
    }
}

/// Takes the runs of a job out of the record and evaluates them as a certificate needs them. This is
/// what takes time; it is done before anything is locked.
///
/// # Errors
/// [`DocumentsError`].
pub fn prepare(
    reading: &mut dyn Reading,
    job: &Job,
    terms: Terms,
    amending: Option<&Amending>,
) -> Result<Prepared, DocumentsError> {
    let records = runs_of(job);
    if records.is_empty() || records.iter().any(|record| record.evaluations.is_empty()) {
        return Err(DocumentsError::NoRun);
    }
    if let [found, left] = records.as_slice()
        && left.run.performed < found.run.performed
    {
        return Err(DocumentsError::Order { found: found.run.performed, left: left.run.performed });
    }
    let mut prepared = Prepared {
        terms,
        runs: Vec::new(),
        stores: Vec::new(),
        inputs: Vec::new(),
        country: None,
        seed: None,
        renderer: Renderer::new()?,
        changed: Vec::new(),
    };
    for record in &records {
        prepared.add(reading, record, amending, records.len() > 1)?;
    }
    Ok(prepared)
}

fn run_error(record: &RunRecord) -> impl Fn(RunError) -> DocumentsError + '_ {
    |error| DocumentsError::Run { run: record.run.run.to_string(), error }
}

impl Prepared {
    fn add(
        &mut self,
        reading: &mut dyn Reading,
        record: &RunRecord,
        amending: Option<&Amending>,
        is_pair: bool,
    ) -> Result<(), DocumentsError> {
        let of_run = run_error(record);
        let mut store = run_of(reading, &record.run.files).map_err(&of_run)?;
        let Some(evaluation) = record.evaluations.last() else { return Err(DocumentsError::NoRun) };
        let recorded = reading.file(&evaluation.result).map_err(|error| of_run(error.into()))?;
        let seed = recorded
            .and_then(|bytes| serde_json::from_slice(&bytes).ok())
            .and_then(|value| recompute::seed_of(&value));
        if let Some(amending) = amending {
            let text = amended_text(&store, record.run.condition, amending)?;
            let name = match is_pair {
                true => format!("{}/{RUN_FILE}", record.run.run),
                false => RUN_FILE.to_owned(),
            };
            self.changed.push((name, text.clone()));
            store = store.with(RUN_FILE, text);
        }
        let loaded = ingest::parse(&store);
        self.inputs.push(loaded.inputs.clone());
        self.country = self.country.take().or_else(|| loaded.country.clone());
        let overrides = Overrides {
            // The number is drawn later; whether one is missing must not be asked now.
            number: Some("0".to_owned()),
            approver: Some(self.terms.approver.clone()),
            options: recompute::options(seed),
        };
        let assess = |error: AssessError| of_run(error.into());
        let mut assessed = assess_loaded(loaded, &overrides).map_err(assess)?;
        if !self.runs.is_empty() {
            assessed = assessed.beside_as_found();
        }
        let outcome = recompute::outcome(&assessed).map_err(&of_run)?;
        if !assessed.is_certifiable() {
            let gaps = assessed.findings.iter().filter(|finding| finding.severity() == Severity::Gap);
            let what = gaps.map(|finding| finding.message.clone()).collect();
            return Err(DocumentsError::Gaps { run: record.run.run.to_string(), what });
        }
        if outcome.verdict != evaluation.verdict {
            let (now, recorded) = (outcome.verdict, evaluation.verdict);
            return Err(DocumentsError::OtherVerdict { run: record.run.run.to_string(), now, recorded });
        }
        self.runs.push(assessed);
        self.stores.push(store);
        self.seed = seed;
        Ok(())
    }

    /// Makes the files of the certificate under its number: path and bytes.
    ///
    /// # Errors
    /// [`DocumentsError`].
    pub fn make(
        &mut self,
        drawn: &CertificateNumber,
        seal: Option<(&LaboratoryKey, DateTime<Utc>)>,
    ) -> Result<Vec<(String, Vec<u8>)>, DocumentsError> {
        let number = drawn.to_string();
        number::check(&number)?;
        for judged in self.runs.iter_mut().filter_map(|run| run.judged.as_mut()) {
            judged.run.terms.number = Some(number.clone());
        }
        let decided = Decided {
            number: number.clone(),
            issued: self.terms.issued,
            paper: self.terms.paper,
            curve: self.terms.curve,
            given_number: Some(number),
            given_approver: Some(self.terms.approver.clone()),
            seed: self.seed,
        };
        let judged: Vec<Judged<'_>> = self.runs.iter().filter_map(Assessed::for_certificate).collect();
        let sources: Vec<RunSource<'_>> = judged
            .iter()
            .zip(&self.inputs)
            .zip(&self.stores)
            .map(|((judged, inputs), store)| RunSource { run: judged.run, inputs, store })
            .collect();
        let files = gather(&sources);
        let made = make(&self.runs, &decided)?;
        // Without the country of the laboratory there is no Digital Calibration Certificate.
        let xml = document(&judged, &made.view, &decided, self.country.as_deref()).ok();
        let parts = Parts { made: &made, decided: &decided, files: &files, xml };
        let sealing = seal.map(|(key, at)| Sealing { key, at });
        let packed = pack(&self.renderer, &parts, sealing)?;
        let mut documents = vec![
            (PDF.to_owned(), packed.pdf),
            (record::RESULT.to_owned(), made.result),
            ("result.csv".to_owned(), made.csv),
        ];
        documents.extend(packed.xml.map(|xml| (record::XML.to_owned(), xml)));
        documents.push((record::MANIFEST.to_owned(), packed.manifest));
        documents.extend(packed.signature.map(|signature| (record::SIGNATURE.to_owned(), signature)));
        documents.extend(self.changed.iter().cloned());
        Ok(documents)
    }
}

/// The `run.toml` of an amended certificate: the recorded or the corrected one, which says what it
/// replaces and what changed. It travels in the certificate, so that a recheck finds it.
fn amended_text(
    store: &StoredRun,
    condition: Condition,
    amending: &Amending,
) -> Result<Vec<u8>, DocumentsError> {
    let wrong = |reason: String| DocumentsError::Corrected { reason };
    let is_of = |text: &&Vec<u8>| {
        condition_of(text).is_some_and(|found| super::belongs::condition(found) == condition)
    };
    let recorded = store.get(RUN_FILE).unwrap_or_default().to_vec();
    let text = amending.corrected.iter().find(is_of).unwrap_or(&recorded);
    let text = std::str::from_utf8(text).map_err(|error| wrong(error.to_string()))?;
    let mut document: toml_edit::DocumentMut =
        text.parse().map_err(|error: toml_edit::TomlError| wrong(error.message().to_owned()))?;
    let table = document.entry("certificate").or_insert_with(toml_edit::table);
    let table = table.as_table_like_mut().ok_or_else(|| wrong("[certificate] is no table".to_owned()))?;
    table.insert("replaces", toml_edit::value(amending.replaces.to_string()));
    table.insert("change", toml_edit::value(amending.changed.as_str()));
    Ok(document.to_string().into_bytes())
}

/// The state of the tool that a `run.toml` names.
fn condition_of(text: &[u8]) -> Option<run::Condition> {
    let document: toml::Table = std::str::from_utf8(text).ok()?.parse().ok()?;
    run::Condition::parse(document.get("run")?.get("condition")?.as_str()?)
}

/// Why an amendment's corrected `run.toml` fits no run of the job; `None` where each fits one.
#[must_use]
pub fn unfit(job: &Job, corrected: &[Vec<u8>]) -> Option<String> {
    let conditions: Vec<Condition> = runs_of(job).iter().map(|record| record.run.condition).collect();
    corrected.iter().find_map(|text| match condition_of(text) {
        None => Some("a corrected run.toml names no state of the tool ([run] condition)".to_owned()),
        Some(found) if conditions.contains(&super::belongs::condition(found)) => None,
        Some(found) => Some(format!("the certificate stands on no run '{found}'")),
    })
}
