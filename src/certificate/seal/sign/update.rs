//! An update appended to a PDF (ISO 32000-1, 7.5.6), with a table of objects of the same kind as
//! the file has.

use sha2::{Digest, Sha256};

use crate::error::SealError;
use crate::pdf::write::write;
use crate::pdf::{Dictionary, Document, Object, ObjectId, PdfError, PdfString};

/// An update in the making.
pub(super) struct Update<'d, 'a> {
    document: &'d Document<'a>,
    bytes: Vec<u8>,
    /// Objects and where they start.
    written: Vec<(ObjectId, usize)>,
    next: u32,
}

impl<'d, 'a> Update<'d, 'a> {
    pub(super) fn to(document: &'d Document<'a>) -> Result<Self, SealError> {
        let next = document.next_number().filter(|next| *next < u32::MAX - 8);
        let next = next.ok_or(PdfError::TooMany { what: "objects", limit: 1 << 31 })?;
        let mut bytes = document.bytes().to_vec();
        if bytes.last() != Some(&b'\n') {
            bytes.push(b'\n');
        }
        Ok(Self { document, bytes, written: Vec::new(), next })
    }

    pub(super) fn new_id(&mut self) -> ObjectId {
        let id = ObjectId { number: self.next, generation: 0 };
        self.next += 1;
        id
    }

    pub(super) fn write(&mut self, id: ObjectId, object: &Object) {
        let mut content = Vec::new();
        write(object, &mut content);
        self.write_raw(id, &content);
    }

    /// Writes the content of an object as it is; gives the offset of its first byte.
    pub(super) fn write_raw(&mut self, id: ObjectId, content: &[u8]) -> usize {
        self.written.push((id, self.bytes.len()));
        self.bytes.extend(format!("{} {} obj\n", id.number, id.generation).as_bytes());
        let start = self.bytes.len();
        self.bytes.extend(content);
        self.bytes.extend(b"\nendobj\n");
        start
    }

    /// The file with the update.
    pub(super) fn finish(mut self) -> Result<Vec<u8>, SealError> {
        let table = self.bytes.len();
        if self.document.is_stream_kind() {
            let id = self.new_id();
            self.written.push((id, table));
            self.written.sort_by_key(|(id, _)| *id);
            self.write_stream(id)?;
        } else {
            self.written.sort_by_key(|(id, _)| *id);
            self.write_table()?;
        }
        self.bytes.extend(format!("startxref\n{table}\n%%EOF\n").as_bytes());
        Ok(self.bytes)
    }

    fn trailer(&self) -> Result<Dictionary, SealError> {
        let old = self.document.trailer();
        let mut trailer = Dictionary::default();
        trailer.set("Size", Object::Integer(i64::from(self.next)));
        for key in ["Root", "Info"] {
            if let Some(value) = old.get(key) {
                trailer.set(key, value.clone());
            }
        }
        if let Object::Array(ids) =
            old.get("ID").map(|id| self.document.resolve(id)).transpose()?.unwrap_or(Object::Null)
            && let Some(first) = ids.first()
        {
            // The second part changes with the file (ISO 32000-1, 14.4).
            let hash = Sha256::digest(&self.bytes);
            let bytes = hash.iter().take(16).copied().collect();
            let second = Object::String(PdfString { bytes, start: 0, end: 0 });
            trailer.set("ID", Object::Array(vec![first.clone(), second]));
        }
        let previous = i64::try_from(self.document.newest_section()).unwrap_or_default();
        trailer.set("Prev", Object::Integer(previous));
        Ok(trailer)
    }

    /// Objects in a row, as parts of a table: first number and offsets.
    fn parts(&self) -> Vec<(u32, Vec<(u16, usize)>)> {
        let mut parts: Vec<(u32, Vec<(u16, usize)>)> = Vec::new();
        for (id, offset) in &self.written {
            let entry = (id.generation, *offset);
            let follows = parts.last().is_some_and(|(first, entries)| {
                u32::try_from(entries.len()).is_ok_and(|count| first + count == id.number)
            });
            match parts.last_mut().filter(|_| follows) {
                Some((_, entries)) => entries.push(entry),
                None => parts.push((id.number, vec![entry])),
            }
        }
        parts
    }

    fn write_table(&mut self) -> Result<(), SealError> {
        let trailer = self.trailer()?;
        self.bytes.extend(b"xref\n");
        for (first, entries) in self.parts() {
            self.bytes.extend(format!("{first} {}\n", entries.len()).as_bytes());
            for (generation, offset) in entries {
                self.bytes.extend(format!("{offset:010} {generation:05} n \n").as_bytes());
            }
        }
        self.bytes.extend(b"trailer\n");
        write(&Object::Dictionary(trailer), &mut self.bytes);
        self.bytes.push(b'\n');
        Ok(())
    }

    fn write_stream(&mut self, id: ObjectId) -> Result<(), SealError> {
        let mut dictionary = self.trailer()?;
        let mut index = Vec::new();
        let mut rows: Vec<u8> = Vec::new();
        for (first, entries) in self.parts() {
            index.push(Object::Integer(i64::from(first)));
            index.push(Object::Integer(i64::try_from(entries.len()).unwrap_or_default()));
            for (generation, offset) in entries {
                let offset = u32::try_from(offset).unwrap_or(u32::MAX);
                rows.push(1);
                rows.extend(offset.to_be_bytes());
                rows.extend(generation.to_be_bytes());
            }
        }
        dictionary.set("Type", Object::Name(b"XRef".to_vec()));
        dictionary.set("W", Object::Array([1, 4, 2].map(Object::Integer).to_vec()));
        dictionary.set("Index", Object::Array(index));
        dictionary.set("Length", Object::Integer(i64::try_from(rows.len()).unwrap_or_default()));
        self.bytes.extend(format!("{} {} obj\n", id.number, id.generation).as_bytes());
        write(&Object::Dictionary(dictionary), &mut self.bytes);
        self.bytes.extend(b"\nstream\n");
        self.bytes.extend(rows);
        self.bytes.extend(b"\nendstream\nendobj\n");
        Ok(())
    }
}
