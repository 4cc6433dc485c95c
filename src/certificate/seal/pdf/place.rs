//! Indirect objects and streams at their places in the file.

use std::cell::Cell;

use super::error::PdfError;
use super::filter;
use super::object::{Object, ObjectId, Stream};
use super::parser::{Parser, is_white};
use super::xref::{self, Section};

/// Most bytes of one table of objects or one stream of objects, unpacked.
pub(super) const STREAM_LIMIT: usize = 16 << 20;

/// Reads the indirect object at an offset; `length` finds a stream's length that is elsewhere.
pub(super) fn read_at(
    bytes: &[u8],
    offset: usize,
    number: Option<u32>,
    length: &dyn Fn(ObjectId) -> Result<i64, PdfError>,
) -> Result<Object, PdfError> {
    let mut parser = Parser::new(bytes, offset);
    let id = parser.header()?;
    if let Some(number) = number.filter(|number| *number != id.number) {
        return Err(PdfError::Misplaced { number, at: offset });
    }
    let dictionary = match parser.object()? {
        Object::Dictionary(dictionary) => dictionary,
        other => {
            parser.skip_white();
            parser.word("endobj")?;
            return Ok(other);
        }
    };
    if !parser.stream_start()? {
        parser.word("endobj")?;
        return Ok(Object::Dictionary(dictionary));
    }
    let start = parser.at();
    let stated = match dictionary.get("Length") {
        Some(Object::Integer(stated)) => *stated,
        Some(Object::Reference(id)) => length(*id)?,
        _ => return Err(PdfError::Missing { what: "/Length" }),
    };
    let stated = usize::try_from(stated).ok().filter(|stated| *stated <= bytes.len());
    let stated = stated.ok_or(PdfError::Missing { what: "/Length" })?;
    let mut after = Parser::new(bytes, start.saturating_add(stated));
    let space = bytes.get(after.at()..).unwrap_or_default().iter().take_while(|b| is_white(**b)).count();
    if space > 2 {
        return Err(PdfError::Syntax { at: after.at(), wanted: "endstream" });
    }
    after.skip_white();
    after.word("endstream")?;
    Ok(Object::Stream(Stream { dictionary, start, length: stated }))
}

/// A table of objects that is a stream. All it needs is direct (ISO 32000-1, 7.5.8.2).
pub(super) fn read_section(bytes: &[u8], offset: usize, left: &Cell<usize>) -> Result<Section, PdfError> {
    let missing = PdfError::Missing { what: "the table of objects" };
    let object = read_at(bytes, offset, None, &|_| Err(PdfError::Missing { what: "/Length" }))?;
    let Object::Stream(stream) = object else { return Err(missing) };
    if stream.dictionary.name("Type") != Some(b"XRef") {
        return Err(missing);
    }
    let plain = decode(bytes, &stream, STREAM_LIMIT, left, &|object| Ok(object.clone()))?;
    xref::read_packed(stream.dictionary, &plain)
}

pub(super) fn decode(
    bytes: &[u8],
    stream: &Stream,
    limit: usize,
    left: &Cell<usize>,
    resolve: &dyn Fn(&Object) -> Result<Object, PdfError>,
) -> Result<Vec<u8>, PdfError> {
    let end = stream.start.saturating_add(stream.length);
    let raw = bytes.get(stream.start..end).ok_or(PdfError::Damaged)?;
    let one = |key: &str| -> Result<Option<Object>, PdfError> {
        match stream.dictionary.get(key).map(resolve).transpose()? {
            Some(Object::Array(items)) if items.len() <= 1 => items.first().map(resolve).transpose(),
            other => Ok(other),
        }
    };
    let limit = limit.min(left.get());
    let plain = match one("Filter")? {
        None | Some(Object::Null) if raw.len() > limit => return Err(PdfError::Bomb { limit }),
        None | Some(Object::Null) => raw.to_vec(),
        Some(Object::Name(name)) if name == b"FlateDecode" => filter::inflate(raw, limit)?,
        Some(other) => return Err(PdfError::Unsupported { what: format!("the filter {other:?}") }),
    };
    left.set(left.get().saturating_sub(plain.len()));
    let Some(Object::Dictionary(parameters)) = one("DecodeParms")? else { return Ok(plain) };
    let number = |key: &str, default: i64| match parameters.get(key) {
        None => Some(default),
        Some(Object::Integer(value)) => Some(*value),
        Some(_) => None,
    };
    match (number("Predictor", 1), number("BitsPerComponent", 8)) {
        (Some(1), _) => Ok(plain),
        (Some(10..=15), Some(8)) => {
            let sizes = number("Columns", 1).zip(number("Colors", 1));
            let sizes = sizes.and_then(|(c, b)| Some((usize::try_from(c).ok()?, usize::try_from(b).ok()?)));
            let (columns, colours) = sizes.ok_or(PdfError::Damaged)?;
            filter::unpredict(&plain, columns, colours)
        }
        _ => Err(PdfError::Unsupported { what: "this predictor".to_owned() }),
    }
}
