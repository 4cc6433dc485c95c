//! From bytes to objects: strict, bounded in depth and number, without a panic on any input.

use super::error::PdfError;
use super::object::{Dictionary, Object, ObjectId, PdfString};

/// Deepest nesting of arrays and dictionaries in one another.
const DEPTH_LIMIT: usize = 48;
/// Most elements of one indirect object.
const ELEMENT_LIMIT: usize = 400_000;
/// Longest number, in characters.
const NUMBER_LIMIT: usize = 40;

/// A place in bytes from which objects are read.
pub(crate) struct Parser<'a> {
    bytes: &'a [u8],
    at: usize,
    elements: usize,
}

pub(crate) fn is_white(byte: u8) -> bool {
    matches!(byte, 0 | 9 | 10 | 12 | 13 | 32)
}

fn is_delimiter(byte: u8) -> bool {
    matches!(byte, b'(' | b')' | b'<' | b'>' | b'[' | b']' | b'{' | b'}' | b'/' | b'%')
}

pub(crate) fn is_regular(byte: u8) -> bool {
    !is_white(byte) && !is_delimiter(byte)
}

pub(crate) fn hex_value(byte: u8) -> Option<u8> {
    char::from(byte).to_digit(16).and_then(|digit| u8::try_from(digit).ok())
}

impl<'a> Parser<'a> {
    pub(crate) fn new(bytes: &'a [u8], at: usize) -> Self {
        Self { bytes, at, elements: 0 }
    }

    pub(crate) fn at(&self) -> usize {
        self.at
    }

    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn peek_second(&self) -> Option<u8> {
        self.bytes.get(self.at + 1).copied()
    }

    fn next(&mut self) -> Option<u8> {
        let byte = self.peek()?;
        self.at += 1;
        Some(byte)
    }

    fn wanted<T>(&self, wanted: &'static str) -> Result<T, PdfError> {
        Err(PdfError::Syntax { at: self.at, wanted })
    }

    /// Over white space and comments.
    pub(crate) fn skip_white(&mut self) {
        while let Some(byte) = self.peek() {
            if byte == b'%' {
                while self.peek().is_some_and(|b| b != b'\n' && b != b'\r') {
                    self.at += 1;
                }
            } else if is_white(byte) {
                self.at += 1;
            } else {
                break;
            }
        }
    }

    /// Takes exactly this word, if it stands here and ends here.
    pub(crate) fn take_word(&mut self, word: &str) -> bool {
        let end = self.at.saturating_add(word.len());
        let here = self.bytes.get(self.at..end) == Some(word.as_bytes());
        let ends = !self.bytes.get(end).copied().is_some_and(is_regular);
        if here && ends {
            self.at = end;
        }
        here && ends
    }

    pub(crate) fn word(&mut self, word: &'static str) -> Result<(), PdfError> {
        if self.take_word(word) { Ok(()) } else { self.wanted(word) }
    }

    /// Digits only, as in the table of objects.
    pub(crate) fn digits(&mut self) -> Result<u64, PdfError> {
        let start = self.at;
        let mut value = 0_u64;
        while let Some(byte) = self.peek().filter(u8::is_ascii_digit) {
            let next = value.checked_mul(10).and_then(|v| v.checked_add(u64::from(byte - b'0')));
            match next {
                Some(next) => value = next,
                None => return self.wanted("a number of a sensible size"),
            }
            self.at += 1;
        }
        if self.at == start { self.wanted("digits") } else { Ok(value) }
    }

    /// `12 0 obj`.
    pub(crate) fn header(&mut self) -> Result<ObjectId, PdfError> {
        let number = self.digits()?;
        self.skip_white();
        let generation = self.digits()?;
        self.skip_white();
        self.word("obj")?;
        match (u32::try_from(number), u16::try_from(generation)) {
            (Ok(number), Ok(generation)) => Ok(ObjectId { number, generation }),
            _ => self.wanted("an object number"),
        }
    }

    /// One object.
    pub(crate) fn object(&mut self) -> Result<Object, PdfError> {
        self.nested(0)
    }

    fn nested(&mut self, depth: usize) -> Result<Object, PdfError> {
        if depth > DEPTH_LIMIT {
            return Err(PdfError::TooDeep { at: self.at, limit: DEPTH_LIMIT });
        }
        self.elements += 1;
        if self.elements > ELEMENT_LIMIT {
            return Err(PdfError::TooMany { what: "elements in one object", limit: ELEMENT_LIMIT });
        }
        self.skip_white();
        match (self.peek(), self.peek_second()) {
            (Some(b'<'), Some(b'<')) => self.dictionary(depth),
            (Some(b'<'), _) => self.hex_string(),
            (Some(b'('), _) => self.literal_string(),
            (Some(b'['), _) => self.array(depth),
            (Some(b'/'), _) => Ok(Object::Name(self.name()?)),
            (Some(b'+' | b'-' | b'.' | b'0'..=b'9'), _) => self.number_or_reference(),
            _ if self.take_word("true") => Ok(Object::Boolean(true)),
            _ if self.take_word("false") => Ok(Object::Boolean(false)),
            _ if self.take_word("null") => Ok(Object::Null),
            _ => self.wanted("an object"),
        }
    }

    fn array(&mut self, depth: usize) -> Result<Object, PdfError> {
        self.at += 1;
        let mut items = Vec::new();
        loop {
            self.skip_white();
            if self.peek() == Some(b']') {
                self.at += 1;
                return Ok(Object::Array(items));
            }
            items.push(self.nested(depth + 1)?);
        }
    }

    fn dictionary(&mut self, depth: usize) -> Result<Object, PdfError> {
        self.at += 2;
        let mut entries = Vec::new();
        loop {
            self.skip_white();
            match (self.peek(), self.peek_second()) {
                (Some(b'>'), Some(b'>')) => {
                    self.at += 2;
                    return Ok(Object::Dictionary(Dictionary::of(entries, self.at)?));
                }
                (Some(b'/'), _) => {
                    let key = self.name()?;
                    entries.push((key, self.nested(depth + 1)?));
                }
                _ => return self.wanted("a key or the end of a dictionary"),
            }
        }
    }

    fn name(&mut self) -> Result<Vec<u8>, PdfError> {
        self.at += 1;
        let mut name = Vec::new();
        while let Some(byte) = self.peek().filter(|byte| is_regular(*byte)) {
            self.at += 1;
            if byte == b'#' {
                let high = self.next().and_then(hex_value);
                let low = self.next().and_then(hex_value);
                match (high, low) {
                    (Some(high), Some(low)) => name.push(high * 16 + low),
                    _ => return self.wanted("two hexadecimal digits"),
                }
            } else {
                name.push(byte);
            }
        }
        Ok(name)
    }

    fn hex_string(&mut self) -> Result<Object, PdfError> {
        let start = self.at;
        self.at += 1;
        let mut bytes = Vec::new();
        let mut half: Option<u8> = None;
        loop {
            match self.next() {
                Some(b'>') => break,
                Some(byte) if is_white(byte) => {}
                Some(byte) => match (hex_value(byte), half.take()) {
                    (Some(low), Some(high)) => bytes.push(high * 16 + low),
                    (Some(high), None) => half = Some(high),
                    (None, _) => return self.wanted("hexadecimal digits"),
                },
                None => return self.wanted("the end of a hexadecimal string"),
            }
        }
        bytes.extend(half.map(|high| high * 16));
        Ok(Object::String(PdfString { bytes, start, end: self.at }))
    }

    fn literal_string(&mut self) -> Result<Object, PdfError> {
        let start = self.at;
        self.at += 1;
        let mut bytes = Vec::new();
        let mut open = 1_usize;
        loop {
            let Some(byte) = self.next() else { return self.wanted("the end of a string") };
            match byte {
                b'(' => open += 1,
                b')' if open == 1 => return Ok(Object::String(PdfString { bytes, start, end: self.at })),
                b')' => open -= 1,
                b'\\' => {
                    self.escape(&mut bytes)?;
                    continue;
                }
                b'\r' => {
                    // An end of line in a string is one line feed, however it is written.
                    if self.peek() == Some(b'\n') {
                        self.at += 1;
                    }
                    bytes.push(b'\n');
                    continue;
                }
                _ => {}
            }
            bytes.push(byte);
        }
    }

    fn escape(&mut self, bytes: &mut Vec<u8>) -> Result<(), PdfError> {
        let Some(byte) = self.next() else { return self.wanted("the end of an escape") };
        match byte {
            b'n' => bytes.push(b'\n'),
            b'r' => bytes.push(b'\r'),
            b't' => bytes.push(b'\t'),
            b'b' => bytes.push(8),
            b'f' => bytes.push(12),
            b'\n' => {}
            b'\r' => {
                if self.peek() == Some(b'\n') {
                    self.at += 1;
                }
            }
            b'0'..=b'7' => {
                let mut value = u32::from(byte - b'0');
                for _ in 0..2 {
                    match self.peek().filter(|b| (b'0'..=b'7').contains(b)) {
                        Some(digit) => value = value * 8 + u32::from(digit - b'0'),
                        None => break,
                    }
                    self.at += 1;
                }
                // High-order overflow is ignored (ISO 32000-1, table 3).
                bytes.push(u8::try_from(value & 0xFF).unwrap_or_default());
            }
            other => bytes.push(other),
        }
        Ok(())
    }

    fn number_or_reference(&mut self) -> Result<Object, PdfError> {
        let start = self.at;
        while self.peek().is_some_and(is_regular) && self.at - start <= NUMBER_LIMIT {
            self.at += 1;
        }
        let text =
            self.bytes.get(start..self.at).and_then(|b| std::str::from_utf8(b).ok()).unwrap_or_default();
        let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
        let plain = digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        if text.len() > NUMBER_LIMIT || !plain || !digits.bytes().any(|b| b.is_ascii_digit()) {
            return self.wanted("a number");
        }
        if digits.contains('.') {
            if digits.matches('.').count() > 1 {
                return self.wanted("a number");
            }
            return Ok(Object::Real(text.to_owned()));
        }
        let Ok(value) = text.parse::<i64>() else { return self.wanted("a number of a sensible size") };
        if digits.len() == text.len()
            && let Some(reference) = self.reference(value)
        {
            return Ok(reference);
        }
        Ok(Object::Integer(value))
    }

    /// The rest of `12 0 R`, if that is what stands here; else the place is as before.
    fn reference(&mut self, number: i64) -> Option<Object> {
        let back = self.at;
        let found = self.reference_rest(number);
        if found.is_none() {
            self.at = back;
        }
        found
    }

    fn reference_rest(&mut self, number: i64) -> Option<Object> {
        let number = u32::try_from(number).ok()?;
        self.skip_white();
        let generation = u16::try_from(self.digits().ok()?).ok()?;
        self.skip_white();
        self.take_word("R").then_some(Object::Reference(ObjectId { number, generation }))
    }

    /// Over the word `stream` and its end of line, if a stream follows.
    pub(crate) fn stream_start(&mut self) -> Result<bool, PdfError> {
        self.skip_white();
        if !self.take_word("stream") {
            return Ok(false);
        }
        match (self.peek(), self.peek_second()) {
            (Some(b'\r'), Some(b'\n')) => self.at += 2,
            (Some(b'\n'), _) => self.at += 1,
            _ => return self.wanted("an end of line after stream"),
        }
        Ok(true)
    }
}
