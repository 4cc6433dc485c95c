//! The values that an electronic tool stored itself: they become the indicated values of a run, and
//! nobody types them.
//!
//! ```text
//! table (CSV, XLSX) ─ mapping ─ values ─┐
//! readings.csv with empty cells ────────┴─ pairing ─ readings with indicated values, pairing.json
//! ```
//!
//! Nothing is edited in place: the filled readings are new bytes, and the record says from what they
//! were made.

mod align;
mod archive;
mod csv;
mod doubt;
mod error;
mod fill;
mod group;
mod mapping;
mod number;
mod pairing;
mod record;
mod sheet;
mod show;
mod table;
#[cfg(test)]
mod tests;
mod values;
mod workbook;
mod xml;

use std::ops::RangeInclusive;

use leverarm_metrology::finding::Document;
use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::reading::{Reading, Recorded};

pub use archive::PART_BYTES_MAX;
pub use doubt::{BenchSide, Doubt, ToolSide};
pub use error::{CellFault, StoredError, WorkbookFault};
pub use mapping::{MAPPING_FILE, Mapping, PairingKeys};
pub use pairing::{Clock, PAIRS_MAX, Pair, Pairing, pair};
pub use record::{Files, Hashed, PairRecord, PairingRecord, RECORD_FILE, ToolRecord};
pub use show::text;
pub use table::{Cell, CellPlace, STORED_BYTES_MAX, Table};
pub use values::{StoredValue, StoredValues, read as read_values};

use super::store::Store;
use super::{Loaded, parse};
use fill::{EmptyCell, Overlay, empty_cells, with_targets, with_values};
use record::Parts;

/// A file by its name.
#[derive(Debug, Clone, Copy)]
pub struct Named<'a> {
    /// its name, as the record shall give it
    pub file: &'a str,
    /// its content
    pub bytes: &'a [u8],
}

/// What is asked.
pub struct Ask<'a> {
    /// the run
    pub store: &'a dyn Store,
    /// the tool's own file
    pub stored: Named<'a>,
    /// the mapping of its columns
    pub mapping: Named<'a>,
    /// the rows of the tool's file to take; `None` for all
    pub rows: Option<RangeInclusive<u32>>,
}

/// A run with its indicated values.
#[derive(Debug)]
pub struct Paired {
    /// the run as it was read, before
    pub before: Loaded,
    /// the name of its file of readings
    pub readings_path: String,
    /// that file with the indicated values
    pub readings: Vec<u8>,
    /// what was paired with what
    pub record: PairingRecord,
}

/// Why nothing was paired.
#[derive(Debug)]
pub enum Refused {
    /// The run itself cannot be read.
    Run(Box<Loaded>),
    /// The stored values cannot be had, or their pairing is doubtful.
    Stored(StoredError),
    /// What was written does not read back as it was meant: a fault of leverarm.
    NotReadBack,
}

impl From<StoredError> for Refused {
    fn from(error: StoredError) -> Refused {
        Refused::Stored(error)
    }
}

impl From<Box<Doubt>> for Refused {
    fn from(doubt: Box<Doubt>) -> Refused {
        Refused::Stored(doubt.into())
    }
}

/// Reads a tool's file as a table.
///
/// # Errors
/// [`StoredError`] when it is neither CSV nor a spreadsheet, or larger than any honest one.
pub fn read_table(file: &str, bytes: &[u8], mapping: &Mapping) -> Result<Table, StoredError> {
    if workbook::is_one(bytes) {
        workbook::read(file, bytes, mapping.table.sheet.as_deref())
    } else {
        csv::read(file, bytes, mapping.table.header, &mapping.names())
    }
}

/// Pairs the readings of a run that have no indicated value with what the tool stored.
///
/// # Errors
/// [`Refused`]; then nothing was made.
pub fn pair_run(ask: &Ask<'_>) -> Result<Paired, Refused> {
    let mapping_text = String::from_utf8_lossy(ask.mapping.bytes);
    let mapping = Mapping::parse(ask.mapping.file, &mapping_text)?;
    let before = parse(ask.store);
    let cells = empty_cells(&before);
    let path = before.sources.path(Document::Readings).to_owned();
    let standing_in = parse(&Overlay::new(ask.store, &path, with_targets(&before, &cells)));
    let Some(run) = standing_in.run.as_ref().filter(|_| !standing_in.has_errors()) else {
        return Err(Refused::Run(Box::new(standing_in)));
    };
    if cells.is_empty() {
        return Err(StoredError::NothingToFill.into());
    }
    let waiting: Vec<&Reading> =
        run.readings.iter().filter(|reading| cells.iter().any(|cell| cell.row == reading.row)).collect();
    let table = read_table(ask.stored.file, ask.stored.bytes, &mapping)?;
    let stored = read_values(&table, &mapping, &run.tool, ask.rows.as_ref())?;
    let step = run.tool.resolution.map_or(Torque::new(0.0, TorqueUnit::NewtonMetre), |step| step.torque());
    let pairing = pair(&waiting, &stored.values, step, &mapping.pairing)?;
    let indicated: Vec<Recorded> = pairing
        .pairs
        .iter()
        .filter_map(|pair| stored.values.get(pair.stored).map(|value| value.torque))
        .collect();
    let readings = with_values(&before, &cells, &written(&waiting, &indicated));
    let after = parse(&Overlay::new(ask.store, &path, readings.clone()));
    if !reads_back(&after, &run.readings, &cells, &indicated) {
        return Err(Refused::NotReadBack);
    }
    let source = before.sources.get(Document::Readings);
    let files = Files {
        stored: Hashed::new(ask.stored.file, ask.stored.bytes),
        mapping: Hashed::new(ask.mapping.file, ask.mapping.bytes),
        readings: Hashed::new(&path, source.map(|source| source.bytes.as_slice()).unwrap_or_default()),
        paired: Hashed::new(&path, &readings),
    };
    let parts = Parts {
        run,
        waiting: &waiting,
        stored: &stored,
        pairing: &pairing,
        mapping: &mapping,
        rows: ask.rows.as_ref(),
        files,
    };
    let record = parts.record();
    Ok(Paired { before, readings_path: path, readings, record })
}

/// The texts of the cells: the number, and its unit where it is not that of the reference.
fn written(waiting: &[&Reading], indicated: &[Recorded]) -> Vec<String> {
    let both = waiting.iter().zip(indicated);
    both.map(|(reading, value)| {
        if value.unit() == reading.reference.unit() { value.digits().to_string() } else { value.to_string() }
    })
    .collect()
}

/// Whether the filled readings are the old ones with the indicated values and nothing else.
fn reads_back(after: &Loaded, old: &[Reading], cells: &[EmptyCell], indicated: &[Recorded]) -> bool {
    let Some(new) = after.run.as_ref().map(|run| &run.readings) else { return false };
    let mut values = indicated.iter();
    let wanted: Option<Vec<Reading>> = old
        .iter()
        .map(|reading| {
            let waits = cells.iter().any(|cell| cell.row == reading.row);
            let value = if waits { *values.next()? } else { reading.indicated };
            Some(Reading { indicated: value, ..reading.clone() })
        })
        .collect();
    !after.has_errors() && wanted.is_some_and(|wanted| wanted == *new)
}
