//! A TOML document with the place of everything in it, and what reading it found.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use leverarm_metrology::finding::{Document, Finding, Place};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::checks;
use super::nesting::too_deep;
use super::printable::unprintable;
use super::source::KeySpan;
use super::syntax::explain;
use super::table::{Table, join};
use super::value::{Fault, shorten};

/// What reading one document found.
#[derive(Debug)]
pub(super) struct Sink {
    pub(super) document: Document,
    pub(super) findings: Vec<Finding>,
    /// keys whose value could not be read: nothing later may call them missing
    pub(super) failed: BTreeSet<String>,
    /// lines with an error of syntax, as bytes: what was recovered from them is not judged
    damaged: Vec<Range<usize>>,
}

impl Sink {
    fn new(document: Document) -> Sink {
        Sink { document, findings: Vec::new(), failed: BTreeSet::new(), damaged: Vec::new() }
    }

    /// Notes a fault of the value of a key.
    pub(super) fn fault(&mut self, path: &str, span: &Range<usize>, given: &str, fault: Fault) {
        self.failed.insert(path.to_owned());
        if self.damaged.iter().any(|line| span.start < line.end && line.start < span.end) {
            return;
        }
        let place = Place::Bytes { document: self.document, start: span.start, end: span.end };
        self.findings.push(
            Finding::new(fault.check, place, fault.message)
                .given(shorten(given))
                .wanted(fault.wanted)
                .remedy(fault.remedy),
        );
    }

    /// Notes that a key is not there, unless errors of syntax may have swallowed it or a misspelt
    /// key stands for it.
    pub(super) fn missing(&mut self, path: &str, wanted: &str, remedy: &str) {
        if !self.damaged.is_empty() || !self.failed.insert(path.to_owned()) {
            return;
        }
        let place = Place::Key { document: self.document, path: path.to_owned() };
        let (table, key) = path.rsplit_once('.').map_or(("", path), |(table, key)| (table, key));
        let within = if table.is_empty() { String::new() } else { format!(" of [{table}]") };
        self.findings.push(
            Finding::new(&checks::KEY_MISSING, place, format!("the key `{key}`{within} is missing"))
                .given("nothing")
                .wanted(wanted)
                .remedy(remedy),
        );
    }

    /// Whether the text broke the rules of TOML somewhere.
    pub(super) fn is_damaged(&self) -> bool {
        !self.damaged.is_empty()
    }

    /// Whether everything that was asked could be read.
    pub(super) fn is_clean(&self) -> bool {
        self.findings.is_empty() && self.failed.is_empty()
    }
}

/// A parsed document.
pub(super) struct Page<'t> {
    text: &'t str,
    root: Spanned<DeTable<'t>>,
    sink: Sink,
    pub(super) keys: BTreeMap<String, KeySpan>,
}

impl<'t> Page<'t> {
    /// Parses a text. Errors of syntax are noted, and what can be recovered is still read.
    pub(super) fn open(document: Document, text: &'t str) -> Page<'t> {
        let mut sink = Sink::new(document);
        if let Some(at) = too_deep(text) {
            sink.damaged.push(line_around(text, at, at));
            let place = Place::Bytes { document, start: at, end: at + 1 };
            sink.findings.push(
                Finding::new(
                    &checks::TOML_SYNTAX,
                    place,
                    "the key has more parts than any that leverarm reads",
                )
                .wanted("key = value, texts in straight quotation marks")
                .remedy("put text into quotation marks, and see whether this is the right file"),
            );
            return Page { text, root: Spanned::new(0..0, DeTable::new()), sink, keys: BTreeMap::new() };
        }
        let (root, errors) = DeTable::parse_recoverable(text);
        for error in &errors {
            let span = error.span().unwrap_or(0..0);
            let start = span.start.min(text.len());
            let end = span.end.clamp(start, text.len());
            let line = line_around(text, start, end);
            if sink.damaged.contains(&line) {
                continue;
            }
            let said = explain(text, &line, start..end, error.message());
            sink.damaged.push(line);
            let place = Place::Bytes { document, start: said.span.start, end: said.span.end };
            sink.findings.push(
                Finding::new(&checks::TOML_SYNTAX, place, said.message)
                    .wanted("key = value, texts in straight quotation marks")
                    .remedy(said.remedy),
            );
        }
        let mut keys = BTreeMap::new();
        collect(root.get_ref(), "", &mut keys);
        Page { text, root, sink, keys }
    }

    /// What was found so far, to be handed on to the reader of the document.
    pub(super) fn take_sink(&mut self) -> Sink {
        let empty = Sink::new(self.sink.document);
        std::mem::replace(&mut self.sink, empty)
    }

    /// Notes every text with a character that cannot be printed, unless its value has a fault already.
    pub(super) fn printable(&self, sink: &mut Sink) {
        let mut texts = Vec::new();
        collect_texts(self.root.get_ref(), "", &mut texts);
        for (path, text, span) in texts {
            let Some(found) = unprintable(text.trim()).filter(|_| !sink.failed.contains(&path)) else {
                continue;
            };
            let place = found.place(sink.document, self.text, span.start, span.end);
            if let Place::Bytes { start, end, .. } = place {
                sink.fault(&path, &(start..end), text, found.fault());
            }
        }
    }

    /// The table of the whole document.
    pub(super) fn root(&self) -> Table<'_, 't> {
        Table::root(self.root.get_ref())
    }
}

/// The whole lines that a span touches.
fn line_around(text: &str, start: usize, end: usize) -> Range<usize> {
    let bytes = text.as_bytes();
    let first = bytes[..start].iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    let last = bytes[end..].iter().position(|b| *b == b'\n').map_or(bytes.len(), |at| end + at + 1);
    first..last
}

fn collect(table: &DeTable<'_>, path: &str, keys: &mut BTreeMap<String, KeySpan>) {
    for (key, value) in table.iter() {
        let path = join(path, key.get_ref());
        let value_span = match value.get_ref() {
            DeValue::Table(inner) => {
                collect(inner, &path, keys);
                key.span()
            }
            DeValue::Array(items) => {
                for (i, item) in items.iter().enumerate() {
                    let path = format!("{path}[{i}]");
                    if let DeValue::Table(inner) = item.get_ref() {
                        collect(inner, &path, keys);
                    }
                    keys.insert(path, KeySpan { key: item.span(), value: item.span() });
                }
                value.span()
            }
            _ => value.span(),
        };
        keys.insert(path, KeySpan { key: key.span(), value: value_span });
    }
}

/// Every text of a table and of what is within it, with its path and its place.
fn collect_texts<'a>(table: &'a DeTable<'_>, path: &str, texts: &mut Vec<(String, &'a str, Range<usize>)>) {
    for (key, value) in table.iter() {
        collect_text(value, join(path, key.get_ref()), texts);
    }
}

fn collect_text<'a>(
    value: &'a Spanned<DeValue<'_>>,
    path: String,
    texts: &mut Vec<(String, &'a str, Range<usize>)>,
) {
    match value.get_ref() {
        DeValue::String(text) => texts.push((path, text, value.span())),
        DeValue::Table(inner) => collect_texts(inner, &path, texts),
        DeValue::Array(items) => {
            for (i, item) in items.iter().enumerate() {
                collect_text(item, format!("{path}[{i}]"), texts);
            }
        }
        _ => {}
    }
}
