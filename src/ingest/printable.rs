//! Which characters a text may hold: those that the fonts of the certificate have, and none that
//! steers a terminal or turns the direction of the writing.

use std::sync::OnceLock;

use leverarm_metrology::finding::{Document, Finding, Place};
use ttf_parser::Face;

use super::checks;
use super::value::{Fault, shorten};

/// A character that cannot be printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Unprintable {
    pub(super) character: char,
    why: Why,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Why {
    LineBreak,
    Control,
    Direction,
    NoGlyph,
}

/// Whether a character turns the direction of the writing around it, unseen.
pub(crate) const fn turns_direction(c: char) -> bool {
    matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Whether a font of the certificate has a character.
fn has_glyph(c: char) -> bool {
    static FONT: OnceLock<Option<Face<'static>>> = OnceLock::new();
    let font = FONT.get_or_init(|| Face::parse(notosans::REGULAR_TTF, 0).ok());
    font.as_ref().is_none_or(|face| face.glyph_index(c).is_some_and(|glyph| glyph.0 != 0))
}

/// The first character of a text that cannot be printed.
pub(super) fn unprintable(text: &str) -> Option<Unprintable> {
    if text.bytes().all(|byte| (b' '..=b'~').contains(&byte)) {
        return None;
    }
    text.chars().find_map(|character| {
        let why = match character {
            '\n' | '\r' | '\u{85}' | '\u{2028}' | '\u{2029}' => Why::LineBreak,
            c if c.is_control() => Why::Control,
            c if turns_direction(c) => Why::Direction,
            c if has_glyph(c) => return None,
            _ => Why::NoGlyph,
        };
        Some(Unprintable { character, why })
    })
}

impl Unprintable {
    /// Written out.
    pub(super) fn fault(self) -> Fault {
        let c = self.character;
        let code = format!("U+{:04X}", u32::from(c));
        let (message, remedy) = match self.why {
            Why::LineBreak => (
                format!("the text has a line break in it ({code})"),
                "write it in one line, with commas where lines ended",
            ),
            Why::Control => (
                format!(
                    "the text holds the control character {code}, which has no shape and can steer a terminal"
                ),
                "remove the character; it often comes with text that was copied from elsewhere",
            ),
            Why::Direction => (
                format!("the text holds {code}, which turns the direction of the writing and is not seen"),
                "remove the character; it often comes with text that was copied from elsewhere",
            ),
            Why::NoGlyph => (
                format!("the fonts of the certificate do not have the character '{c}' ({code})"),
                "write the text in Latin, Greek or Cyrillic letters, such as a transcription of the name",
            ),
        };
        Fault::new(
            &checks::CHARACTER_UNPRINTABLE,
            message,
            "letters, digits and signs that the certificate can print",
            remedy,
        )
    }

    /// Where the character stands in a part of a file; the whole part where it is written as an
    /// escape.
    pub(super) fn place(self, document: Document, text: &str, start: usize, end: usize) -> Place {
        let found = text.get(start..end).and_then(|part| part.find(self.character));
        match found {
            Some(at) => {
                let start = start + at;
                Place::Bytes { document, start, end: start + self.character.len_utf8() }
            }
            None => Place::Bytes { document, start, end },
        }
    }
}

/// The finding of a text that was given as an option and stands for a key of `run.toml`.
pub(super) fn of_option(path: &str, text: &str) -> Option<Finding> {
    let fault = unprintable(text)?.fault();
    Some(
        Finding::new(fault.check, Place::run(path), fault.message)
            .given(shorten(text))
            .wanted(fault.wanted)
            .remedy(fault.remedy),
    )
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn what_the_fonts_have_is_printed_and_nothing_else() {
        for good in
            ["Skerry bench", "Ærøskøbing, Łódź, Đà Nẵng", "Αθήνα", "Київ", "N·m ±2 % „so“ – 1⁄2 µ Ω °", ""]
        {
            assert_eq!(unprintable(good), None, "{good}");
        }
        for (bad, character, code) in [
            ("Tool 東京", '東', "U+6771"),
            ("عمان", 'ع', "U+0639"),
            ("a\u{7}b", '\u{7}', "U+0007"),
            ("X\u{1b}[31mRED", '\u{1b}', "U+001B"),
            ("two\nlines", '\n', "U+000A"),
            ("a\tb", '\t', "U+0009"),
            ("abc\u{202e}cba", '\u{202e}', "U+202E"),
            ("wrench 🔧", '🔧', "U+1F527"),
        ] {
            let found = unprintable(bad).unwrap();
            assert_eq!(found.character, character);
            assert!(found.fault().message.contains(code), "{:?}", found.fault());
        }
    }

    /// The certificate sets words in four fonts; one is asked for all of them.
    #[test]
    fn the_four_fonts_have_the_same_characters() {
        let regular = Face::parse(notosans::REGULAR_TTF, 0).unwrap();
        for font in [notosans::BOLD_TTF, notosans::ITALIC_TTF, notosans::BOLD_ITALIC_TTF] {
            let other = Face::parse(font, 0).unwrap();
            let lacking: Vec<char> = ('\0'..=char::MAX)
                .filter(|c| regular.glyph_index(*c).is_some() && other.glyph_index(*c).is_none())
                .collect();
            assert_eq!(lacking, Vec::<char>::new());
        }
    }
}
