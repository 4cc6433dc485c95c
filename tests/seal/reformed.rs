//! Signatures that still verify by the rules of CMS and were given another form: what the signature
//! does not protect was changed. None is accepted.

use cms::cert::CertificateChoices;
use cms::content_info::{CmsVersion, ContentInfo};
use cms::signed_data::{CertificateSet, SignedData, SignerInfo, SignerInfos};
use der::asn1::{Any, OctetString, SetOfVec};
use der::{Decode, DecodePem, Encode};
use leverarm_seal::{DetachedVerification, Finding, sign_detached, verify_detached};
use x509_cert::Certificate;

use crate::support::*;

const CONTENT: &[u8] = b"# leverarm attachments 1\n";

/// The verification of a signature whose data was changed in this way.
fn reformed(change: impl Fn(&mut SignedData)) -> DetachedVerification {
    let (signer, trust) = laboratory(1);
    let der = sign_detached(CONTENT, signer, day(2026, 11, 25)).unwrap();
    let mut info = ContentInfo::from_der(&der).unwrap();
    let mut signed: SignedData = info.content.decode_as().unwrap();
    change(&mut signed);
    info.content = Any::from_der(&signed.to_der().unwrap()).unwrap();
    verify_detached(CONTENT, &info.to_der().unwrap(), &trust, now())
}

fn with_info(signed: &mut SignedData, change: impl Fn(&mut SignerInfo)) {
    let mut info = signed.signer_infos.0.as_slice()[0].clone();
    change(&mut info);
    signed.signer_infos = SignerInfos(SetOfVec::try_from(vec![info]).unwrap());
}

fn twin(signature: &[u8]) -> Vec<u8> {
    let signature = p256::ecdsa::Signature::from_der(signature).unwrap();
    let (r, s) = signature.split_scalars();
    let twin = p256::ecdsa::Signature::from_scalars(r.to_bytes(), (-*s).to_bytes()).unwrap();
    twin.to_der().as_bytes().to_vec()
}

#[test]
fn what_was_only_read_and_written_again_is_accepted() {
    assert!(reformed(|_| {}).is_genuine());
}

#[test]
fn the_other_value_that_an_ecdsa_signature_verifies_with() {
    let found = reformed(|signed| {
        with_info(signed, |info| {
            info.signature = OctetString::new(twin(info.signature.as_bytes())).unwrap();
        });
    });
    assert_eq!(found.findings, vec![Finding::Signature]);
}

#[test]
fn the_certificate_with_the_other_value_of_its_signature() {
    let found = reformed(|signed| {
        let set = signed.certificates.as_ref().unwrap();
        let CertificateChoices::Certificate(certificate) = &set.0.as_slice()[0] else {
            panic!("another kind")
        };
        let signature = twin(certificate.signature().as_bytes().unwrap());
        let tbs = certificate.tbs_certificate().to_der().unwrap();
        let algorithm = certificate.signature_algorithm().to_der().unwrap();
        let bits = der::asn1::BitString::from_bytes(&signature).unwrap().to_der().unwrap();
        let content = [tbs, algorithm, bits].concat();
        let length = u16::try_from(content.len()).unwrap().to_be_bytes();
        let der = [[0x30, 0x82].as_slice(), &length, &content].concat();
        let certificate = CertificateChoices::Certificate(Certificate::from_der(&der).unwrap());
        signed.certificates = Some(CertificateSet(SetOfVec::try_from(vec![certificate]).unwrap()));
    });
    assert!(found.findings.contains(&Finding::Signature), "{:?}", found.findings);
    assert!(!found.is_genuine());
}

#[test]
fn a_certificate_more_or_less() {
    let more = reformed(|signed| {
        let root = Certificate::from_pem(include_str!("data/root.pem")).unwrap();
        let set = &mut signed.certificates.as_mut().unwrap().0;
        set.insert(CertificateChoices::Certificate(root)).unwrap();
    });
    assert!(more.findings.contains(&Finding::Signature), "{:?}", more.findings);
    let less = reformed(|signed| signed.certificates = None);
    assert!(matches!(less.findings.as_slice(), [Finding::Form { .. }]));
}

#[test]
fn parts_that_the_signature_does_not_protect() {
    let changes: [&dyn Fn(&mut SignedData); 6] = [
        &|signed| signed.version = CmsVersion::V3,
        &|signed| {
            signed.encap_content_info.econtent = Some(Any::new(der::Tag::OctetString, CONTENT).unwrap())
        },
        &|signed| signed.crls = Some(cms::revocation::RevocationInfoChoices(SetOfVec::default())),
        &|signed| signed.digest_algorithms = SetOfVec::default(),
        &|signed| with_info(signed, |info| info.digest_alg.parameters = Some(Any::null())),
        &|signed| with_info(signed, |info| info.unsigned_attrs = info.signed_attrs.clone()),
    ];
    for (place, change) in changes.into_iter().enumerate() {
        let found = reformed(change);
        assert!(matches!(found.findings.as_slice(), [Finding::Form { .. }]), "{place}: {:?}", found.findings);
    }
}

#[test]
fn signers_more_or_less() {
    let none = reformed(|signed| signed.signer_infos = SignerInfos(SetOfVec::default()));
    assert!(matches!(none.findings.as_slice(), [Finding::Form { .. }]));
    let two = reformed(|signed| {
        let mut second = signed.signer_infos.0.as_slice()[0].clone();
        second.version = CmsVersion::V3;
        signed.signer_infos.0.insert(second).unwrap();
    });
    assert!(matches!(two.findings.as_slice(), [Finding::Form { .. }]));
}
