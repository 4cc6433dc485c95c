//! Findings for people and for programs: file, line, column, the line itself with a pointer, what
//! is wrong with the numbers of both sides, the clause, and how to mend it.

mod excerpt;
mod json;
mod order;
mod text;

pub use excerpt::Excerpt;
pub use json::{Entry, entries};
pub use order::{Counts, Located, arranged};
pub use text::{rulebook_errors, text};

/// A text without characters that could steer a terminal: files are written by others.
pub(crate) fn harmless(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

#[cfg(test)]
mod tests;
