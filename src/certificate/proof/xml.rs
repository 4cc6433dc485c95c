//! The signature of the XML: made with the laboratory's key, verified with the certificate beside it.

use leverarm_dcc::sign::{self, SignError};
use leverarm_seal::{Fingerprint, SealError};
use p256::ecdsa::signature::Verifier;
use thiserror::Error;
use x509_cert::Certificate;
use x509_cert::der::{Decode, Encode};

use super::key::LaboratoryKey;
pub(super) use leverarm_dcc::sign::Algorithm;

/// Largest certificate, bytes.
const CERTIFICATE_MAX: usize = 64 << 10;

/// The signature of an XML that holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct XmlSignature {
    /// fingerprint of the certificate of the key that made it; whose it is, nothing here says
    pub signer: Fingerprint,
    /// the XML without its signature
    pub unsigned: Vec<u8>,
}

/// Why the signature of an XML does not hold, or cannot be judged.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum XmlFault {
    /// There is none, or the XML was changed, or it is of another form.
    #[error(transparent)]
    Open(#[from] SignError),
    /// The certificate in it cannot be read, or has a key of another kind.
    #[error("the certificate in the XML signature has no P-256 or RSA key that can be read")]
    Certificate,
    /// Another key made it.
    #[error("the XML signature was not made with the key of the certificate in it")]
    Signature,
}

/// Signs the XML of a Digital Calibration Certificate.
pub(super) fn sign_xml(xml: &[u8], key: &LaboratoryKey) -> Result<Vec<u8>, SealError> {
    let chain: Vec<Vec<u8>> = key.signer().chain_der().map(<[u8]>::to_vec).collect();
    let prepared = sign::prepare(xml, key.algorithm(), &chain)
        .map_err(|error| SealError::Fault { what: "signing the XML", reason: error.to_string() })?;
    Ok(prepared.finish(&key.sign(&prepared.signed_info())?))
}

/// Verifies the signature of an XML with the certificate that stands in it.
///
/// # Errors
/// [`XmlFault`].
pub fn verify_xml(xml: &[u8]) -> Result<XmlSignature, XmlFault> {
    let opened = sign::open(xml)?;
    let der = opened.certificates.first().ok_or(XmlFault::Certificate)?;
    let certificate = Some(der).filter(|der| der.len() <= CERTIFICATE_MAX);
    let certificate = certificate.and_then(|der| Certificate::from_der(der).ok());
    let certificate = certificate.ok_or(XmlFault::Certificate)?;
    let info = certificate.tbs_certificate().subject_public_key_info();
    let key = info.subject_public_key.as_bytes().ok_or(XmlFault::Certificate)?;
    let holds = match opened.algorithm {
        Algorithm::EcdsaSha256 => {
            let key = p256::ecdsa::VerifyingKey::from_sec1_bytes(key).map_err(|_| XmlFault::Certificate)?;
            let signature = p256::ecdsa::Signature::from_slice(&opened.signature);
            // Of the two values that verify alike, only the lower: one text has one signature.
            let signature = signature.ok().filter(|signature| signature.normalize_s() == *signature);
            signature.is_some_and(|signature| key.verify(&opened.signed_info, &signature).is_ok())
        }
        Algorithm::RsaSha256 => rsa_holds(info, &opened.signed_info, &opened.signature)?,
    };
    if !holds {
        return Err(XmlFault::Signature);
    }
    Ok(XmlSignature { signer: Fingerprint::of(der), unsigned: opened.unsigned })
}

fn rsa_holds(
    info: &x509_cert::spki::SubjectPublicKeyInfoOwned,
    message: &[u8],
    signature: &[u8],
) -> Result<bool, XmlFault> {
    use rsa::pkcs8::DecodePublicKey;
    let der = info.to_der().map_err(|_| XmlFault::Certificate)?;
    let key = rsa::PublicKey::from_public_key_der(&der).map_err(|_| XmlFault::Certificate)?;
    let verifier = rsa::pkcs1v15::VerifyingKey::<rsa::sha2::Sha256>::new(key);
    let signature = rsa::pkcs1v15::Signature::try_from(signature);
    Ok(signature.is_ok_and(|signature| verifier.verify(message, &signature).is_ok()))
}
