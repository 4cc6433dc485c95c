//! `run.toml` as it was prepared becomes that of a run that was measured: what was seen at the bench is
//! written into it, and comments, order and everything else stay as they are.

use thiserror::Error;
use toml_edit::{Array, DocumentMut, Item, Table, TableLike};

/// One key and what was seen of it at the bench.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// the section of `run.toml`
    pub section: &'static str,
    /// the key in it
    pub key: &'static str,
    /// its value
    pub value: Value,
}

/// A value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// a text
    Text(String),
    /// a whole number
    Whole(i64),
    /// texts that are added to a list, those that are not in it yet
    More(Vec<String>),
}

/// What came of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Completed {
    /// the new text
    pub text: String,
    /// the keys that said something else before, with what they said
    pub replaced: Vec<(String, String)>,
}

/// Why it cannot be completed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CompleteError {
    /// It is no TOML.
    #[error("run.toml cannot be read: {0}")]
    Syntax(String),
    /// A section is something else.
    #[error("{0} in run.toml is no section")]
    NotASection(&'static str),
}

/// Writes what was seen into the text of a `run.toml`.
///
/// # Errors
/// [`CompleteError`] where the text is no TOML, or a section is none.
pub fn complete(text: &str, seen: &[Seen]) -> Result<Completed, CompleteError> {
    let mut document: DocumentMut =
        text.parse().map_err(|error: toml_edit::TomlError| CompleteError::Syntax(error.to_string()))?;
    let mut replaced = Vec::new();
    for Seen { section, key, value: new } in seen {
        let table = section_of(&mut document, section)?;
        let before = table.get(key).and_then(Item::as_value);
        let was = before.map(|value| value.as_str().map_or_else(|| value.to_string(), str::to_owned));
        let after = match new {
            Value::Text(text) => toml_edit::Value::from(text.as_str()),
            Value::Whole(number) => toml_edit::Value::from(*number),
            Value::More(texts) => toml_edit::Value::Array(added(before, texts)),
        };
        let is_list = matches!(new, Value::More(_));
        let said = after.as_str().map_or_else(|| after.to_string(), str::to_owned);
        match was.as_deref().map(str::trim) {
            Some(old) if old == said => continue,
            Some(old) if !is_list => replaced.push((format!("{section}.{key}"), old.to_owned())),
            _ => {}
        }
        put(table, key, after);
    }
    Ok(Completed { text: document.to_string(), replaced })
}

fn section_of<'d>(
    document: &'d mut DocumentMut,
    section: &'static str,
) -> Result<&'d mut dyn TableLike, CompleteError> {
    let item = document.entry(section).or_insert_with(|| {
        let mut table = Table::new();
        table.decor_mut().set_prefix("\n");
        Item::Table(table)
    });
    item.as_table_like_mut().ok_or(CompleteError::NotASection(section))
}

fn added(before: Option<&toml_edit::Value>, texts: &[String]) -> Array {
    let mut list = before.and_then(toml_edit::Value::as_array).cloned().unwrap_or_default();
    for text in texts {
        if !list.iter().any(|known| known.as_str() == Some(text)) {
            list.push(text.as_str());
        }
    }
    list
}

/// Sets a value and keeps the comment beside the old one.
fn put(table: &mut dyn TableLike, key: &str, mut new: toml_edit::Value) {
    if let Some(old) = table.get(key).and_then(Item::as_value) {
        *new.decor_mut() = old.decor().clone();
    }
    table.insert(key, Item::Value(new));
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn seen(section: &'static str, key: &'static str, value: &str) -> Seen {
        Seen { section, key, value: Value::Text(value.to_owned()) }
    }

    #[test]
    fn what_was_seen_is_added_and_the_rest_stays() {
        let before =
            "# prepared\nformat = 1\n\n[run]\njob = \"J 1\" # theirs\n\n[people]\napprover = \"E\"\n";
        let after = complete(
            before,
            &[
                seen("people", "technician", "Runa Hjaltevik"),
                seen("environment", "temperature_start", "21.3 °C"),
                Seen { section: "bench", key: "order", value: Value::Whole(4) },
            ],
        )
        .unwrap();
        assert_eq!(
            after.text,
            "# prepared\nformat = 1\n\n[run]\njob = \"J 1\" # theirs\n\n[people]\napprover = \"E\"\ntechnician = \"Runa Hjaltevik\"\n\n[environment]\ntemperature_start = \"21.3 °C\"\n\n[bench]\norder = 4\n"
        );
        assert!(after.replaced.is_empty());
    }

    #[test]
    fn what_said_something_else_is_named() {
        let before = "[run]\nperformed = \"2026-11-18\" # planned\n";
        let after = complete(before, &[seen("run", "performed", "2026-11-19")]).unwrap();
        assert_eq!(after.text, "[run]\nperformed = \"2026-11-19\" # planned\n");
        assert_eq!(after.replaced, [("run.performed".to_owned(), "2026-11-18".to_owned())]);
    }

    #[test]
    fn what_is_said_already_changes_nothing() {
        let before = "[people]\ntechnician = 'Runa'\n";
        assert_eq!(complete(before, &[seen("people", "technician", "Runa")]).unwrap().text, before);
    }

    #[test]
    fn a_list_grows_and_nothing_stands_in_it_twice() {
        let remark = |text: &str| Seen {
            section: "certificate",
            key: "remarks",
            value: Value::More(vec![text.to_owned()]),
        };
        let before = "[certificate]\nremarks = [\"grip worn\"]\n";
        let after = complete(before, &[remark("warm room")]).unwrap();
        assert_eq!(after.text, "[certificate]\nremarks = [\"grip worn\", \"warm room\"]\n");
        assert!(after.replaced.is_empty());
        assert_eq!(complete(&after.text, &[remark("warm room")]).unwrap().text, after.text);
    }

    #[test]
    fn a_section_that_is_none_is_refused() {
        assert_eq!(
            complete("people = 3\n", &[seen("people", "technician", "R")]),
            Err(CompleteError::NotASection("people"))
        );
        assert!(matches!(complete("[run\n", &[]), Err(CompleteError::Syntax(_))));
    }
}
