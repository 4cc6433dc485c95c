//! Signing of a finished PDF: `PAdES` baseline B-B (ETSI EN 319 142-1) as a certification signature
//! that allows no change (ISO 32000-1, 12.8.2.2).
//!
//! The signature is an update appended to the file; no byte of the file itself changes. Its field
//! has a rectangle of no size, which PDF/A-3 (ISO 19005-3, 6.3.3) frees from an appearance and
//! PDF/UA-1 (ISO 14289-1, 7.18.1) from a place in the structure; it is printable and not hidden, as
//! PDF/A-3 (6.3.2) wants.

mod update;

use chrono::{DateTime, Utc};
use sha2::{Digest, Sha256};

use crate::cms;
use crate::error::{SealError, fault};
use crate::pdf::date::can_be_written;
use crate::pdf::write::{hex, text_string};
use crate::pdf::{Dictionary, Document, Object, ObjectId, pdf_date};
use crate::signer::Signer;
use update::Update;

/// Digits of each number of the byte range; shorter ones are filled up with spaces.
const RANGE_DIGITS: usize = 10;

/// What a signature says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SigningInfo {
    /// When it is made; written to the second, in UTC.
    pub time: DateTime<Utc>,
    /// Why, such as `Issue of certificate SK-2026-0412-1`.
    pub reason: String,
    /// Where.
    pub location: String,
    /// How the signer can be reached.
    pub contact: String,
}

/// Signs a PDF: the same bytes for the same input, for ECDSA is made by RFC 6979.
///
/// # Errors
/// If the PDF cannot be read, has a form or a signature already, or the certificate is not valid at
/// the time of signing.
pub fn sign_pdf(pdf: &[u8], signer: &Signer, info: &SigningInfo) -> Result<Vec<u8>, SealError> {
    if !can_be_written(info.time) {
        return Err(SealError::Time { time: info.time });
    }
    signer.check_valid_at(info.time)?;
    let document = Document::open(pdf)?;
    let reserved = cms::most_bytes(signer)?;
    let mut prepared = prepare(&document, signer, info, reserved)?;
    let (first, second) = prepared.contents_at;
    let mut digest = Sha256::new();
    digest.update(prepared.bytes.get(..first).unwrap_or_default());
    digest.update(prepared.bytes.get(second..).unwrap_or_default());
    let mut signature = cms::sign(&digest.finalize().into(), signer, None)?;
    signature.resize(reserved.max(signature.len()), 0);
    let place = prepared.bytes.get_mut(first + 1..second.saturating_sub(1));
    match place {
        Some(place) if place.len() == signature.len() * 2 => {
            place.copy_from_slice(hex(&signature).as_bytes());
            Ok(prepared.bytes)
        }
        _ => Err(fault("placing the signature")("it does not fit its place")),
    }
}

/// The file with everything but the signature itself.
struct Prepared {
    bytes: Vec<u8>,
    /// Start and end of the place of the signature, delimiters included.
    contents_at: (usize, usize),
}

fn prepare(
    document: &Document<'_>,
    signer: &Signer,
    info: &SigningInfo,
    reserved: usize,
) -> Result<Prepared, SealError> {
    let (catalog_id, mut catalog) = document.catalog()?;
    for (key, what) in [("AcroForm", "a form"), ("Perms", "permissions")] {
        if catalog.get(key).is_some() {
            return Err(SealError::AlreadySigned { what });
        }
    }
    let mut update = Update::to(document)?;
    let signature_id = update.new_id();
    let field_id = update.new_id();
    let (page_id, page) = first_page(document, field_id)?;
    let name = signer.certificate().ok_or(SealError::NoCertificate)?;
    let name = name.common_name.unwrap_or(name.subject);

    let mut form = Dictionary::default();
    form.set("Fields", Object::Array(vec![Object::Reference(field_id)]));
    // A signature exists, and the file may only be appended to (ISO 32000-1, table 219).
    form.set("SigFlags", Object::Integer(3));
    catalog.set("AcroForm", Object::Dictionary(form));
    let mut permissions = Dictionary::default();
    permissions.set("DocMDP", Object::Reference(signature_id));
    catalog.set("Perms", Object::Dictionary(permissions));

    update.write(catalog_id, &Object::Dictionary(catalog));
    update.write(page_id, &Object::Dictionary(page));
    update.write_raw(field_id, &field(&name, page_id, signature_id));
    let parts = signature_parts(&name, info, reserved);
    let start = update.write_raw(signature_id, &parts.bytes);
    let (range, first, second) =
        (start + parts.range_at, start + parts.contents_at.0, start + parts.contents_at.1);
    let mut bytes = update.finish()?;
    let numbers = [0, first, second, bytes.len().saturating_sub(second)];
    let text = numbers.map(|number| format!("{number:<RANGE_DIGITS$}")).join(" ");
    match bytes.get_mut(range..range + text.len()) {
        Some(place) => place.copy_from_slice(text.as_bytes()),
        None => return Err(fault("placing the byte range")("it does not fit its place")),
    }
    Ok(Prepared { bytes, contents_at: (first, second) })
}

/// The first page with the field among its annotations, in the order of the structure
/// (ISO 14289-1, 7.18.3).
fn first_page(document: &Document<'_>, field: ObjectId) -> Result<(ObjectId, Dictionary), SealError> {
    let missing = crate::pdf::PdfError::Missing { what: "a page" };
    let id = document.pages()?.first().copied().ok_or(missing.clone())?;
    let Object::Dictionary(mut page) = document.get(id)? else { return Err(missing.into()) };
    let mut annotations = document.array(&page, "Annots", "/Annots")?;
    annotations.push(Object::Reference(field));
    page.set("Annots", Object::Array(annotations));
    if page.get("Tabs").is_none() {
        page.set("Tabs", Object::Name(b"S".to_vec()));
    }
    Ok((id, page))
}

/// The field and its annotation in one: 132 is printable and locked.
fn field(name: &str, page: ObjectId, signature: ObjectId) -> Vec<u8> {
    let mut out = b"<</Type/Annot/Subtype/Widget/FT/Sig/T(Signature)/TU ".to_vec();
    out.extend(text_string(&format!("Signature of {name}")));
    let (page, signature) = ((page.number, page.generation), signature.number);
    let rest = format!("/Rect[0 0 0 0]/F 132/P {} {} R/V {signature} 0 R>>", page.0, page.1);
    out.extend(rest.as_bytes());
    out
}

struct Parts {
    bytes: Vec<u8>,
    /// Where the numbers of the byte range start.
    range_at: usize,
    contents_at: (usize, usize),
}

/// The signature dictionary (ISO 32000-1, 12.8.1; ETSI EN 319 142-1, 5.2 and 6.3) with places for
/// the byte range and the signature.
fn signature_parts(name: &str, info: &SigningInfo, reserved: usize) -> Parts {
    let mut bytes = b"<</Type/Sig/Filter/Adobe.PPKLite/SubFilter/ETSI.CAdES.detached/M ".to_vec();
    bytes.extend(text_string(&pdf_date(info.time)));
    for (key, text) in [
        ("/Name ", name),
        ("/Reason ", info.reason.as_str()),
        ("/Location ", info.location.as_str()),
        ("/ContactInfo ", info.contact.as_str()),
    ] {
        if !text.is_empty() {
            bytes.extend(key.as_bytes());
            bytes.extend(text_string(text));
        }
    }
    bytes.extend(b"/Reference[<</Type/SigRef/TransformMethod/DocMDP/TransformParams");
    bytes.extend(b"<</Type/TransformParams/P 1/V/1.2>>>>]/ByteRange[");
    let range_at = bytes.len();
    bytes.resize(range_at + 4 * RANGE_DIGITS + 3, b' ');
    bytes.extend(b"]/Contents ");
    let first = bytes.len();
    bytes.push(b'<');
    bytes.resize(first + 1 + reserved * 2, b'0');
    bytes.extend(b">");
    let contents_at = (first, bytes.len());
    bytes.extend(b">>");
    Parts { bytes, range_at, contents_at }
}
