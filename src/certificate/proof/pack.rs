//! Attaching, listing, signing. The order is fixed: the XML, the manifest over everything attached, its
//! detached signature, the pages with all of it, and the signature of the PDF last.

use chrono::{DateTime, Utc};
use leverarm_seal::{Manifest, SealError, SigningInfo, sign_detached, sign_pdf};
use thiserror::Error;

use super::files::Gathered;
use super::key::LaboratoryKey;
use super::make::{Decided, Made};
use super::record::{self, IssueRecord};
use super::xml::sign_xml;
use crate::certificate::render::Attachment;
use crate::certificate::{RenderError, Renderer};

/// The key, and when it signs.
#[derive(Debug, Clone, Copy)]
pub struct Sealing<'a> {
    /// the laboratory's key
    pub key: &'a LaboratoryKey,
    /// when; written to the second
    pub at: DateTime<Utc>,
}

/// What goes into a certificate.
#[derive(Debug)]
pub struct Parts<'a> {
    /// words and results
    pub made: &'a Made,
    /// what the laboratory decided
    pub decided: &'a Decided,
    /// the files of the runs
    pub files: &'a Gathered,
    /// the Digital Calibration Certificate, without a signature
    pub xml: Option<Vec<u8>>,
}

/// The files of a certificate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// `certificate.pdf`
    pub pdf: Vec<u8>,
    /// its length before it was signed
    pub unsigned_bytes: usize,
    /// `certificate.xml`
    pub xml: Option<Vec<u8>>,
    /// `manifest.sha256`
    pub manifest: Vec<u8>,
    /// `manifest.p7s`
    pub signature: Option<Vec<u8>>,
}

/// Why it cannot be packed.
#[derive(Debug, Error)]
pub enum PackError {
    /// The pages cannot be set.
    #[error(transparent)]
    Render(#[from] RenderError),
    /// It cannot be signed.
    #[error(transparent)]
    Seal(#[from] SealError),
    /// Something cannot be written, which is a fault of ours.
    #[error("{what} cannot be made: {reason}")]
    Fault {
        /// what
        what: &'static str,
        /// why
        reason: String,
    },
}

/// Makes the files of a certificate: the same bytes for the same input.
///
/// # Errors
/// [`PackError`].
pub fn pack(
    renderer: &Renderer,
    parts: &Parts<'_>,
    sealing: Option<Sealing<'_>>,
) -> Result<Packed, PackError> {
    let xml = match (&parts.xml, sealing) {
        (Some(xml), Some(sealing)) => Some(sign_xml(xml, sealing.key)?),
        (xml, _) => xml.clone(),
    };
    let mut attached = attachments(parts, xml.as_deref())?;
    let listed = attached.iter().map(|file| (file.name.as_str(), file.data.as_slice()));
    let manifest = Manifest::of(&parts.decided.number, listed)
        .map_err(|error| PackError::Fault { what: record::MANIFEST, reason: error.to_string() })?;
    let manifest = manifest.to_text().into_bytes();
    let signature = sealing.map(|s| sign_detached(&manifest, s.key.signer(), s.at)).transpose()?;
    attached.push(attachment(record::MANIFEST, "SHA-256 of every other attachment", &manifest));
    if let Some(signature) = &signature {
        attached.push(attachment(record::SIGNATURE, "signature of the manifest (CMS, DER)", signature));
    }
    // In the order in which a PDF lists them, so that whoever sets the pages anew attaches alike.
    attached.sort_by(|a, b| a.name.cmp(&b.name));
    let unsigned = renderer.render_with(&parts.made.view, parts.decided.paper, &attached)?;
    let unsigned_bytes = unsigned.len();
    let pdf = match sealing {
        Some(sealing) => sign_pdf(&unsigned, sealing.key.signer(), &info(parts, sealing))?,
        None => unsigned,
    };
    Ok(Packed { pdf, unsigned_bytes, xml, manifest, signature })
}

fn info(parts: &Parts<'_>, sealing: Sealing<'_>) -> SigningInfo {
    let laboratory = &parts.made.view.laboratory;
    SigningInfo {
        time: sealing.at,
        reason: format!("Issue of certificate {}", parts.decided.number),
        location: laboratory.name.clone(),
        contact: laboratory.lines.last().cloned().unwrap_or_default(),
    }
}

/// Every attachment but the manifest and its signature, in the order in which they are attached.
fn attachments(parts: &Parts<'_>, xml: Option<&[u8]>) -> Result<Vec<Attachment>, PackError> {
    let decided = parts.decided;
    let record = IssueRecord {
        format: record::FORMAT.to_owned(),
        version: record::VERSION,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        number: decided.number.clone(),
        issued: decided.issued,
        paper: decided.paper,
        curve: decided.curve,
        given_number: decided.given_number.clone(),
        given_approver: decided.given_approver.clone(),
        seed: decided.seed,
        runs: parts.files.runs.clone(),
    };
    let issue = record
        .to_bytes()
        .map_err(|error| PackError::Fault { what: record::ISSUE, reason: error.to_string() })?;
    let mut attached = Vec::new();
    if let Some(xml) = xml {
        attached.push(attachment(record::XML, "the certificate as Digital Calibration Certificate", xml));
    }
    attached.push(attachment(record::RESULT, "every number of the certificate", &parts.made.result));
    attached.push(attachment(record::ISSUE, "how the certificate was made, and from which files", &issue));
    for held in &parts.files.held {
        attached.push(attachment(&held.name, &format!("{} of the run", held.about), &held.bytes));
    }
    Ok(attached)
}

pub(crate) fn attachment(name: &str, description: &str, data: &[u8]) -> Attachment {
    Attachment {
        name: name.to_owned(),
        mime: media_type(name).to_owned(),
        description: description.to_owned(),
        data: data.to_vec(),
    }
}

/// The media type of a file by the end of its name.
fn media_type(name: &str) -> &'static str {
    match name.rsplit_once('.').map(|(_, end)| end.to_ascii_lowercase()).as_deref() {
        Some("json") => "application/json",
        Some("xml") => "application/xml",
        Some("toml") => "application/toml",
        Some("csv") => "text/csv",
        Some("sha256") => "text/plain",
        Some("p7s") => "application/pkcs7-signature",
        _ => "application/octet-stream",
    }
}
