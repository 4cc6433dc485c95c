//! A trace of a pull for a terminal ([`text`], [`list`]), as a chart ([`chart`]) and as all of its
//! samples ([`csv`]).

mod canvas;
pub mod chart;
pub mod csv;
pub mod list;
pub mod text;

#[cfg(test)]
mod tests;

use leverarm_pull::trace::Trace;

use crate::trace_view::analyse::Analysis;
use crate::trace_view::facts::Facts;

/// A trace with everything that was found out about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// the trace
    pub trace: Trace,
    /// what the detector found
    pub analysis: Analysis,
    /// what is said of it
    pub facts: Facts,
}

/// Which characters a terminal has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charset {
    /// braille and block characters
    Unicode,
    /// nothing beyond ASCII
    Ascii,
}

impl Charset {
    /// A text in these characters; what ASCII has not is replaced by what looks like it.
    #[must_use]
    pub fn of(self, text: String) -> String {
        if self == Charset::Unicode {
            return text;
        }
        let mut plain = String::with_capacity(text.len());
        for c in text.chars() {
            match c {
                c if c.is_ascii() => plain.push(c),
                '\u{2212}' | '─' | '–' => plain.push('-'),
                '│' => plain.push('|'),
                '┤' | '┬' | '└' | '├' => plain.push('+'),
                '·' => plain.push('.'),
                '\u{a0}' | '\u{202f}' => plain.push(' '),
                '…' => plain.push_str("..."),
                '’' => plain.push('\''),
                '“' | '”' => plain.push('"'),
                _ => plain.push('?'),
            }
        }
        plain
    }
}
