//! The recheck of a certificate: from the file alone, without a network and without the laboratory's
//! record. The file is hostile: memory, depth and work are bounded, and nothing in it is believed.
//!
//! [`recheck`] looks at the signature, at the hash of every attachment, puts the run folder together
//! again in memory, computes everything anew, and compares it with `result.json`, with the Digital
//! Calibration Certificate and with what stands on the pages. The pages are compared in two ways: they
//! are set anew and must be the same bytes, and where they are not, the text on them is read and every
//! difference is named with its page. What is proved and what is not stands in
//! `standards-notes/proof.md`.

mod beside;
mod content;
mod fonts;
mod leaves;
mod pages;
mod parts;
mod rebuild;
mod report;
mod signed;
mod text;
mod update;
mod xml;

use chrono::{DateTime, Utc};
use leverarm_seal::{Fingerprint, Trust, WithdrawnList, pdf::PdfError};
use thiserror::Error;

use crate::certificate::{RenderError, Renderer};

pub use beside::{recheck_manifest, recheck_result, recheck_xml};
pub use report::{Conclusion, Difference, Line, Outcome, Report};

/// What the caller knows beside the file.
pub struct Question<'a> {
    /// whom he trusts
    pub trust: &'a Trust,
    /// fingerprints that he knows, for the signature of an XML file alone
    pub known: &'a [Fingerprint],
    /// when it is checked
    pub now: DateTime<Utc>,
    /// the laboratory's list of certificates that are no longer valid, verified
    pub withdrawn: Option<&'a WithdrawnList>,
    /// whether an unsigned certificate is enough
    pub unsigned_ok: bool,
    /// whether any signer is enough, known or not
    pub any_signer: bool,
    /// the typesetter, for many certificates one after the other
    pub renderer: &'a Renderer,
    /// on how many threads trials are drawn; changes no result
    pub threads: std::num::NonZeroUsize,
}

/// Why a file cannot be rechecked at all.
#[derive(Debug, Error)]
pub enum RecheckError {
    /// It is no PDF that can be read, or exceeds what a certificate can need.
    #[error("the file cannot be read: {0}")]
    Pdf(#[from] PdfError),
    /// It is a PDF, and none of ours.
    #[error("this is no certificate of leverarm: {reason}")]
    NotOurs {
        /// what is missing or otherwise
        reason: String,
    },
    /// It asks for more work than a certificate can need.
    #[error("{what}: {found}, and at most {limit} are rechecked")]
    TooMuch {
        /// of what
        what: &'static str,
        /// how many
        found: usize,
        /// how many at most
        limit: usize,
    },
    /// The pages cannot be set anew.
    #[error("the pages cannot be set anew: {0}")]
    Render(#[from] RenderError),
}

impl RecheckError {
    /// What the customer can do.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            RecheckError::Pdf(_) => "ask the laboratory for the file again; do not rely on this one",
            RecheckError::NotOurs { .. } => {
                "give the certificate.pdf, result.json, certificate.xml or manifest.sha256 of a certificate"
            }
            RecheckError::TooMuch { .. } => "do not rely on this file; ask the laboratory",
            RecheckError::Render(_) => "ask the laboratory, and tell it what stands here",
        }
    }
}

/// Rechecks a certificate, the PDF.
///
/// # Errors
/// [`RecheckError`] where the file is none of ours or cannot be read; whatever differs is in the report.
pub fn recheck(pdf: &[u8], question: &Question<'_>) -> Result<Report, RecheckError> {
    let mut report = Report::default();
    let verification = leverarm_seal::verify_pdf(pdf, question.trust, question.now);
    let Some(inspection) = &verification.inspection else {
        return Err(signed::unreadable(&verification));
    };
    let parts = parts::Parts::of(&inspection.files, &mut report)?;
    report.number.clone_from(&parts.issue.number);
    signed::of_pdf(&verification, &parts, question, &mut report);
    signed::of_manifest(&verification, &parts, question, &mut report);
    let Some(rebuilt) = rebuild::rebuild(&parts, question, &mut report)? else {
        return Ok(report.concluded(question));
    };
    rebuild::compare_result(&parts, &rebuilt, &mut report);
    xml::compare(&verification, &parts, &rebuilt, &mut report);
    pages::compare(pdf, inspection, &parts, &rebuilt, question, &mut report)?;
    signed::of_withdrawal(&rebuilt, question, &mut report);
    Ok(report.concluded(question))
}
