//! A table of a TOML document, asked key by key; what is wrong with a value goes to the [`Sink`].

use std::ops::Range;

use chrono::NaiveDate;
use toml::de::{DeTable, DeValue};

use super::checks;
use super::keys;
use super::page::Sink;
use super::value::{Fault, date, shorten};
use super::words::did_you_mean;

/// The dotted path of a key.
pub(super) fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

/// A path without the places in lists: `curve.points` for `curve[0].points[2]`.
fn without_indices(path: &str) -> String {
    let mut within = false;
    path.chars()
        .filter(|c| {
            within = (within || *c == '[') && *c != ']';
            !within && *c != ']'
        })
        .collect()
}

/// A value with its key's path and its place.
pub(super) struct Entry<'a, 't> {
    pub(super) path: String,
    pub(super) span: Range<usize>,
    pub(super) value: &'a DeValue<'t>,
}

/// A table of the document.
#[derive(Clone)]
pub(super) struct Table<'a, 't> {
    pub(super) path: String,
    entries: &'a DeTable<'t>,
}

impl<'a, 't> Table<'a, 't> {
    /// The table of a whole document.
    pub(super) fn root(entries: &'a DeTable<'t>) -> Table<'a, 't> {
        Table { path: String::new(), entries }
    }

    /// The path of a key in it.
    pub(super) fn path(&self, key: &str) -> String {
        join(&self.path, key)
    }

    /// A value, whatever it is.
    pub(super) fn entry(&self, key: &str) -> Option<Entry<'a, 't>> {
        let value = self.entries.get(key)?;
        Some(Entry { path: self.path(key), span: value.span(), value: value.get_ref() })
    }

    /// Whether a key is there.
    pub(super) fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    /// Notes every key that the table may not hold.
    pub(super) fn only(&self, sink: &mut Sink) {
        let table = without_indices(&self.path);
        let known = keys::of(sink.document, &table);
        for key in self.entries.keys() {
            let name: &str = key.get_ref();
            if known.contains(&name) {
                continue;
            }
            let meant = did_you_mean(name, known.iter().copied().filter(|k| !self.has(k)));
            let within =
                if self.path.is_empty() { "at the top".to_owned() } else { format!("in [{}]", self.path) };
            let remedy = match (keys::elsewhere(sink.document, &table, name), meant) {
                (_, Some(meant)) => format!("did you mean `{meant}`?"),
                (Some(remedy), None) => remedy,
                (None, None) => format!("remove it; known here are {}", known.join(", ")),
            };
            let message = format!("the key `{}` is not known {within}", shorten(name));
            let fault = Fault::new(&checks::KEY_UNKNOWN, message, "a known key", remedy);
            sink.fault(&self.path(name), &key.span(), name, fault);
            if let Some(meant) = meant {
                sink.failed.insert(self.path(meant));
            }
        }
    }

    /// A table within it.
    pub(super) fn table(&self, sink: &mut Sink, key: &str) -> Option<Table<'a, 't>> {
        let entry = self.entry(key)?;
        match entry.value {
            DeValue::Table(entries) => Some(Table { path: entry.path, entries }),
            other => {
                sink.fault(
                    &entry.path,
                    &entry.span,
                    kind(other),
                    wrong_type(other, "a table", &format!("[{}]", entry.path)),
                );
                None
            }
        }
    }

    /// Every table of a list of tables; `None` where the key is not there or is something else.
    pub(super) fn tables(&self, sink: &mut Sink, key: &str) -> Option<Vec<Table<'a, 't>>> {
        let entry = self.entry(key)?;
        let DeValue::Array(items) = entry.value else {
            sink.fault(
                &entry.path,
                &entry.span,
                kind(entry.value),
                wrong_type(entry.value, "a list of tables", &format!("[[{}]]", entry.path)),
            );
            return None;
        };
        let mut tables = Vec::new();
        for (i, item) in items.iter().enumerate() {
            let path = format!("{}[{i}]", entry.path);
            match item.get_ref() {
                DeValue::Table(entries) => tables.push(Table { path, entries }),
                other => sink.fault(&path, &item.span(), kind(other), wrong_type(other, "a table", "{ … }")),
            }
        }
        Some(tables)
    }

    /// A text; an empty one counts as not given.
    pub(super) fn text(&self, sink: &mut Sink, key: &str) -> Option<&'a str> {
        let entry = self.entry(key)?;
        match entry.value {
            DeValue::String(text) => Some(text.trim()).filter(|text| !text.is_empty()),
            other => {
                sink.fault(&entry.path, &entry.span, kind(other), wrong_type(other, "text", "\"…\""));
                None
            }
        }
    }

    /// A text as an owned string.
    pub(super) fn string(&self, sink: &mut Sink, key: &str) -> Option<String> {
        self.text(sink, key).map(str::to_owned)
    }

    /// A text that must be there and not be empty.
    pub(super) fn need_text(&self, sink: &mut Sink, key: &str, wanted: &str) -> Option<&'a str> {
        let text = self.text(sink, key);
        if text.is_none() {
            match self.entry(key) {
                None => sink.missing(&self.path(key), wanted, &format!("add `{key} = \"…\"`")),
                Some(entry) if matches!(entry.value, DeValue::String(_)) => {
                    let fault =
                        Fault::new(&checks::VALUE_EMPTY, format!("`{key}` is empty"), wanted, "fill it in");
                    sink.fault(&entry.path, &entry.span, "", fault);
                }
                Some(_) => {}
            }
        }
        text
    }

    /// A list of texts; nothing where the key is not there.
    pub(super) fn texts(&self, sink: &mut Sink, key: &str) -> Vec<String> {
        let Some(entry) = self.entry(key) else { return Vec::new() };
        let DeValue::Array(items) = entry.value else {
            sink.fault(
                &entry.path,
                &entry.span,
                kind(entry.value),
                wrong_type(entry.value, "a list of texts", "[\"…\"]"),
            );
            return Vec::new();
        };
        let mut texts = Vec::new();
        for (i, item) in items.iter().enumerate() {
            match item.get_ref() {
                DeValue::String(text) => texts.push(text.trim().to_owned()),
                other => sink.fault(
                    &format!("{}[{i}]", entry.path),
                    &item.span(),
                    kind(other),
                    wrong_type(other, "text", "\"…\""),
                ),
            }
        }
        texts
    }

    /// A value read from text; `wanted` names it where a bare number stands instead.
    pub(super) fn value<T>(
        &self,
        sink: &mut Sink,
        key: &str,
        example: &str,
        read: impl FnOnce(&str) -> Result<T, Fault>,
    ) -> Option<T> {
        let entry = self.entry(key)?;
        let text = match entry.value {
            DeValue::String(text) if text.trim().is_empty() => {
                let fault = Fault::new(
                    &checks::VALUE_EMPTY,
                    format!("`{key}` is empty"),
                    example,
                    "fill it in or leave the key out",
                );
                sink.fault(&entry.path, &entry.span, "", fault);
                return None;
            }
            DeValue::String(text) => text,
            DeValue::Integer(number) => return self.bare(sink, &entry, &number.to_string(), example),
            DeValue::Float(number) => return self.bare(sink, &entry, number.as_str(), example),
            other => {
                sink.fault(
                    &entry.path,
                    &entry.span,
                    kind(other),
                    wrong_type(other, "text", &format!("\"{example}\"")),
                );
                return None;
            }
        };
        match read(text) {
            Ok(value) => Some(value),
            Err(fault) => {
                sink.fault(&entry.path, &entry.span, text, fault);
                None
            }
        }
    }

    fn bare<T>(&self, sink: &mut Sink, entry: &Entry<'_, '_>, number: &str, example: &str) -> Option<T> {
        let number = shorten(number);
        let fault = Fault::new(
            &checks::NUMBER_WITHOUT_UNIT,
            format!("{number} is a number without a unit"),
            format!("text such as \"{example}\""),
            format!("write it in quotation marks with its unit, such as \"{example}\""),
        );
        sink.fault(&entry.path, &entry.span, &number, fault);
        None
    }

    /// A value that must be there.
    pub(super) fn need<T>(
        &self,
        sink: &mut Sink,
        key: &str,
        example: &str,
        read: impl FnOnce(&str) -> Result<T, Fault>,
    ) -> Option<T> {
        if !self.has(key) {
            sink.missing(&self.path(key), example, &format!("add `{key} = \"{example}\"`"));
            return None;
        }
        self.value(sink, key, example, read)
    }

    /// A date, as text or as TOML's own.
    pub(super) fn date(&self, sink: &mut Sink, key: &str) -> Option<NaiveDate> {
        let entry = self.entry(key)?;
        let text = match entry.value {
            DeValue::String(text) => text.trim().to_owned(),
            DeValue::Datetime(when) => when.to_string(),
            other => {
                sink.fault(
                    &entry.path,
                    &entry.span,
                    kind(other),
                    wrong_type(other, "a date", "\"2026-11-18\""),
                );
                return None;
            }
        };
        match date(&text) {
            Ok(date) => Some(date),
            Err(fault) => {
                sink.fault(&entry.path, &entry.span, &text, fault);
                None
            }
        }
    }

    /// A date that must be there.
    pub(super) fn need_date(&self, sink: &mut Sink, key: &str) -> Option<NaiveDate> {
        if !self.has(key) {
            sink.missing(&self.path(key), "a date", &format!("add `{key} = \"2026-11-18\"`, year-month-day"));
        }
        self.date(sink, key)
    }

    /// Yes or no.
    pub(super) fn boolean(&self, sink: &mut Sink, key: &str) -> Option<bool> {
        let entry = self.entry(key)?;
        match entry.value {
            DeValue::Boolean(value) => Some(*value),
            other => {
                sink.fault(&entry.path, &entry.span, kind(other), wrong_type(other, "true or false", "true"));
                None
            }
        }
    }

    /// A count.
    pub(super) fn count(&self, sink: &mut Sink, key: &str) -> Option<u64> {
        let entry = self.entry(key)?;
        let read = match entry.value {
            DeValue::Integer(number) => u64::from_str_radix(number.as_str(), number.radix()).ok(),
            _ => None,
        };
        if read.is_none() {
            sink.fault(
                &entry.path,
                &entry.span,
                kind(entry.value),
                wrong_type(entry.value, "a whole number from 0", "5000"),
            );
        }
        read
    }

    /// A number without a unit, such as a coverage factor.
    pub(super) fn factor(&self, sink: &mut Sink, key: &str) -> Option<f64> {
        let entry = self.entry(key)?;
        let text = match entry.value {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str(),
            DeValue::Float(number) => number.as_str(),
            other => {
                sink.fault(&entry.path, &entry.span, kind(other), wrong_type(other, "a number", "2.0"));
                return None;
            }
        };
        let read = text.parse::<f64>().ok().filter(|number| number.is_finite());
        if read.is_none() {
            let message = format!("'{}' is not a finite number", shorten(text));
            let fault =
                Fault::new(&checks::NUMBER_UNREADABLE, message, "a finite number", "write it such as 2.0");
            sink.fault(&entry.path, &entry.span, text, fault);
        }
        read
    }
}

fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

fn wrong_type(value: &DeValue<'_>, wanted: &str, example: &str) -> Fault {
    Fault::new(
        &checks::VALUE_TYPE,
        format!("there is {} where {wanted} is wanted", kind(value)),
        wanted,
        format!("write it as {example}"),
    )
}
