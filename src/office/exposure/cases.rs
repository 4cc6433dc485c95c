//! Where the runs come from: folders, or the record.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use leverarm_ledger::event::{FileRef, Verdict};
use leverarm_ledger::state::{CertificateState, State};
use leverarm_ledger::store::Reading;
use leverarm_ledger::text::Id;

use crate::ingest::store::{Folder, Store};
use crate::office::recompute::run_of;

/// A run that may have used the reference.
pub struct Case {
    /// where it comes from: the folder, or job and run
    pub origin: String,
    /// the certificate as the record numbers it; what `run.toml` says where there is no record
    pub certificate: Option<String>,
    /// whether that certificate holds no more
    pub superseded: bool,
    /// the customer as the record knows it
    pub customer: Option<Addressee>,
    /// the verdict that was recorded
    pub recorded: Option<Verdict>,
    /// the files; or why they cannot be had
    pub files: Result<Box<dyn Store + Send>, String>,
}

/// To whom a letter goes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Addressee {
    /// the record's name for it
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// name
    pub name: String,
    /// postal address
    pub address: Option<String>,
}

/// Runs in folders.
pub fn folders(paths: &[PathBuf]) -> impl Iterator<Item = Case> + Send + '_ {
    paths.iter().map(|path| folder(path))
}

fn folder(path: &Path) -> Case {
    Case {
        origin: path.display().to_string(),
        certificate: None,
        superseded: false,
        customer: None,
        recorded: None,
        files: Ok(Box::new(Folder::new(path))),
    }
}

/// A run of the record, still without its files.
#[derive(Debug, Clone)]
pub struct Entry {
    origin: String,
    certificate: Option<String>,
    superseded: bool,
    customer: Option<Addressee>,
    recorded: Option<Verdict>,
    files: Vec<FileRef>,
}

/// The runs of the record that used a reference from a day on.
#[must_use]
pub fn entries(state: &State, reference: &Id, since: NaiveDate) -> Vec<Entry> {
    let of_run = |(job, record): (&Id, &leverarm_ledger::state::RunRecord)| {
        let of_job = state.jobs().get(job);
        let certificate = of_job.and_then(|job| job.certificate.clone());
        let holds = |number| state.certificates().get(number).map(|c| c.state == CertificateState::Current);
        let superseded = certificate.as_ref().and_then(holds) == Some(false);
        let customer = of_job.and_then(|job| state.customers().get(&job.received.customer));
        Entry {
            origin: format!("{job} / {}", record.run.run),
            certificate: certificate.map(|number| number.to_string()),
            superseded,
            customer: customer.map(|customer| Addressee {
                id: Some(customer.id.to_string()),
                name: customer.name.to_string(),
                address: customer.address.as_ref().map(ToString::to_string),
            }),
            recorded: record.evaluations.last().map(|evaluation| evaluation.verdict),
            files: record.run.files.clone(),
        }
    };
    state.runs_with(reference, since).map(of_run).collect()
}

/// The day since which runs are looked at where nobody says one: that of the reference's last
/// calibration before the one that found it.
#[must_use]
pub fn last_calibration(state: &State, reference: &Id, before: NaiveDate) -> Option<NaiveDate> {
    let record = state.references().get(reference)?;
    record.calibrations.iter().map(|calibration| calibration.date).filter(|date| *date < before).max()
}

/// Runs of the record with their files, read one by one as they are asked for.
pub fn recorded<'a, R: Reading>(
    entries: Vec<Entry>,
    reading: &'a mut R,
) -> impl Iterator<Item = Case> + use<'a, R> {
    entries.into_iter().map(move |entry| {
        let files = run_of(reading, &entry.files).map_err(|error| error.to_string());
        Case {
            origin: entry.origin,
            certificate: entry.certificate,
            superseded: entry.superseded,
            customer: entry.customer,
            recorded: entry.recorded,
            files: files.map(|run| Box::new(run) as Box<dyn Store + Send>),
        }
    })
}
