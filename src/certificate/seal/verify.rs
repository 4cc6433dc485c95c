//! Verification of a signed certificate, from its bytes alone.

use chrono::{DateTime, Duration, Utc};
use sha2::{Digest, Sha256};
use thiserror::Error;

use crate::certificate::CertificateSummary;
use crate::cms::Signed;
use crate::pdf::{Coverage, Inspection, PdfError, SignatureField, inspect};
use crate::trust::{ChainFault, Trust, Trusted};

/// How far the signer's clock may be ahead of the verifier's.
const CLOCKS_APART: Duration = Duration::minutes(10);

/// Something that is wrong, or that a careful person wants to know.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Finding {
    /// The file cannot be read.
    #[error("the file cannot be read: {0}")]
    Unreadable(#[from] PdfError),
    /// There is no signature.
    #[error("the file is not signed")]
    NoSignature,
    /// There is more than one signature, or a form beside it; a certificate has one and no form.
    #[error("the file has {signatures} signatures and {other_fields} other form fields; wanted one and none")]
    OtherFields {
        /// Signatures.
        signatures: usize,
        /// Other form fields.
        other_fields: usize,
    },
    /// Something was appended after signing.
    #[error("{} bytes were appended after signing", length - signed)]
    Appended {
        /// Bytes that were signed.
        signed: usize,
        /// Bytes of the file.
        length: usize,
    },
    /// The signature does not cover the whole file.
    #[error("the signature covers {byte_range:?}, not the whole file")]
    NotCovered {
        /// Its byte range.
        byte_range: Vec<i64>,
    },
    /// The signature is of a form that is not ours.
    #[error("the signature is not of the form of a certificate of ours: {reason}")]
    Form {
        /// What is different.
        reason: String,
    },
    /// The signed bytes were changed.
    #[error("the file was changed after signing: its digest is not the signed one")]
    Digest,
    /// The signature was not made with the signer's key.
    #[error("the signature was not made with the key of the certificate that it names")]
    Signature,
    /// Something is wrong with the chain of certificates.
    #[error(transparent)]
    Chain(#[from] ChainFault),
    /// The signature does not say when it was made.
    #[error("the signature does not say when it was made")]
    NoTime,
    /// The signature says that it was made after now.
    #[error("the signature says that it was made at {signed_at}, which is after {now}")]
    Future {
        /// When it says.
        signed_at: DateTime<Utc>,
        /// When it was verified.
        now: DateTime<Utc>,
    },
    /// The signer's certificate has expired since; the signing time is only the signer's word.
    #[error("the signer's certificate expired on {not_after}, after signing")]
    ExpiredSince {
        /// When.
        not_after: DateTime<Utc>,
    },
}

impl Finding {
    /// Whether it is a fault; what is not is a remark.
    #[must_use]
    pub fn is_fault(&self) -> bool {
        !matches!(self, Self::ExpiredSince { .. })
    }

    /// What a reader of the certificate can do.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Chain(ChainFault::Unknown { .. }) => {
                "compare the fingerprint with the one that the laboratory publishes, then name it as known"
            }
            Self::Future { .. } => "check the date of this computer",
            Self::ExpiredSince { .. } => "ask the laboratory if the certificate matters beyond that date",
            Self::NoSignature => "ask the laboratory for the signed file; printing or saving anew removes it",
            _ => "do not rely on this file; ask the laboratory for the original",
        }
    }
}

/// The outcome of a verification.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// What the file holds, if it could be read.
    pub inspection: Option<Inspection>,
    /// The signed bytes are those of the file.
    pub digest_ok: bool,
    /// The signature was made with the key of the certificate in it.
    pub signature_ok: bool,
    /// Who signed.
    pub signer: Option<CertificateSummary>,
    /// Why he is trusted, if he is.
    pub trusted: Option<Trusted>,
    /// When he says that he signed.
    pub signed_at: Option<DateTime<Utc>>,
    /// Bytes that the signature covers.
    pub covered: usize,
    /// All that was found.
    pub findings: Vec<Finding>,
}

impl Verification {
    /// Whether the file is what a trusted laboratory signed: everything was checked and no fault
    /// was found.
    #[must_use]
    pub fn is_genuine(&self) -> bool {
        self.digest_ok
            && self.signature_ok
            && self.trusted.is_some()
            && !self.findings.iter().any(Finding::is_fault)
    }
}

/// Verifies the signature of a PDF: that it covers the whole file but the place of the signature
/// itself, that nothing was changed or appended, who made it, and whether he was entitled to at the
/// time of signing. `now` is when it is verified.
///
/// All problems are findings, an unreadable file among them; nothing here fails otherwise.
#[must_use]
pub fn verify_pdf(bytes: &[u8], trust: &Trust, now: DateTime<Utc>) -> Verification {
    let mut verification = Verification {
        inspection: None,
        digest_ok: false,
        signature_ok: false,
        signer: None,
        trusted: None,
        signed_at: None,
        covered: 0,
        findings: Vec::new(),
    };
    let inspection = match inspect(bytes) {
        Ok(inspection) => inspection,
        Err(error) => {
            verification.findings.push(error.into());
            return verification;
        }
    };
    let (signatures, other_fields) = (inspection.signatures.len(), inspection.other_fields);
    match inspection.signatures.first() {
        None => verification.findings.push(Finding::NoSignature),
        Some(field) => {
            if signatures > 1 || other_fields > 0 {
                verification.findings.push(Finding::OtherFields { signatures, other_fields });
            }
            check_field(bytes, &inspection, field, &mut verification);
            match signature_bytes(bytes, field).and_then(|der| Signed::read(&der)) {
                Ok(signed) => check_signature(bytes, field, &signed, trust, now, &mut verification),
                Err(reason) => verification.findings.push(Finding::Form { reason }),
            }
        }
    }
    verification.inspection = Some(inspection);
    verification
}

/// What the field itself must say.
fn check_field(bytes: &[u8], inspection: &Inspection, field: &SignatureField, out: &mut Verification) {
    match &field.coverage {
        Coverage::Whole => out.covered = bytes.len() - (field.contents_at.1 - field.contents_at.0),
        Coverage::Appended { signed, length } => {
            out.findings.push(Finding::Appended { signed: *signed, length: *length });
        }
        Coverage::Broken { byte_range } => {
            out.findings.push(Finding::NotCovered { byte_range: byte_range.clone() });
        }
    }
    let mut form = |reason: &str| out.findings.push(Finding::Form { reason: reason.to_owned() });
    if field.sub_filter != "ETSI.CAdES.detached" {
        form("its sub-filter is another");
    }
    if field.permission != Some(1) || field.id.is_none() || inspection.certifying != field.id {
        form("it does not certify the document against any change");
    }
}

/// The signature in the place that is left out: small hexadecimal digits only, the signature, then
/// zeros only. The place itself is not covered by the digest, so its form is fixed to the last digit.
fn signature_bytes(bytes: &[u8], field: &SignatureField) -> Result<Vec<u8>, String> {
    let (start, end) = field.contents_at;
    let place = bytes.get(start..end).unwrap_or_default();
    let digits = place.strip_prefix(b"<").and_then(|rest| rest.strip_suffix(b">"));
    let digits = digits.ok_or("its place is not hexadecimal")?;
    let small = digits.iter().all(|digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f'));
    if !small || digits.len() != field.contents.len() * 2 {
        return Err("its digits are not in their one form".to_owned());
    }
    let length = der_length(&field.contents).ok_or("it is not DER")?;
    match field.contents.split_at_checked(length) {
        Some((der, filling)) if filling.iter().all(|byte| *byte == 0) => Ok(der.to_vec()),
        _ => Err("it is not followed by zeros only".to_owned()),
    }
}

/// The length of the DER sequence that starts here, its head included.
fn der_length(bytes: &[u8]) -> Option<usize> {
    let (tag, rest) = bytes.split_first()?;
    let (first, rest) = rest.split_first()?;
    let (head, content) = match *first {
        short @ 0..=0x7F => (2, usize::from(short)),
        long @ 0x81..=0x83 => {
            let count = usize::from(long & 0x0F);
            let digits = rest.get(..count)?;
            (2 + count, digits.iter().fold(0, |value, byte| value * 256 + usize::from(*byte)))
        }
        _ => return None,
    };
    (*tag == 0x30).then_some(head + content)
}

fn check_signature(
    bytes: &[u8],
    field: &SignatureField,
    signed: &Signed,
    trust: &Trust,
    now: DateTime<Utc>,
    out: &mut Verification,
) {
    if signed.signed_at.is_some() {
        out.findings.push(Finding::Form { reason: "the time is an attribute".to_owned() });
    }
    if let Some(digest) = digest(bytes, field) {
        out.digest_ok = signed.is_over(&digest);
    }
    if !out.digest_ok {
        out.findings.push(Finding::Digest);
    }
    out.signature_ok = signed.is_signed();
    if !out.signature_ok {
        out.findings.push(Finding::Signature);
    }
    out.signed_at = field.signed_at;
    let who = check_signer(signed, field.signed_at, trust, now, &mut out.findings);
    out.trusted = who;
    out.signer = Some(signed.own.summary());
}

/// The SHA-256 of what the signature covers: of the signed part, where something was appended.
fn digest(bytes: &[u8], field: &SignatureField) -> Option<[u8; 32]> {
    let end = match field.coverage {
        Coverage::Whole => bytes.len(),
        Coverage::Appended { signed, .. } => signed,
        Coverage::Broken { .. } => return None,
    };
    let (first, second) = field.contents_at;
    let mut digest = Sha256::new();
    digest.update(bytes.get(..first)?);
    digest.update(bytes.get(second..end)?);
    Some(digest.finalize().into())
}

/// The signer at the time when he says that he signed; shared with detached signatures.
pub(crate) fn check_signer(
    signed: &Signed,
    signed_at: Option<DateTime<Utc>>,
    trust: &Trust,
    now: DateTime<Utc>,
    findings: &mut Vec<Finding>,
) -> Option<Trusted> {
    let at = match signed_at {
        Some(at) => at,
        None => {
            findings.push(Finding::NoTime);
            now
        }
    };
    let latest = now.checked_add_signed(CLOCKS_APART).unwrap_or(now);
    if at > latest {
        findings.push(Finding::Future { signed_at: at, now });
    }
    let (trusted, faults) = trust.check(&signed.own, &signed.others, at);
    findings.extend(faults.into_iter().map(Finding::Chain));
    if signed.own.is_valid_at(at) && now > signed.own.not_after() {
        findings.push(Finding::ExpiredSince { not_after: signed.own.not_after() });
    }
    trusted
}
