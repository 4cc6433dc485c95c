//! Whom a verifier trusts, and whether a chain of certificates ends there.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use thiserror::Error;

use crate::certificate::{Cert, CertificateSummary, Fingerprint};
use crate::error::SealError;
use crate::signer::{CHAIN_LIMIT, certificates_from_pem};

/// Whom the verifier trusts: certificates of laboratories that he knows by their fingerprint, and
/// roots whose holders issue them.
#[derive(Debug, Clone, Default)]
pub struct Trust {
    known: BTreeSet<Fingerprint>,
    roots: Vec<Cert>,
}

/// On what ground a signer is trusted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trusted {
    /// His certificate is known by its fingerprint.
    Known(Fingerprint),
    /// His certificate was issued, over others perhaps, by this root.
    Issued {
        /// The root.
        root: CertificateSummary,
    },
}

/// What is wrong with a chain of certificates.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ChainFault {
    /// Nobody who is trusted vouches for the signer.
    #[error("the signer {subject} is not known; the fingerprint is {fingerprint}")]
    Unknown {
        /// The signer.
        subject: String,
        /// His certificate's fingerprint, to be compared with what the laboratory publishes.
        fingerprint: Fingerprint,
    },
    /// A certificate was not valid at the time of signing.
    #[error("the certificate of {subject} was valid from {not_before} to {not_after}, not at {at}")]
    NotValid {
        /// Whose.
        subject: String,
        /// Start of its validity.
        not_before: DateTime<Utc>,
        /// End of its validity.
        not_after: DateTime<Utc>,
        /// The time of signing.
        at: DateTime<Utc>,
    },
    /// The signer's certificate is for other purposes.
    #[error("the certificate of {subject} does not allow signatures")]
    NotForSigning {
        /// Whose.
        subject: String,
    },
    /// A certificate in the chain may not issue others.
    #[error("{subject} may not issue certificates")]
    NotAnIssuer {
        /// Whose.
        subject: String,
    },
    /// A self-made certificate whose own signature is wrong.
    #[error("the certificate of {subject} is not signed by its own key")]
    SelfSignature {
        /// Whose.
        subject: String,
    },
    /// A certificate that has nothing to do with the signer.
    #[error("the certificate of {subject} has no place in the chain")]
    Unrelated {
        /// Whose.
        subject: String,
    },
    /// A critical extension that is not understood.
    #[error("the certificate of {subject} has the critical extension {extension}, which is not understood")]
    UnknownExtension {
        /// Whose.
        subject: String,
        /// The extension's identifier.
        extension: String,
    },
}

impl Trust {
    /// Trusts nobody yet.
    #[must_use]
    pub fn nobody() -> Self {
        Self::default()
    }

    /// Trusts also the holder of the certificate with this fingerprint.
    #[must_use]
    pub fn known(mut self, fingerprint: Fingerprint) -> Self {
        self.known.insert(fingerprint);
        self
    }

    /// Trusts also the holders of the certificates of a PEM text, as signers.
    ///
    /// # Errors
    /// If it is no PEM text with certificates.
    pub fn known_pem(mut self, pem: &str) -> Result<Self, SealError> {
        self.known.extend(certificates_from_pem(pem)?.iter().map(Cert::fingerprint));
        Ok(self)
    }

    /// Trusts also whom the holders of the certificates of a PEM text vouch for.
    ///
    /// # Errors
    /// If it is no PEM text with certificates.
    pub fn roots_pem(mut self, pem: &str) -> Result<Self, SealError> {
        self.roots.extend(certificates_from_pem(pem)?);
        Ok(self)
    }

    /// Checks the chain from the signer upwards at the time of signing (RFC 5280, 6.1, without
    /// names and policies, and without revocation, for which a network would be needed).
    pub(crate) fn check(
        &self,
        own: &Cert,
        others: &[Cert],
        at: DateTime<Utc>,
    ) -> (Option<Trusted>, Vec<ChainFault>) {
        let mut faults = Vec::new();
        let (path, unrelated) = path(own, others);
        for cert in unrelated {
            faults.push(ChainFault::Unrelated { subject: cert.subject().to_string() });
        }
        if !own.may_sign() {
            faults.push(ChainFault::NotForSigning { subject: own.subject().to_string() });
        }
        for (place, cert) in path.iter().enumerate() {
            check_one(cert, place, at, &mut faults);
        }
        if self.known.contains(&own.fingerprint()) {
            return (Some(Trusted::Known(own.fingerprint())), faults);
        }
        match self.root_of(&path) {
            Some((root, place)) => {
                if !path.iter().any(|cert| cert.der == root.der) {
                    check_one(root, place, at, &mut faults);
                }
                (Some(Trusted::Issued { root: root.summary() }), faults)
            }
            None => {
                let fingerprint = own.fingerprint();
                faults.push(ChainFault::Unknown { subject: own.subject().to_string(), fingerprint });
                (None, faults)
            }
        }
    }

    /// The root that is on the path or signed its end, with its place on the path.
    fn root_of(&self, path: &[&Cert]) -> Option<(&Cert, usize)> {
        for (place, cert) in path.iter().enumerate() {
            let same = self.roots.iter().find(|root| root.der == cert.der && place > 0);
            let signed = self.roots.iter().find(|root| is_issuer(root, cert));
            if let Some(root) = same {
                return Some((root, place));
            }
            if let Some(root) = signed.filter(|root| root.der != cert.der) {
                return Some((root, place + 1));
            }
        }
        None
    }
}

fn is_issuer(issuer: &Cert, cert: &Cert) -> bool {
    issuer.subject() == cert.issuer() && cert.is_signed_by(issuer)
}

/// The path from the signer upwards as far as the certificates go, and what is left over.
fn path<'a>(own: &'a Cert, others: &'a [Cert]) -> (Vec<&'a Cert>, Vec<&'a Cert>) {
    let mut path = vec![own];
    let mut left: Vec<&Cert> = others.iter().collect();
    while let Some(last) = path.last().filter(|last| !last.is_self_issued() && path.len() <= CHAIN_LIMIT) {
        match left.iter().position(|cert| is_issuer(cert, last)) {
            Some(place) => {
                let next = left.swap_remove(place);
                path.push(next);
            }
            None => break,
        }
    }
    (path, left)
}

fn check_one(cert: &Cert, place: usize, at: DateTime<Utc>, faults: &mut Vec<ChainFault>) {
    let subject = || cert.subject().to_string();
    if !cert.is_valid_at(at) {
        let (not_before, not_after) = (cert.not_before(), cert.not_after());
        faults.push(ChainFault::NotValid { subject: subject(), not_before, not_after, at });
    }
    if place > 0 && !cert.may_issue(place - 1) {
        faults.push(ChainFault::NotAnIssuer { subject: subject() });
    }
    if cert.is_self_issued() && !cert.is_signed_by(cert) {
        faults.push(ChainFault::SelfSignature { subject: subject() });
    }
    if let Some(extension) = cert.unknown_critical() {
        faults.push(ChainFault::UnknownExtension { subject: subject(), extension });
    }
}
