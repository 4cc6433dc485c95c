//! The table of objects: classic tables and streams of it, back through all revisions
//! (ISO 32000-1, 7.5.4 and 7.5.8).

use std::collections::BTreeMap;
use std::ops::Range;

use super::error::PdfError;
use super::object::{Dictionary, Object};
use super::parser::{Parser, is_white};

/// Most revisions of a file.
const SECTION_LIMIT: usize = 64;
/// Most objects of a file.
const ENTRY_LIMIT: usize = 400_000;
/// How far from the end `startxref` may stand.
const TAIL: usize = 1_024;

/// Where an object is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Entry {
    Free,
    At { offset: usize, generation: u16 },
    In { stream: u32, index: usize },
}

/// All sections of the table, the newest entry of each object.
#[derive(Debug, Clone)]
pub(crate) struct Xref {
    pub(crate) entries: BTreeMap<u32, Entry>,
    /// The newest trailer.
    pub(crate) trailer: Dictionary,
    /// Offsets of the sections, newest first.
    pub(crate) sections: Vec<usize>,
    /// Whether the newest section is a stream.
    pub(crate) is_stream: bool,
}

/// One section before it is merged.
pub(crate) struct Section {
    pub(crate) entries: Vec<(u32, Entry)>,
    pub(crate) trailer: Dictionary,
}

/// The offset that the last `startxref` names.
fn start(bytes: &[u8]) -> Result<usize, PdfError> {
    let from = bytes.len().saturating_sub(TAIL);
    let tail = bytes.get(from..).unwrap_or_default();
    let word = b"startxref";
    let found = tail.windows(word.len()).rposition(|window| window == word);
    let found = found.ok_or(PdfError::Missing { what: "startxref near the end" })?;
    let mut parser = Parser::new(bytes, from + found + word.len());
    parser.skip_white();
    let offset = parser.digits()?;
    let end = bytes.get(parser.at()..).unwrap_or_default();
    let end = end.iter().position(|b| !is_white(*b)).and_then(|skip| end.get(skip..));
    if !end.is_some_and(|end| end.starts_with(b"%%EOF")) {
        return Err(PdfError::Syntax { at: parser.at(), wanted: "%%EOF" });
    }
    usize::try_from(offset).map_err(|_| PdfError::Missing { what: "the table of objects" })
}

/// Reads the whole chain; `read_stream` reads a section that is a stream at an offset.
pub(crate) fn read(
    bytes: &[u8],
    read_stream: impl Fn(usize) -> Result<Section, PdfError>,
) -> Result<Xref, PdfError> {
    let mut entries = BTreeMap::new();
    let mut newest: Option<(Dictionary, bool)> = None;
    let mut sections: Vec<usize> = Vec::new();
    let mut next = Some(start(bytes)?);
    while let Some(offset) = next {
        if sections.contains(&offset) {
            return Err(PdfError::Circle { what: "tables of objects" });
        }
        if sections.len() >= SECTION_LIMIT {
            return Err(PdfError::TooMany { what: "revisions", limit: SECTION_LIMIT });
        }
        sections.push(offset);
        let mut parser = Parser::new(bytes, offset);
        let classic = parser.take_word("xref");
        let section = if classic { read_table(bytes, parser)? } else { read_stream(offset)? };
        for (number, entry) in section.entries {
            entries.entry(number).or_insert(entry);
        }
        if entries.len() > ENTRY_LIMIT {
            return Err(PdfError::TooMany { what: "objects", limit: ENTRY_LIMIT });
        }
        next = previous(&section.trailer)?;
        newest.get_or_insert((section.trailer, !classic));
    }
    let (trailer, is_stream) = newest.ok_or(PdfError::Missing { what: "the trailer" })?;
    if trailer.get("Encrypt").is_some() {
        return Err(PdfError::Unsupported { what: "encryption".to_owned() });
    }
    Ok(Xref { entries, trailer, sections, is_stream })
}

fn previous(trailer: &Dictionary) -> Result<Option<usize>, PdfError> {
    if trailer.get("XRefStm").is_some() {
        // Readers differ in which of the two tables they believe.
        return Err(PdfError::Unsupported { what: "a table of objects in both forms".to_owned() });
    }
    match trailer.get("Prev") {
        None => Ok(None),
        Some(Object::Integer(offset)) => {
            usize::try_from(*offset).map(Some).map_err(|_| PdfError::Missing { what: "/Prev" })
        }
        Some(_) => Err(PdfError::Missing { what: "/Prev" }),
    }
}

/// The numbers of a part of the table, when there are not too many of them.
fn numbers(first: u32, count: usize, before: usize) -> Result<Range<u32>, PdfError> {
    let fits = before.checked_add(count).is_some_and(|all| all <= ENTRY_LIMIT);
    let end = u32::try_from(count).ok().and_then(|count| first.checked_add(count));
    match end.filter(|_| fits) {
        Some(end) => Ok(first..end),
        None => Err(PdfError::TooMany { what: "objects", limit: ENTRY_LIMIT }),
    }
}

/// The rest of a classic section, behind the word `xref`.
fn read_table<'a>(bytes: &'a [u8], mut parser: Parser<'a>) -> Result<Section, PdfError> {
    let mut entries = Vec::new();
    loop {
        parser.skip_white();
        if parser.take_word("trailer") {
            break;
        }
        let first = parser.digits()?;
        parser.skip_white();
        let count = parser.digits()?;
        parser.skip_white();
        let (Ok(first), Ok(count)) = (u32::try_from(first), usize::try_from(count)) else {
            return Err(PdfError::Syntax { at: parser.at(), wanted: "a part of the table" });
        };
        let from = parser.at();
        for (place, number) in numbers(first, count, entries.len())?.enumerate() {
            let at = from + place * 20;
            let row = bytes.get(at..at + 20).ok_or(PdfError::Syntax { at, wanted: "a row of the table" })?;
            entries.push((number, read_row(row, at)?));
        }
        parser = Parser::new(bytes, from + count * 20);
    }
    match parser.object()? {
        Object::Dictionary(trailer) => Ok(Section { entries, trailer }),
        _ => Err(PdfError::Missing { what: "the trailer" }),
    }
}

/// `0000000016 00000 n` and two characters of line end.
fn read_row(row: &[u8], at: usize) -> Result<Entry, PdfError> {
    let broken = PdfError::Syntax { at, wanted: "a row of the table" };
    let mut parser = Parser::new(row, 0);
    let offset = parser.digits()?;
    let spaced = parser.at() == 10 && row.get(10) == Some(&b' ') && row.get(16) == Some(&b' ');
    let mut parser = Parser::new(row, 11);
    let generation = parser.digits()?;
    let ended = row.get(18..).is_some_and(|end| end.iter().all(|b| is_white(*b)));
    if !spaced || !ended || parser.at() != 16 {
        return Err(broken);
    }
    match (row.get(17), usize::try_from(offset), u16::try_from(generation)) {
        (Some(b'n'), Ok(offset), Ok(generation)) => Ok(Entry::At { offset, generation }),
        (Some(b'f'), _, _) => Ok(Entry::Free),
        _ => Err(broken),
    }
}

/// A section from the unpacked bytes of its stream.
pub(crate) fn read_packed(dictionary: Dictionary, plain: &[u8]) -> Result<Section, PdfError> {
    let missing = |what| PdfError::Missing { what };
    let Some(Object::Array(widths)) = dictionary.get("W") else { return Err(missing("/W")) };
    let widths: Vec<usize> = widths
        .iter()
        .map(|width| match width {
            Object::Integer(width) => usize::try_from(*width).ok().filter(|width| *width <= 8),
            _ => None,
        })
        .collect::<Option<_>>()
        .ok_or(missing("/W"))?;
    let [kind_width, second_width, third_width] = widths[..] else { return Err(missing("/W")) };
    let row_length = kind_width + second_width + third_width;
    if row_length == 0 {
        return Err(missing("/W"));
    }
    let mut rows = plain.chunks_exact(row_length);
    let mut entries = Vec::new();
    for (first, count) in parts(&dictionary)? {
        for number in numbers(first, count, entries.len())? {
            let row = rows.next().ok_or(missing("rows of the table"))?;
            let (kind, rest) = row.split_at(kind_width);
            let (second, third) = rest.split_at(second_width);
            let kind = if kind.is_empty() { 1 } else { big_endian(kind) };
            entries.push((number, packed_entry(kind, big_endian(second), big_endian(third))?));
        }
    }
    Ok(Section { entries, trailer: dictionary })
}

fn packed_entry(kind: u64, second: u64, third: u64) -> Result<Entry, PdfError> {
    let broken = PdfError::Missing { what: "a row of the table" };
    match (kind, usize::try_from(second), u32::try_from(second), usize::try_from(third), u16::try_from(third))
    {
        (0, ..) => Ok(Entry::Free),
        (1, Ok(offset), _, _, Ok(generation)) => Ok(Entry::At { offset, generation }),
        (2, _, Ok(stream), Ok(index), _) => Ok(Entry::In { stream, index }),
        _ => Err(broken),
    }
}

fn big_endian(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0, |value, byte| (value << 8) | u64::from(*byte))
}

/// First number and count of each part.
fn parts(dictionary: &Dictionary) -> Result<Vec<(u32, usize)>, PdfError> {
    let missing = PdfError::Missing { what: "/Index or /Size" };
    let numbers = match dictionary.get("Index") {
        Some(Object::Array(numbers)) => numbers.clone(),
        None => vec![Object::Integer(0), Object::Integer(dictionary.integer("Size").unwrap_or(-1))],
        Some(_) => return Err(missing),
    };
    numbers
        .chunks(2)
        .map(|pair| match pair {
            [Object::Integer(first), Object::Integer(count)] => {
                Some((u32::try_from(*first).ok()?, usize::try_from(*count).ok()?))
            }
            _ => None,
        })
        .collect::<Option<_>>()
        .ok_or(missing)
}
