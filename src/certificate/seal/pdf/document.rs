//! A PDF as its objects.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};

use super::error::PdfError;
use super::object::{Dictionary, Object, ObjectId, Stream};
use super::parser::Parser;
use super::place::{STREAM_LIMIT, decode, read_at, read_section};
use super::xref::{self, Entry, Xref};

/// Largest file that is read, bytes.
pub(crate) const FILE_LIMIT: usize = 64 << 20;
/// Most bytes that all streams of one file may give together.
const TOTAL_LIMIT: usize = 128 << 20;
/// Most references that are followed from one to the next.
const REFERENCE_LIMIT: usize = 16;
/// Most pages.
const PAGE_LIMIT: usize = 10_000;

/// A PDF, opened: the table of its objects is read, the objects are read when asked for.
pub struct Document<'a> {
    bytes: &'a [u8],
    xref: Xref,
    packed: BTreeMap<u32, Packed>,
    /// What streams may still give.
    left: Cell<usize>,
}

/// A stream of objects, unpacked.
struct Packed {
    plain: Vec<u8>,
    /// Number and offset of each object.
    objects: Vec<(u32, usize)>,
}

impl<'a> Document<'a> {
    /// Opens a file.
    ///
    /// # Errors
    /// If it is not a PDF, too large, encrypted, or its table of objects cannot be read.
    pub fn open(bytes: &'a [u8]) -> Result<Self, PdfError> {
        if bytes.len() > FILE_LIMIT {
            return Err(PdfError::FileTooLarge { bytes: bytes.len(), limit: FILE_LIMIT });
        }
        if !bytes.starts_with(b"%PDF-") {
            return Err(PdfError::NotPdf);
        }
        let left = Cell::new(TOTAL_LIMIT);
        let xref = xref::read(bytes, |offset| read_section(bytes, offset, &left))?;
        let mut document = Self { bytes, xref, packed: BTreeMap::new(), left };
        document.packed = document.unpack_objects()?;
        Ok(document)
    }

    /// The bytes of the file.
    #[must_use]
    pub fn bytes(&self) -> &'a [u8] {
        self.bytes
    }

    /// The version in the first line, such as `1.7`.
    #[must_use]
    pub fn version(&self) -> String {
        let line = self.bytes.get(5..).unwrap_or_default().iter().take(8);
        line.take_while(|b| b.is_ascii_digit() || **b == b'.').map(|b| char::from(*b)).collect()
    }

    /// The newest trailer.
    #[must_use]
    pub fn trailer(&self) -> &Dictionary {
        &self.xref.trailer
    }

    /// How many tables of objects the file has: one for the file as first written and one for each
    /// update.
    #[must_use]
    pub fn revisions(&self) -> usize {
        self.xref.sections.len()
    }

    pub(crate) fn newest_section(&self) -> usize {
        self.xref.sections.first().copied().unwrap_or_default()
    }

    pub(crate) fn is_stream_kind(&self) -> bool {
        self.xref.is_stream
    }

    /// One more than the largest object number in use or named by `/Size`.
    pub(crate) fn next_number(&self) -> Option<u32> {
        let used = self.xref.entries.keys().next_back().copied().unwrap_or_default();
        let size = self.trailer().integer("Size").and_then(|size| u32::try_from(size).ok()).unwrap_or(0);
        Some(used.checked_add(1)?.max(size))
    }

    /// The catalog, with its number.
    ///
    /// # Errors
    /// If there is none.
    pub fn catalog(&self) -> Result<(ObjectId, Dictionary), PdfError> {
        let missing = PdfError::Missing { what: "the catalog" };
        let Some(Object::Reference(id)) = self.trailer().get("Root") else { return Err(missing) };
        match self.get(*id)? {
            Object::Dictionary(catalog) => Ok((*id, catalog)),
            _ => Err(missing),
        }
    }

    /// An object by its number; one that does not exist is `null` (ISO 32000-1, 7.3.10).
    ///
    /// # Errors
    /// If it cannot be read.
    pub fn get(&self, id: ObjectId) -> Result<Object, PdfError> {
        match self.xref.entries.get(&id.number) {
            Some(Entry::At { offset, generation }) if *generation == id.generation => {
                let length = |id| self.length_of(id);
                read_at(self.bytes, *offset, Some(id.number), &length)
            }
            Some(Entry::In { stream, index }) if id.generation == 0 => {
                self.unpacked(*stream, *index, id.number)
            }
            _ => Ok(Object::Null),
        }
    }

    /// Follows references until something else stands there.
    ///
    /// # Errors
    /// If the references do not end or an object cannot be read.
    pub fn resolve(&self, object: &Object) -> Result<Object, PdfError> {
        let mut object = object.clone();
        for _ in 0..REFERENCE_LIMIT {
            match object {
                Object::Reference(id) => object = self.get(id)?,
                other => return Ok(other),
            }
        }
        Err(PdfError::Circle { what: "references" })
    }

    /// What stands under a key, references followed; `None` if nothing or `null`.
    ///
    /// # Errors
    /// As [`Document::resolve`].
    pub fn entry(&self, dictionary: &Dictionary, key: &str) -> Result<Option<Object>, PdfError> {
        match dictionary.get(key).map(|object| self.resolve(object)).transpose()? {
            Some(Object::Null) => Ok(None),
            other => Ok(other),
        }
    }

    /// The dictionary under a key.
    ///
    /// # Errors
    /// If something else stands there.
    pub fn dictionary(
        &self,
        dictionary: &Dictionary,
        key: &str,
        what: &'static str,
    ) -> Result<Option<Dictionary>, PdfError> {
        match self.entry(dictionary, key)? {
            None => Ok(None),
            Some(Object::Dictionary(found)) => Ok(Some(found)),
            Some(_) => Err(PdfError::Missing { what }),
        }
    }

    /// The array under a key; empty if there is none.
    ///
    /// # Errors
    /// If something else stands there.
    pub fn array(
        &self,
        dictionary: &Dictionary,
        key: &str,
        what: &'static str,
    ) -> Result<Vec<Object>, PdfError> {
        match self.entry(dictionary, key)? {
            None => Ok(Vec::new()),
            Some(Object::Array(found)) => Ok(found),
            Some(_) => Err(PdfError::Missing { what }),
        }
    }

    /// The text under a key.
    ///
    /// # Errors
    /// If the object cannot be read.
    pub fn text(&self, dictionary: &Dictionary, key: &str) -> Result<Option<String>, PdfError> {
        match self.entry(dictionary, key)? {
            Some(Object::String(string)) => Ok(Some(string.text())),
            _ => Ok(None),
        }
    }

    /// The bytes of a stream, unpacked, at most `limit`.
    ///
    /// # Errors
    /// If its filter is none that is known, it is damaged, or it gives more than the limit or more
    /// than all streams of one file may give together.
    pub fn decode(&self, stream: &Stream, limit: usize) -> Result<Vec<u8>, PdfError> {
        let resolve = |object: &Object| self.resolve(object);
        decode(self.bytes, stream, limit, &self.left, &resolve)
    }

    /// The pages in their order.
    ///
    /// # Errors
    /// If the tree of pages is broken, runs in a circle or is too large.
    pub fn pages(&self) -> Result<Vec<ObjectId>, PdfError> {
        let (_, catalog) = self.catalog()?;
        let root = catalog.get("Pages").ok_or(PdfError::Missing { what: "/Pages" })?;
        let mut pages = Vec::new();
        let mut seen = BTreeSet::new();
        let mut waiting = vec![root.clone()];
        while let Some(node) = waiting.pop() {
            let Object::Reference(id) = node else { return Err(PdfError::Missing { what: "a page" }) };
            if !seen.insert(id) {
                return Err(PdfError::Circle { what: "pages" });
            }
            if seen.len() > PAGE_LIMIT {
                return Err(PdfError::TooMany { what: "pages", limit: PAGE_LIMIT });
            }
            let Object::Dictionary(node) = self.get(id)? else {
                return Err(PdfError::Missing { what: "a page" });
            };
            match node.name("Type") {
                Some(b"Pages") => {
                    let kids = self.array(&node, "Kids", "/Kids")?;
                    if kids.len() > PAGE_LIMIT {
                        return Err(PdfError::TooMany { what: "pages", limit: PAGE_LIMIT });
                    }
                    waiting.extend(kids.into_iter().rev());
                }
                _ => pages.push(id),
            }
        }
        Ok(pages)
    }

    /// A stream's length that is an object of its own: an integer, never itself a stream, so that
    /// this does not go deeper.
    fn length_of(&self, id: ObjectId) -> Result<i64, PdfError> {
        let missing = PdfError::Missing { what: "/Length" };
        let object = match self.xref.entries.get(&id.number) {
            Some(Entry::At { offset, generation }) if *generation == id.generation => {
                read_at(self.bytes, *offset, Some(id.number), &|_| {
                    Err(PdfError::Missing { what: "/Length" })
                })?
            }
            Some(Entry::In { stream, index }) => self.unpacked(*stream, *index, id.number)?,
            _ => return Err(missing),
        };
        match object {
            Object::Integer(length) => Ok(length),
            _ => Err(missing),
        }
    }

    fn unpacked(&self, stream: u32, index: usize, number: u32) -> Result<Object, PdfError> {
        let missing = PdfError::Missing { what: "a stream of objects" };
        let packed = self.packed.get(&stream).ok_or(missing)?;
        match packed.objects.get(index) {
            Some((found, offset)) if *found == number => Parser::new(&packed.plain, *offset).object(),
            _ => Err(PdfError::Misplaced { number, at: index }),
        }
    }

    fn unpack_objects(&self) -> Result<BTreeMap<u32, Packed>, PdfError> {
        let streams: BTreeSet<u32> = self
            .xref
            .entries
            .values()
            .filter_map(|entry| match entry {
                Entry::In { stream, .. } => Some(*stream),
                _ => None,
            })
            .collect();
        streams.into_iter().map(|number| Ok((number, self.unpack(number)?))).collect()
    }

    fn unpack(&self, number: u32) -> Result<Packed, PdfError> {
        let missing = PdfError::Missing { what: "a stream of objects" };
        let stream = match self.xref.entries.get(&number) {
            Some(Entry::At { generation: 0, .. }) => self.get(ObjectId { number, generation: 0 })?,
            _ => return Err(missing),
        };
        let Object::Stream(stream) = stream else { return Err(missing) };
        let count = stream.dictionary.integer("N").and_then(|count| usize::try_from(count).ok());
        let first = stream.dictionary.integer("First").and_then(|first| usize::try_from(first).ok());
        let (Some(b"ObjStm"), Some(count), Some(first)) = (stream.dictionary.name("Type"), count, first)
        else {
            return Err(missing);
        };
        let plain = self.decode(&stream, STREAM_LIMIT)?;
        // Each object takes four bytes of the list at least: the list bounds the count.
        let mut objects = Vec::new();
        let mut parser = Parser::new(&plain, 0);
        for _ in 0..count {
            parser.skip_white();
            let number = u32::try_from(parser.digits()?);
            parser.skip_white();
            let offset = usize::try_from(parser.digits()?).ok().and_then(|offset| offset.checked_add(first));
            match (number, offset) {
                (Ok(number), Some(offset)) => objects.push((number, offset)),
                _ => return Err(missing),
            }
        }
        Ok(Packed { plain, objects })
    }
}
