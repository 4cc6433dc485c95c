//! The signature itself: CMS (RFC 5652) in the one form that is written here and accepted here.
//!
//! Signed attributes are content type, message digest and the signing certificate (RFC 5035), and
//! for a detached signature the signing time; in a PDF the time stands in the signature dictionary
//! (ETSI EN 319 142-1, 6.3). Nothing stays unsigned: after the parts of a signature were
//! checked it is assembled again from them and must come out byte for byte, so that a change in a
//! part that the signature does not protect is found as well.

use ::cms::cert::{CertificateChoices, IssuerAndSerialNumber};
use ::cms::content_info::{CmsVersion, ContentInfo};
use ::cms::signed_data::{
    CertificateSet, EncapsulatedContentInfo, SignedData, SignerIdentifier, SignerInfo, SignerInfos,
};
use chrono::{DateTime, Utc};
use der::asn1::{Any, ObjectIdentifier, OctetString, SetOfVec};
use der::{Decode, Encode, Sequence};
use sha2::{Digest, Sha256};
use x509_cert::attr::{Attribute, Attributes};
use x509_cert::spki::AlgorithmIdentifierOwned;
use x509_cert::time::Time;

use crate::certificate::{Cert, ECDSA_SHA256};
use crate::error::{SealError, fault};
use crate::signer::{CHAIN_LIMIT, Signer, der_of, x509_time};

const SIGNED_DATA: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.7.2");
const DATA: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.7.1");
const SHA256: ObjectIdentifier = ObjectIdentifier::new_unwrap("2.16.840.1.101.3.4.2.1");
const CONTENT_TYPE: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.3");
const MESSAGE_DIGEST: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.4");
const SIGNING_TIME: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.5");
const SIGNING_CERTIFICATE_V2: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.16.2.47");

/// Largest signature, bytes.
pub(crate) const CMS_LIMIT: usize = 512 << 10;

/// `ESSCertIDv2` (RFC 5035, 4); the hash is SHA-256 where no other is named.
#[derive(Debug, Clone, PartialEq, Eq, Sequence)]
struct EssCertIdV2 {
    #[asn1(optional = "true")]
    hash_algorithm: Option<AlgorithmIdentifierOwned>,
    cert_hash: OctetString,
}

/// `SigningCertificateV2` (RFC 5035, 3).
#[derive(Debug, Clone, PartialEq, Eq, Sequence)]
struct SigningCertificateV2 {
    certs: Vec<EssCertIdV2>,
}

/// A signature that was read; nothing of it is checked but its form.
pub(crate) struct Signed {
    /// The signer's certificate.
    pub(crate) own: Cert,
    /// The other certificates.
    pub(crate) others: Vec<Cert>,
    attributes: Attributes,
    algorithm: AlgorithmIdentifierOwned,
    signature: Vec<u8>,
    /// The signing time, where it is an attribute.
    pub(crate) signed_at: Option<DateTime<Utc>>,
    message_digest: Vec<u8>,
    /// SHA-256 of the signer's certificate and of the others, as signed.
    certificate_hashes: Vec<Vec<u8>>,
}

/// Signs a SHA-256 digest; `time` becomes an attribute if given.
pub(crate) fn sign(
    digest: &[u8; 32],
    signer: &Signer,
    time: Option<DateTime<Utc>>,
) -> Result<Vec<u8>, SealError> {
    let attributes = attributes(digest, signer, time)?;
    let signature = signer.key().sign(&der_of(&attributes)?)?;
    let own = signer.chain().first().ok_or(SealError::NoCertificate)?;
    let others = signer.chain().iter().skip(1);
    assemble(own, others, &attributes, signer.key().algorithm(), &signature)
}

/// The most bytes that a signature of this signer without the attribute of the time can take.
pub(crate) fn most_bytes(signer: &Signer) -> Result<usize, SealError> {
    let attributes = attributes(&[0; 32], signer, None)?;
    let own = signer.chain().first().ok_or(SealError::NoCertificate)?;
    let longest = vec![0; signer.key().signature_bytes_most()];
    let others = signer.chain().iter().skip(1);
    Ok(assemble(own, others, &attributes, signer.key().algorithm(), &longest)?.len())
}

fn attributes(
    digest: &[u8; 32],
    signer: &Signer,
    time: Option<DateTime<Utc>>,
) -> Result<Attributes, SealError> {
    let octets = |bytes: &[u8]| OctetString::new(bytes).map_err(fault("encoding a digest"));
    // The signer's certificate first, then all others, so that none can be exchanged for another
    // form of itself.
    let hashes = signer.chain().iter().map(|cert| {
        let cert_hash = octets(&Sha256::digest(&cert.der))?;
        Ok(EssCertIdV2 { hash_algorithm: None, cert_hash })
    });
    let ess = SigningCertificateV2 { certs: hashes.collect::<Result<_, SealError>>()? };
    let mut list = vec![
        attribute(CONTENT_TYPE, &DATA)?,
        attribute(MESSAGE_DIGEST, &octets(digest)?)?,
        attribute(SIGNING_CERTIFICATE_V2, &ess)?,
    ];
    if let Some(time) = time {
        list.push(attribute(SIGNING_TIME, &x509_time(time)?)?);
    }
    SetOfVec::try_from(list).map_err(fault("encoding attributes"))
}

fn attribute(oid: ObjectIdentifier, value: &impl Encode) -> Result<Attribute, SealError> {
    let value = Any::from_der(&der_of(value)?).map_err(fault("encoding an attribute"))?;
    let values = SetOfVec::try_from(vec![value]).map_err(fault("encoding an attribute"))?;
    Ok(Attribute { oid, values })
}

/// The one form of a signature with these parts.
fn assemble<'a>(
    own: &'a Cert,
    others: impl Iterator<Item = &'a Cert>,
    attributes: &Attributes,
    algorithm: AlgorithmIdentifierOwned,
    signature: &[u8],
) -> Result<Vec<u8>, SealError> {
    let tbs = own.certificate.tbs_certificate();
    let sid = SignerIdentifier::IssuerAndSerialNumber(IssuerAndSerialNumber {
        issuer: tbs.issuer().clone(),
        serial_number: tbs.serial_number().clone(),
    });
    let sha256 = AlgorithmIdentifierOwned { oid: SHA256, parameters: None };
    let info = SignerInfo {
        version: CmsVersion::V1,
        sid,
        digest_alg: sha256.clone(),
        signed_attrs: Some(attributes.clone()),
        signature_algorithm: algorithm,
        signature: OctetString::new(signature).map_err(fault("encoding the signature"))?,
        unsigned_attrs: None,
    };
    let certificates = std::iter::once(own).chain(others);
    let certificates = certificates.map(|cert| CertificateChoices::Certificate(cert.certificate.clone()));
    let certificates = SetOfVec::try_from(certificates.collect::<Vec<_>>());
    let signed = SignedData {
        version: CmsVersion::V1,
        digest_algorithms: SetOfVec::try_from(vec![sha256]).map_err(fault("encoding the signature"))?,
        encap_content_info: EncapsulatedContentInfo { econtent_type: DATA, econtent: None },
        certificates: Some(CertificateSet(certificates.map_err(fault("encoding certificates"))?)),
        crls: None,
        signer_infos: SignerInfos(SetOfVec::try_from(vec![info]).map_err(fault("encoding the signature"))?),
    };
    let content = Any::from_der(&der_of(&signed)?).map_err(fault("encoding the signature"))?;
    der_of(&ContentInfo { content_type: SIGNED_DATA, content })
}

impl Signed {
    /// Reads a signature and refuses any that is not in the one form.
    pub(crate) fn read(der: &[u8]) -> Result<Self, String> {
        if der.len() > CMS_LIMIT {
            return Err(format!("{} bytes", der.len()));
        }
        let text = |error: der::Error| error.to_string();
        let content = ContentInfo::from_der(der).map_err(text)?;
        if content.content_type != SIGNED_DATA {
            return Err("not signed data".to_owned());
        }
        let signed: SignedData = content.content.decode_as().map_err(text)?;
        let [info] = signed.signer_infos.0.as_slice() else {
            return Err(format!("{} signers", signed.signer_infos.0.len()));
        };
        let SignerIdentifier::IssuerAndSerialNumber(sid) = &info.sid else {
            return Err("the signer is named by a key identifier".to_owned());
        };
        let mut certificates = certificates(&signed)?;
        let own = certificates.iter().position(|cert| {
            let tbs = cert.certificate.tbs_certificate();
            tbs.issuer() == &sid.issuer && tbs.serial_number() == &sid.serial_number
        });
        let own = own.ok_or("the signer's certificate is not in the signature")?;
        let own = certificates.swap_remove(own);
        let attributes = info.signed_attrs.clone().ok_or("no signed attributes")?;
        let read = Self {
            message_digest: single::<OctetString>(&attributes, MESSAGE_DIGEST)?.as_bytes().to_vec(),
            certificate_hashes: certificate_hashes(&attributes)?,
            signed_at: signing_time(&attributes)?,
            algorithm: info.signature_algorithm.clone(),
            signature: info.signature.as_bytes().to_vec(),
            attributes,
            own,
            others: certificates,
        };
        read.check_form(der)?;
        Ok(read)
    }

    fn check_form(&self, der: &[u8]) -> Result<(), String> {
        if single::<ObjectIdentifier>(&self.attributes, CONTENT_TYPE)? != DATA {
            return Err("the content type is another".to_owned());
        }
        if self.attributes.len() != 3 + usize::from(self.signed_at.is_some()) {
            return Err("attributes that are not ours".to_owned());
        }
        let again = assemble(
            &self.own,
            self.others.iter(),
            &self.attributes,
            self.algorithm.clone(),
            &self.signature,
        );
        match again {
            Ok(again) if again == der => Ok(()),
            Ok(_) => Err("it is not in its one form".to_owned()),
            Err(error) => Err(error.to_string()),
        }
    }

    /// Whether it was made over content with this SHA-256.
    pub(crate) fn is_over(&self, digest: &[u8; 32]) -> bool {
        self.message_digest == digest
    }

    /// Whether the signed attributes name exactly the certificates that are here, the signer's first.
    fn has_signed_certificates(&self) -> bool {
        let hash = |cert: &Cert| cert.fingerprint().as_bytes().to_vec();
        let mut others: Vec<Vec<u8>> = self.others.iter().map(hash).collect();
        others.sort_unstable();
        let Some((own, signed)) = self.certificate_hashes.split_first() else { return false };
        let mut signed = signed.to_vec();
        signed.sort_unstable();
        *own == hash(&self.own) && signed == others
    }

    /// Whether the signer's key made it, and for the certificates that stand in it.
    pub(crate) fn is_signed(&self) -> bool {
        let Ok(message) = self.attributes.to_der() else { return false };
        self.has_signed_certificates()
            && is_in_lower_form(&self.algorithm, &self.signature)
            && self
                .own
                .public_key()
                .is_some_and(|key| key.verify(self.algorithm.oid, &message, &self.signature))
    }
}

fn certificates(signed: &SignedData) -> Result<Vec<Cert>, String> {
    let set = signed.certificates.as_ref().ok_or("no certificate in the signature")?;
    if set.0.len() > CHAIN_LIMIT {
        return Err(format!("{} certificates", set.0.len()));
    }
    set.0
        .iter()
        .map(|choice| match choice {
            CertificateChoices::Certificate(certificate) => {
                Cert::of(certificate.clone()).map_err(|error| error.to_string())
            }
            CertificateChoices::Other(_) => Err("a certificate of another kind".to_owned()),
        })
        .collect()
}

/// The only value of the only attribute with this identifier.
fn single<T>(attributes: &Attributes, oid: ObjectIdentifier) -> Result<T, String>
where
    T: for<'a> Decode<'a, Error = der::Error>,
{
    let mut found = attributes.iter().filter(|attribute| attribute.oid == oid);
    let (Some(attribute), None) = (found.next(), found.next()) else {
        return Err(format!("the attribute {oid} is missing or there twice"));
    };
    let [value] = attribute.values.as_slice() else {
        return Err(format!("the attribute {oid} has another number of values than one"));
    };
    let der = value.to_der().map_err(|error| error.to_string())?;
    T::from_der(&der).map_err(|error| error.to_string())
}

fn certificate_hashes(attributes: &Attributes) -> Result<Vec<Vec<u8>>, String> {
    let ess: SigningCertificateV2 = single(attributes, SIGNING_CERTIFICATE_V2)?;
    ess.certs
        .iter()
        .map(|id| match id.hash_algorithm {
            None => Ok(id.cert_hash.as_bytes().to_vec()),
            Some(_) => Err("a certificate is named by another hash".to_owned()),
        })
        .collect()
}

/// Of the two values of an ECDSA signature that verify alike, only the lower is ours.
fn is_in_lower_form(algorithm: &AlgorithmIdentifierOwned, signature: &[u8]) -> bool {
    algorithm.oid != ECDSA_SHA256
        || p256::ecdsa::Signature::from_der(signature)
            .is_ok_and(|signature| signature.normalize_s() == signature)
}

fn signing_time(attributes: &Attributes) -> Result<Option<DateTime<Utc>>, String> {
    if !attributes.iter().any(|attribute| attribute.oid == SIGNING_TIME) {
        return Ok(None);
    }
    let time: Time = single(attributes, SIGNING_TIME)?;
    let seconds = i64::try_from(time.to_unix_duration().as_secs()).unwrap_or(i64::MAX);
    DateTime::from_timestamp(seconds, 0).map(Some).ok_or_else(|| "a signing time that is no time".to_owned())
}
