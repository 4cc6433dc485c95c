//! Detached signatures: CMS beside the bytes that it signs, for whoever has no PDF machinery.
//!
//! `openssl cms -verify -inform DER -binary -in FILE.p7s -content FILE -CAfile CERTIFICATE.pem
//! -purpose any` verifies one.

use chrono::{DateTime, SubsecRound, Utc};
use sha2::{Digest, Sha256};

use crate::certificate::CertificateSummary;
use crate::cms::{self, Signed};
use crate::error::SealError;
use crate::pdf::date::can_be_written;
use crate::signer::Signer;
use crate::trust::{Trust, Trusted};
use crate::verify::{Finding, check_signer};

/// Signs bytes; the signature is DER and holds the certificates and the time, to the second.
///
/// # Errors
/// If the certificate is not valid at that time.
pub fn sign_detached(content: &[u8], signer: &Signer, time: DateTime<Utc>) -> Result<Vec<u8>, SealError> {
    if !can_be_written(time) {
        return Err(SealError::Time { time });
    }
    signer.check_valid_at(time)?;
    cms::sign(&Sha256::digest(content).into(), signer, Some(time.trunc_subsecs(0)))
}

/// The outcome of the verification of a detached signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DetachedVerification {
    /// The signed bytes are those given.
    pub digest_ok: bool,
    /// The signature was made with the key of the certificate in it.
    pub signature_ok: bool,
    /// Who signed.
    pub signer: Option<CertificateSummary>,
    /// Why he is trusted, if he is.
    pub trusted: Option<Trusted>,
    /// When he says that he signed.
    pub signed_at: Option<DateTime<Utc>>,
    /// All that was found.
    pub findings: Vec<Finding>,
}

impl DetachedVerification {
    /// Whether the bytes are what a trusted laboratory signed.
    #[must_use]
    pub fn is_genuine(&self) -> bool {
        self.digest_ok
            && self.signature_ok
            && self.trusted.is_some()
            && !self.findings.iter().any(Finding::is_fault)
    }
}

/// Verifies a detached signature over bytes. `now` is when it is verified.
#[must_use]
pub fn verify_detached(
    content: &[u8],
    signature: &[u8],
    trust: &Trust,
    now: DateTime<Utc>,
) -> DetachedVerification {
    let mut findings = Vec::new();
    match Signed::read(signature) {
        Err(reason) => {
            findings.push(Finding::Form { reason });
            DetachedVerification {
                digest_ok: false,
                signature_ok: false,
                signer: None,
                trusted: None,
                signed_at: None,
                findings,
            }
        }
        Ok(signed) => {
            let digest_ok = signed.is_over(&Sha256::digest(content).into());
            if !digest_ok {
                findings.push(Finding::Digest);
            }
            let signature_ok = signed.is_signed();
            if !signature_ok {
                findings.push(Finding::Signature);
            }
            let trusted = check_signer(&signed, signed.signed_at, trust, now, &mut findings);
            let (signer, signed_at) = (Some(signed.own.summary()), signed.signed_at);
            DetachedVerification { digest_ok, signature_ok, signer, trusted, signed_at, findings }
        }
    }
}
