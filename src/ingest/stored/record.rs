//! `pairing.json`: what was paired with what, from which files, on what ground.

use std::ops::RangeInclusive;

use crate::ingest::sha256;
use leverarm_metrology::reading::Reading;
use leverarm_metrology::run::Run;
use serde::Serialize;

use super::mapping::Mapping;
use super::pairing::{Clock, Pairing};
use super::table::CellPlace;
use super::values::{StoredValue, StoredValues, clock_text};

/// The name of the record in a run folder.
pub const RECORD_FILE: &str = "pairing.json";

/// A file and its hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Hashed {
    /// its name
    pub file: String,
    /// SHA-256 of its bytes
    pub sha256: String,
}

impl Hashed {
    /// A file by its content.
    #[must_use]
    pub fn new(file: &str, bytes: &[u8]) -> Hashed {
        Hashed { file: file.to_owned(), sha256: sha256(bytes) }
    }
}

/// The files that took part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Files {
    /// the tool's own file
    pub stored: Hashed,
    /// the mapping of its columns
    pub mapping: Hashed,
    /// the readings as they were
    pub readings: Hashed,
    /// the readings with the indicated values filled in
    pub paired: Hashed,
}

/// The tool.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ToolRecord {
    /// model
    pub model: String,
    /// serial number
    pub serial: String,
    /// whether the tool's own file says it
    pub serial_confirmed: bool,
}

/// A pair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairRecord {
    /// the number of the reading
    pub reading: u32,
    /// its series
    pub series: String,
    /// its direction
    pub direction: String,
    /// its test point
    pub target: String,
    /// what the reference showed
    pub reference: String,
    /// when, by the clock of the bench
    pub bench_time: Option<String>,
    /// where the stored value stands
    pub place: CellPlace,
    /// the cell as it stands there
    pub stored: String,
    /// what was filled in
    pub indicated: String,
    /// when, by the clock of the tool
    pub tool_time: Option<String>,
    /// clock of the tool less clock of the bench, s
    pub clock_difference_s: Option<f64>,
    /// stored value less reference, in percent of the reference
    pub deviation_percent: f64,
    /// distance from the other pairs of the test point, in units of the noise
    pub misfit: f64,
}

/// The record of a pairing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairingRecord {
    /// `leverarm pairing`
    pub format: &'static str,
    /// the version of this format
    pub version: u32,
    /// the version of leverarm
    pub program: &'static str,
    /// `paired`: what is doubtful has no record
    pub verdict: &'static str,
    /// the laboratory's number of the run
    pub job: String,
    /// the tool
    pub tool: ToolRecord,
    /// the files
    pub files: Files,
    /// the rows of the tool's file that were taken, where not all were
    pub rows: Option<[u32; 2]>,
    /// the mapping as it was read, with every default
    pub mapping: Mapping,
    /// the two clocks
    pub clock: Option<Clock>,
    /// the pairs, in the order of the readings
    pub pairs: Vec<PairRecord>,
}

/// What a record is made from.
pub(super) struct Parts<'a> {
    pub(super) run: &'a Run,
    pub(super) waiting: &'a [&'a Reading],
    pub(super) stored: &'a StoredValues,
    pub(super) pairing: &'a Pairing,
    pub(super) mapping: &'a Mapping,
    pub(super) rows: Option<&'a RangeInclusive<u32>>,
    pub(super) files: Files,
}

impl Parts<'_> {
    /// The record.
    pub(super) fn record(self) -> PairingRecord {
        let pairs = self.pairing.pairs.iter().filter_map(|pair| {
            let (reading, value): (&Reading, &StoredValue) =
                (self.waiting.get(pair.reading)?, self.stored.values.get(pair.stored)?);
            Some(PairRecord {
                reading: reading.row,
                series: reading.series.to_string(),
                direction: reading.direction.to_string(),
                target: reading.target.to_string(),
                reference: reading.reference.to_string(),
                bench_time: reading.time.map(|time| time.to_rfc3339()),
                place: value.place.clone(),
                stored: value.text.clone(),
                indicated: value.torque.to_string(),
                tool_time: value.time_ms.map(clock_text),
                clock_difference_s: pair.clock_s,
                deviation_percent: pair.deviation_percent,
                misfit: pair.misfit,
            })
        });
        PairingRecord {
            format: "leverarm pairing",
            version: 1,
            program: env!("CARGO_PKG_VERSION"),
            verdict: "paired",
            job: self.run.job.clone(),
            tool: ToolRecord {
                model: self.run.tool.model.clone(),
                serial: self.run.tool.serial.clone(),
                serial_confirmed: self.stored.serial_confirmed,
            },
            pairs: pairs.collect(),
            files: self.files,
            rows: self.rows.map(|rows| [*rows.start(), *rows.end()]),
            mapping: self.mapping.clone(),
            clock: self.pairing.clock,
        }
    }
}
