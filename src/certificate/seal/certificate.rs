//! X.509 certificates (RFC 5280): what is read from one, and whether one signed another.

use std::fmt;

use chrono::{DateTime, Utc};
use der::asn1::ObjectIdentifier;
use der::{Decode, Encode};
use rsa::traits::PublicKeyParts;
use sha2::{Digest, Sha256, Sha384, Sha512};
use signature::Verifier;
use x509_cert::Certificate;
use x509_cert::ext::pkix::{BasicConstraints, KeyUsage};
use x509_cert::name::Name;

use crate::error::SealError;

/// Largest certificate, bytes.
pub(crate) const CERTIFICATE_LIMIT: usize = 64 << 10;
/// Shortest RSA key, bits.
pub(crate) const RSA_BITS_LEAST: usize = 2_048;
/// Longest RSA key, bits.
pub(crate) const RSA_BITS_MOST: usize = 4_096;

/// RFC 5912: id-ecPublicKey and the curve P-256; RSA; signatures with SHA-2.
pub(crate) const EC_PUBLIC_KEY: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.10045.2.1");
pub(crate) const P256_CURVE: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.10045.3.1.7");
pub(crate) const RSA: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.1.1");
pub(crate) const ECDSA_SHA256: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.10045.4.3.2");
pub(crate) const RSA_SHA256: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.1.11");
const RSA_SHA384: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.1.12");
const RSA_SHA512: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.1.13");
/// Critical extensions that are understood: basic constraints, key usage, extended key usage,
/// certificate policies.
const UNDERSTOOD: [&str; 4] = ["2.5.29.19", "2.5.29.15", "2.5.29.37", "2.5.29.32"];

/// The SHA-256 of a certificate, by which a self-made one is known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Fingerprint([u8; 32]);

impl Fingerprint {
    /// Of the DER encoding of a certificate.
    #[must_use]
    pub fn of(der: &[u8]) -> Self {
        Self(Sha256::digest(der).into())
    }

    /// From 32 bytes.
    #[must_use]
    pub const fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// From 64 hexadecimal digits, with or without colons or spaces, as tools print it.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let digits: Option<Vec<u8>> = text
            .chars()
            .filter(|c| !matches!(c, ':' | ' '))
            .map(|c| c.to_digit(16).and_then(|digit| u8::try_from(digit).ok()))
            .collect();
        let digits = digits.filter(|digits| digits.len() == 64)?;
        let mut bytes = [0_u8; 32];
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            *byte = pair.iter().fold(0, |value, digit| value * 16 + digit);
        }
        Some(Self(bytes))
    }

    /// Its bytes.
    #[must_use]
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&crate::pdf::write::hex(&self.0))
    }
}

impl fmt::Debug for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")
    }
}

/// What a person wants to know of a certificate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CertificateSummary {
    /// Whom it names.
    pub subject: String,
    /// Its common name, where it has one.
    pub common_name: Option<String>,
    /// Its organisation, where it has one.
    pub organisation: Option<String>,
    /// Who issued it.
    pub issuer: String,
    /// Start of its validity.
    pub not_before: DateTime<Utc>,
    /// End of its validity.
    pub not_after: DateTime<Utc>,
    /// Its SHA-256.
    pub fingerprint: Fingerprint,
    /// Whether it names itself as its issuer.
    pub self_issued: bool,
    /// Its key, such as `P-256` or `RSA 3072`.
    pub key: String,
}

/// A certificate with its encoding, which is known to be the one that its content gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cert {
    pub(crate) certificate: Certificate,
    pub(crate) der: Vec<u8>,
    not_before: DateTime<Utc>,
    not_after: DateTime<Utc>,
}

impl Cert {
    pub(crate) fn from_der(der: &[u8]) -> Result<Self, SealError> {
        if der.len() > CERTIFICATE_LIMIT {
            let bytes = der.len();
            return Err(SealError::TooLarge { what: "the certificate", bytes, limit: CERTIFICATE_LIMIT });
        }
        let unreadable = |error: der::Error| SealError::Certificate { reason: error.to_string() };
        let certificate = Certificate::from_der(der).map_err(unreadable)?;
        if certificate.to_der().map_err(unreadable)? != der {
            return Err(SealError::Certificate { reason: "it is not in its one DER form".to_owned() });
        }
        Self::of(certificate)
    }

    pub(crate) fn of(certificate: Certificate) -> Result<Self, SealError> {
        let unreadable = |reason: String| SealError::Certificate { reason };
        let der = certificate.to_der().map_err(|error| unreadable(error.to_string()))?;
        if der.len() > CERTIFICATE_LIMIT {
            let bytes = der.len();
            return Err(SealError::TooLarge { what: "the certificate", bytes, limit: CERTIFICATE_LIMIT });
        }
        let validity = certificate.tbs_certificate().validity();
        let moment = |time: &x509_cert::time::Time| {
            let seconds = i64::try_from(time.to_unix_duration().as_secs()).ok()?;
            DateTime::from_timestamp(seconds, 0)
        };
        let no_time = || unreadable("its validity is no time".to_owned());
        let not_before = moment(&validity.not_before).ok_or_else(no_time)?;
        let not_after = moment(&validity.not_after).ok_or_else(no_time)?;
        Ok(Self { certificate, der, not_before, not_after })
    }

    pub(crate) fn subject(&self) -> &Name {
        self.certificate.tbs_certificate().subject()
    }

    pub(crate) fn issuer(&self) -> &Name {
        self.certificate.tbs_certificate().issuer()
    }

    pub(crate) fn fingerprint(&self) -> Fingerprint {
        Fingerprint::of(&self.der)
    }

    pub(crate) fn not_before(&self) -> DateTime<Utc> {
        self.not_before
    }

    pub(crate) fn not_after(&self) -> DateTime<Utc> {
        self.not_after
    }

    pub(crate) fn is_valid_at(&self, time: DateTime<Utc>) -> bool {
        self.not_before <= time && time <= self.not_after
    }

    pub(crate) fn is_self_issued(&self) -> bool {
        self.subject() == self.issuer()
    }

    pub(crate) fn summary(&self) -> CertificateSummary {
        let text = |name: Result<Option<x509_cert::ext::pkix::name::DirectoryString>, der::Error>| {
            name.ok().flatten().map(|name| name.value().to_string())
        };
        CertificateSummary {
            subject: self.subject().to_string(),
            common_name: text(self.subject().common_name()),
            organisation: text(self.subject().organization()),
            issuer: self.issuer().to_string(),
            not_before: self.not_before,
            not_after: self.not_after,
            fingerprint: self.fingerprint(),
            self_issued: self.is_self_issued(),
            key: match self.public_key() {
                Some(PublicKey::P256(_)) => "P-256".to_owned(),
                Some(PublicKey::Rsa(key)) => format!("RSA {}", key.n().bit_width()),
                None => "another kind".to_owned(),
            },
        }
    }

    fn extension<T>(&self) -> Result<Option<T>, der::Error>
    where
        T: for<'a> Decode<'a, Error = der::Error> + x509_cert::der::oid::AssociatedOid,
    {
        Ok(self.certificate.tbs_certificate().get_extension::<T>()?.map(|(_, value)| value))
    }

    /// Whether the key may sign documents: no key usage, or one of the two that mean signatures.
    pub(crate) fn may_sign(&self) -> bool {
        match self.extension::<KeyUsage>() {
            Ok(Some(usage)) => usage.digital_signature() || usage.non_repudiation(),
            Ok(None) => true,
            Err(_) => false,
        }
    }

    /// Whether it may issue certificates with so many issuers between it and the laboratory's.
    pub(crate) fn may_issue(&self, between: usize) -> bool {
        let usage = match self.extension::<KeyUsage>() {
            Ok(Some(usage)) => usage.key_cert_sign(),
            Ok(None) => true,
            Err(_) => false,
        };
        let constraints = match self.extension::<BasicConstraints>() {
            Ok(Some(found)) => {
                found.ca && found.path_len_constraint.is_none_or(|most| between <= usize::from(most))
            }
            _ => false,
        };
        usage && constraints
    }

    /// A critical extension that is not understood; then the certificate must be refused
    /// (RFC 5280, 4.2).
    pub(crate) fn unknown_critical(&self) -> Option<String> {
        let extensions = self.certificate.tbs_certificate().extensions()?;
        let unknown = extensions.iter().filter(|extension| extension.critical);
        let mut unknown = unknown.map(|extension| extension.extn_id.to_string());
        unknown.find(|id| !UNDERSTOOD.contains(&id.as_str()))
    }

    pub(crate) fn public_key(&self) -> Option<PublicKey> {
        let info = self.certificate.tbs_certificate().subject_public_key_info();
        PublicKey::from_info(info)
    }

    /// Whether the issuer's key made this certificate's signature.
    pub(crate) fn is_signed_by(&self, issuer: &Self) -> bool {
        let algorithm = self.certificate.signature_algorithm();
        let tbs = self.certificate.tbs_certificate();
        if algorithm != tbs.signature() {
            return false;
        }
        let (Some(key), Some(signature), Ok(signed)) =
            (issuer.public_key(), self.certificate.signature().as_bytes(), tbs.to_der())
        else {
            return false;
        };
        key.verify(algorithm.oid, &signed, signature)
    }
}

/// A public key of a kind that is accepted.
pub(crate) enum PublicKey {
    P256(p256::ecdsa::VerifyingKey),
    Rsa(rsa::PublicKey),
}

impl PublicKey {
    fn from_info(info: &x509_cert::spki::SubjectPublicKeyInfoOwned) -> Option<Self> {
        let key = info.subject_public_key.as_bytes()?;
        if info.algorithm.oid == EC_PUBLIC_KEY {
            let curve: ObjectIdentifier = info.algorithm.parameters.as_ref()?.decode_as().ok()?;
            let key = (curve == P256_CURVE).then(|| p256::ecdsa::VerifyingKey::from_sec1_bytes(key))?;
            return key.ok().map(Self::P256);
        }
        if info.algorithm.oid != RSA {
            return None;
        }
        let key = <rsa::PublicKey as rsa::pkcs1::DecodeRsaPublicKey>::from_pkcs1_der(key).ok()?;
        let bits = usize::try_from(key.n().bit_width()).ok()?;
        (RSA_BITS_LEAST..=RSA_BITS_MOST).contains(&bits).then_some(Self::Rsa(key))
    }

    /// Whether the signature over the message is this key's, by the algorithm named.
    pub(crate) fn verify(&self, algorithm: ObjectIdentifier, message: &[u8], signature: &[u8]) -> bool {
        match self {
            Self::P256(key) => {
                algorithm == ECDSA_SHA256
                    && p256::ecdsa::Signature::from_der(signature)
                        .is_ok_and(|signature| key.verify(message, &signature).is_ok())
            }
            Self::Rsa(key) if algorithm == RSA_SHA256 || algorithm == RSA => {
                rsa_verify::<Sha256>(key, message, signature)
            }
            Self::Rsa(key) if algorithm == RSA_SHA384 => rsa_verify::<Sha384>(key, message, signature),
            Self::Rsa(key) if algorithm == RSA_SHA512 => rsa_verify::<Sha512>(key, message, signature),
            Self::Rsa(_) => false,
        }
    }
}

fn rsa_verify<D>(key: &rsa::PublicKey, message: &[u8], signature: &[u8]) -> bool
where
    D: Digest + der::oid::AssociatedOid,
{
    let verifier = rsa::pkcs1v15::VerifyingKey::<D>::new(key.clone());
    rsa::pkcs1v15::Signature::try_from(signature)
        .is_ok_and(|signature| verifier.verify(message, &signature).is_ok())
}
