//! `leverarm sequence`: the bench sheet before the work.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use leverarm_metrology::finding::{Document, Finding, Place};
use leverarm_metrology::run::Run;

use super::{Ending, Failure, print_json};
use crate::certificate::Paper;
use crate::diagnose;
use crate::export::folder;
use crate::export::sequence::{Sheet, csv, paper, sheet, text};
use crate::ingest::{self, Loaded};

/// Arguments of `leverarm sequence`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// the run folder; its run.toml is enough, there need be no readings yet
    run: PathBuf,
    /// write the sheet as PDF, to fill in by hand
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// write an empty readings.csv with a row for each reading
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// the paper of the PDF
    #[arg(long, value_enum, default_value = "a4")]
    paper: Sheets,
    /// print JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Sheets {
    /// 210 mm by 297 mm
    A4,
    /// 8.5 in by 11 in
    Letter,
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let mut loaded = ingest::load(&arguments.run);
    loaded.findings.retain(|finding| concerns_the_work(finding, loaded.reference.is_some()));
    let (run, rulebook) = match (loaded.run.take(), loaded.rulebook.take()) {
        (Some(run), Some(rulebook)) if !loaded.has_errors() => (run, rulebook),
        _ => return refuse(&loaded, arguments.json, out),
    };
    let sheet =
        sheet(&run, &rulebook).map_err(|error| Failure::bad_input(error.to_string(), error.remedy()))?;
    let written = write_files(arguments, &sheet, &run)?;
    if arguments.json {
        print_json(out, &sheet)?;
    } else if written.is_empty() {
        out.write_all(text(&sheet).as_bytes())?;
    } else {
        written.iter().try_for_each(|line| writeln!(out, "{line}"))?;
    }
    Ok(Ending::Done)
}

/// Readings that are not there yet, and a reference that is not chosen yet, are no fault of a sheet.
fn concerns_the_work(finding: &Finding, has_reference: bool) -> bool {
    let of_reference = |path: &str| path == "reference" || path.starts_with("reference.");
    match &finding.place {
        Place::Whole(document) | Place::Bytes { document, .. } => {
            !matches!(document, Document::Readings | Document::Reference)
        }
        Place::Row { .. } => false,
        Place::Key { document: Document::Run, path } => {
            path != "readings.file" && (has_reference || !of_reference(path))
        }
        Place::Key { document, .. } => *document != Document::Reference,
    }
}

fn refuse(loaded: &Loaded, as_json: bool, out: &mut impl Write) -> Result<Ending, Failure> {
    if as_json {
        let findings: Vec<_> = diagnose::entries(&loaded.findings, &loaded.sources);
        print_json(out, &serde_json::json!({ "findings": findings }))?;
    } else {
        eprintln!("{}", diagnose::text(&loaded.findings, &loaded.sources));
    }
    Ok(Ending::BadInput)
}

/// Makes every file before the first is written; returns a line on each.
fn write_files(arguments: &Arguments, sheet: &Sheet, run: &Run) -> Result<Vec<String>, Failure> {
    let mut made: Vec<(&str, &Path, Vec<u8>)> = Vec::new();
    if let Some(path) = &arguments.pdf {
        let paper = match arguments.paper {
            Sheets::A4 => Paper::A4,
            Sheets::Letter => Paper::UsLetter,
        };
        let bytes = paper::pdf(sheet, run.performed, paper)
            .map_err(|error| Failure::fault(format!("the bench sheet cannot be set: {error}")))?;
        made.push(("Bench sheet", path, bytes));
    }
    if let Some(path) = &arguments.csv {
        let bytes = csv(sheet).map_err(|error| Failure::fault(error.to_string()))?;
        made.push(("Empty readings", path, bytes));
    }
    made.into_iter()
        .map(|(what, path, bytes)| {
            let state = if write(path, &bytes)? { "written" } else { "unchanged, it was there already" };
            Ok(format!("{what}: {} {state}", path.display()))
        })
        .collect()
}

/// Writes a new file whole or not at all; `false` where it is there already, byte for byte the same.
/// A sheet may have been written on, and readings filled in: other content is never replaced.
fn write(path: &Path, bytes: &[u8]) -> Result<bool, Failure> {
    let unwritable = |error: io::Error| {
        Failure::bad_input(
            format!("cannot write {}: {error}", path.display()),
            "give a new file in a folder that is there and may be written to",
        )
    };
    let occupied = || {
        Failure::bad_input(
            format!("{} is there with other content", path.display()),
            "give another file; what may have been filled in is never replaced",
        )
    };
    if path.exists() {
        return if fs::read(path).is_ok_and(|there| there == bytes) { Ok(false) } else { Err(occupied()) };
    }
    folder::replace_file(path, bytes).map(|()| true).map_err(unwritable)
}
