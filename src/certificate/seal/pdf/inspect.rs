//! What a file holds, read without trusting it: signature fields, embedded files, revisions.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};

use super::attached::{EmbeddedFile, files};
use super::date::parse_date;
use super::document::Document;
use super::error::PdfError;
use super::object::{Dictionary, Object, ObjectId};

/// Most nodes of the tree of embedded files, and of form fields.
pub(super) const NODE_LIMIT: usize = 4_096;
/// Largest Contents of a signature, bytes.
const CONTENTS_LIMIT: usize = 1 << 20;

/// How much is read from a file at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of one embedded file, unpacked.
    pub embedded_file: usize,
    /// Bytes of all embedded files together, unpacked.
    pub embedded_total: usize,
    /// Embedded files.
    pub embedded_count: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self { embedded_file: 16 << 20, embedded_total: 48 << 20, embedded_count: 1_024 }
    }
}

/// What the byte range of a signature covers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Coverage {
    /// The whole file but the value of `/Contents`.
    Whole,
    /// The whole of an earlier file, to which something was appended after signing.
    Appended {
        /// Bytes that were signed, the Contents included.
        signed: usize,
        /// Bytes of the file.
        length: usize,
    },
    /// Anything else: holes, overlaps, numbers that do not fit the file.
    Broken {
        /// The numbers as they stand.
        byte_range: Vec<i64>,
    },
}

/// A signature field that holds a signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignatureField {
    /// Its name.
    pub name: String,
    /// The signature dictionary's object.
    pub id: Option<ObjectId>,
    /// The form of the signature, such as `ETSI.CAdES.detached`.
    pub sub_filter: String,
    /// `/ByteRange`, as it stands.
    pub byte_range: Vec<i64>,
    /// What it covers.
    pub coverage: Coverage,
    /// The decoded Contents, with the zeros that fill it up.
    pub contents: Vec<u8>,
    /// Where Contents stands in the file, delimiters included.
    pub contents_at: (usize, usize),
    /// `/M`: when the signer says that it was signed.
    pub signed_at: Option<DateTime<Utc>>,
    /// `/Name`.
    pub signer_name: Option<String>,
    /// `/Reason`.
    pub reason: Option<String>,
    /// `/Location`.
    pub location: Option<String>,
    /// `/ContactInfo`.
    pub contact: Option<String>,
    /// The permission of a certification signature (`DocMDP`): 1 allows no change at all.
    pub permission: Option<i64>,
}

/// The document information dictionary.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Information {
    /// `/Title`.
    pub title: Option<String>,
    /// `/Author`.
    pub author: Option<String>,
    /// `/Subject`.
    pub subject: Option<String>,
    /// `/Keywords`.
    pub keywords: Option<String>,
    /// `/Creator`.
    pub creator: Option<String>,
    /// `/Producer`.
    pub producer: Option<String>,
    /// `/CreationDate`.
    pub created: Option<DateTime<Utc>>,
    /// `/ModDate`.
    pub modified: Option<DateTime<Utc>>,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inspection {
    /// The version in the first line.
    pub version: String,
    /// Bytes of the file.
    pub length: usize,
    /// Tables of objects: one, and one for each update.
    pub revisions: usize,
    /// Pages.
    pub pages: usize,
    /// Signature fields that hold a signature.
    pub signatures: Vec<SignatureField>,
    /// Form fields of any other kind, and signature fields that are empty.
    pub other_fields: usize,
    /// The signature that the catalog names as the one that certifies the document.
    pub certifying: Option<ObjectId>,
    /// Files inside the PDF, in the order of the tree, then those of `/AF` only.
    pub files: Vec<EmbeddedFile>,
    /// Title, author and so on.
    pub information: Information,
}

/// Inspects a file with the usual limits.
///
/// # Errors
/// If it cannot be read or exceeds a limit.
pub fn inspect(bytes: &[u8]) -> Result<Inspection, PdfError> {
    inspect_within(bytes, &Limits::default())
}

/// Inspects a file within limits.
///
/// # Errors
/// If it cannot be read or exceeds a limit.
pub fn inspect_within(bytes: &[u8], limits: &Limits) -> Result<Inspection, PdfError> {
    let document = Document::open(bytes)?;
    let (_, catalog) = document.catalog()?;
    let (signatures, other_fields) = signatures(&document, &catalog)?;
    let permissions = document.dictionary(&catalog, "Perms", "/Perms")?.unwrap_or_default();
    let certifying = match permissions.get("DocMDP") {
        Some(Object::Reference(id)) => Some(*id),
        _ => None,
    };
    Ok(Inspection {
        version: document.version(),
        length: bytes.len(),
        revisions: document.revisions(),
        pages: document.pages()?.len(),
        signatures,
        other_fields,
        certifying,
        files: files(&document, &catalog, limits)?,
        information: information(&document)?,
    })
}

fn information(document: &Document<'_>) -> Result<Information, PdfError> {
    let info = document.dictionary(document.trailer(), "Info", "/Info")?.unwrap_or_default();
    let text = |key| document.text(&info, key);
    let date = |key| Ok::<_, PdfError>(document.text(&info, key)?.and_then(|text| parse_date(&text)));
    Ok(Information {
        title: text("Title")?,
        author: text("Author")?,
        subject: text("Subject")?,
        keywords: text("Keywords")?,
        creator: text("Creator")?,
        producer: text("Producer")?,
        created: date("CreationDate")?,
        modified: date("ModDate")?,
    })
}

fn signatures(
    document: &Document<'_>,
    catalog: &Dictionary,
) -> Result<(Vec<SignatureField>, usize), PdfError> {
    let mut found = Vec::new();
    let mut others = 0;
    let Some(form) = document.dictionary(catalog, "AcroForm", "/AcroForm")? else {
        return Ok((found, others));
    };
    let mut waiting = document.array(&form, "Fields", "/Fields")?;
    waiting.reverse();
    let mut seen = BTreeSet::new();
    let mut visited = 0_usize;
    while let Some(field) = waiting.pop() {
        visited += 1;
        if visited > NODE_LIMIT || waiting.len() > NODE_LIMIT {
            return Err(PdfError::TooMany { what: "form fields", limit: NODE_LIMIT });
        }
        if let Object::Reference(id) = &field
            && !seen.insert(*id)
        {
            return Err(PdfError::Circle { what: "form fields" });
        }
        let Object::Dictionary(field) = document.resolve(&field)? else {
            return Err(PdfError::Missing { what: "a form field" });
        };
        match (document.entry(&field, "V")?, field.name("FT")) {
            (Some(Object::Dictionary(value)), Some(b"Sig")) => {
                found.push(signature(document, &field, &value)?);
            }
            _ => others += 1,
        }
        // Fields below this one: a signature may hide under a parent of any kind.
        waiting.extend(document.array(&field, "Kids", "/Kids")?);
    }
    Ok((found, others))
}

fn signature(
    document: &Document<'_>,
    field: &Dictionary,
    value: &Dictionary,
) -> Result<SignatureField, PdfError> {
    let id = match field.get("V") {
        Some(Object::Reference(id)) => Some(*id),
        _ => None,
    };
    let Some(Object::String(contents)) = value.get("Contents") else {
        return Err(PdfError::Missing { what: "/Contents" });
    };
    if contents.bytes.len() > CONTENTS_LIMIT {
        return Err(PdfError::TooMany { what: "bytes of a signature", limit: CONTENTS_LIMIT });
    }
    let contents_at = (contents.start, contents.end);
    let byte_range = integers(&document.array(value, "ByteRange", "/ByteRange")?)?;
    let coverage = coverage(&byte_range, contents_at, document.bytes());
    Ok(SignatureField {
        name: document.text(field, "T")?.unwrap_or_default(),
        id,
        sub_filter: value.name("SubFilter").map(latin).unwrap_or_default(),
        coverage,
        contents: contents.bytes.clone(),
        contents_at,
        signed_at: document.text(value, "M")?.and_then(|text| parse_date(&text)),
        signer_name: document.text(value, "Name")?,
        reason: document.text(value, "Reason")?,
        location: document.text(value, "Location")?,
        contact: document.text(value, "ContactInfo")?,
        permission: permission(document, value)?,
        byte_range,
    })
}

fn integers(items: &[Object]) -> Result<Vec<i64>, PdfError> {
    if items.len() > 64 {
        return Err(PdfError::TooMany { what: "numbers in /ByteRange", limit: 64 });
    }
    let number = |item: &Object| match item {
        Object::Integer(value) => Some(*value),
        _ => None,
    };
    items.iter().map(number).collect::<Option<_>>().ok_or(PdfError::Missing { what: "/ByteRange" })
}

/// The range must start at 0, leave out exactly the value of Contents, delimiters included, and go
/// on to the end. Contents is the string that the reader itself took from the signature dictionary,
/// so that no second one can stand in the gap.
fn coverage(byte_range: &[i64], contents_at: (usize, usize), bytes: &[u8]) -> Coverage {
    let broken = || Coverage::Broken { byte_range: byte_range.to_vec() };
    let numbers: Option<Vec<usize>> = byte_range.iter().map(|n| usize::try_from(*n).ok()).collect();
    let Some([0, first, second, rest]) = numbers.as_deref() else { return broken() };
    let hexadecimal = bytes.get(*first) == Some(&b'<');
    if !hexadecimal || (*first, *second) != contents_at {
        return broken();
    }
    match second.checked_add(*rest) {
        Some(end) if end == bytes.len() => Coverage::Whole,
        Some(end) if end < bytes.len() => Coverage::Appended { signed: end, length: bytes.len() },
        _ => broken(),
    }
}

/// `P` of a `DocMDP` transform (ISO 32000-1, 12.8.2.2); absent it is 2.
fn permission(document: &Document<'_>, value: &Dictionary) -> Result<Option<i64>, PdfError> {
    for reference in document.array(value, "Reference", "/Reference")?.iter().take(8) {
        let Object::Dictionary(reference) = document.resolve(reference)? else { continue };
        if reference.name("TransformMethod") == Some(b"DocMDP") {
            let parameters = document.dictionary(&reference, "TransformParams", "/TransformParams")?;
            return Ok(Some(parameters.and_then(|p| p.integer("P")).unwrap_or(2)));
        }
    }
    Ok(None)
}

pub(super) fn latin(name: &[u8]) -> String {
    name.iter().map(|byte| char::from(*byte)).collect()
}
