//! `leverarm ledger verify`, `backup`, `restore`, `copy`, `export`: the record is whole, and is elsewhere too.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use leverarm_ledger::entry::Head;
use leverarm_ledger::store::sqlite;
use leverarm_ledger::verify::{Report, verify as hold};
use serde_json::json;

use super::desk::{Desk, failure};
use crate::cli::{Ending, Failure};
use crate::diagnose::harmless;
use crate::export::folder;
use crate::office::recompute::recompute;
use crate::office::store::{self, AnyStore, open_store};
use crate::office::tables::{TablesError, sheets};

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub(super) struct Verify {
    /// an entry known from elsewhere, a number and its hash, as 'status' prints them: the chain must
    /// hold it; can be given again
    #[arg(long, value_name = "NUMBER:HASH", value_parser = anchor)]
    anchor: Vec<Head>,
    /// do not compute the evaluations anew
    #[arg(long)]
    no_recompute: bool,
}

fn anchor(text: &str) -> Result<Head, String> {
    let wrong = || "write the number of the entry, a colon and its hash".to_owned();
    let (sequence, hash) = text.split_once(':').ok_or_else(wrong)?;
    let sequence = sequence.trim().parse().map_err(|_| wrong())?;
    let hash = hash.trim().parse().map_err(|_| wrong())?;
    Ok(Head { sequence, hash })
}

/// Arguments of `backup`.
#[derive(Debug, Args)]
pub(super) struct Backup {
    /// the new file
    file: PathBuf,
}

/// Arguments of `restore`.
#[derive(Debug, Args)]
pub(super) struct Restore {
    /// the backup; its SHA-256 stands beside it
    backup: PathBuf,
    /// the new ledger file
    to: PathBuf,
}

/// Arguments of `copy`.
#[derive(Debug, Args)]
pub(super) struct Copy {
    /// where the new one goes: a file, or postgres://…
    to: String,
    /// the schema of the new one in a PostgreSQL database
    #[arg(long, value_name = "NAME", default_value = store::SCHEMA)]
    to_schema: String,
}

/// Arguments of `export`.
#[derive(Debug, Args)]
pub(super) struct Export {
    /// a new folder
    folder: PathBuf,
    /// as CSV; each form where none is named
    #[arg(long)]
    csv: bool,
    /// as Parquet
    #[arg(long)]
    parquet: bool,
    /// as JSON files
    #[arg(long)]
    as_json: bool,
}

pub(super) fn verify(desk: &mut Desk<'_, impl Write>, arguments: &Verify) -> Result<Ending, Failure> {
    // The store alone: a ledger that does not open is just what is to be looked at.
    let mut store = open_store(&desk.place()?).map_err(|error| failure(&error, None))?;
    let report = match arguments.no_recompute {
        true => hold(&mut store, &arguments.anchor, &mut |_, _| Ok(())),
        false => hold(&mut store, &arguments.anchor, &mut recompute),
    };
    say(desk, &report, arguments.no_recompute)?;
    Ok(if report.is_clean() { Ending::Done } else { Ending::LedgerNotWhole })
}

fn say(desk: &mut Desk<'_, impl Write>, report: &Report, is_shallow: bool) -> Result<(), Failure> {
    let evaluations = if is_shallow { 0 } else { report.evaluations };
    if desk.json() {
        let findings: Vec<_> = report
            .findings
            .iter()
            .map(|finding| json!({ "entry": finding.sequence, "problem": finding.problem.to_string() }))
            .collect();
        desk.print(&json!({
            "clean": report.is_clean(), "entries": report.entries, "files": report.files,
            "recomputed": evaluations, "head": report.head, "findings": findings,
            "first_bad": report.first_bad().and_then(|finding| finding.sequence),
            "more_findings": report.unnamed_findings,
        }))?;
        return Ok(());
    }
    if let Some(finding) = report.first_bad() {
        let entry = finding.sequence.unwrap_or_default();
        desk.line(&format!("NOT WHOLE: the first bad record is entry {entry}: {}", finding.problem))?;
    } else if !report.is_clean() {
        desk.line("NOT WHOLE: the entries hold, and this does not:")?;
    }
    for finding in &report.findings {
        match finding.sequence {
            Some(entry) => desk.line(&format!("  entry {entry}: {}", finding.problem))?,
            None => desk.line(&format!("  {}", finding.problem))?,
        }
    }
    if report.unnamed_findings > 0 {
        desk.line(&format!("  and {} more", report.unnamed_findings))?;
    }
    if !report.is_clean() {
        desk.line("  mend: keep this file as it is, and restore the last backup that verifies")?;
    }
    desk.line(&format!(
        "entries that hold: {}, files read: {}, evaluations computed anew: {evaluations}",
        report.entries, report.files
    ))?;
    desk.line(&format!("head {}:{}", report.head.sequence, report.head.hash))?;
    if report.is_clean() {
        desk.line(
            "whole. Keep the head elsewhere: a later 'verify --anchor' then finds a chain that was cut short",
        )?;
    }
    Ok(())
}

pub(super) fn backup(desk: &mut Desk<'_, impl Write>, arguments: &Backup) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let head = ledger.state().head();
    let AnyStore::Sqlite(store) = ledger.store() else {
        let what = "a backup is made of a ledger file";
        let remedy = "copy the server's ledger into a file first: 'leverarm ledger copy FILE'";
        return Err(Failure::bad_input(what, remedy));
    };
    let digest = store.backup(&arguments.file).map_err(|error| failure(&error.into(), None))?;
    if desk.json() {
        return desk.print(&json!({ "backup": arguments.file, "sha256": digest, "head": head }));
    }
    let shown = arguments.file.display();
    desk.line(&format!("{shown}  {digest}, which stands beside it as well ({shown}.sha256)"))?;
    desk.line(&format!("  at least up to entry {}, {}", head.sequence, head.hash))?;
    Ok(Ending::Done)
}

pub(super) fn restore(desk: &mut Desk<'_, impl Write>, arguments: &Restore) -> Result<Ending, Failure> {
    let report = sqlite::restore(&arguments.backup, &arguments.to).map_err(|error| failure(&error, None))?;
    if desk.json() {
        return desk
            .print(&json!({ "ledger": arguments.to, "entries": report.entries, "head": report.head }));
    }
    desk.line(&format!(
        "{}  restored: {} entries and {} files hold",
        arguments.to.display(),
        report.entries,
        report.files
    ))?;
    desk.line("its evaluations were not computed anew: 'leverarm ledger verify' does that")?;
    Ok(Ending::Done)
}

pub(super) fn copy(desk: &mut Desk<'_, impl Write>, arguments: &Copy) -> Result<Ending, Failure> {
    let to = desk.place_of(&arguments.to)?.with_schema(&arguments.to_schema);
    let mut ledger = desk.open()?;
    let head = store::copy(ledger.store(), &to).map_err(|error| failure(&error, None))?;
    if desk.json() {
        return desk.print(&json!({ "to": to.to_string(), "head": head }));
    }
    desk.line(&format!("{to}: every entry up to {}, {}", head.sequence, head.hash))?;
    desk.line("give it to the others with --ledger, and keep the old one as it is")?;
    Ok(Ending::Done)
}

fn tables_failure(error: TablesError) -> Failure {
    match error {
        TablesError::Store(error) => failure(&error.into(), None),
        TablesError::Entry { .. } => {
            Failure::bad_input(harmless(&error.to_string()), "'leverarm ledger verify' says what is wrong")
        }
        _ => Failure::fault(error.to_string()),
    }
}

pub(super) fn export(desk: &mut Desk<'_, impl Write>, arguments: &Export) -> Result<Ending, Failure> {
    let mut ledger = desk.open()?;
    let every = !(arguments.csv || arguments.as_json || arguments.parquet);
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for sheet in sheets(ledger.store()).map_err(tables_failure)? {
        let mut add = |ending: &str, bytes: Result<Vec<u8>, TablesError>| {
            bytes.map(|bytes| files.push((format!("{}.{ending}", sheet.name), bytes))).map_err(tables_failure)
        };
        if every || arguments.csv {
            add("csv", sheet.csv())?;
        }
        if every || arguments.as_json {
            add("json", sheet.json())?;
        }
        if every || arguments.parquet {
            add("parquet", sheet.parquet())?;
        }
    }
    let list: Vec<(&str, &[u8])> =
        files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
    folder::write(&arguments.folder, &list)?;
    if desk.json() {
        let names: Vec<_> = list.iter().map(|(name, _)| *name).collect();
        return desk.print(&json!({ "folder": arguments.folder, "files": names }));
    }
    for (name, bytes) in &list {
        desk.line(&format!("{}  {} bytes", arguments.folder.join(name).display(), bytes.len()))?;
    }
    Ok(Ending::Done)
}
