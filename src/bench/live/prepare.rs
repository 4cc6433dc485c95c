//! From a run folder to the plan of its session.

use std::fs;
use std::path::Path;

use leverarm_metrology::finding::{Document, Finding, Place};
use leverarm_metrology::reference::Reference;
use leverarm_metrology::rulebook::Rulebook;
use leverarm_metrology::run::Run;
use leverarm_pull::detector::Sense;
use leverarm_session::plan::{Filter, InputFile, Instrument, PlanError};
use leverarm_session::{Indicated, Plan};

use super::disk::Disk;
use super::fault::LiveFault;
use super::finish::PREPARED_FILE;
use crate::bench::instrument::Description;
use crate::export::sequence::{csv, sheet};
use crate::ingest::{self, Loaded, sha256};

/// What is chosen for the session and stands in no file.
#[derive(Debug, Clone)]
pub struct Choices {
    /// how an indicating tool's value is got; a setting tool's is what it is set to
    pub indicated: Option<Indicated>,
    /// who is at the bench, where run.toml does not say it
    pub technician: Option<String>,
    /// the mains frequency whose hum is taken out
    pub mains_hz: Option<f64>,
    /// a low-pass before the detector
    pub filter: Option<Filter>,
    /// whether the display shows clockwise torque as negative
    pub clockwise_is_negative: bool,
}

/// A run that can be measured.
#[derive(Debug)]
pub struct Prepared {
    /// the run, without readings
    pub run: Run,
    /// its rulebook
    pub rulebook: Rulebook,
    /// its reference
    pub reference: Reference,
    /// the files that the plan is made from
    pub inputs: Vec<InputFile>,
}

/// Reads a run folder that has no readings yet, or a session under way.
///
/// # Errors
/// The findings of the files as they were read, when one stands against the work.
pub fn read(folder: &Path) -> Result<Result<Prepared, Box<Loaded>>, LiveFault> {
    let mut loaded = ingest::load(folder);
    loaded.findings.retain(concerns_the_bench);
    let (Some(run), Some(rulebook), Some(reference), false) =
        (loaded.run.clone(), loaded.rulebook.clone(), loaded.reference.clone(), loaded.has_errors())
    else {
        return Ok(Err(Box::new(loaded)));
    };
    if !Disk::is_begun(folder) {
        no_readings(folder, &run, &rulebook)?;
    }
    let inputs = inputs(folder, &loaded)?;
    Ok(Ok(Prepared { run, rulebook, reference, inputs }))
}

/// What is measured at the bench, or approved later, need not be there before.
fn concerns_the_bench(finding: &Finding) -> bool {
    match &finding.place {
        Place::Whole(document) | Place::Bytes { document, .. } => *document != Document::Readings,
        Place::Row { .. } => false,
        Place::Key { document: Document::Run, path } => path != "readings.file",
        Place::Key { .. } => true,
    }
}

/// Readings that were not taken here are never replaced; the empty sheet of `leverarm sequence` is none.
fn no_readings(folder: &Path, run: &Run, rulebook: &Rulebook) -> Result<(), LiveFault> {
    let path = folder.join("readings.csv");
    let Ok(there) = fs::read(&path) else { return Ok(()) };
    let empty = sheet(run, rulebook).ok().and_then(|sheet| csv(&sheet).ok());
    let has_rows = there.iter().filter(|byte| **byte == b'\n').count() > 1;
    if has_rows && empty.is_none_or(|empty| empty != there) {
        return Err(LiveFault::HasReadings { path });
    }
    Ok(())
}

/// The files with their hashes; `run.toml` as it was before the session completed it.
fn inputs(folder: &Path, loaded: &Loaded) -> Result<Vec<InputFile>, LiveFault> {
    let prepared = folder.join(PREPARED_FILE);
    let before = match fs::read(&prepared) {
        Ok(bytes) => Some(sha256(&bytes)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
        Err(error) => return Err(LiveFault::Unreadable { path: prepared, error }),
    };
    let is_basis = |document: Document| {
        matches!(document, Document::Run | Document::Rulebook | Document::Reference | Document::Study)
    };
    let named = loaded.inputs.iter().filter(|input| is_basis(input.document)).map(|input| {
        let own = (input.document == Document::Run).then(|| before.clone()).flatten();
        InputFile { name: input.path.clone(), sha256: own.unwrap_or_else(|| input.sha256.clone()) }
    });
    Ok(named.collect())
}

impl Prepared {
    /// The plan of the session with an instrument.
    ///
    /// # Errors
    /// [`LiveFault::NoRate`] where the description states no sample rate, [`LiveFault::Plan`] where the
    /// instrument does not suit the work.
    pub fn plan(&self, description: &Description, choices: &Choices) -> Result<Plan, LiveFault> {
        let Some(sample_rate_hz) = description.rate_hz else {
            return Err(LiveFault::NoRate { name: description.name.clone() });
        };
        // Below three times the mains the hum cannot be told from torque, and there is no notch for it.
        let mains_hz = choices.mains_hz.filter(|mains| sample_rate_hz >= 3.0 * mains);
        let instrument = Instrument {
            name: description.name.clone(),
            sample_rate_hz,
            step: self.reference.resolution,
            range: Some(self.reference.range.upper.torque()),
            clockwise: if choices.clockwise_is_negative { Sense::Negative } else { Sense::Positive },
            mains_hz,
            filter: choices.filter,
        };
        let acting = self.run.tool.class.acting();
        let is_setting = acting == leverarm_metrology::tool::Acting::Setting;
        let indicated = match choices.indicated {
            Some(chosen) => chosen,
            None if is_setting => Indicated::AsSet,
            None => Indicated::Typed,
        };
        let plan = Plan::of(&self.run, &self.rulebook, instrument, indicated, self.inputs.clone());
        let mut plan = plan.map_err(|error: PlanError| LiveFault::Plan(Box::new(error)))?;
        if plan.technician.is_none() {
            plan.technician.clone_from(&choices.technician);
        }
        Ok(plan)
    }
}
