//! The indicated values go into the empty cells of `readings.csv`; every other byte stays.

use std::ops::Range;
use std::sync::Arc;

use leverarm_metrology::finding::Document;

use crate::ingest::store::{Store, StoreError};
use crate::ingest::{Loaded, Source};

/// An empty cell of the column `indicated`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EmptyCell {
    /// the number of the reading
    pub row: u32,
    /// its bytes
    pub span: Range<usize>,
    /// the test point of the row, as it is written
    target: String,
    /// whether the row writes a decimal comma
    comma: bool,
}

/// Every reading that waits for its indicated value.
#[must_use]
pub fn empty_cells(loaded: &Loaded) -> Vec<EmptyCell> {
    let Some(source) = loaded.sources.get(Document::Readings) else { return Vec::new() };
    let Some(rows) = &source.readings else { return Vec::new() };
    let has = |name: &str| rows.columns.iter().any(|(known, _)| *known == name);
    if !has("indicated") || !has("target") || !has("reference") {
        return Vec::new();
    }
    let count = u32::try_from(rows.row_starts.len()).unwrap_or(u32::MAX);
    let text = |span: Range<usize>| {
        source
            .bytes
            .get(span)
            .map(|bytes| String::from_utf8_lossy(bytes).trim().to_owned())
            .unwrap_or_default()
    };
    let cells = (1..=count).filter_map(|row| {
        let cell = |name| rows.cell(&source.bytes, row, Some(name));
        // In a row that is too short this is the whole row, which is not empty; its finding says so.
        let span = cell("indicated")?;
        let raw = text(span.clone());
        let bare = raw.trim_matches('"').trim();
        let target = text(cell("target")?);
        let comma = text(cell("reference")?).contains(',') || target.contains(',');
        bare.is_empty().then_some(EmptyCell { row, span, target, comma })
    });
    cells.collect()
}

/// The file with a text in each empty cell.
fn filled(source: &Source, cells: &[EmptyCell], texts: &[String]) -> Vec<u8> {
    let delimiter = source.readings.as_ref().map_or(b',', |rows| rows.delimiter);
    let mut bytes = Vec::with_capacity(source.bytes.len() + 8 * cells.len());
    let mut from = 0;
    for (cell, text) in cells.iter().zip(texts) {
        bytes.extend_from_slice(source.bytes.get(from..cell.span.start).unwrap_or_default());
        let needs_marks = text.as_bytes().contains(&delimiter) && !text.starts_with('"');
        let text = if needs_marks { format!("\"{text}\"") } else { text.clone() };
        bytes.extend_from_slice(text.as_bytes());
        from = cell.span.end;
    }
    bytes.extend_from_slice(source.bytes.get(from..).unwrap_or_default());
    bytes
}

/// The file with the values of the tool, each given as number and, where it is not that of the row,
/// unit.
#[must_use]
pub fn with_values(loaded: &Loaded, cells: &[EmptyCell], values: &[String]) -> Vec<u8> {
    let Some(source) = loaded.sources.get(Document::Readings) else { return Vec::new() };
    let texts: Vec<String> = cells
        .iter()
        .zip(values)
        .map(|(cell, value)| if cell.comma { value.replace('.', ",") } else { value.clone() })
        .collect();
    filled(source, cells, &texts)
}

/// The file with the test points in the place of the values that are to come, so that everything
/// else in it can be read and checked.
#[must_use]
pub fn with_targets(loaded: &Loaded, cells: &[EmptyCell]) -> Vec<u8> {
    let Some(source) = loaded.sources.get(Document::Readings) else { return Vec::new() };
    let texts: Vec<String> = cells.iter().map(|cell| cell.target.clone()).collect();
    filled(source, cells, &texts)
}

/// A run whose readings are other bytes than those on disk.
pub struct Overlay<'s> {
    store: &'s dyn Store,
    path: String,
    bytes: Arc<Vec<u8>>,
}

impl<'s> Overlay<'s> {
    /// The run of a store, with other readings.
    #[must_use]
    pub fn new(store: &'s dyn Store, path: &str, bytes: Vec<u8>) -> Overlay<'s> {
        Overlay { store, path: path.to_owned(), bytes: Arc::new(bytes) }
    }
}

impl Store for Overlay<'_> {
    fn read(&self, path: &str, limit: u64) -> Result<Vec<u8>, StoreError> {
        if path == self.path { Ok(self.bytes.as_ref().clone()) } else { self.store.read(path, limit) }
    }

    fn unfit(&self) -> Option<StoreError> {
        self.store.unfit()
    }
}
