//! A TOML table asked key by key; every fault is noted with its place, and reading goes on.

use std::ops::Range;

use regex::Regex;
use toml::de::{DeTable, DeValue};

use super::fault::{Fault, FaultKind};
use crate::ingest::words::did_you_mean;

/// The text and what was found in it.
pub(super) struct Sink<'t> {
    pub(super) text: &'t str,
    pub(super) faults: Vec<Fault>,
}

impl Sink<'_> {
    pub(super) fn note(&mut self, span: &Range<usize>, kind: FaultKind) {
        self.faults.push(Fault::at(self.text, span.start, kind));
    }
}

/// A table, its path and its place.
#[derive(Clone)]
pub(super) struct Table<'a, 't> {
    pub(super) path: &'static str,
    pub(super) span: Range<usize>,
    pub(super) entries: &'a DeTable<'t>,
}

impl<'a, 't> Table<'a, 't> {
    pub(super) fn path(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    pub(super) fn span(&self, key: &str) -> Range<usize> {
        self.entries.get(key).map_or(self.span.clone(), toml::Spanned::span)
    }

    /// Notes every key that may not be there.
    pub(super) fn only(&self, sink: &mut Sink<'_>, known: &[&'static str]) {
        for key in self.entries.keys() {
            let name: &str = key.get_ref();
            if !known.contains(&name) {
                let meant =
                    did_you_mean(name, known.iter().copied().filter(|k| !self.entries.contains_key(*k)));
                let meant = meant.and_then(|meant| known.iter().find(|k| **k == meant).copied());
                let kind = FaultKind::UnknownKey { key: self.path(name), known: known.to_vec(), meant };
                sink.note(&key.span(), kind);
            }
        }
    }

    pub(super) fn missing(&self, sink: &mut Sink<'_>, key: &str, example: &'static str) {
        sink.note(&self.span, FaultKind::Missing { key: self.path(key), example });
    }

    fn wrong(&self, sink: &mut Sink<'_>, key: &str, wanted: &'static str) {
        sink.note(&self.span(key), FaultKind::WrongType { key: self.path(key), wanted });
    }

    pub(super) fn text(&self, sink: &mut Sink<'_>, key: &str) -> Option<&'a str> {
        match self.entries.get(key)?.get_ref() {
            DeValue::String(text) if !text.is_empty() => Some(text),
            _ => {
                self.wrong(sink, key, "text in quotation marks, not empty");
                None
            }
        }
    }

    pub(super) fn need(&self, sink: &mut Sink<'_>, key: &str, example: &'static str) -> Option<&'a str> {
        if !self.entries.contains_key(key) {
            self.missing(sink, key, example);
        }
        self.text(sink, key)
    }

    pub(super) fn whole(&self, sink: &mut Sink<'_>, key: &str, least: u64, most: u64) -> Option<u64> {
        let DeValue::Integer(number) = self.entries.get(key)?.get_ref() else {
            self.wrong(sink, key, "a whole number, without quotation marks");
            return None;
        };
        let number = u64::from_str_radix(number.as_str(), number.radix()).ok();
        let number = number.filter(|number| (least..=most).contains(number));
        if number.is_none() {
            sink.note(&self.span(key), FaultKind::OutOfRange { key: self.path(key), least, most });
        }
        number
    }

    pub(super) fn word<T: Copy>(
        &self,
        sink: &mut Sink<'_>,
        key: &str,
        words: &[(&'static str, T)],
    ) -> Option<T> {
        let given = self.text(sink, key)?;
        one_of(sink, &self.span(key), self.path(key), given, words)
    }

    /// A number with its unit, in the unit that has the factor 1.
    pub(super) fn measure(
        &self,
        sink: &mut Sink<'_>,
        key: &str,
        example: &'static str,
        units: &[(&str, f64)],
    ) -> Option<f64> {
        self.entries.get(key)?;
        let read = || {
            let DeValue::String(text) = self.entries.get(key)?.get_ref() else { return None };
            let text = text.trim();
            let (number, unit) =
                text.split_at(text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len()));
            let factor = units.iter().find(|(name, _)| *name == unit.trim())?.1;
            let number: f64 = number.parse().ok()?;
            Some(number * factor).filter(|value| *value > 0.0 && *value < 1e9)
        };
        let value = read();
        if value.is_none() {
            sink.note(&self.span(key), FaultKind::NotAMeasure { key: self.path(key), example });
        }
        value
    }

    pub(super) fn table(&self, sink: &mut Sink<'_>, key: &str, path: &'static str) -> Option<Table<'a, 't>> {
        let value = self.entries.get(key)?;
        let DeValue::Table(entries) = value.get_ref() else {
            self.wrong(sink, key, "a table");
            return None;
        };
        Some(Table { path, span: value.span(), entries })
    }

    /// A table of words and what each stands for.
    pub(super) fn words(
        &self,
        sink: &mut Sink<'_>,
        key: &str,
        path: &'static str,
    ) -> Vec<(String, &'a str, Range<usize>)> {
        let Some(table) = self.table(sink, key, path) else { return Vec::new() };
        let mut found = Vec::new();
        for (word, value) in table.entries.iter() {
            match value.get_ref() {
                DeValue::String(text) => found.push((word.get_ref().to_string(), &**text, value.span())),
                _ => table.wrong(sink, word.get_ref(), "text in quotation marks"),
            }
        }
        found
    }

    pub(super) fn texts(&self, sink: &mut Sink<'_>, key: &str) -> Vec<(&'a str, Range<usize>)> {
        let Some(value) = self.entries.get(key) else { return Vec::new() };
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong(sink, key, "a list of texts");
            return Vec::new();
        };
        let mut found = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::String(text) => found.push((&**text, item.span())),
                _ => sink.note(
                    &item.span(),
                    FaultKind::WrongType { key: self.path(key), wanted: "a list of texts" },
                ),
            }
        }
        found
    }
}

/// A word of a list.
pub(super) fn one_of<T: Copy>(
    sink: &mut Sink<'_>,
    span: &Range<usize>,
    key: String,
    given: &str,
    words: &[(&'static str, T)],
) -> Option<T> {
    let found = words.iter().find(|(word, _)| *word == given).map(|(_, meant)| *meant);
    if found.is_none() {
        let known = words.iter().map(|(word, _)| *word).collect();
        sink.note(span, FaultKind::UnknownWord { key, given: given.to_owned(), known });
    }
    found
}

/// A regular expression that must fit a whole line.
pub(super) fn regex(sink: &mut Sink<'_>, span: &Range<usize>, key: String, text: &str) -> Option<Regex> {
    // Alone first, so that the message shows what was written.
    match Regex::new(text).and_then(|_| Regex::new(&format!(r"\A(?:{text})\z"))) {
        Ok(regex) => Some(regex),
        Err(error) => {
            let said = error.to_string();
            let said = said.lines().rev().find_map(|line| line.trim().strip_prefix("error: "));
            let said = said.unwrap_or("it is too large").to_owned();
            sink.note(span, FaultKind::Regex { key, said });
            None
        }
    }
}
