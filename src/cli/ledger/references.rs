//! `leverarm ledger reference`, `check-standard`: what the laboratory measures with, and its calibrations.

use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::{Args, Subcommand};
use leverarm_ledger::event::{self, CheckStandardMeasured, Event, FileRef, ReferenceCalibrated, Superseded};
use leverarm_ledger::text::{Decimal, Id, Text};
use leverarm_metrology::finding::{Document, Place as FindingPlace};
use serde_json::json;

use super::desk::{Desk, attach, attach_all, write};
use super::names;
use super::things::recorded;
use crate::cli::{Ending, Failure};
use crate::diagnose;
use crate::ingest;
use crate::ingest::store::Memory;

/// Commands about references.
#[derive(Debug, Subcommand)]
pub(super) enum Reference {
    /// Register a reference with its present calibration, both out of its reference file
    Add(ReferenceAdd),
    /// Record a new calibration of a reference, out of its reference file
    Calibrated {
        /// the reference file
        file: PathBuf,
        /// the certificate itself, or whatever belongs to it; can be given again
        #[arg(long, value_name = "FILE")]
        attach: Vec<PathBuf>,
    },
    /// List the references
    List,
}

/// Arguments of `reference add`.
#[derive(Debug, Args)]
pub(super) struct ReferenceAdd {
    /// the reference file
    file: PathBuf,
    /// maker
    #[arg(long, value_parser = names::text)]
    maker: Text,
    /// model
    #[arg(long, value_parser = names::text)]
    model: Text,
    /// after how many loadings it is due, where the laboratory counts them
    #[arg(long, value_name = "NUMBER")]
    interval_uses: Option<u64>,
    /// the certificate of the calibration, or whatever belongs to it; can be given again
    #[arg(long, value_name = "FILE")]
    attach: Vec<PathBuf>,
    /// why, where this takes the place of what was known before; no calibration is then recorded
    #[arg(long, value_parser = names::text)]
    why: Option<Text>,
}

/// A reference file with what stands in it.
struct ReferenceFile {
    reference: leverarm_metrology::reference::Reference,
    file: FileRef,
    bytes: Vec<u8>,
}

/// Reads a reference file by itself: a run that names nothing but it.
fn reference_file(path: &Path) -> Result<ReferenceFile, Failure> {
    let (file, bytes) = attach(path)?;
    let shown = file.path.to_string();
    let run = format!("format = 1\n[reference]\nfile = {}\n", toml_edit::Value::from(shown.as_str()));
    let loaded = ingest::parse(&Memory::new().with("run.toml", run).with(&shown, bytes.clone()));
    let Some(reference) = loaded.reference else {
        let of_file = |finding: &&leverarm_metrology::finding::Finding| {
            matches!(
                finding.place,
                FindingPlace::Whole(Document::Reference)
                    | FindingPlace::Key { document: Document::Reference, .. }
                    | FindingPlace::Bytes { document: Document::Reference, .. }
            )
        };
        let findings: Vec<_> = loaded.findings.iter().filter(of_file).cloned().collect();
        eprintln!("{}", diagnose::text(&findings, &loaded.sources));
        return Err(Failure::bad_input(
            format!("{} cannot be used as a reference", diagnose::harmless(&shown)),
            "mend what is said above",
        ));
    };
    Ok(ReferenceFile { reference, file, bytes })
}

impl ReferenceFile {
    fn name(&self, text: &str) -> Result<Id, Failure> {
        names::id(text).map_err(|reason| Failure::bad_input(reason, "mend it in the reference file"))
    }

    fn calibrated(&self, more: Vec<FileRef>) -> Result<Event, Failure> {
        let mut files = vec![self.file.clone()];
        files.extend(more);
        Ok(Event::ReferenceCalibrated(ReferenceCalibrated {
            reference: self.name(&self.reference.id)?,
            certificate: self.name(&self.reference.certificate)?,
            laboratory: recorded(&self.reference.calibrated_by)?,
            date: self.reference.calibrated_on,
            due: self.reference.due,
            files,
        }))
    }

    /// Records the calibration, after what else is to be recorded of the reference: one signature asks
    /// for one passphrase.
    fn record(
        &self,
        desk: &mut Desk<'_, impl Write>,
        before: Option<Event>,
        attached: &[PathBuf],
    ) -> Result<Ending, Failure> {
        let (more, mut bytes) = attach_all(attached)?;
        bytes.insert(0, self.bytes.clone());
        let event = self.calibrated(more)?;
        let mut ledger = desk.open()?;
        let signer = desk.signer(&ledger)?;
        if let Some(before) = before {
            write(&mut ledger, &signer, before, &[])?;
        }
        let head = write(&mut ledger, &signer, event, &bytes)?;
        let reference = &self.reference;
        let said = format!(
            "reference {}: certificate {} of {}, from {} to {}",
            reference.id,
            reference.certificate,
            reference.calibrated_by,
            reference.calibrated_on,
            reference.due
        );
        desk.said(head, &said, json!({ "reference": reference.id, "certificate": reference.certificate }))
    }
}

pub(super) fn reference(desk: &mut Desk<'_, impl Write>, what: &Reference) -> Result<Ending, Failure> {
    match what {
        Reference::Add(add) => {
            let file = reference_file(&add.file)?;
            let reference = event::Reference {
                id: file.name(&file.reference.id)?,
                maker: add.maker.clone(),
                model: add.model.clone(),
                serial: recorded(&file.reference.serial)?,
                range: Some(recorded(&file.reference.range.to_string())?),
                interval_uses: add.interval_uses,
            };
            let said = format!("reference {}: {} {}", reference.id, reference.maker, reference.model);
            let more = json!({ "reference": reference.id });
            if let Some(why) = &add.why {
                let event = Event::ReferenceSuperseded(Superseded { now: reference, why: why.clone() });
                return desk.record(event, &[], &said, more);
            }
            file.record(desk, Some(Event::ReferenceRegistered(reference)), &add.attach)
        }
        Reference::Calibrated { file, attach } => reference_file(file)?.record(desk, None, attach),
        Reference::List => references(desk),
    }
}

fn references(desk: &mut Desk<'_, impl Write>) -> Result<Ending, Failure> {
    let ledger = desk.open()?;
    let references = ledger.state().references();
    if desk.json() {
        let list: Vec<_> = references
            .values()
            .map(|record| {
                json!({ "reference": record.reference, "calibrations": record.calibrations,
                        "uses": record.uses, "uses_since_latest": record.uses_since_latest() })
            })
            .collect();
        return desk.print(&list);
    }
    let rows = references
        .iter()
        .map(|(id, record)| {
            let latest = record.latest();
            let of = |text: Option<String>| text.unwrap_or_default();
            vec![
                id.to_string(),
                format!("{} {}", record.reference.maker, record.reference.model),
                of(latest.map(|latest| latest.certificate.to_string())),
                of(latest.map(|latest| latest.date.to_string())),
                of(latest.map(|latest| latest.due.to_string())),
                uses(record.uses_since_latest(), record.reference.interval_uses),
            ]
        })
        .collect();
    desk.table(&["reference", "what it is", "certificate", "calibrated", "due", "loadings since"], rows)?;
    Ok(Ending::Done)
}

/// Loadings, and how many are allowed where they are counted.
pub(super) fn uses(uses: u64, most: Option<u64>) -> String {
    most.map_or_else(|| uses.to_string(), |most| format!("{uses} of {most}"))
}

/// Commands about check standards.
#[derive(Debug, Subcommand)]
pub(super) enum CheckStandard {
    /// Register a check standard
    Add {
        /// the laboratory's name for it
        #[arg(value_parser = names::id)]
        id: Id,
        /// what it is
        #[arg(long, value_parser = names::text)]
        description: Text,
    },
    /// Record what a reference showed on it
    Measured {
        /// which check standard
        #[arg(value_parser = names::id)]
        id: Id,
        /// with which reference
        #[arg(long, value_parser = names::id)]
        reference: Id,
        /// what came out, such as 100.04
        #[arg(long, value_parser = names::decimal, allow_hyphen_values = true)]
        value: Decimal,
        /// in which unit
        #[arg(long, value_parser = names::id)]
        unit: Id,
        /// day; today where it is not said
        #[arg(long, value_name = "DATE", value_parser = names::day)]
        performed: Option<NaiveDate>,
        /// a file behind it; can be given again
        #[arg(long, value_name = "FILE")]
        attach: Vec<PathBuf>,
    },
    /// List what was measured on a check standard, or on all
    List,
}

pub(super) fn check_standard(
    desk: &mut Desk<'_, impl Write>,
    what: &CheckStandard,
) -> Result<Ending, Failure> {
    match what {
        CheckStandard::Add { id, description } => {
            let standard = event::CheckStandard { id: id.clone(), description: description.clone() };
            let said = format!("check standard {id}: {description}");
            desk.record(Event::CheckStandardRegistered(standard), &[], &said, json!({ "standard": id }))
        }
        CheckStandard::Measured { id, reference, value, unit, performed, attach } => {
            let (files, bytes) = attach_all(attach)?;
            let performed = performed.unwrap_or_else(|| super::desk::now().date_naive());
            let event = CheckStandardMeasured {
                standard: id.clone(),
                reference: reference.clone(),
                performed,
                value: value.clone(),
                unit: unit.clone(),
                files,
            };
            let said = format!("{reference} shows {value} {unit} on {id}");
            desk.record(Event::CheckStandardMeasured(event), &bytes, &said, json!({ "standard": id }))
        }
        CheckStandard::List => {
            let ledger = desk.open()?;
            let standards = ledger.state().check_standards();
            let values = standards.iter().flat_map(|(id, record)| {
                record
                    .values
                    .iter()
                    .map(move |(day, reference, value, unit)| (id, day, reference, value, unit))
            });
            if desk.json() {
                let list: Vec<_> = values
                    .map(|(id, day, reference, value, unit)| {
                        json!({ "standard": id, "performed": day, "reference": reference,
                                "value": value, "unit": unit })
                    })
                    .collect();
                return desk.print(&list);
            }
            let rows = values
                .map(|(id, day, reference, value, unit)| {
                    vec![id.to_string(), day.to_string(), reference.to_string(), format!("{value} {unit}")]
                })
                .collect();
            desk.table(&["check standard", "day", "reference", "value"], rows)?;
            Ok(Ending::Done)
        }
    }
}
