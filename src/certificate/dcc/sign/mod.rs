//! The enveloped XML signature of a certificate (XML Signature 1.1, W3C 2013), without a key.
//!
//! What [`crate::write()`] writes is in canonical form already (Canonical XML 1.1, W3C 2008), so that what
//! is hashed are the bytes in the file and no canonicalisation of hostile XML is needed: [`prepare`] gives
//! the bytes that a key signs, [`Prepared::finish`] puts the signature in as the last child of the root,
//! and [`open`] takes it out again, checks the hash of everything else and gives back what the key must
//! have signed. The operation with the key, and whose key it is, are the caller's. A signature in another
//! form than the one written here is refused, not judged: a general verifier is the tool for it.

mod template;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};
use thiserror::Error;

use template::{between, signature_open, signed_info};

const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
const TAIL: &str = "</dcc:digitalCalibrationCertificate>\n";
/// Certificates in a signature.
const MAX_CERTIFICATES: usize = 8;

/// How the key signs (RFC 6931, 2.3).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Algorithm {
    /// ECDSA on P-256 with SHA-256; the signature is r and s, 32 bytes each, not DER
    EcdsaSha256,
    /// RSASSA-PKCS1-v1_5 with SHA-256
    RsaSha256,
}

impl Algorithm {
    /// Every one.
    pub const ALL: [Algorithm; 2] = [Algorithm::EcdsaSha256, Algorithm::RsaSha256];

    /// Its name in a signature.
    #[must_use]
    pub fn uri(self) -> &'static str {
        match self {
            Algorithm::EcdsaSha256 => "http://www.w3.org/2001/04/xmldsig-more#ecdsa-sha256",
            Algorithm::RsaSha256 => "http://www.w3.org/2001/04/xmldsig-more#rsa-sha256",
        }
    }
}

/// Why a certificate cannot be signed, or its signature not be taken apart.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SignError {
    /// It is not in the form that is written here.
    #[error("the file is not as leverarm writes it: {what}")]
    Form {
        /// what is otherwise
        what: &'static str,
    },
    /// It carries no signature.
    #[error("the certificate carries no signature")]
    Unsigned,
    /// It carries one already.
    #[error("the certificate is signed already")]
    Signed,
    /// No certificate of a key, or too many.
    #[error("{given} certificates, where 1 to {MAX_CERTIFICATES} are written")]
    Certificates {
        /// how many
        given: usize,
    },
    /// The file was changed after it was signed.
    #[error("the file was changed after it was signed: its hash is {found}, the signed one is {signed}")]
    Changed {
        /// hash of the file without its signature, base64
        found: String,
        /// the one that was signed, base64
        signed: String,
    },
    /// Something is not base64.
    #[error("{what} of the signature is not base64")]
    Base64 {
        /// what
        what: &'static str,
    },
}

impl SignError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            SignError::Form { .. } => "verify it with a general verifier of XML signatures, such as xmlsec1",
            SignError::Unsigned => "ask the laboratory for the signed file",
            SignError::Signed => "sign the file as it was written, or write it anew",
            SignError::Certificates { .. } => {
                "give the certificate of the key, and those between it and its root"
            }
            SignError::Changed { .. } => {
                "do not rely on the file; ask the laboratory for the one that it issued"
            }
            SignError::Base64 { .. } => "fetch the file again",
        }
    }
}

/// A certificate that waits for the signature of a key.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// from the declaration to the last child
    before: String,
    algorithm: Algorithm,
    digest: String,
    certificates: Vec<String>,
}

/// A signature that was taken out of a certificate; the hash of everything else has been checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opened {
    /// how the key signed
    pub algorithm: Algorithm,
    /// the bytes that the key must have signed
    pub signed_info: Vec<u8>,
    /// its signature
    pub signature: Vec<u8>,
    /// the certificates beside it (DER), that of the key first; nothing is known of them yet
    pub certificates: Vec<Vec<u8>>,
    /// the certificate without its signature, as it was written
    pub unsigned: Vec<u8>,
}

/// What a key has to sign.
///
/// `certificates` are X.509 in DER, that of the key first.
///
/// # Errors
/// [`SignError`] where the bytes are not what [`crate::write()`] wrote, or are signed already.
pub fn prepare(xml: &[u8], algorithm: Algorithm, certificates: &[Vec<u8>]) -> Result<Prepared, SignError> {
    if certificates.is_empty() || certificates.len() > MAX_CERTIFICATES {
        return Err(SignError::Certificates { given: certificates.len() });
    }
    let text = frame(xml)?;
    if text.contains("<ds:Signature") {
        return Err(SignError::Signed);
    }
    let before = text.strip_suffix(TAIL).unwrap_or(text).to_owned();
    let certificates = certificates.iter().map(|der| STANDARD.encode(der)).collect();
    Ok(Prepared { before, algorithm, digest: digest(text), certificates })
}

impl Prepared {
    /// The bytes that the key signs.
    #[must_use]
    pub fn signed_info(&self) -> Vec<u8> {
        signed_info(self.algorithm, &self.digest, true).into_bytes()
    }

    /// The certificate with its signature.
    #[must_use]
    pub fn finish(&self, signature: &[u8]) -> Vec<u8> {
        let mut out = self.before.clone();
        out.push_str(&signature_open());
        out.push_str(&signed_info(self.algorithm, &self.digest, false));
        out.push_str(&format!("<ds:SignatureValue>{}</ds:SignatureValue>", STANDARD.encode(signature)));
        out.push_str("<ds:KeyInfo><ds:X509Data>");
        for certificate in &self.certificates {
            out.push_str(&format!("<ds:X509Certificate>{certificate}</ds:X509Certificate>"));
        }
        out.push_str("</ds:X509Data></ds:KeyInfo></ds:Signature>");
        out.push_str(TAIL);
        out.into_bytes()
    }
}

/// Takes the signature out, and checks that the rest is what was signed.
///
/// # Errors
/// [`SignError`], above all [`SignError::Changed`].
pub fn open(xml: &[u8]) -> Result<Opened, SignError> {
    let text = frame(xml)?;
    let start = signature_open();
    let (before, rest) = text.split_once(start.as_str()).ok_or(match text.contains("Signature") {
        true => SignError::Form { what: "the signature is in another form" },
        false => SignError::Unsigned,
    })?;
    let form = |what| SignError::Form { what };
    let rest = rest
        .strip_suffix(TAIL)
        .and_then(|rest| rest.strip_suffix("</ds:X509Data></ds:KeyInfo></ds:Signature>"));
    let rest = rest.ok_or(form("the signature is not the last child of the root, or not in its form"))?;
    let digest_value =
        between(rest, "<ds:DigestValue>", "</ds:DigestValue>").ok_or(form("no DigestValue"))?;
    let found = Algorithm::ALL.into_iter().find_map(|algorithm| {
        Some((algorithm, rest.strip_prefix(&signed_info(algorithm, digest_value, false))?))
    });
    let (algorithm, rest) = found.ok_or(form("SignedInfo is in another form"))?;
    let (value, rest) = rest
        .strip_prefix("<ds:SignatureValue>")
        .and_then(|rest| rest.split_once("</ds:SignatureValue><ds:KeyInfo><ds:X509Data>"))
        .ok_or(form("no SignatureValue with KeyInfo behind it"))?;
    let mut certificates = Vec::new();
    let mut rest = rest;
    while !rest.is_empty() {
        let next =
            rest.strip_prefix("<ds:X509Certificate>").and_then(|r| r.split_once("</ds:X509Certificate>"));
        let (certificate, after) = next.ok_or(form("KeyInfo is in another form"))?;
        certificates.push(base64(certificate, "a certificate")?);
        rest = after;
        if certificates.len() > MAX_CERTIFICATES {
            return Err(SignError::Certificates { given: certificates.len() });
        }
    }
    if certificates.is_empty() {
        return Err(SignError::Certificates { given: 0 });
    }
    let unsigned = format!("{before}{TAIL}");
    let found = digest(&unsigned);
    if found != digest_value {
        return Err(SignError::Changed { found, signed: digest_value.chars().take(64).collect() });
    }
    let signed_info = signed_info(algorithm, digest_value, true).into_bytes();
    let signature = base64(value, "the value")?;
    Ok(Opened { algorithm, signed_info, signature, certificates, unsigned: unsigned.into_bytes() })
}

fn base64(text: &str, what: &'static str) -> Result<Vec<u8>, SignError> {
    STANDARD.decode(text).map_err(|_| SignError::Base64 { what })
}

/// The file between the declaration and the end of its root, as it is written here. A comment, a
/// processing instruction or a CDATA section is never written, and would not be hashed as it stands.
fn frame(xml: &[u8]) -> Result<&str, SignError> {
    let form = |what| SignError::Form { what };
    let text = std::str::from_utf8(xml).map_err(|_| form("it is not UTF-8"))?;
    let body =
        text.strip_prefix(HEAD).ok_or(form("it does not begin with the XML declaration of leverarm"))?;
    // no other declaration: SignedInfo inherits them, and its hash depends on each
    let root = format!(
        "<dcc:digitalCalibrationCertificate xmlns:dcc=\"{}\" xmlns:si=\"{}\" schemaVersion=\"{}\">",
        crate::DCC,
        crate::SI,
        crate::SCHEMA_VERSION
    );
    if !body.starts_with(&root) || !body.ends_with(TAIL) {
        return Err(form("its root is in another form"));
    }
    if body.contains("<!") || body.contains("<?") || body.contains('\r') {
        return Err(form("it holds a comment, a section or an instruction"));
    }
    Ok(text)
}

/// SHA-256 of the root in canonical form: without the declaration and without the newline at the end.
fn digest(text: &str) -> String {
    let body = text.strip_prefix(HEAD).unwrap_or(text);
    STANDARD.encode(Sha256::digest(body.strip_suffix('\n').unwrap_or(body)))
}
