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
    let first = whole.lines().next().unwrap_or_default();
    let key = first.split('=').next().unwrap_or_default().trim();
    let value = first.split_once('=').map_or("", |(_, value)| value.trim());
    let syntax = |message: String, remedy: String| Syntax { message, remedy, span: span.clone() };
    if let Some((at, mark)) = curly(first) {
        let start = line.start + at;
        return Syntax {
            message: format!("the text stands in the curly quotation mark {mark}, and TOML knows straight ones only"),
            remedy: "write \" before and behind the text; an editor for plain text does not make the marks curly"
                .to_owned(),
            span: start..start + mark.len_utf8(),
        };
    }
    if let Some((at, c)) = whole.char_indices().find(|(_, c)| c.is_control() && !matches!(c, '\t' | '\n' | '\r')) {
        let start = line.start + at;
        return Syntax {
            message: format!("the line holds the control character U+{:04X}", u32::from(c)),
            remedy: "remove it; it often comes with text that was copied from elsewhere".to_owned(),
            span: start..start + c.len_utf8(),
        };
    }
    if said.contains("duplicate key") {
        let name = shorten(text.get(span.clone()).unwrap_or_default().trim());
        let (what, remedy) = if first.trim_start().starts_with('[') {
            (format!("the table [{name}] is there twice"), "put the lines of both under one header".to_owned())
        } else {
            (
                format!("the key `{name}` is there twice in its table"),
                "remove one of the two; where a header such as [customer] was lost, write it above the second".to_owned(),
            )
        };
        return syntax(what, remedy);
    }
    if said.contains("escape") {
        return syntax(
            "a backslash in a text begins an escape, and this is none".to_owned(),
            "write / between folders, and \\\\ where a backslash is meant".to_owned(),
        );
    }
    if first.trim_start().starts_with('[') && !first.contains(']') {
        return syntax("the header of the table is not closed".to_owned(), "write ] at its end".to_owned());
    }
    if said.contains("key with no value") {
        return syntax(
            "there is no = behind the key".to_owned(),
            "write key = \"value\"; a remark begins with #".to_owned(),
        );
    }
    if value.is_empty() && first.contains('=') {
        return syntax(format!("`{}` has no value", shorten(key)), "write one behind =, or remove the line".to_owned());
    }
    if is_bare(value) {
        let text = value.split('#').next().unwrap_or_default().trim();
        return syntax(
            "the value has no quotation marks around it".to_owned(),
            format!("write {} = \"{}\"", shorten(key), shorten(text)),
        );
    }
    if marks(value) % 2 == 1 && !value.contains("\"\"\"") {
        return syntax(
            "a quotation mark is never closed".to_owned(),
            "write \" before and behind the text; a mark within it is written \\\"".to_owned(),
        );
    }
    if said.contains("unclosed array") || said.contains("missing comma between array") {
        return syntax(
            "the list is not closed, or a comma is missing in it".to_owned(),
            "write [\"…\", \"…\"], with a comma between the texts".to_owned(),
        );
    }
    syntax(
        format!("this is not TOML: {said}"),
        "mend the line; text needs \"…\", and each key stands once in its table".to_owned(),
    )
}

/// A curly quotation mark where a text should begin.
fn curly(line: &str) -> Option<(usize, char)> {
    line.char_indices().find(|(at, c)| {
        CURLY.contains(c) && line.get(..*at).is_some_and(|before| before.trim_end().ends_with(['=', '[', ',']))
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
