//! The objects of a PDF (ISO 32000-1, 7.3).

use super::error::PdfError;

/// Number and generation of an indirect object.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ObjectId {
    /// Its number.
    pub number: u32,
    /// Its generation.
    pub generation: u16,
}

/// A string, with the place where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PdfString {
    /// Its bytes, unescaped.
    pub bytes: Vec<u8>,
    /// Offset of its first delimiter.
    pub start: usize,
    /// Offset behind its last delimiter.
    pub end: usize,
}

impl PdfString {
    /// As text: UTF-16 or UTF-8 by its mark, else one character a byte (ISO 32000-1, 7.9.2.2; the
    /// few characters of `PDFDocEncoding` that are not Latin-1 are read as Latin-1).
    #[must_use]
    pub fn text(&self) -> String {
        if let Some(rest) = self.bytes.strip_prefix(&[0xFE, 0xFF]) {
            let units = rest.chunks(2).map(|pair| match pair {
                [high, low] => u16::from_be_bytes([*high, *low]),
                _ => 0xFFFD,
            });
            return char::decode_utf16(units).map(|c| c.unwrap_or('\u{FFFD}')).collect();
        }
        if let Some(rest) = self.bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]) {
            return String::from_utf8_lossy(rest).into_owned();
        }
        self.bytes.iter().map(|byte| char::from(*byte)).collect()
    }
}

/// A dictionary; keys in the order of the file, each once.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Dictionary(Vec<(Vec<u8>, Object)>);

impl Dictionary {
    /// Of entries whose keys differ; a repeated key is an error, for readers differ in which of
    /// the two they take.
    pub(crate) fn of(entries: Vec<(Vec<u8>, Object)>, at: usize) -> Result<Self, PdfError> {
        let mut keys: Vec<&[u8]> = entries.iter().map(|(key, _)| key.as_slice()).collect();
        keys.sort_unstable();
        let twice = keys.windows(2).find_map(|pair| match pair {
            [a, b] if a == b => Some(String::from_utf8_lossy(a).into_owned()),
            _ => None,
        });
        match twice {
            Some(key) => Err(PdfError::KeyTwice { at, key }),
            None => Ok(Self(entries)),
        }
    }

    /// The value of a key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Object> {
        self.0.iter().find(|(name, _)| name == key.as_bytes()).map(|(_, value)| value)
    }

    /// Sets a key, in its place if it is there, else at the end.
    pub fn set(&mut self, key: &str, value: Object) {
        match self.0.iter_mut().find(|(name, _)| name == key.as_bytes()) {
            Some((_, old)) => *old = value,
            None => self.0.push((key.as_bytes().to_vec(), value)),
        }
    }

    /// Keys and values in the order of the file.
    pub fn iter(&self) -> impl Iterator<Item = (&[u8], &Object)> {
        self.0.iter().map(|(key, value)| (key.as_slice(), value))
    }

    /// The name under a key, as text.
    #[must_use]
    pub fn name(&self, key: &str) -> Option<&[u8]> {
        match self.get(key) {
            Some(Object::Name(name)) => Some(name),
            _ => None,
        }
    }

    /// The integer under a key.
    #[must_use]
    pub fn integer(&self, key: &str) -> Option<i64> {
        match self.get(key) {
            Some(Object::Integer(value)) => Some(*value),
            _ => None,
        }
    }
}

/// A stream: its dictionary and where its packed bytes stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stream {
    /// Its dictionary.
    pub dictionary: Dictionary,
    /// Offset of its first byte in the file.
    pub start: usize,
    /// Its length, bytes.
    pub length: usize,
}

/// An object.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Object {
    /// `null`.
    Null,
    /// `true` or `false`.
    Boolean(bool),
    /// A whole number.
    Integer(i64),
    /// A number with a decimal point, as written: nothing here computes with one.
    Real(String),
    /// A name without its slash, unescaped.
    Name(Vec<u8>),
    /// A string.
    String(PdfString),
    /// An array.
    Array(Vec<Object>),
    /// A dictionary.
    Dictionary(Dictionary),
    /// A stream.
    Stream(Stream),
    /// A reference to an indirect object.
    Reference(ObjectId),
}
