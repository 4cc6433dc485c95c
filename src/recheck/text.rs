//! The text that stands on a page, in the order in which it is drawn.

use std::collections::BTreeMap;

use leverarm_seal::pdf::{Dictionary, Document, Object, ObjectId, PdfError};

use super::content::{ContentError, Operand, Reader};
use super::fonts::Font;

/// Largest content of a page, unpacked, bytes.
const CONTENT_MAX: usize = 8 << 20;
/// Deepest nesting of forms.
const FORMS_MAX: usize = 4;
/// Most pieces of text of a page.
const PIECES_MAX: usize = 100_000;

/// What stands on a page.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Page {
    /// what is drawn as text, piece by piece; the texts that stand for others (`ActualText`) too
    pub(super) pieces: Vec<String>,
    /// what is drawn and is no text: how often each operator paints
    pub(super) painted: BTreeMap<String, usize>,
    /// annotations
    pub(super) annotations: usize,
}

/// Why a page is not read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(super) enum PageError {
    #[error(transparent)]
    Pdf(#[from] PdfError),
    #[error(transparent)]
    Content(#[from] ContentError),
    #[error("too much on one page")]
    TooMuch,
}

struct Scribe<'d, 'a> {
    document: &'d Document<'a>,
    page: Page,
}

/// Reads a page.
pub(super) fn page(document: &Document<'_>, id: ObjectId) -> Result<Page, PageError> {
    let missing = PdfError::Missing { what: "a page" };
    let Object::Dictionary(found) = document.get(id)? else { return Err(missing.into()) };
    let resources = document.dictionary(&found, "Resources", "/Resources")?.unwrap_or_default();
    let mut bytes = Vec::new();
    let contents = match document.entry(&found, "Contents")? {
        Some(Object::Array(list)) if list.len() <= 64 => list,
        Some(Object::Stream(stream)) => vec![Object::Stream(stream)],
        None => Vec::new(),
        Some(_) => return Err(PdfError::Missing { what: "/Contents" }.into()),
    };
    for object in contents {
        let Object::Stream(stream) = document.resolve(&object)? else {
            return Err(PdfError::Missing { what: "/Contents" }.into());
        };
        bytes.extend(document.decode(&stream, CONTENT_MAX.saturating_sub(bytes.len()))?);
        bytes.push(b'\n');
    }
    let mut scribe = Scribe { document, page: Page::default() };
    scribe.page.annotations = document.array(&found, "Annots", "/Annots")?.len();
    scribe.read(&bytes, &resources, 0)?;
    Ok(scribe.page)
}

impl Scribe<'_, '_> {
    fn read(&mut self, bytes: &[u8], resources: &Dictionary, depth: usize) -> Result<(), PageError> {
        let fonts = self.fonts(resources)?;
        let forms = self.document.dictionary(resources, "XObject", "/XObject")?.unwrap_or_default();
        let mut font = Font::default();
        let mut reader = Reader::new(bytes);
        while let Some((word, operands)) = reader.next()? {
            match (word.as_str(), operands.as_slice()) {
                ("Tf", [Operand::Name(name), _]) => {
                    font = fonts.get(name).cloned().unwrap_or_default();
                }
                ("Tj" | "'", [Operand::String(codes)]) => {
                    let mut piece = String::new();
                    font.text(codes, &mut piece);
                    self.add(piece)?;
                }
                ("\"", [_, _, Operand::String(codes)]) => {
                    let mut piece = String::new();
                    font.text(codes, &mut piece);
                    self.add(piece)?;
                }
                ("TJ", [Operand::Array(parts)]) => {
                    let mut piece = String::new();
                    for part in parts {
                        if let Operand::String(codes) = part {
                            font.text(codes, &mut piece);
                        }
                    }
                    self.add(piece)?;
                }
                ("BDC", [_, Operand::Dictionary(entries)]) => {
                    for (key, value) in entries {
                        if let ("ActualText", Operand::String(text)) = (key.as_str(), value) {
                            self.add(format!("[{}]", String::from_utf8_lossy(text)))?;
                        }
                    }
                }
                ("Do", [Operand::Name(name)]) => self.form(name, &forms, resources, depth)?,
                ("S" | "s" | "f" | "F" | "f*" | "B" | "B*" | "b" | "b*" | "sh" | "Tr" | "gs", _) => {
                    *self.page.painted.entry(word).or_default() += 1;
                }
                _ => {}
            }
        }
        Ok(())
    }

    fn add(&mut self, piece: String) -> Result<(), PageError> {
        if self.page.pieces.len() >= PIECES_MAX {
            return Err(PageError::TooMuch);
        }
        self.page.pieces.push(piece);
        Ok(())
    }

    fn fonts(&self, resources: &Dictionary) -> Result<BTreeMap<String, Font>, PageError> {
        let fonts = self.document.dictionary(resources, "Font", "/Font")?.unwrap_or_default();
        let mut found = BTreeMap::new();
        for (name, object) in fonts.iter().take(64) {
            if let Object::Dictionary(font) = self.document.resolve(object)? {
                let name = name.iter().map(|byte| char::from(*byte)).collect();
                found.insert(name, Font::of(self.document, &font));
            }
        }
        Ok(found)
    }

    /// A form draws as a page does; an image is named by its packed bytes.
    fn form(
        &mut self,
        name: &str,
        forms: &Dictionary,
        outer: &Dictionary,
        depth: usize,
    ) -> Result<(), PageError> {
        if depth >= FORMS_MAX {
            return Err(PageError::TooMuch);
        }
        let Some(Object::Stream(stream)) = self.document.entry(forms, name)? else {
            return self.add(format!("[nothing is called {name}]"));
        };
        if stream.dictionary.name("Subtype") != Some(b"Form") {
            let packed = self.document.bytes().get(stream.start..stream.start + stream.length);
            return self.add(format!("[image {}]", crate::ingest::sha256(packed.unwrap_or_default())));
        }
        let bytes = self.document.decode(&stream, CONTENT_MAX)?;
        let own = self.document.dictionary(&stream.dictionary, "Resources", "/Resources")?;
        self.read(&bytes, own.as_ref().unwrap_or(outer), depth + 1)
    }
}
