//! Raw bytes as they can be printed on any terminal.

use std::fmt::Write;

use crate::diagnose::steers;

/// So many characters of a line are shown.
const CHARS_MAX: usize = 72;

/// A raw line with everything that a terminal would obey written as an escape, cut where it is long.
#[must_use]
pub fn shown(raw: &[u8]) -> String {
    let mut out = String::new();
    let mut count = 0_usize;
    for chunk in raw.utf8_chunks() {
        for c in chunk.valid().chars() {
            if count == CHARS_MAX {
                out.push('…');
                return out;
            }
            count += 1;
            match c {
                '\r' => out.push_str("\\r"),
                '\n' => out.push_str("\\n"),
                '\t' => out.push_str("\\t"),
                c if c.is_control() || steers(c) => {
                    // Writing into a String cannot fail.
                    let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
                }
                c => out.push(c),
            }
        }
        for byte in chunk.invalid() {
            count += 1;
            let _ = write!(out, "\\x{byte:02x}");
        }
    }
    out
}
