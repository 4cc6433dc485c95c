//! `leverarm ledger issue`, `amend`, `withdraw`: certificates under numbers that the ledger draws.

use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::{SubsecRound, Utc};
use clap::{Args, ValueEnum};
use leverarm_ledger::event::{CertificateNumber, Event, Withdrawn};
use leverarm_ledger::state::{Job, JobState};
use leverarm_ledger::text::{Id, Text};
use leverarm_ledger::{LedgerError, Refusal};
use serde_json::json;
use zeroize::Zeroizing;

use super::desk::{Desk, failure, now, passphrase};
use super::evaluation::run_failure;
use super::names;
use super::runs::job_of;
use crate::certificate::proof::LaboratoryKey;
use crate::certificate::{Paper, number};
use crate::cli::key::{read_within, seal_failure, text};
use crate::cli::{Ending, Failure};
use crate::diagnose::harmless;
use crate::export::folder;
use crate::office::documents::{Amending, DocumentsError, Prepared, Terms, prepare, unfit};
use crate::office::store::AnyLedger;

/// Where the passphrase of the laboratory's key may stand.
const SEAL_PASSPHRASE: &str = "LEVERARM_SEAL_PASSPHRASE";
/// Largest run.toml, bytes.
const RUN_FILE_MAX: u64 = 4 << 20;

/// How the certificate looks and where it goes.
#[derive(Debug, Args)]
pub(super) struct Output {
    /// where the folder of the certificate goes; it is named by the number
    #[arg(long, value_name = "FOLDER", default_value = "certificates")]
    out: PathBuf,
    /// the paper
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperChoice,
    /// draw the deviation curve over the range, with its uncertainty band
    #[arg(long)]
    curve: bool,
    /// seal with the laboratory's certificate (PEM; those of its issuers may follow in the file)
    #[arg(long, value_name = "CERT.pem", requires = "seal_key")]
    seal_with: Option<PathBuf>,
    /// the key of that certificate, encrypted (PKCS#8, PEM)
    #[arg(long, value_name = "KEY.pem", requires = "seal_with")]
    seal_key: Option<PathBuf>,
    /// the first line is that key's passphrase; else LEVERARM_SEAL_PASSPHRASE, else it is asked for
    #[arg(long, value_name = "FILE")]
    seal_passphrase_file: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum PaperChoice {
    /// 210 mm by 297 mm
    A4,
    /// 8.5 in by 11 in
    Letter,
}

/// Arguments of `issue`.
#[derive(Debug, Args)]
pub(super) struct Issue {
    /// the approved job
    #[arg(value_parser = names::id)]
    job: Id,
    /// name of the series of numbers, such as SK-2026
    #[arg(long, value_parser = series)]
    series: Id,
    #[command(flatten)]
    output: Output,
}

/// Arguments of `amend`.
#[derive(Debug, Args)]
pub(super) struct Amend {
    /// the certificate that holds now, such as SK-2026-0007
    #[arg(value_parser = names::number)]
    number: CertificateNumber,
    /// what changed, and why; it is printed
    #[arg(long, value_parser = names::text)]
    changed: Text,
    /// a corrected run.toml, in the place of that of the run in the same state of the tool; the readings
    /// stay as they are; can be given again
    #[arg(long, value_name = "FILE")]
    run_toml: Vec<PathBuf>,
    #[command(flatten)]
    output: Output,
}

/// Arguments of `withdraw`.
#[derive(Debug, Args)]
pub(super) struct Withdraw {
    /// the certificate
    #[arg(value_parser = names::number)]
    number: CertificateNumber,
    /// why
    #[arg(long, value_parser = names::text)]
    reason: Text,
}

/// A series whose numbers can be printed and name a folder.
fn series(text: &str) -> Result<Id, String> {
    number::check(&format!("{text}-0001")).map_err(|error| error.to_string())?;
    names::id(text)
}

/// A failure of the certificate.
pub(super) fn documents_failure(error: &DocumentsError) -> Failure {
    let remedy = match error {
        DocumentsError::Run { error, .. } => return run_failure(error),
        DocumentsError::Gaps { .. } => "return the job, mend the run and add it again",
        DocumentsError::OtherVerdict { .. } => {
            "evaluate the job again with this version, and submit it again"
        }
        DocumentsError::Order { .. } => "look at 'performed' in both run.toml",
        DocumentsError::NoRun => "add the run and evaluate it",
        DocumentsError::Number(error) => error.remedy(),
        DocumentsError::Corrected { .. } => "mend that file",
        DocumentsError::Make(_) => "see whether the two runs are of one tool and one job",
        DocumentsError::Pack(_) => "see whether the laboratory's key and certificate belong together",
        DocumentsError::Render(_) => return Failure::fault(error.to_string()),
    };
    Failure::bad_input(harmless(&error.to_string()), remedy)
}

impl Output {
    fn terms(&self, approver: String) -> Terms {
        let paper = match self.paper {
            PaperChoice::A4 => Paper::A4,
            PaperChoice::Letter => Paper::UsLetter,
        };
        Terms { approver, issued: now().date_naive(), paper, curve: self.curve }
    }

    /// The laboratory's key, where it was named.
    fn seal(&self) -> Result<Option<LaboratoryKey>, Failure> {
        let (Some(certificate), Some(key)) = (&self.seal_with, &self.seal_key) else { return Ok(None) };
        let (certificate, key) = (text(certificate)?, Zeroizing::new(text(key)?));
        let words = "Passphrase of the laboratory's key: ";
        let passphrase = passphrase(self.seal_passphrase_file.as_deref(), SEAL_PASSPHRASE, words, false)?;
        LaboratoryKey::from_pem(&key, &certificate, &passphrase).map(Some).map_err(seal_failure)
    }
}

/// Files of a certificate: name and bytes.
type Files = Vec<(String, Vec<u8>)>;

/// Renders inside the exclusive section, and keeps a copy for the folder.
fn rendering<'a>(
    prepared: &'a mut Prepared,
    seal: Option<&'a LaboratoryKey>,
    files: &'a mut Files,
) -> impl FnMut(&CertificateNumber) -> Result<Vec<(Id, Vec<u8>)>, String> + 'a {
    move |number| {
        let at = Utc::now().trunc_subsecs(0);
        let made = prepared.make(number, seal.map(|key| (key, at))).map_err(|error| error.to_string())?;
        let named = made
            .iter()
            .map(|(path, bytes)| Ok((names::id(path)?, bytes.clone())))
            .collect::<Result<_, String>>()?;
        *files = made;
        Ok(named)
    }
}

pub(super) fn issue(desk: &mut Desk<'_, impl Write>, arguments: &Issue) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let job = job_of(&ledger, &arguments.job)?.clone();
    let approver = approver(&ledger, &job)?;
    let signer = desk.signer(&ledger)?;
    let seal = arguments.output.seal()?;
    let terms = arguments.output.terms(approver);
    let mut prepared =
        prepare(&mut *ledger.store(), &job, terms, None).map_err(|error| documents_failure(&error))?;
    let mut files = Vec::new();
    let mut render = rendering(&mut prepared, seal.as_ref(), &mut files);
    let drawn = ledger.issue(&signer, &now, &arguments.job, &arguments.series, &mut render);
    drop(render);
    let drawn = drawn.map_err(|error| failure(&error, Some(ledger.state())))?;
    let said = format!("certificate {drawn} of job {} is issued", arguments.job);
    issued(desk, &ledger, &arguments.output, &drawn, &files, &said, json!({ "job": arguments.job }))
}

/// Who answers for an approved job, as it is printed.
fn approver(ledger: &AnyLedger, job: &Job) -> Result<String, Failure> {
    let state = ledger.state();
    let approver = job.approver.as_ref().filter(|_| job.state == JobState::Approved);
    match approver.and_then(|approver| state.people().get(approver)) {
        Some(person) => Ok(person.name.to_string()),
        None => {
            let job_id = job.received.job.clone();
            let refusal =
                Refusal::WrongState { job: job_id, state: job.state, wanted: &[JobState::Approved] };
            Err(failure(&refusal.into(), Some(state)))
        }
    }
}

/// Writes the folder of a certificate that is in the record, and says so.
fn issued(
    desk: &mut Desk<'_, impl Write>,
    ledger: &AnyLedger,
    output: &Output,
    drawn: &CertificateNumber,
    files: &Files,
    said: &str,
    more: serde_json::Value,
) -> Result<Ending, Failure> {
    let target = write_folder(&output.out, drawn, files).map_err(|error| {
        let again = format!("'leverarm ledger show {drawn} --out FOLDER' writes its files again");
        Failure::bad_input(
            harmless(&format!(
                "certificate {drawn} is in the record, and its folder was not written: {error}"
            )),
            again,
        )
    })?;
    let mut more = more;
    if let Some(object) = more.as_object_mut() {
        object.insert("certificate".to_owned(), drawn.to_string().into());
        object.insert("folder".to_owned(), target.display().to_string().into());
        object.insert("files".to_owned(), files.iter().map(|(name, _)| name.as_str()).collect());
        object.insert("sealed".to_owned(), output.seal_with.is_some().into());
    }
    desk.said(ledger.state().head(), said, more)?;
    if !desk.json() {
        for (name, _) in files {
            desk.line(&format!("  {}", target.join(name).display()))?;
        }
        if output.seal_with.is_none() {
            desk.line(
                "not sealed: a customer cannot tell whose it is (--seal-with CERT.pem --seal-key KEY.pem; \
                 'leverarm key new' makes a key)",
            )?;
        }
    }
    Ok(Ending::Done)
}

/// Writes the files of a certificate into a folder of its number.
pub(super) fn write_folder(
    out: &Path,
    number: &CertificateNumber,
    files: &Files,
) -> Result<PathBuf, folder::FolderError> {
    let target = out.join(number::folder_name(&number.to_string()));
    let list: Vec<(&str, &[u8])> =
        files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
    folder::write(&target, &list)?;
    Ok(target)
}

pub(super) fn amend(desk: &mut Desk<'_, impl Write>, arguments: &Amend) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let known = ledger.state().certificates().get(&arguments.number).map(|known| known.job.clone());
    let unknown =
        || -> LedgerError { Refusal::UnknownCertificate { certificate: arguments.number.clone() }.into() };
    let job = known.ok_or_else(|| failure(&unknown(), Some(ledger.state())))?;
    let job = job_of(&ledger, &job)?.clone();
    let signer = desk.signer(&ledger)?;
    let people = ledger.state().people();
    let author = people.get(signer.id()).map(|person| person.name.to_string()).unwrap_or_default();
    let mut amending = Amending {
        replaces: arguments.number.clone(),
        changed: arguments.changed.to_string(),
        corrected: Vec::new(),
    };
    for path in &arguments.run_toml {
        amending.corrected.push(read_within(path, RUN_FILE_MAX)?);
    }
    if let Some(reason) = unfit(&job, &amending.corrected) {
        return Err(Failure::bad_input(harmless(&reason), "give the run.toml of one of its runs, corrected"));
    }
    let seal = arguments.output.seal()?;
    let terms = arguments.output.terms(author);
    let mut prepared = prepare(&mut *ledger.store(), &job, terms, Some(&amending))
        .map_err(|error| documents_failure(&error))?;
    let mut files = Vec::new();
    let mut render = rendering(&mut prepared, seal.as_ref(), &mut files);
    let drawn = ledger.amend(&signer, &now, &arguments.number, &arguments.changed, &mut render);
    drop(render);
    let drawn = drawn.map_err(|error| failure(&error, Some(ledger.state())))?;
    let said = format!("certificate {drawn} takes the place of {}", arguments.number);
    let more = json!({ "replaces": arguments.number.to_string() });
    issued(desk, &ledger, &arguments.output, &drawn, &files, &said, more)
}

pub(super) fn withdraw(desk: &mut Desk<'_, impl Write>, arguments: &Withdraw) -> Result<Ending, Failure> {
    let (certificate, why) = (arguments.number.clone(), arguments.reason.clone());
    let said = format!("certificate {certificate} is withdrawn: {why}");
    let more = json!({ "certificate": certificate.to_string() });
    desk.record(Event::Withdrawn(Withdrawn { certificate, why }), &[], &said, more)
}
