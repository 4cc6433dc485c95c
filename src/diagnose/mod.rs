//! Findings for people and for programs: file, line, column, the line itself with a pointer, what
//! is wrong with the numbers of both sides, the clause, and how to mend it.

mod excerpt;
mod json;
mod order;
mod text;

pub use excerpt::Excerpt;
pub use json::{Entry, entries};
pub use order::{Counts, Located, arranged};
pub use text::{rulebook_errors, rulebook_findings, text};

use crate::ingest::printable::turns_direction;

/// A text without characters that could steer a terminal: files are written by others.
pub(crate) fn harmless(text: &str) -> String {
    text.chars().map(|c| if steers(c) { '\u{fffd}' } else { c }).collect()
}

/// Whether a character could steer a terminal or turn the direction of the writing.
pub(crate) fn steers(c: char) -> bool {
    c.is_control() || turns_direction(c)
}

/// A message as a sentence: with a capital letter and a full stop, unless it begins with a quotation.
pub(crate) fn sentence(message: &str) -> String {
    let mut chars = message.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let stop = if message.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{first}{}{stop}", chars.as_str())
}

#[cfg(test)]
mod tests;
