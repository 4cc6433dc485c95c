//! The line that a finding is about, with a pointer beneath the part that is meant.

use std::ops::Range;

use leverarm_metrology::finding::Place;
use unicode_width::UnicodeWidthChar;

use super::steers;
use crate::ingest::{Location, SourceMap};

/// So many columns of a long line are shown.
const WIDTH_MAX: usize = 96;
/// So many columns before the part that is meant, where a line is cut.
const LEAD: usize = 32;
const TAB: usize = 4;
/// So many bytes of a line are looked at before and behind the beginning of the part that is meant.
const WINDOW_BYTES: usize = 1000;

/// A line of a file and what to point at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excerpt {
    /// its number, from 1
    pub line: usize,
    /// the line as it can be shown: tabs are blanks, long lines are cut
    pub text: String,
    /// blanks before the pointer
    pub indent: usize,
    /// length of the pointer, at least 1
    pub width: usize,
}

/// As much of a line as can be shown around a byte: a line may be as long as its file.
fn window(bytes: &[u8], line: &Range<usize>, at: usize) -> Range<usize> {
    let at = at.clamp(line.start, line.end);
    let mut start = at.saturating_sub(WINDOW_BYTES).max(line.start);
    while start < at && bytes.get(start).is_some_and(|byte| byte & 0xC0 == 0x80) {
        start += 1;
    }
    start..at.saturating_add(WINDOW_BYTES).min(line.end)
}

struct Glyph {
    shown: char,
    times: usize,
    /// its first byte in the line
    at: usize,
    meant: bool,
}

impl Excerpt {
    /// The excerpt for a location; `None` where a file as a whole is meant or was not read.
    #[must_use]
    pub fn of(place: &Place, location: &Location, sources: &SourceMap) -> Option<Excerpt> {
        if matches!(place, Place::Whole(_)) {
            return None;
        }
        let (line, _) = location.position?;
        let source = sources.get(location.document)?;
        let range = source.line(line)?;
        let window = window(&source.bytes, &range, location.span.start);
        let bytes = source.bytes.get(window.clone())?;
        let start = location.span.start.clamp(window.start, window.end) - window.start;
        let end = location.span.end.clamp(window.start, window.end) - window.start;
        Some(Excerpt::of_line(line, bytes, start, end))
    }

    fn of_line(line: usize, bytes: &[u8], start: usize, end: usize) -> Excerpt {
        let mut glyphs = glyphs(bytes, start, end);
        let width = |glyphs: &[Glyph]| glyphs.iter().map(Glyph::width).sum::<usize>();
        // An empty cell has no glyph of its own: the pointer stands where it would be.
        let first = glyphs.iter().position(|glyph| glyph.at >= start).unwrap_or(glyphs.len());
        let mut text = String::new();
        let mut cut = 0;
        if width(&glyphs) > WIDTH_MAX && width(&glyphs[..first]) > LEAD {
            while width(&glyphs[cut..first]) > LEAD {
                cut += 1;
            }
            text.push('…');
        }
        let lead = text.chars().count();
        let indent = lead + width(&glyphs[cut..first]);
        let mut room = WIDTH_MAX;
        let mut kept = cut;
        for glyph in &glyphs[cut..] {
            let Some(left) = room.checked_sub(glyph.width()) else { break };
            room = left;
            kept += 1;
        }
        let is_cut = kept < glyphs.len();
        glyphs.truncate(kept);
        let shown = glyphs.get(cut..).unwrap_or_default();
        let pointed: usize = shown.iter().filter(|glyph| glyph.meant).map(Glyph::width).sum();
        for glyph in shown {
            text.extend(std::iter::repeat_n(glyph.shown, glyph.times));
        }
        if is_cut {
            text.push('…');
        }
        Excerpt { line, text, indent, width: pointed.max(1) }
    }
}

impl Glyph {
    fn width(&self) -> usize {
        self.times * self.shown.width().unwrap_or(0)
    }
}

fn glyphs(bytes: &[u8], start: usize, end: usize) -> Vec<Glyph> {
    let mut glyphs = Vec::new();
    let mut at = 0;
    for chunk in bytes.utf8_chunks() {
        for c in chunk.valid().chars() {
            let (shown, times) = match c {
                '\t' => (' ', TAB),
                c if steers(c) => ('\u{fffd}', 1),
                c => (c, 1),
            };
            glyphs.push(Glyph { shown, times, at, meant: at >= start && at < end });
            at += c.len_utf8();
        }
        for _ in chunk.invalid() {
            glyphs.push(Glyph { shown: '\u{fffd}', times: 1, at, meant: at >= start && at < end });
            at += 1;
        }
    }
    glyphs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(line: &str, part: &str) -> (String, String) {
        let start = line.find(part).unwrap_or(0);
        let excerpt = Excerpt::of_line(1, line.as_bytes(), start, start + part.len());
        let pointer = format!("{}{}", " ".repeat(excerpt.indent), "^".repeat(excerpt.width));
        (excerpt.text, pointer)
    }

    #[test]
    fn the_pointer_stands_beneath_the_part() {
        assert_eq!(shown("a = 1", "1"), ("a = 1".into(), "    ^".into()));
        assert_eq!(
            shown("\tä = \"N·m\" # x", "\"N·m\""),
            ("    ä = \"N·m\" # x".into(), "        ^^^^^".into())
        );
        assert_eq!(shown("名 = 1", "1"), ("名 = 1".into(), "     ^".into()));
        assert_eq!(shown("", ""), (String::new(), "^".into()));
        let empty = Excerpt::of_line(1, "ö,,3".as_bytes(), 3, 3);
        assert_eq!((empty.indent, empty.width), (2, 1));
    }

    #[test]
    fn long_lines_are_cut_around_the_part() {
        let line = format!("{}HERE{}", "x".repeat(500), "y".repeat(500));
        let (text, pointer) = shown(&line, "HERE");
        assert!(text.starts_with("…x") && text.ends_with("y…") && text.chars().count() <= WIDTH_MAX + 2);
        let at = text.find("HERE").map(|byte| text[..byte].chars().count());
        assert_eq!(at, Some(pointer.len() - 4));
    }

    #[test]
    fn control_characters_and_broken_bytes_are_not_printed() {
        let excerpt = Excerpt::of_line(1, b"a\x1b[31m\xff = 1", 6, 7);
        assert_eq!(
            (excerpt.text.as_str(), excerpt.indent, excerpt.width),
            ("a\u{fffd}[31m\u{fffd} = 1", 6, 1)
        );
    }
}
