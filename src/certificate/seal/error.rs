//! Why something cannot be signed, or a key not be used.

use chrono::{DateTime, Utc};
use thiserror::Error;

use crate::pdf::PdfError;

/// Why a key or certificate cannot be used, or something not be signed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum SealError {
    /// An input is larger than it can sensibly be.
    #[error("{what} has {bytes} bytes, more than the {limit} that are read")]
    TooLarge {
        /// What was given.
        what: &'static str,
        /// Its size.
        bytes: usize,
        /// The limit.
        limit: usize,
    },
    /// Not the PEM text that was wanted.
    #[error("{what} is not PEM with -----BEGIN {label}-----")]
    NotPem {
        /// What was given.
        what: &'static str,
        /// The label that was wanted.
        label: &'static str,
    },
    /// The private key lies open.
    #[error("the private key is not encrypted")]
    KeyNotEncrypted,
    /// An empty passphrase was given for a new key.
    #[error("the passphrase has {characters} characters, fewer than {least}")]
    PassphraseTooShort {
        /// Characters given.
        characters: usize,
        /// The least.
        least: usize,
    },
    /// The key cannot be decrypted with this passphrase.
    #[error("the passphrase does not open the private key")]
    WrongPassphrase,
    /// The key is encrypted in a way that is not known, or that would take too long.
    #[error("the private key's encryption is not supported: {reason}")]
    KeyEncryption {
        /// What was found.
        reason: String,
    },
    /// Neither P-256 nor RSA.
    #[error("the private key is neither P-256 nor RSA up to 4096 bits")]
    KeyKind,
    /// The key is too short.
    #[error("the RSA key has {bits} bits, fewer than {least}")]
    WeakKey {
        /// Its length, bits.
        bits: usize,
        /// The least length, bits.
        least: usize,
    },
    /// A PKCS#12 file that cannot be read.
    #[error("the PKCS#12 file cannot be read: {reason}")]
    Pkcs12 {
        /// Why.
        reason: String,
    },
    /// A PKCS#12 file with another number of private keys than one.
    #[error("the PKCS#12 file holds {keys} private keys; wanted one")]
    KeysInPkcs12 {
        /// How many.
        keys: usize,
    },
    /// A certificate that cannot be read.
    #[error("a certificate cannot be read: {reason}")]
    Certificate {
        /// Why.
        reason: String,
    },
    /// No certificate was given.
    #[error("there is no certificate")]
    NoCertificate,
    /// The certificates given do not form a chain from the laboratory's upwards.
    #[error("the certificate of {subject} is not part of the chain")]
    Unrelated {
        /// Its subject.
        subject: String,
    },
    /// The key and the certificate belong to two owners.
    #[error("the private key does not belong to the certificate of {subject}")]
    KeyMismatch {
        /// The certificate's subject.
        subject: String,
    },
    /// The certificate says that its key is not for signing documents.
    #[error("the certificate of {subject} does not allow signatures")]
    NotForSigning {
        /// The certificate's subject.
        subject: String,
    },
    /// The certificate was no longer valid at the time of signing.
    #[error("the certificate of {subject} expired on {not_after}")]
    Expired {
        /// Its subject.
        subject: String,
        /// The end of its validity.
        not_after: DateTime<Utc>,
    },
    /// The certificate was not yet valid at the time of signing.
    #[error("the certificate of {subject} is valid from {not_before} only")]
    NotYetValid {
        /// Its subject.
        subject: String,
        /// The start of its validity.
        not_before: DateTime<Utc>,
    },
    /// A name that a certificate cannot hold.
    #[error("{what} has {characters} characters; wanted 1 to 64")]
    Name {
        /// Which name.
        what: &'static str,
        /// Its length.
        characters: usize,
    },
    /// A validity that makes no sense.
    #[error("a certificate for {years} years; wanted 1 to 30, from a year between 1950 and 9999")]
    Years {
        /// What was asked for.
        years: u32,
    },
    /// A time that cannot be written.
    #[error("the time {time} cannot be written into a signature")]
    Time {
        /// The time.
        time: DateTime<Utc>,
    },
    /// The document to be signed cannot be read.
    #[error("the PDF cannot be read: {0}")]
    Pdf(#[from] PdfError),
    /// The document already has a form or a signature.
    #[error("the PDF already has {what}")]
    AlreadySigned {
        /// What was found.
        what: &'static str,
    },
    /// Something could not be encoded or signed: a fault of ours.
    #[error("{what} failed: {reason}")]
    Fault {
        /// What.
        what: &'static str,
        /// Why.
        reason: String,
    },
}

impl SealError {
    /// What the user can do about it, where he can do something.
    #[must_use]
    pub fn remedy(&self) -> Option<&'static str> {
        Some(match self {
            Self::KeyNotEncrypted => {
                "encrypt it: openssl pkcs8 -topk8 -v2 aes-256-cbc -in key.pem -out encrypted.pem"
            }
            Self::PassphraseTooShort { .. } => "choose a longer passphrase; four or five words do well",
            Self::WrongPassphrase => "try the passphrase again; capitals and keyboard layout count",
            Self::KeyEncryption { .. } => {
                "encrypt it again: openssl pkcs8 -topk8 -v2 aes-256-cbc -in old.pem -out new.pem"
            }
            Self::NotPem { .. } => "convert it: openssl x509 (certificate) or openssl pkcs8 -topk8 (key)",
            Self::KeyKind | Self::WeakKey { .. } => {
                "ask for a certificate with a P-256 key or an RSA key of 2048 to 4096 bits"
            }
            Self::Pkcs12 { .. } | Self::KeysInPkcs12 { .. } => {
                "export key and certificate again, or give them as two PEM files"
            }
            Self::KeyMismatch { .. } | Self::Unrelated { .. } | Self::NoCertificate => {
                "give the laboratory's own certificate first, then those of its issuers in order"
            }
            Self::NotForSigning { .. } => "ask the issuer for a certificate for signing documents",
            Self::Expired { .. } => "renew the certificate; what was signed before stays valid",
            Self::NotYetValid { .. } => "check the date of this computer, or wait",
            Self::AlreadySigned { .. } => "sign the document as it was first made; a signature comes last",
            Self::Years { .. } | Self::Name { .. } => "give names and years within the limits",
            _ => return None,
        })
    }
}

/// A fault of ours, from an error that cannot happen with checked input.
pub(crate) fn fault<E: std::fmt::Display>(what: &'static str) -> impl FnOnce(E) -> SealError {
    move |error| SealError::Fault { what, reason: error.to_string() }
}
