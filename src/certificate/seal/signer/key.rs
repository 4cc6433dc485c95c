//! The private key: reading it, and signing with it.

use der::asn1::Any;
use der::{Decode, Encode};
use p256::ecdsa::signature::Signer as _;
use pkcs8::EncryptedPrivateKeyInfoOwned;
use pkcs8::pkcs5::pbes2::Kdf;
use rsa::traits::PublicKeyParts;
use sha2::Sha256;
use signature::Keypair;
use x509_cert::spki::{AlgorithmIdentifierOwned, SubjectPublicKeyInfoOwned};

use super::private_key_info;
use crate::certificate::{Cert, ECDSA_SHA256, RSA, RSA_BITS_LEAST, RSA_BITS_MOST};
use crate::error::{SealError, fault};

/// Most rounds of PBKDF2: some seconds.
const ROUNDS_LIMIT: u32 = 10_000_000;
/// Most memory of scrypt, bytes: 128 · N · r (RFC 7914).
const SCRYPT_BYTES_LIMIT: u64 = 256 << 20;
/// Most parallel parts of scrypt.
const SCRYPT_PARTS_LIMIT: u16 = 16;

const ENCRYPTED: &str = "ENCRYPTED PRIVATE KEY";

/// A private key of a kind that is accepted.
pub(crate) enum Key {
    P256(Box<p256::ecdsa::SigningKey>),
    Rsa(Box<rsa::pkcs1v15::SigningKey<Sha256>>),
}

impl Key {
    pub(crate) fn from_encrypted_pem(pem: &str, passphrase: &str) -> Result<Self, SealError> {
        let not_pem = SealError::NotPem { what: "the key", label: ENCRYPTED };
        let open = ["PRIVATE KEY", "RSA PRIVATE KEY", "EC PRIVATE KEY"];
        if open.iter().any(|label| pem.contains(&format!("-----BEGIN {label}-----"))) {
            // The old form of openssl encrypts inside the same label.
            return Err(if pem.contains("Proc-Type: 4,ENCRYPTED") {
                SealError::KeyEncryption { reason: "the old form of openssl".to_owned() }
            } else {
                SealError::KeyNotEncrypted
            });
        }
        let begin = pem.find("-----BEGIN").ok_or_else(|| not_pem.clone())?;
        let pem = pem.get(begin..).unwrap_or_default();
        let document = der::SecretDocument::from_pem(pem);
        let (label, document) = document.map_err(|_| not_pem.clone())?;
        if label != ENCRYPTED {
            return Err(not_pem);
        }
        let unknown = |reason: String| SealError::KeyEncryption { reason };
        let info = EncryptedPrivateKeyInfoOwned::from_der(document.as_bytes())
            .map_err(|error| unknown(error.to_string()))?;
        let scheme = info.encryption_algorithm.pbes2().ok_or_else(|| unknown("PBES1".to_owned()))?;
        match &scheme.kdf {
            Kdf::Pbkdf2(parameters) if parameters.iteration_count > ROUNDS_LIMIT => {
                return Err(unknown(format!("{} rounds", parameters.iteration_count)));
            }
            Kdf::Scrypt(parameters) => {
                let memory = parameters.cost_parameter.saturating_mul(u64::from(parameters.block_size));
                let memory = memory.saturating_mul(128);
                if memory > SCRYPT_BYTES_LIMIT || parameters.parallelization > SCRYPT_PARTS_LIMIT {
                    return Err(unknown(format!("scrypt with {memory} bytes")));
                }
            }
            _ => {}
        }
        let opened = info.decrypt(passphrase).map_err(|error| match error {
            pkcs8::Error::EncryptedPrivateKey(pkcs8::pkcs5::Error::UnsupportedAlgorithm { oid }) => {
                unknown(oid.to_string())
            }
            _ => SealError::WrongPassphrase,
        })?;
        // One time in some 200 a wrong passphrase gives a plausible end; then no key comes out.
        if private_key_info(opened.as_bytes()).is_none() {
            return Err(SealError::WrongPassphrase);
        }
        Self::from_pkcs8(opened.as_bytes())
    }

    pub(crate) fn from_pkcs8(der: &[u8]) -> Result<Self, SealError> {
        let info = private_key_info(der).ok_or(SealError::KeyKind)?;
        if info.algorithm.oid != RSA {
            let key = p256::SecretKey::try_from(info).map_err(|_| SealError::KeyKind)?;
            return Ok(Self::P256(Box::new(key.into())));
        }
        let key = rsa::PrivateKey::try_from(info).map_err(|_| SealError::KeyKind)?;
        let bits = usize::try_from(key.n().bit_width()).unwrap_or(usize::MAX);
        if bits < RSA_BITS_LEAST {
            return Err(SealError::WeakKey { bits, least: RSA_BITS_LEAST });
        }
        if bits > RSA_BITS_MOST {
            return Err(SealError::KeyKind);
        }
        Ok(Self::Rsa(Box::new(rsa::pkcs1v15::SigningKey::new(key))))
    }

    fn public_info(&self) -> Result<SubjectPublicKeyInfoOwned, SealError> {
        let fault = fault("encoding the public key");
        match self {
            Self::P256(key) => SubjectPublicKeyInfoOwned::from_key(key.verifying_key()).map_err(fault),
            Self::Rsa(key) => SubjectPublicKeyInfoOwned::from_key(&key.verifying_key()).map_err(fault),
        }
    }

    pub(crate) fn belongs_to(&self, cert: &Cert) -> bool {
        let theirs = cert.certificate.tbs_certificate().subject_public_key_info();
        self.public_info().is_ok_and(|ours| &ours == theirs)
    }

    /// The algorithm as a signature names it (RFC 5754, 3.2 and 3.3).
    pub(crate) fn algorithm(&self) -> AlgorithmIdentifierOwned {
        match self {
            Self::P256(_) => AlgorithmIdentifierOwned { oid: ECDSA_SHA256, parameters: None },
            Self::Rsa(_) => AlgorithmIdentifierOwned { oid: RSA, parameters: Some(Any::null()) },
        }
    }

    /// The most bytes of a signature: two integers of 33 bytes with their heads, or the modulus.
    pub(crate) fn signature_bytes_most(&self) -> usize {
        match self {
            Self::P256(_) => 72,
            Self::Rsa(key) => usize::try_from(key.verifying_key().as_ref().n().bit_width())
                .map_or(RSA_BITS_MOST / 8, |bits| bits.div_ceil(8)),
        }
    }

    /// Signs a message, always in the same way: ECDSA by RFC 6979, RSA by PKCS#1 version 1.5.
    pub(crate) fn sign(&self, message: &[u8]) -> Result<Vec<u8>, SealError> {
        let fault = fault("signing");
        match self {
            Self::P256(key) => {
                let signature: p256::ecdsa::Signature = key.try_sign(message).map_err(fault)?;
                // Of the two values that verify alike, the lower: a signature then has one form.
                Ok(signature.normalize_s().to_der().as_bytes().to_vec())
            }
            Self::Rsa(key) => {
                let signature: rsa::pkcs1v15::Signature = key.try_sign(message).map_err(fault)?;
                Ok(Box::<[u8]>::from(signature).into_vec())
            }
        }
    }
}

/// The DER form of a value that is known to have one.
pub(crate) fn der_of(value: &impl Encode) -> Result<Vec<u8>, SealError> {
    value.to_der().map_err(fault("encoding"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;
    use crate::pdf::write::hex;

    /// RFC 6979, A.2.5: P-256, SHA-256, message "sample" and "test". Where the published s is
    /// above half the order, what is written here is the order less it.
    #[test]
    fn ecdsa_signs_as_rfc_6979_says() {
        let secret = "c9afa9d845ba75166b5c215767b1d6934e50c3db36e89b127b8a622b120f6721";
        let secret = crate::certificate::Fingerprint::parse(secret).unwrap();
        let key = Key::P256(Box::new(p256::ecdsa::SigningKey::from_slice(secret.as_bytes()).unwrap()));
        let r_and_s = |message: &[u8]| {
            let signature = p256::ecdsa::Signature::from_der(&key.sign(message).unwrap()).unwrap();
            hex(&signature.to_bytes())
        };
        // The published s is F7CB1C942D657C41D436C7A1B6E29F65F3E900DBB9AFF4064DC4AB2F843ACDA8.
        assert_eq!(
            r_and_s(b"sample"),
            "efd48b2aacb6a8fd1140dd9cd45e81d69d2c877b56aaf991c34d0ea84eaf3716\
             0834e36ad29a83bf2bc9385e491d6099c8fdf9d1ed67aa7ea5f51f93782857a9"
        );
        assert_eq!(
            r_and_s(b"test"),
            "f1abb023518351cd71d881567b1ea663ed3efcf6c5132b354f28d3b0b7d38367\
             019f4113742a2b14bd25926b49c649155f267e60d3814b4c0cc84250e46f0083"
        );
    }
}
