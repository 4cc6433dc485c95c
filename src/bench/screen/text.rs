//! Text from outside as it can be put into cells: harmless, measured, cut or wrapped.

use std::fmt::Write;

use ratatui::buffer::CellWidth;
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthChar;

use crate::look::Look;

/// A letter may carry so many marks; more would grow out of its cell.
const MARKS_MAX: usize = 2;

/// The columns that a harmless text takes.
pub(crate) fn width(text: &str) -> usize {
    text.graphemes(true).map(columns_of).sum()
}

/// As the buffer measures it, or text would be lost at its edge.
fn columns_of(grapheme: &str) -> usize {
    usize::from(grapheme.cell_width())
}

/// The text with everything that a terminal would obey, hide or turn round written as an escape.
pub(crate) fn shown(text: &str, look: Look) -> String {
    harmless(text.chars(), look)
}

/// The text in at most `columns`, with an ellipsis where it was cut.
pub(crate) fn cut(text: &str, columns: usize, look: Look) -> String {
    // A character that is dropped or joined to another takes no column; what is read is bounded all the same.
    let chars_max = columns.saturating_mul(MARKS_MAX + 2).saturating_add(8);
    let mut rest = text.chars();
    let out = harmless(rest.by_ref().take(chars_max), look);
    if rest.next().is_none() && width(&out) <= columns {
        return out;
    }
    let ellipsis = look.pick("…", "~");
    let mut kept = head(&out, columns.saturating_sub(1)).to_owned();
    if columns > 0 {
        kept.push_str(ellipsis);
    }
    kept
}

/// The end of the text in at most `columns`, with an ellipsis before it where it was cut: for a line
/// that is being typed.
pub(crate) fn tail(text: &str, columns: usize, look: Look) -> String {
    let out = shown(text, look);
    if width(&out) <= columns {
        return out;
    }
    let mut used = 1_usize;
    let mut start = out.len();
    for (at, grapheme) in out.grapheme_indices(true).rev() {
        used = used.saturating_add(columns_of(grapheme));
        if used > columns {
            break;
        }
        start = at;
    }
    format!("{}{}", look.pick("…", "~"), out.get(start..).unwrap_or_default())
}

/// The text in lines of at most `columns`, broken between words, and within a word only when it is
/// longer than a line. Nothing is left out.
pub(crate) fn wrap(text: &str, columns: usize, look: Look) -> Vec<String> {
    let columns = columns.max(2);
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = String::new();
        let mut used = 0_usize;
        for word in shown(paragraph, look).split(' ').filter(|word| !word.is_empty()) {
            let mut word = word;
            let gap = usize::from(used > 0);
            if used.saturating_add(gap).saturating_add(width(word)) > columns && used > 0 {
                lines.push(std::mem::take(&mut line));
                used = 0;
            }
            while width(word) > columns {
                let piece = head(word, columns);
                // A line is at least two columns wide, so that every character fits into one.
                if piece.is_empty() {
                    break;
                }
                lines.push(piece.to_owned());
                word = word.get(piece.len()..).unwrap_or_default();
            }
            if used > 0 {
                line.push(' ');
                used += 1;
            }
            line.push_str(word);
            used = used.saturating_add(width(word));
        }
        lines.push(line);
    }
    lines
}

/// The beginning of a harmless text that fits into `columns`.
fn head(text: &str, columns: usize) -> &str {
    let mut used = 0_usize;
    for (at, grapheme) in text.grapheme_indices(true) {
        used = used.saturating_add(columns_of(grapheme));
        if used > columns {
            return text.get(..at).unwrap_or_default();
        }
    }
    text
}

fn harmless(chars: impl Iterator<Item = char>, look: Look) -> String {
    let mut out = String::new();
    let mut marks = MARKS_MAX;
    for c in chars {
        match c {
            '\t' => out.push(' '),
            // They choose between two pictures of a character whose widths differ among terminals.
            '\u{fe0e}' | '\u{fe0f}' => continue,
            '\u{ad}' => out.push('-'),
            c if c.is_control() || steers(c) => escape(&mut out, c),
            c if look.is_ascii && !c.is_ascii() => out.push_str(&folded(c)),
            c if c.width().unwrap_or(0) == 0 => {
                if marks >= MARKS_MAX {
                    escape(&mut out, c);
                } else {
                    out.push(c);
                    marks += 1;
                }
                continue;
            }
            c => out.push(c),
        }
        // A mark after an escape would change what the escape says; after anything else it may stand.
        marks = if c.is_control() || steers(c) || c == ' ' || c == '\t' { MARKS_MAX } else { 0 };
    }
    out
}

fn escape(out: &mut String, c: char) {
    let code = u32::from(c);
    // Writing into a String cannot fail.
    let _ = if code < 0x100 { write!(out, "\\x{code:02x}") } else { write!(out, "\\u{{{code:x}}}") };
}

/// Whether the character is unseen and changes how others are shown: direction, joining, line ends, tags.
const fn steers(c: char) -> bool {
    matches!(c,
        '\u{61c}' | '\u{115f}' | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}'
        | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

/// The nearest that ASCII has.
fn folded(c: char) -> String {
    let near = match c {
        '·' | '⋅' | '•' => ".",
        '°' => " deg ",
        'µ' | 'μ' => "u",
        '±' => "+/-",
        '×' => "x",
        '–' | '—' | '−' | '‐' | '‑' => "-",
        '‘' | '’' => "'",
        '“' | '”' => "\"",
        '…' => "...",
        '½' => "1/2",
        '¼' => "1/4",
        '\u{a0}' | '\u{202f}' => " ",
        '≤' => "<=",
        '≥' => ">=",
        '→' => "->",
        'À'..='Å' => "A",
        'à'..='å' => "a",
        'Æ' => "AE",
        'æ' => "ae",
        'Ç' => "C",
        'ç' => "c",
        'È'..='Ë' => "E",
        'è'..='ë' => "e",
        'Ì'..='Ï' => "I",
        'ì'..='ï' => "i",
        'Ð' => "D",
        'ð' => "d",
        'Ñ' => "N",
        'ñ' => "n",
        'Ò'..='Ö' | 'Ø' => "O",
        'ò'..='ö' | 'ø' => "o",
        'Ù'..='Ü' => "U",
        'ù'..='ü' => "u",
        'Ý' => "Y",
        'ý' | 'ÿ' => "y",
        'Þ' => "Th",
        'þ' => "th",
        'ß' => "ss",
        _ => "?",
    };
    near.to_owned()
}

#[cfg(test)]
mod tests;
