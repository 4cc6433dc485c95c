//! `leverarm exposure`: what a reference that was found wrong reaches.

use std::io::{IsTerminal, Write};
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::thread;

use chrono::NaiveDate;
use clap::{Args, Subcommand, ValueEnum};
use leverarm_ledger::keys::Signer;
use leverarm_ledger::rules::Command;
use leverarm_ledger::text::Id;
use leverarm_metrology::exposure::Model;
use leverarm_metrology::reference::Reference;
use zeroize::Zeroizing;

use super::key::read_within;
use super::{Ending, Failure, print_json};
use crate::diagnose::harmless;
use crate::export::folder::{self, FolderError, Written};
use crate::office::exposure::letter::{self, Letter, Terms};
use crate::office::exposure::{Question, Report, cases, entry, examine, found, table, text};
use crate::office::store::{AnyLedger, Place, open};

const LEDGER: &str = "LEVERARM_LEDGER";
const LEDGER_DEFAULT: &str = "ledger.sqlite";
/// Largest file of a calibration that is read, bytes.
const FOUND_MAX: u64 = 4 << 20;

/// Arguments of `leverarm exposure`.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// A reference came back from its own calibration out of limits: which verdicts stand
    Reference(Box<OfReference>),
}

/// When the reference is taken to have changed.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Assumed {
    /// right after its last calibration: the largest effect
    AtOnce,
    /// evenly between the two calibrations
    Linear,
}

#[derive(Debug, Args)]
struct OfReference {
    /// the laboratory's name of the reference
    id: String,
    /// run folders; none: the runs of the ledger
    runs: Vec<PathBuf>,
    /// the reference file of the new calibration
    #[arg(long, value_name = "FILE.toml")]
    found: PathBuf,
    /// the first day of the runs that are looked at; without it that of the calibration before
    #[arg(long, value_name = "DATE")]
    since: Option<NaiveDate>,
    /// when the reference is taken to have changed
    #[arg(long, value_enum, default_value = "at-once")]
    model: Assumed,
    /// the ledger; LEVERARM_LEDGER or ledger.sqlite where it is not named
    #[arg(long, value_name = "LEDGER", conflicts_with = "runs")]
    ledger: Option<String>,
    /// a new folder for the report (text, CSV, JSON) and a letter a customer (PDF)
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// show the points of runs of which every verdict stands, and write to their customers too
    #[arg(long)]
    all: bool,
    /// the date of the letters, YYYY-MM-DD; today where it is not said
    #[arg(long, value_name = "DATE")]
    dated: Option<NaiveDate>,
    /// who approved the letters; without it each page says that it is a draft
    #[arg(long, value_name = "NAME")]
    approved_by: Option<String>,
    /// exit code 1 when any verdict changes, or a run cannot be computed again
    #[arg(long)]
    gate: bool,
    /// print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    record: RecordArguments,
}

/// What goes into the ledger, where it is asked for.
#[derive(Debug, Args)]
struct RecordArguments {
    /// record in the ledger that the reference was found wrong, with the report and the letters
    #[arg(long, requires_all = ["person", "number", "why"], conflicts_with = "runs")]
    record: bool,
    /// who records it
    #[arg(long = "as", value_name = "PERSON", requires = "record")]
    person: Option<String>,
    /// the laboratory's number of the exposure
    #[arg(long, value_name = "NUMBER", requires = "record")]
    number: Option<String>,
    /// how it was found, in a sentence
    #[arg(long, value_name = "TEXT", requires = "record")]
    why: Option<String>,
    /// the key of that person; LEVERARM_KEY where it is not named
    #[arg(long, value_name = "KEY.pem", requires = "record")]
    key: Option<PathBuf>,
    /// a file that holds the passphrase; LEVERARM_PASSPHRASE or the terminal where it is not named
    #[arg(long, value_name = "FILE", requires = "record")]
    passphrase_file: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let What::Reference(asked) = &arguments.what;
    let bytes = read_within(&asked.found, FOUND_MAX)?;
    let Some(reference) = read_found(asked, &bytes)? else { return Ok(Ending::BadInput) };
    let model = match asked.model {
        Assumed::AtOnce => Model::AtOnce,
        Assumed::Linear => Model::Linear,
    };
    let question = Question { found: &reference, model, since: asked.since };
    let threads = thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let (report, mut ledger) = if asked.runs.is_empty() {
        let (report, ledger) = of_ledger(asked, question, threads)?;
        (report, Some(ledger))
    } else {
        (examine(&question, cases::folders(&asked.runs), threads), None)
    };
    if report.rows.is_empty() {
        return Err(nothing(asked, &report));
    }
    let letters = letters(asked, &report, ledger.as_ref())?;
    let as_json = serde_json::to_vec_pretty(&report)?;
    if asked.json {
        print_json(out, &report)?;
    } else {
        out.write_all(text::render(&report, asked.all).as_bytes())?;
    }
    if let Some(target) = &asked.out {
        let written = write(target, &report, &as_json, &letters)?;
        if !asked.json {
            said(out, target, written, &letters)?;
        }
    }
    if let (true, Some(ledger)) = (asked.record.record, ledger.as_mut()) {
        let sequence = record(asked, ledger, &report, &bytes, &as_json, &letters)?;
        if !asked.json {
            writeln!(out, "Recorded: up to entry {sequence}")?;
        }
    }
    Ok(if asked.gate && report.is_changed() { Ending::VerdictsChanged } else { Ending::Done })
}

/// The new calibration; `None` when what is wrong with it has been said.
fn read_found(asked: &OfReference, bytes: &[u8]) -> Result<Option<Reference>, Failure> {
    let shown = harmless(&asked.found.display().to_string());
    match found::read(bytes) {
        Ok(reference) if reference.id == asked.id => Ok(Some(reference)),
        Ok(reference) => Err(Failure::bad_input(
            format!(
                "{shown} is of the reference {}, asked was {}",
                harmless(&reference.id),
                harmless(&asked.id)
            ),
            "give the new calibration of that reference",
        )),
        Err(error) => {
            eprint!("{}", crate::diagnose::text(&error.findings, &error.sources));
            eprintln!("in {shown}");
            Ok(None)
        }
    }
}

fn of_ledger(
    asked: &OfReference,
    question: Question<'_>,
    threads: NonZeroUsize,
) -> Result<(Report, AnyLedger), Failure> {
    let named = asked.ledger.clone().or_else(|| variable(LEDGER));
    let place = Place::parse(&named.unwrap_or_else(|| LEDGER_DEFAULT.to_owned()));
    if let Place::File(path) = &place
        && !path.exists()
    {
        let what = format!("there is no ledger {}", harmless(&path.display().to_string()));
        let remedy = format!("name it with --ledger or {LEDGER}, or give the folders of the runs");
        return Err(Failure::bad_input(what, remedy));
    }
    let mut ledger =
        open(&place).map_err(|error| Failure::bad_input(harmless(&error.to_string()), error.remedy()))?;
    let id = name(&asked.id)?;
    let is_known = ledger.state().references().contains_key(&id);
    if !is_known {
        let known: Vec<&str> = ledger.state().references().keys().map(Id::as_str).collect();
        return Err(Failure::bad_input(
            format!("the ledger has no reference {}", harmless(&asked.id)),
            format!("give one of: {}", harmless(&known.join(", "))),
        ));
    }
    let before = question.found.calibrated_on;
    let since = asked.since.or_else(|| cases::last_calibration(ledger.state(), &id, before));
    let entries = cases::entries(ledger.state(), &id, since.unwrap_or(NaiveDate::MIN));
    let report = examine(&Question { since, ..question }, cases::recorded(entries, ledger.store()), threads);
    Ok((report, ledger))
}

fn nothing(asked: &OfReference, report: &Report) -> Failure {
    let counts = report.counts;
    Failure::bad_input(
        format!(
            "no run used {} between its two calibrations ({} used another reference, {} are from before, {} from after {})",
            harmless(&asked.id),
            counts.other_reference,
            counts.earlier,
            counts.later,
            report.found.calibrated_on,
        ),
        "see whether --found is the calibration that came after these runs, and --since early enough",
    )
}

fn letters(asked: &OfReference, report: &Report, ledger: Option<&AnyLedger>) -> Result<Vec<Letter>, Failure> {
    if asked.out.is_none() && !asked.record.record {
        return Ok(Vec::new());
    }
    let terms = Terms {
        dated: asked.dated.unwrap_or_else(|| chrono::Local::now().date_naive()),
        approved_by: asked.approved_by.clone(),
        laboratory: ledger.and_then(|ledger| ledger.state().laboratory()).map(ToString::to_string),
        unaffected_too: asked.all,
    };
    letter::letters(report, &terms).map_err(|error| Failure::fault(format!("no letter: {error}")))
}

fn write(target: &Path, report: &Report, json: &[u8], letters: &[Letter]) -> Result<Written, Failure> {
    let csv = table::to_bytes(report).map_err(|error| Failure::fault(error.to_string()))?;
    let text = text::render(report, true);
    let mut files: Vec<(&str, &[u8])> =
        vec![("exposure.txt", text.as_bytes()), ("exposure.csv", &csv), ("exposure.json", json)];
    files.extend(letters.iter().map(|letter| (letter.file.as_str(), letter.pdf.as_slice())));
    folder::write(target, &files).map_err(|error| match error {
        FolderError::Occupied { path, file } => Failure::bad_input(
            format!(
                "{} holds something else, and a report is never overwritten (the first difference is {file})",
                path.display()
            ),
            "give a new folder with --out",
        ),
        io @ FolderError::Io { .. } => Failure::fault(io.to_string()),
    })
}

fn said(out: &mut impl Write, target: &Path, written: Written, letters: &[Letter]) -> Result<(), Failure> {
    let state = match written {
        Written::New => "written",
        Written::Same => "unchanged, it was there already",
    };
    writeln!(out, "Report: {state}")?;
    for file in ["exposure.txt", "exposure.csv", "exposure.json"] {
        writeln!(out, "  {}", target.join(file).display())?;
    }
    for letter in letters {
        writeln!(out, "  {}  to {}", target.join(&letter.file).display(), harmless(&letter.to.name))?;
    }
    Ok(())
}

fn record(
    asked: &OfReference,
    ledger: &mut AnyLedger,
    report: &Report,
    found_file: &[u8],
    json: &[u8],
    letters: &[Letter],
) -> Result<u64, Failure> {
    let of = |text: &Option<String>| text.clone().unwrap_or_default();
    let (number, why) = (of(&asked.record.number), of(&asked.record.why));
    let since = report.since.unwrap_or(report.found.calibrated_on);
    let said = entry::Said { exposure: &number, why: &why, since };
    let entries = entry::entries(report, &said, found_file, json, letters)
        .map_err(|error| Failure::bad_input(harmless(&error.to_string()), error.remedy()))?;
    let signer = signer(asked)?;
    let now = || chrono::Local::now().fixed_offset();
    let mut sequence = ledger.state().head().sequence;
    for event in entries.events {
        let done = ledger.record(&signer, &now, Command::Record(event), &entries.files);
        let head = done.map_err(|error| Failure::bad_input(harmless(&error.to_string()), error.remedy()))?;
        sequence = head.sequence;
    }
    Ok(sequence)
}

fn signer(asked: &OfReference) -> Result<Signer, Failure> {
    let person = name(asked.record.person.as_deref().unwrap_or_default())?;
    let path = asked.record.key.clone().or_else(|| variable("LEVERARM_KEY").map(PathBuf::from)).ok_or_else(
        || {
            Failure::bad_input(
                "nothing is written without a signature, and no key was named",
                "name your key with --key KEY.pem, or in LEVERARM_KEY",
            )
        },
    )?;
    let pem = Zeroizing::new(super::key::text(&path)?);
    let passphrase = passphrase(asked.record.passphrase_file.as_deref())?;
    Signer::from_pem(person, &pem, &passphrase)
        .map_err(|error| Failure::bad_input(error.to_string(), error.remedy()))
}

fn passphrase(file: Option<&Path>) -> Result<Zeroizing<String>, Failure> {
    if let Some(file) = file {
        let text = Zeroizing::new(super::key::text(file)?);
        return Ok(Zeroizing::new(text.lines().next().unwrap_or_default().to_owned()));
    }
    if let Some(found) = variable("LEVERARM_PASSPHRASE") {
        return Ok(Zeroizing::new(found));
    }
    let remedy = "set LEVERARM_PASSPHRASE, name a file with --passphrase-file, or run it at a terminal";
    if !std::io::stdin().is_terminal() {
        return Err(Failure::bad_input("there is no passphrase, and no terminal to ask for it", remedy));
    }
    rpassword::prompt_password("Passphrase of the key: ")
        .map(Zeroizing::new)
        .map_err(|error| Failure::bad_input(format!("the passphrase cannot be asked for: {error}"), remedy))
}

fn name(text: &str) -> Result<Id, Failure> {
    Id::new(text).map_err(|error| Failure::bad_input(harmless(&error.to_string()), error.remedy()))
}

/// A variable of the environment that is not empty.
fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|found| !found.is_empty())
}
