//! Words of the letters.

use chrono::NaiveDate;
use ttf_parser::Face;

use crate::diagnose::steers;

/// "18 November 2026".
pub(super) fn day(date: NaiveDate) -> String {
    date.format("%-d\u{a0}%B\u{a0}%Y").to_string()
}

/// "1 certificate", "2 certificates".
pub(super) fn counted(n: usize, one: &str) -> String {
    format!("{n}\u{a0}{one}{}", if n == 1 { "" } else { "s" })
}

/// A text that others wrote, for paper: what the fonts do not have, or what would turn the writing,
/// stands as its code point, so that nothing is lost in silence. Line breaks become commas.
#[must_use]
pub fn paper_text(text: &str) -> String {
    let face = Face::parse(notosans::REGULAR_TTF, 0).ok();
    let has = |c: char| {
        c.is_ascii() || face.as_ref().is_none_or(|face| face.glyph_index(c).is_some_and(|glyph| glyph.0 != 0))
    };
    let lines = text.split(['\n', '\r', '\t']).map(str::trim).filter(|line| !line.is_empty());
    let one = lines.collect::<Vec<_>>().join(", ");
    let mut out = String::with_capacity(one.len());
    for c in one.chars() {
        if steers(c) || !has(c) {
            out.push_str(&format!("[U+{:04X}]", u32::from(c)));
        } else {
            out.push(c);
        }
    }
    out
}

/// A name that is a file's name everywhere: small letters, digits and hyphens, at most 40.
pub(super) fn file_name(name: &str) -> String {
    let mut out = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if out.len() >= 40 {
            break;
        }
        if c.is_ascii_alphanumeric() {
            out.push(c);
        } else if !out.ends_with('-') && !out.is_empty() {
            out.push('-');
        }
    }
    let trimmed = out.trim_end_matches('-');
    if trimmed.is_empty() { "customer".to_owned() } else { trimmed.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_names_are_shown_and_do_nothing() {
        assert_eq!(paper_text("Haldervoe\nBank\u{202e}x"), "Haldervoe, Bank[U+202E]x");
        assert_eq!(paper_text("東 #panic() $x$ @a"), "[U+6771] #panic() $x$ @a");
        assert_eq!(paper_text("a\u{1b}[31m"), "a[U+001B][31m");
        assert_eq!(file_name("../../etc/Passwd"), "etc-passwd");
        assert_eq!(file_name("  ÅØ/\0"), "customer");
        assert!(file_name(&"Fennimarsk ".repeat(40)).len() <= 40);
    }
}
