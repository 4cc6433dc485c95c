//! Errors of TOML's syntax in the words of the bench: what is probably wrong with the line, and how
//! to mend it.

use std::ops::Range;

use super::value::shorten;

/// An error of syntax, explained.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Syntax {
    pub(super) message: String,
    pub(super) remedy: String,
    /// the bytes that are to blame
    pub(super) span: Range<usize>,
}

const CURLY: [char; 10] = ['“', '”', '„', '‟', '«', '»', '‘', '’', '‚', '″'];

/// Explains what the parser said about a span within a line.
pub(super) fn explain(text: &str, line: &Range<usize>, span: Range<usize>, said: &str) -> Syntax {
    let whole = text.get(line.clone()).unwrap_or_default();
    if let Some((at, c, message, remedy)) = strange_character(whole) {
        let start = line.start + at;
        return Syntax { message, remedy: remedy.to_owned(), span: start..start + c.len_utf8() };
    }
    let first = whole.lines().next().unwrap_or_default();
    let name = shorten(text.get(span.clone()).unwrap_or_default().trim());
    let (message, remedy) =
        by_parser(first, &name, said).or_else(|| by_shape(first, said)).unwrap_or_else(|| {
            (
                format!("this is not TOML: {said}"),
                "mend the line; text needs \"…\", and each key stands once in its table".to_owned(),
            )
        });
    Syntax { message, remedy, span }
}

/// A character that no line of TOML has where it stands, with message and remedy.
fn strange_character(line: &str) -> Option<(usize, char, String, &'static str)> {
    if let Some((at, mark)) = curly(line) {
        return Some((
            at,
            mark,
            format!("the text stands in the curly quotation mark {mark}, and TOML knows straight ones only"),
            "write \" before and behind the text; an editor for plain text does not make the marks curly",
        ));
    }
    let (at, c) = line.char_indices().find(|(_, c)| c.is_control() && !matches!(c, '\t' | '\n' | '\r'))?;
    Some((
        at,
        c,
        format!("the line holds the control character U+{:04X}", u32::from(c)),
        "remove it; it often comes with text that was copied from elsewhere",
    ))
}

/// Message and remedy where what the parser said is enough.
fn by_parser(first: &str, name: &str, said: &str) -> Option<(String, String)> {
    let is_header = first.trim_start().starts_with('[');
    if said.contains("duplicate key") && is_header {
        return Some((
            format!("the table [{name}] is there twice"),
            "put the lines of both under one header, or mend the name of one".to_owned(),
        ));
    }
    if said.contains("duplicate key") {
        return Some((
            format!("the key `{name}` is there twice in its table"),
            "remove one of the two; where a header such as [customer] was lost, write it above the second"
                .to_owned(),
        ));
    }
    if said.contains("escape") {
        return Some((
            "a backslash in a text begins an escape, and this is none".to_owned(),
            "write / between folders, and \\\\ where a backslash is meant".to_owned(),
        ));
    }
    if is_header && !first.contains(']') {
        return Some(("the header of the table is not closed".to_owned(), "write ] at its end".to_owned()));
    }
    if first.trim().ends_with(']') && !first.contains(['[', '=']) {
        return Some((
            "the header of the table has no [ before it".to_owned(),
            format!("write [{}", shorten(first.trim())),
        ));
    }
    if said.contains("key with no value") {
        return Some((
            "there is no = behind the key".to_owned(),
            "write key = \"value\"; a remark begins with #".to_owned(),
        ));
    }
    None
}

/// Message and remedy from what stands behind the first `=`.
fn by_shape(first: &str, said: &str) -> Option<(String, String)> {
    let (key, value) = first.split_once('=')?;
    let (key, value) = (shorten(key.trim()), value.trim());
    if value.is_empty() {
        return Some((format!("`{key}` has no value"), "write one behind =, or remove the line".to_owned()));
    }
    if value.starts_with(|c: char| c.is_ascii_digit())
        && value.chars().all(|c| c.is_ascii_digit() || c == ',')
    {
        return Some((
            format!("{} is not a number of TOML", shorten(value)),
            "write a whole number without separators and without zeros before it, such as 3120".to_owned(),
        ));
    }
    if is_bare(value) {
        let text = value.split('#').next().unwrap_or_default().trim();
        return Some((
            "the value has no quotation marks around it".to_owned(),
            format!("write {key} = \"{}\"", shorten(text)),
        ));
    }
    if marks(value) % 2 == 1 && !value.contains("\"\"\"") {
        return Some((
            "a quotation mark is never closed".to_owned(),
            "write \" before and behind the text; a mark within it is written \\\"".to_owned(),
        ));
    }
    if said.contains("unclosed array") || said.contains("missing comma between array") {
        return Some((
            "the list is not closed, or a comma is missing in it".to_owned(),
            "write [\"…\", \"…\"], with a comma between the texts".to_owned(),
        ));
    }
    None
}

/// A curly quotation mark where a text should begin.
fn curly(line: &str) -> Option<(usize, char)> {
    line.char_indices().find(|(at, c)| {
        CURLY.contains(c)
            && line.get(..*at).is_some_and(|before| before.trim_end().ends_with(['=', '[', ',']))
    })
}

/// A text without quotation marks; numbers, lists and tables are none.
fn is_bare(value: &str) -> bool {
    !value.starts_with(['"', '\'', '[', '{']) && !value.is_empty()
}

/// How many quotation marks there are that no backslash stands before.
fn marks(value: &str) -> usize {
    let mut escaped = false;
    value
        .chars()
        .filter(|c| {
            let counts = *c == '"' && !escaped;
            escaped = *c == '\\' && !escaped;
            counts
        })
        .count()
}
