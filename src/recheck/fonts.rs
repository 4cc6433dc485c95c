//! From codes to characters: the `ToUnicode` map of a font (ISO 32000-1, 9.10.3), as typst writes it.

use std::collections::BTreeMap;

use leverarm_seal::pdf::{Dictionary, Document, Object};

use super::content::{Operand, Reader};

/// Largest map, bytes.
const MAP_MAX: usize = 1 << 20;
/// Most codes of a font.
const CODES_MAX: usize = 70_000;

/// A font that turns codes of two bytes into text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Font {
    map: BTreeMap<u16, String>,
    /// whether it is a font of the kind that typst writes
    known: bool,
}

impl Font {
    /// Of a font dictionary; one that is not understood turns every code into a mark.
    pub(super) fn of(document: &Document<'_>, font: &Dictionary) -> Font {
        let identity = font.name("Subtype") == Some(b"Type0") && font.name("Encoding") == Some(b"Identity-H");
        let Ok(Some(Object::Stream(stream))) = document.entry(font, "ToUnicode") else {
            return Font::default();
        };
        let map = document.decode(&stream, MAP_MAX).ok().and_then(|bytes| parse(&bytes));
        match map {
            Some(map) if identity => Font { map, known: true },
            _ => Font::default(),
        }
    }

    /// The text of a string of codes.
    pub(super) fn text(&self, codes: &[u8], out: &mut String) {
        if !self.known {
            out.push('\u{fffd}');
            return;
        }
        for pair in codes.chunks(2) {
            let code = match pair {
                [high, low] => u16::from_be_bytes([*high, *low]),
                _ => u16::MAX,
            };
            match self.map.get(&code) {
                Some(text) => out.push_str(text),
                None => out.push('\u{fffd}'),
            }
        }
    }
}

/// The map of `bfchar` and `bfrange`; everything else in it is passed over.
fn parse(bytes: &[u8]) -> Option<BTreeMap<u16, String>> {
    let mut map = BTreeMap::new();
    let mut reader = Reader::new(bytes);
    while let Some((word, operands)) = reader.next().ok()? {
        match word.as_str() {
            "endbfchar" => {
                for pair in operands.chunks(2) {
                    let [Operand::String(code), Operand::String(text)] = pair else { return None };
                    map.insert(code_of(code)?, unicode(text));
                }
            }
            "endbfrange" => {
                for three in operands.chunks(3) {
                    let [Operand::String(first), Operand::String(last), to] = three else { return None };
                    range(code_of(first)?, code_of(last)?, to, &mut map)?;
                }
            }
            _ => {}
        }
        if map.len() > CODES_MAX {
            return None;
        }
    }
    Some(map)
}

fn range(first: u16, last: u16, to: &Operand, map: &mut BTreeMap<u16, String>) -> Option<()> {
    for (place, code) in (first..=last).enumerate() {
        let text = match to {
            Operand::Array(list) => match list.get(place)? {
                Operand::String(text) => unicode(text),
                _ => return None,
            },
            Operand::String(start) => {
                let start = unicode(start);
                let last = start.chars().last()?;
                let next = char::from_u32(u32::from(last).checked_add(u32::try_from(place).ok()?)?)?;
                let mut text: String = start.chars().take(start.chars().count() - 1).collect();
                text.push(next);
                text
            }
            _ => return None,
        };
        map.insert(code, text);
    }
    Some(())
}

fn code_of(bytes: &[u8]) -> Option<u16> {
    match bytes {
        [high, low] => Some(u16::from_be_bytes([*high, *low])),
        _ => None,
    }
}

/// UTF-16, big endian.
fn unicode(bytes: &[u8]) -> String {
    let units = bytes.chunks(2).map(|pair| match pair {
        [high, low] => u16::from_be_bytes([*high, *low]),
        _ => 0xFFFD,
    });
    char::decode_utf16(units).map(|c| c.unwrap_or('\u{fffd}')).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    // ISO 32000-1, 9.10.3: the example of a ToUnicode map.
    #[test]
    fn the_example_of_the_standard() {
        let text =
            b"1 begincodespacerange <0000> <FFFF> endcodespacerange 2 beginbfrange <0000> <005E> <0020> \
            <005F> <0061> [<00660066> <00660069> <00660066006C>] endbfrange \
            1 beginbfchar <3A51> <D840DC3E> endbfchar endcmap";
        let font = Font { map: parse(text).unwrap(), known: true };
        let mut out = String::new();
        font.text(&[0, 0x21, 0, 0x5F, 0, 0x61, 0x3A, 0x51, 0x70, 0], &mut out);
        assert_eq!(out, "Affffl\u{2003E}\u{fffd}");
    }
}
