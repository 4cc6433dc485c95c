//! Files inside a PDF (ISO 32000-1, 7.11.4; ISO 19005-3, annex E).

use std::collections::BTreeMap;

use super::document::Document;
use super::error::PdfError;
use super::inspect::{Limits, NODE_LIMIT, latin};
use super::object::{Dictionary, Object, ObjectId};

/// How a file is tied to the document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Association {
    /// In `/AF` of the catalog, as PDF/A-3 wants.
    pub associated: bool,
    /// In the tree of embedded files, where readers list it.
    pub listed: bool,
}

/// A file inside the PDF.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EmbeddedFile {
    /// Its name (`/UF`, else `/F`).
    pub name: String,
    /// `/Desc`.
    pub description: Option<String>,
    /// Its media type, such as `application/json`.
    pub media_type: Option<String>,
    /// `/AFRelationship`, such as `Source`.
    pub relationship: Option<String>,
    /// Where it is named.
    pub association: Association,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

pub(super) fn files(
    document: &Document<'_>,
    catalog: &Dictionary,
    limits: &Limits,
) -> Result<Vec<EmbeddedFile>, PdfError> {
    let listed = listed_files(document, catalog, limits)?;
    let associated = document.array(catalog, "AF", "/AF")?;
    let mut order: Vec<Object> = Vec::new();
    let mut places: BTreeMap<ObjectId, Association> = BTreeMap::new();
    for (is_listed, object) in
        listed.iter().map(|object| (true, object)).chain(associated.iter().map(|object| (false, object)))
    {
        let Object::Reference(id) = object else {
            return Err(PdfError::Missing { what: "a reference to a file specification" });
        };
        let place = places.entry(*id).or_insert_with(|| {
            order.push(object.clone());
            Association { associated: false, listed: false }
        });
        place.listed |= is_listed;
        place.associated |= !is_listed;
    }
    if order.len() > limits.embedded_count {
        return Err(PdfError::TooMany { what: "embedded files", limit: limits.embedded_count });
    }
    let mut left = limits.embedded_total;
    let mut files = Vec::new();
    for object in order {
        let Object::Reference(id) = object else { continue };
        let Some(association) = places.get(&id).copied() else { continue };
        let limit = limits.embedded_file.min(left);
        let file = embedded(document, id, association, limit)?;
        left = left.saturating_sub(file.bytes.len());
        files.push(file);
    }
    Ok(files)
}

/// The values of the name tree `/Names` `/EmbeddedFiles`.
fn listed_files(
    document: &Document<'_>,
    catalog: &Dictionary,
    limits: &Limits,
) -> Result<Vec<Object>, PdfError> {
    let Some(names) = document.dictionary(catalog, "Names", "/Names")? else { return Ok(Vec::new()) };
    let Some(root) = names.get("EmbeddedFiles") else { return Ok(Vec::new()) };
    let mut waiting = vec![root.clone()];
    let mut found = Vec::new();
    let mut visited = 0_usize;
    while let Some(node) = waiting.pop() {
        visited += 1;
        if visited > NODE_LIMIT || waiting.len() > NODE_LIMIT || found.len() > limits.embedded_count {
            return Err(PdfError::TooMany { what: "nodes of the tree of files", limit: NODE_LIMIT });
        }
        let Object::Dictionary(node) = document.resolve(&node)? else {
            return Err(PdfError::Missing { what: "the tree of files" });
        };
        let pairs = document.array(&node, "Names", "/Names")?;
        found.extend(pairs.chunks(2).filter_map(|pair| pair.get(1).cloned()));
        waiting.extend(document.array(&node, "Kids", "/Kids")?.into_iter().rev());
    }
    Ok(found)
}

fn embedded(
    document: &Document<'_>,
    id: ObjectId,
    association: Association,
    limit: usize,
) -> Result<EmbeddedFile, PdfError> {
    let missing = PdfError::Missing { what: "an embedded file" };
    let Object::Dictionary(specification) = document.get(id)? else { return Err(missing) };
    let name = document.text(&specification, "UF")?.or(document.text(&specification, "F")?);
    let places = document.dictionary(&specification, "EF", "/EF")?.ok_or(missing.clone())?;
    // Readers differ in which of the two they open: they must be one file.
    if let (Some(first), Some(second)) = (places.get("UF"), places.get("F"))
        && first != second
    {
        return Err(PdfError::Unsupported { what: "an embedded file with two contents".to_owned() });
    }
    let stream = match document.entry(&places, "UF")? {
        Some(stream) => Some(stream),
        None => document.entry(&places, "F")?,
    };
    let Some(Object::Stream(stream)) = stream else { return Err(missing) };
    Ok(EmbeddedFile {
        name: name.ok_or(missing)?,
        description: document.text(&specification, "Desc")?,
        media_type: stream.dictionary.name("Subtype").map(latin),
        relationship: specification.name("AFRelationship").map(latin),
        association,
        bytes: document.decode(&stream, limit)?,
    })
}
