//! The laboratory's key with its certificate.

mod key;
mod made;

use chrono::{DateTime, Utc};
use der::Decode;
use der::pem::PemLabel;
use p12_keystore::Pkcs12Archive;

use crate::certificate::{Cert, CertificateSummary};
use crate::error::SealError;
use key::Key;
pub(crate) use key::der_of;
pub(crate) use made::x509_time;
pub use made::{SelfMade, self_made};

/// Largest key or certificate file, bytes.
const INPUT_LIMIT: usize = 256 << 10;
/// Most certificates of a chain.
pub(crate) const CHAIN_LIMIT: usize = 8;

/// A private key with its certificate and those of its issuers: what signs.
///
/// Its key is never shown: not by `Debug`, and there is no way to get it out again.
pub struct Signer {
    key: Key,
    /// The laboratory's certificate first, then each one's issuer.
    chain: Vec<Cert>,
}

impl std::fmt::Debug for Signer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Signer").field("certificate", &self.certificate()).finish_non_exhaustive()
    }
}

impl Signer {
    /// From an encrypted PKCS#8 key and a certificate with its issuers' after it, all in PEM.
    ///
    /// # Errors
    /// If the passphrase is wrong, the key lies open, is too weak or does not belong to the first
    /// certificate, or if the certificates are no chain.
    pub fn from_pem(key_pem: &str, certificate_pem: &str, passphrase: &str) -> Result<Self, SealError> {
        limit("the key file", key_pem.len())?;
        limit("the certificate file", certificate_pem.len())?;
        let key = Key::from_encrypted_pem(key_pem, passphrase)?;
        Self::new(key, certificates_from_pem(certificate_pem)?)
    }

    /// From a PKCS#12 file (`.p12`, `.pfx`) with one key; the order of its certificates is free.
    ///
    /// # Errors
    /// As [`Signer::from_pem`], and if the file cannot be read or holds another number of keys.
    pub fn from_pkcs12(bytes: &[u8], passphrase: &str) -> Result<Self, SealError> {
        limit("the PKCS#12 file", bytes.len())?;
        let archive = Pkcs12Archive::from_pkcs12(bytes, passphrase).map_err(|error| match error {
            p12_keystore::error::Error::MacError(_) | p12_keystore::error::Error::UnpadError => {
                SealError::WrongPassphrase
            }
            other => SealError::Pkcs12 { reason: other.to_string() },
        })?;
        let [bag] = archive.keys.as_slice() else {
            return Err(SealError::KeysInPkcs12 { keys: archive.keys.len() });
        };
        let key = Key::from_pkcs8(bag.key.as_der())?;
        let certificates: Vec<Cert> =
            archive.certs.iter().map(|bag| Cert::from_der(bag.cert.as_der())).collect::<Result<_, _>>()?;
        let own = certificates.iter().position(|cert| key.belongs_to(cert));
        Self::new(key, in_order(certificates, own.unwrap_or_default()))
    }

    fn new(key: Key, chain: Vec<Cert>) -> Result<Self, SealError> {
        let own = chain.first().ok_or(SealError::NoCertificate)?;
        let subject = || own.subject().to_string();
        if chain.len() > CHAIN_LIMIT {
            let bytes = chain.len();
            return Err(SealError::TooLarge { what: "the chain (certificates)", bytes, limit: CHAIN_LIMIT });
        }
        if !key.belongs_to(own) {
            return Err(SealError::KeyMismatch { subject: subject() });
        }
        if !own.may_sign() {
            return Err(SealError::NotForSigning { subject: subject() });
        }
        for pair in chain.windows(2) {
            if let [below, above] = pair
                && (below.issuer() != above.subject() || !below.is_signed_by(above))
            {
                return Err(SealError::Unrelated { subject: above.subject().to_string() });
            }
        }
        Ok(Self { key, chain })
    }

    /// The laboratory's certificate.
    #[must_use]
    pub fn certificate(&self) -> Option<CertificateSummary> {
        self.chain.first().map(Cert::summary)
    }

    /// The DER encoding of the laboratory's certificate and of its issuers'.
    pub fn chain_der(&self) -> impl Iterator<Item = &[u8]> {
        self.chain.iter().map(|cert| cert.der.as_slice())
    }

    pub(crate) fn chain(&self) -> &[Cert] {
        &self.chain
    }

    pub(crate) fn key(&self) -> &Key {
        &self.key
    }

    /// Refuses a time at which the certificate is not valid.
    pub(crate) fn check_valid_at(&self, time: DateTime<Utc>) -> Result<(), SealError> {
        let own = self.chain.first().ok_or(SealError::NoCertificate)?;
        let subject = own.subject().to_string();
        if time > own.not_after() {
            return Err(SealError::Expired { subject, not_after: own.not_after() });
        }
        if time < own.not_before() {
            return Err(SealError::NotYetValid { subject, not_before: own.not_before() });
        }
        Ok(())
    }
}

fn limit(what: &'static str, bytes: usize) -> Result<(), SealError> {
    if bytes > INPUT_LIMIT {
        return Err(SealError::TooLarge { what, bytes, limit: INPUT_LIMIT });
    }
    Ok(())
}

/// The laboratory's certificate, then each one's issuer as far as they are there.
fn in_order(mut certificates: Vec<Cert>, own: usize) -> Vec<Cert> {
    let mut chain = Vec::new();
    if own < certificates.len() {
        chain.push(certificates.swap_remove(own));
    }
    while let Some(last) = chain.last().filter(|last| !last.is_self_issued() && chain.len() < CHAIN_LIMIT) {
        let next = certificates.iter().position(|cert| cert.subject() == last.issuer());
        match next {
            Some(place) => chain.push(certificates.swap_remove(place)),
            None => break,
        }
    }
    chain
}

/// All certificates of a PEM text, in order; text between them is skipped.
pub(crate) fn certificates_from_pem(pem: &str) -> Result<Vec<Cert>, SealError> {
    const LABEL: &str = x509_cert::Certificate::PEM_LABEL;
    let not_pem = || SealError::NotPem { what: "the certificate", label: "CERTIFICATE" };
    let begin = format!("-----BEGIN {LABEL}-----");
    let end = format!("-----END {LABEL}-----");
    let mut rest = pem;
    let mut found = Vec::new();
    while let Some((_, block)) = rest.split_once(&begin) {
        let (base64, after) = block.split_once(&end).ok_or_else(not_pem)?;
        let text = format!("{begin}\n{}\n{end}\n", base64.trim());
        let (_, der) = der::Document::from_pem(&text).map_err(|_| not_pem())?;
        found.push(Cert::from_der(der.as_bytes())?);
        rest = after;
    }
    if found.is_empty() { Err(not_pem()) } else { Ok(found) }
}

/// Reads PKCS#8 with a check that nothing follows.
pub(crate) fn private_key_info(der: &[u8]) -> Option<pkcs8::PrivateKeyInfoRef<'_>> {
    pkcs8::PrivateKeyInfoRef::from_der(der).ok()
}
