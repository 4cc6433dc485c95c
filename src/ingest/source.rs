//! The source map: from the place of a finding to file, line and column.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::{Arc, OnceLock};

use leverarm_metrology::finding::{Document, Finding, Place};

use super::encoding::mark_length;
use super::readings::ReadingsSource;

/// Where a key and its value stand in the bytes of a TOML file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeySpan {
    /// the key, or the header of a table
    pub key: Range<usize>,
    /// the value; for a table its header
    pub value: Range<usize>,
}

/// Keys that may stand for another one.
const OTHER_NAMES: [(&str, &str); 3] =
    [("tool.kind", "tool.iso"), ("tool.range", "tool.set_value"), ("tool.resolution", "tool.division")];

/// One file as it was read.
#[derive(Debug, Clone)]
pub struct Source {
    /// its name relative to the run folder, as `run.toml` writes it
    pub path: String,
    /// its content
    pub bytes: Arc<Vec<u8>>,
    /// keys of a TOML file by their dotted paths
    pub keys: BTreeMap<String, KeySpan>,
    /// rows of the readings
    pub readings: Option<ReadingsSource>,
    line_starts: OnceLock<Vec<usize>>,
}

/// Where a finding points.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Location {
    /// the file
    pub document: Document,
    /// its name relative to the run folder
    pub path: String,
    /// the bytes; empty where the file as a whole is meant
    pub span: Range<usize>,
    /// line and column from 1, columns in characters; `None` where the file as a whole is meant
    pub position: Option<(usize, usize)>,
}

/// Every file of a run, as it was read.
#[derive(Debug, Clone, Default)]
pub struct SourceMap {
    sources: BTreeMap<Document, Source>,
    names: BTreeMap<Document, String>,
    /// keys whose values could not be read, with misspelt ones by what they were meant to be
    failed: BTreeSet<(Document, String)>,
    /// rows of the readings are missing because they could not be read
    readings_failed: bool,
    /// keys of `run.toml` for which the caller gave something else, and his option
    overridden: BTreeMap<&'static str, &'static str>,
    /// the files without which the checks of the core cannot be made
    awaited: Vec<Document>,
}

/// Checks of the core that count readings: where rows could not be read they prove nothing.
pub(super) const COUNTING: [&str; 13] = [
    "readings-none",
    "reading-single",
    "direction-not-measured",
    "point-missing",
    "readings-too-few",
    "points-order",
    "preloads-too-few",
    "preloads-late",
    "preloads-not-at-maximum",
    "variation-missing",
    "variation-positions",
    "variation-readings",
    "times-partial",
];

impl Source {
    /// A file without keys or rows.
    #[must_use]
    pub fn new(path: &str, bytes: Arc<Vec<u8>>) -> Source {
        Source {
            path: path.to_owned(),
            bytes,
            keys: BTreeMap::new(),
            readings: None,
            line_starts: OnceLock::new(),
        }
    }

    fn line_starts(&self) -> &[usize] {
        self.line_starts.get_or_init(|| {
            let bytes = self.bytes.as_slice();
            let mut starts = vec![0];
            for (i, byte) in bytes.iter().enumerate() {
                if *byte == b'\n' || (*byte == b'\r' && bytes.get(i + 1) != Some(&b'\n')) {
                    starts.push(i + 1);
                }
            }
            starts
        })
    }

    /// Line and column of a byte, both from 1, the column in characters.
    #[must_use]
    pub fn position(&self, at: usize) -> (usize, usize) {
        let at = at.min(self.bytes.len());
        let line = self.line_starts().partition_point(|start| *start <= at).max(1);
        let line_start = self.line_starts().get(line - 1).copied().unwrap_or(0);
        let text_start = line_start.max(mark_length(&self.bytes)).min(at);
        let before = self.bytes.get(text_start..at).unwrap_or_default();
        (line, String::from_utf8_lossy(before).chars().count() + 1)
    }

    /// The bytes of a line (from 1) without its line end and without a byte order mark.
    #[must_use]
    pub fn line(&self, number: usize) -> Option<Range<usize>> {
        let starts = self.line_starts();
        let start = *starts.get(number.checked_sub(1)?)?;
        let mut end = starts.get(number).copied().unwrap_or(self.bytes.len());
        while end > start && matches!(self.bytes.get(end - 1), Some(b'\n' | b'\r')) {
            end -= 1;
        }
        let start = start.max(mark_length(&self.bytes)).min(end);
        Some(start..end)
    }

    fn key(&self, path: &str) -> Option<Range<usize>> {
        let other_name = OTHER_NAMES.iter().find(|(usual, _)| *usual == path).map(|(_, other)| *other);
        if let Some(span) = self.keys.get(path).or_else(|| self.keys.get(other_name?)) {
            return Some(span.value.clone());
        }
        let mut path = path;
        while let Some(cut) = path.rfind(['.', '[']) {
            path = &path[..cut];
            if let Some(span) = self.keys.get(path) {
                return Some(span.key.clone());
            }
        }
        None
    }
}

impl SourceMap {
    /// Adds a file.
    pub fn insert(&mut self, document: Document, source: Source) {
        self.names.insert(document, source.path.clone());
        self.sources.insert(document, source);
    }

    /// Notes the name of a file that could not be read, so that findings can name it.
    pub fn name(&mut self, document: Document, path: &str) {
        self.names.insert(document, path.to_owned());
    }

    /// Whether the name of a file is known.
    pub(super) fn is_named(&self, document: Document) -> bool {
        self.names.contains_key(&document)
    }

    /// A file.
    #[must_use]
    pub fn get(&self, document: Document) -> Option<&Source> {
        self.sources.get(&document)
    }

    /// The name of a file relative to the run folder, known or usual.
    #[must_use]
    pub fn path(&self, document: Document) -> &str {
        self.names.get(&document).map_or(
            match document {
                Document::Run => "run.toml",
                Document::Readings => "readings.csv",
                Document::Reference => "the reference file",
                Document::Study => "the study file",
                Document::Laboratory => "the laboratory file",
                Document::Rulebook => "the rulebook",
                Document::Journal => "the journal",
            },
            String::as_str,
        )
    }

    /// Notes that the value of a key could not be read.
    pub(super) fn fail(&mut self, document: Document, path: String) {
        self.failed.insert((document, path));
    }

    /// Notes that rows of the readings could not be read.
    pub(super) fn fail_readings(&mut self) {
        self.readings_failed = true;
    }

    /// Notes that an option stands for a key of `run.toml`: findings name it and not the file.
    pub(super) fn override_key(&mut self, path: &'static str, option: &'static str) {
        self.overridden.insert(path, option);
    }

    /// Notes that the checks of the core cannot be made before a file is mended.
    pub(super) fn wait_for(&mut self, document: Document) {
        self.awaited.push(document);
    }

    /// The files that must be mended before the checks of the core can be made.
    #[must_use]
    pub fn awaited(&self) -> Vec<&str> {
        self.awaited.iter().map(|document| self.path(*document)).collect()
    }

    /// Whether the value of a key, or of a table around it, could not be read.
    #[must_use]
    pub fn has_failed(&self, document: Document, path: &str) -> bool {
        let (document, mut path) = self.home(document, path);
        loop {
            if self.failed.contains(&(document, path.to_owned())) {
                return true;
            }
            match path.rfind(['.', '[']) {
                Some(cut) => path = &path[..cut],
                None => return self.failed.contains(&(document, String::new())),
            }
        }
    }

    /// What the checks of the core found, without what only follows from values that could not be
    /// read: those have their finding already.
    #[must_use]
    pub fn admit(&self, mut findings: Vec<Finding>) -> Vec<Finding> {
        findings.retain(|finding| {
            let name = finding.check.name;
            let of_a_value = match &finding.place {
                Place::Key { document, path } => self.has_failed(*document, path),
                _ => false,
            };
            let of_lost_rows = self.readings_failed && COUNTING.contains(&name);
            let of_the_study = name == "variation-missing" && self.has_failed(Document::Study, "");
            !(of_a_value || of_lost_rows || of_the_study)
        });
        findings
    }

    /// The file in which a key is at home: the laboratory may have one of its own.
    fn home<'p>(&self, document: Document, path: &'p str) -> (Document, &'p str) {
        match path.strip_prefix("laboratory.") {
            Some(field) if document == Document::Run && self.sources.contains_key(&Document::Laboratory) => {
                (Document::Laboratory, field)
            }
            _ => (document, path),
        }
    }

    /// File, line and column of a place.
    #[must_use]
    pub fn locate(&self, place: &Place) -> Location {
        if let Place::Key { document: document @ Document::Run, path } = place
            && let Some(option) = self.overridden.get(path.as_str())
        {
            return Location { document: *document, path: (*option).to_owned(), span: 0..0, position: None };
        }
        let (document, span) = match place {
            Place::Key { document, path } => {
                let (document, path) = self.home(*document, path);
                (document, self.get(document).and_then(|source| source.key(path)))
            }
            Place::Row { row, column } => {
                let span = self.get(Document::Readings).and_then(|source| {
                    source.readings.as_ref().and_then(|rows| rows.cell(&source.bytes, *row, *column))
                });
                (Document::Readings, span)
            }
            Place::Whole(document) => (*document, None),
            Place::Bytes { document, start, end } => (*document, Some(*start..(*end).max(*start))),
        };
        let position = match (self.get(document), &span) {
            (Some(source), Some(span)) => Some(source.position(span.start)),
            _ => None,
        };
        Location { document, path: self.path(document).to_owned(), span: span.unwrap_or(0..0), position }
    }
}
