//! `leverarm selftest`: published examples inside this very program, as a dated report.

use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::Args;

use super::{Ending, Failure};
use crate::export::folder::{self, FolderError, Written};
use crate::ingest::sha256;
use crate::selftest::{Ask, Report, cases, json, paper, text};

/// Arguments of `leverarm selftest`.
#[derive(Debug, Args)]
pub struct Arguments {
    /// a new folder for selftest.txt, selftest.json and selftest.pdf
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// the date of the report, YYYY-MM-DD; today where it is not said
    #[arg(long, value_name = "DATE")]
    dated: Option<NaiveDate>,
    /// the laboratory that keeps the report
    #[arg(long, value_name = "NAME")]
    laboratory: Option<String>,
    /// print JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments, out: &mut impl Write) -> Result<Ending, Failure> {
    let report = Report::new(
        Ask {
            dated: arguments.dated.unwrap_or_else(|| chrono::Local::now().date_naive()),
            laboratory: arguments.laboratory.clone(),
            executable_sha256: own_hash()?,
        },
        cases::run(),
    );
    let as_json = json(&report).map_err(|error| Failure::fault(error.to_string()))?;
    let as_text = text::text(&report);
    out.write_all(if arguments.json { &as_json } else { as_text.as_bytes() })?;
    if let Some(target) = &arguments.out {
        let written = write(target, &report, &as_text, &as_json)?;
        if !arguments.json {
            let state = match written {
                Written::New => "written",
                Written::Same => "unchanged, it was there already",
            };
            writeln!(out, "Report: {state}")?;
            for file in FILES {
                writeln!(out, "  {}", target.join(file).display())?;
            }
        }
    }
    Ok(if report.outcome.passed { Ending::Done } else { Ending::SelfTestFailed })
}

const FILES: [&str; 3] = ["selftest.txt", "selftest.json", "selftest.pdf"];

fn write(target: &Path, report: &Report, text: &str, json: &[u8]) -> Result<Written, Failure> {
    let pdf = paper::pdf(report).map_err(|error| Failure::fault(format!("no PDF: {error}")))?;
    let [text_file, json_file, pdf_file] = FILES;
    let files = [(text_file, text.as_bytes()), (json_file, json), (pdf_file, &pdf)];
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

/// SHA-256 of the program that runs, read from where the system says that it lies.
fn own_hash() -> Result<String, Failure> {
    let unreadable = |error| Failure::fault(format!("the program cannot read its own file: {error}"));
    let path = std::env::current_exe().map_err(unreadable)?;
    let bytes = std::fs::read(path).map_err(unreadable)?;
    Ok(sha256(&bytes))
}
