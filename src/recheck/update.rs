//! What the signature added to the file: its field, its dictionary, and nothing that is seen.

use leverarm_seal::pdf::{Dictionary, Document, Object, ObjectId, PdfError};

use super::report::Difference;

/// Objects that a signature adds: field, dictionary, table of objects.
const ADDED_MAX: i64 = 4;

/// Compares a signed file with the same file before it was signed; `pdf` begins with `base`.
pub(super) fn compare(pdf: &[u8], base: &[u8]) -> Result<Vec<Difference>, PdfError> {
    let (signed, plain) = (Document::open(pdf)?, Document::open(base)?);
    let mut differences = Vec::new();
    let size = |document: &Document<'_>| document.trailer().integer("Size").unwrap_or_default();
    let (before, after) = (size(&plain), size(&signed));
    if signed.revisions() != plain.revisions() + 1 || after > before + ADDED_MAX || after < before {
        differences.push(Difference::new("file", "one update with a signature", "another update"));
        return Ok(differences);
    }
    let (catalog, _) = plain.catalog()?;
    let (signed_catalog, _) = signed.catalog()?;
    if catalog != signed_catalog {
        differences.push(Difference::new("catalog", "that of the pages", "another one"));
    }
    let page = plain.pages()?.first().copied().ok_or(PdfError::Missing { what: "a page" })?;
    for number in 1..u32::try_from(before).unwrap_or_default() {
        let id = ObjectId { number, generation: 0 };
        let (ours, theirs) = (plain.get(id)?, signed.get(id)?);
        let same = match (&ours, &theirs) {
            (Object::Dictionary(a), Object::Dictionary(b)) if id == catalog => {
                without(a, &[]) == without(b, &["AcroForm", "Perms"])
            }
            (Object::Dictionary(a), Object::Dictionary(b)) if id == page => {
                one_more(&plain, a, &signed, b)?
                    && without(a, &["Annots", "Tabs"]) == without(b, &["Annots", "Tabs"])
            }
            (a, b) => a == b,
        };
        if !same {
            differences.push(Difference::new(format!("object {number} of the file"), "as it was", "changed"));
        }
    }
    for number in before..after {
        let id = ObjectId { number: u32::try_from(number).unwrap_or_default(), generation: 0 };
        let added = signed.get(id)?;
        if !is_of_signature(&added) {
            let path = format!("object {number} of the file");
            differences.push(Difference::new(path, "a signature that is not seen", "something else"));
        }
    }
    Ok(differences)
}

/// A dictionary without some keys, sorted.
fn without<'d>(dictionary: &'d Dictionary, keys: &[&str]) -> Vec<(&'d [u8], Object)> {
    let mut entries: Vec<(&[u8], Object)> = dictionary
        .iter()
        .filter(|(key, _)| !keys.iter().any(|left| left.as_bytes() == *key))
        .map(|(key, value)| (key, placeless(value)))
        .collect();
    entries.sort_by(|a, b| a.0.cmp(b.0));
    entries
}

/// A value without where it stands in the file: the update writes a dictionary anew.
fn placeless(object: &Object) -> Object {
    match object {
        Object::String(string) => {
            let mut string = string.clone();
            (string.start, string.end) = (0, 0);
            Object::String(string)
        }
        Object::Array(items) => Object::Array(items.iter().map(placeless).collect()),
        Object::Dictionary(dictionary) => {
            let mut copy = Dictionary::default();
            for (key, value) in dictionary.iter() {
                copy.set(&String::from_utf8_lossy(key), placeless(value));
            }
            Object::Dictionary(copy)
        }
        other => other.clone(),
    }
}

/// Whether the first page has exactly one annotation more.
fn one_more(
    plain: &Document<'_>,
    before: &Dictionary,
    signed: &Document<'_>,
    after: &Dictionary,
) -> Result<bool, PdfError> {
    let before = plain.array(before, "Annots", "/Annots")?;
    let after = signed.array(after, "Annots", "/Annots")?;
    Ok(after.len() == before.len() + 1 && after.starts_with(&before))
}

/// The field of a signature without size or appearance, its dictionary, or the table of objects.
fn is_of_signature(object: &Object) -> bool {
    let only = |dictionary: &Dictionary, keys: &[&str]| {
        dictionary.iter().all(|(key, _)| keys.iter().any(|known| known.as_bytes() == key))
    };
    match object {
        Object::Dictionary(field) if field.name("Subtype") == Some(b"Widget") => {
            let nothing = field.get("Rect") == Some(&Object::Array(vec![Object::Integer(0); 4]));
            nothing && only(field, &["Type", "Subtype", "FT", "T", "TU", "Rect", "F", "P", "V"])
        }
        Object::Dictionary(signature) if signature.name("Type") == Some(b"Sig") => true,
        Object::Stream(table) => table.dictionary.name("Type") == Some(b"XRef"),
        Object::Null => true,
        _ => false,
    }
}
