//! What is signed is verified; what is read is what was written.

use leverarm_seal::pdf::{Association, Coverage, inspect};
use leverarm_seal::{Finding, SealError, Trusted, sign_pdf, verify_pdf};

use crate::support::*;

#[test]
fn a_signed_pdf_of_either_kind_is_genuine() {
    for kind in [Kind::Table, Kind::Streams] {
        let pdf = small_pdf(kind);
        let (file, trust) = signed(&pdf);
        let verification = verify_pdf(&file, &trust, now());
        assert_eq!(verification.findings, vec![], "{kind:?}");
        assert!(verification.is_genuine());
        assert!(matches!(verification.trusted, Some(Trusted::Known(_))));
        assert_eq!(verification.signed_at, Some(day(2026, 11, 25)));
        let (start, end) = contents_at(&file);
        assert_eq!(verification.covered, file.len() - (end - start));
        let signer = verification.signer.unwrap();
        assert_eq!(signer.common_name.as_deref(), Some("Runa Hjaltevik"));
        assert_eq!(signer.organisation.as_deref(), Some("Skeldravoe Torque Laboratory"));
    }
}

#[test]
fn signing_changes_no_byte_of_the_file_and_is_the_same_each_time() {
    for kind in [Kind::Table, Kind::Streams] {
        let pdf = small_pdf(kind);
        let (file, _) = signed(&pdf);
        assert!(file.starts_with(&pdf));
        assert_eq!(file, signed(&pdf).0);
    }
}

#[test]
fn the_reader_finds_what_the_file_holds() {
    for kind in [Kind::Table, Kind::Streams] {
        let (file, _) = signed(&small_pdf(kind));
        let found = inspect(&file).unwrap();
        assert_eq!((found.version.as_str(), found.revisions, found.pages), ("1.7", 2, 1));
        assert_eq!(found.information.title.as_deref(), Some("Calibration certificate SK-2026-0412-1"));
        assert_eq!(found.information.created, Some(day(2026, 11, 25)));
        let [attached] = found.files.as_slice() else { panic!("{:?}", found.files) };
        assert_eq!((attached.name.as_str(), attached.bytes.as_slice()), ("result.json", ATTACHMENT));
        assert_eq!(attached.media_type.as_deref(), Some("application/json"));
        assert_eq!(attached.relationship.as_deref(), Some("Data"));
        assert_eq!(attached.association, Association { associated: true, listed: true });
        let [field] = found.signatures.as_slice() else { panic!("{:?}", found.signatures) };
        assert_eq!(field.coverage, Coverage::Whole);
        assert_eq!((field.permission, field.id), (Some(1), found.certifying));
        assert_eq!(field.reason.as_deref(), Some("Issue of certificate SK-2026-0412-1"));
        assert_eq!(field.signer_name.as_deref(), Some("Runa Hjaltevik"));
    }
}

#[test]
fn text_beyond_ascii_comes_back() {
    let (signer, _) = laboratory(1);
    let mut info = info();
    info.location = "Skeldravøe, 4 N·m (north) \\ 東".to_owned();
    let file = sign_pdf(&small_pdf(Kind::Table), signer, &info).unwrap();
    assert_eq!(inspect(&file).unwrap().signatures[0].location, Some(info.location));
}

#[test]
fn a_file_is_signed_once() {
    let (file, _) = signed(&small_pdf(Kind::Table));
    let (signer, _) = laboratory(1);
    assert!(matches!(sign_pdf(&file, signer, &info()), Err(SealError::AlreadySigned { .. })));
}

#[test]
fn an_unsigned_file_says_so() {
    let (_, trust) = laboratory(1);
    let verification = verify_pdf(&small_pdf(Kind::Table), &trust, now());
    assert_eq!(verification.findings, vec![Finding::NoSignature]);
    assert!(!verification.is_genuine());
}

#[test]
fn nothing_is_signed_outside_the_validity_of_the_certificate() {
    let (signer, _) = laboratory(1);
    let mut late = info();
    late.time = day(2029, 11, 2);
    let pdf = small_pdf(Kind::Table);
    assert!(matches!(sign_pdf(&pdf, signer, &late), Err(SealError::Expired { .. })));
    late.time = day(2026, 10, 31);
    assert!(matches!(sign_pdf(&pdf, signer, &late), Err(SealError::NotYetValid { .. })));
}

#[test]
fn a_certificate_that_expired_since_is_remarked_and_no_fault() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let verification = verify_pdf(&file, &trust, day(2031, 1, 1));
    assert!(verification.is_genuine());
    assert!(matches!(verification.findings.as_slice(), [Finding::ExpiredSince { .. }]));
}

#[test]
fn a_signature_from_the_future_is_a_fault() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let verification = verify_pdf(&file, &trust, day(2026, 11, 24));
    assert!(!verification.is_genuine());
    assert!(matches!(verification.findings.as_slice(), [Finding::Future { .. }]));
}
