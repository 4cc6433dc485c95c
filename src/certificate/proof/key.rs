//! The laboratory's key: for the PDF and the manifest through `leverarm-seal`, for the XML by itself.

use leverarm_seal::{SealError, Signer};
use p12_keystore::Pkcs12Archive;
use p256::ecdsa::signature::Signer as _;
use pkcs8::der::Decode;
use pkcs8::{DecodePrivateKey, PrivateKeyInfoRef};

use super::xml::Algorithm;

/// A key that signs everything that a certificate needs. `Debug` never shows it.
pub struct LaboratoryKey {
    signer: Signer,
    raw: Raw,
}

enum Raw {
    P256(Box<p256::ecdsa::SigningKey>),
    Rsa(Box<rsa::pkcs1v15::SigningKey<rsa::sha2::Sha256>>),
}

impl std::fmt::Debug for LaboratoryKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("LaboratoryKey").field("signer", &self.signer).finish_non_exhaustive()
    }
}

impl LaboratoryKey {
    /// From an encrypted PKCS#8 key and the laboratory's certificate with its issuers' after it.
    ///
    /// # Errors
    /// [`SealError`], as [`Signer::from_pem`].
    pub fn from_pem(key: &str, certificate: &str, passphrase: &str) -> Result<LaboratoryKey, SealError> {
        // First: it checks how costly the encryption is, so that opening it again below is bounded.
        let signer = Signer::from_pem(key, certificate, passphrase)?;
        let begin = key.find("-----BEGIN").unwrap_or_default();
        let pem = key.get(begin..).unwrap_or_default();
        let raw = match p256::SecretKey::from_pkcs8_encrypted_pem(pem, passphrase) {
            Ok(found) => Raw::P256(Box::new(found.into())),
            Err(_) => rsa::PrivateKey::from_pkcs8_encrypted_pem(pem, passphrase)
                .map(|found| Raw::Rsa(Box::new(rsa::pkcs1v15::SigningKey::new(found))))
                .map_err(|_| SealError::KeyKind)?,
        };
        Ok(LaboratoryKey { signer, raw })
    }

    /// From a PKCS#12 file.
    ///
    /// # Errors
    /// [`SealError`], as [`Signer::from_pkcs12`].
    pub fn from_pkcs12(bytes: &[u8], passphrase: &str) -> Result<LaboratoryKey, SealError> {
        let signer = Signer::from_pkcs12(bytes, passphrase)?;
        let archive = Pkcs12Archive::from_pkcs12(bytes, passphrase)
            .map_err(|error| SealError::Pkcs12 { reason: error.to_string() })?;
        let bag = archive.keys.first().ok_or(SealError::KeysInPkcs12 { keys: 0 })?;
        let info = PrivateKeyInfoRef::from_der(bag.key.as_der()).map_err(|_| SealError::KeyKind)?;
        let raw = match p256::SecretKey::try_from(info.clone()) {
            Ok(found) => Raw::P256(Box::new(found.into())),
            Err(_) => rsa::PrivateKey::try_from(info)
                .map(|found| Raw::Rsa(Box::new(rsa::pkcs1v15::SigningKey::new(found))))
                .map_err(|_| SealError::KeyKind)?,
        };
        Ok(LaboratoryKey { signer, raw })
    }

    /// For PDF files and detached signatures.
    #[must_use]
    pub fn signer(&self) -> &Signer {
        &self.signer
    }

    pub(super) fn algorithm(&self) -> Algorithm {
        match self.raw {
            Raw::P256(_) => Algorithm::EcdsaSha256,
            Raw::Rsa(_) => Algorithm::RsaSha256,
        }
    }

    /// As XML signatures write it: r and s for ECDSA (RFC 6931, 2.3.6), by RFC 6979 and with the lower
    /// s, so that one text has one signature.
    pub(super) fn sign(&self, message: &[u8]) -> Result<Vec<u8>, SealError> {
        let fault = |error: p256::ecdsa::signature::Error| SealError::Fault {
            what: "signing the XML",
            reason: error.to_string(),
        };
        match &self.raw {
            Raw::P256(key) => {
                let signature: p256::ecdsa::Signature = key.try_sign(message).map_err(fault)?;
                Ok(signature.normalize_s().to_bytes().to_vec())
            }
            Raw::Rsa(key) => {
                let signature: rsa::pkcs1v15::Signature = key.try_sign(message).map_err(fault)?;
                Ok(Box::<[u8]>::from(signature).into_vec())
            }
        }
    }
}
