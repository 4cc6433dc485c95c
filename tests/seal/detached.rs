//! Detached signatures.

use leverarm_seal::{Finding, SealError, sign_detached, verify_detached};

use crate::support::*;

const CONTENT: &[u8] = b"# leverarm attachments 1\n";

#[test]
fn what_is_signed_is_verified_with_its_time() {
    let (signer, trust) = laboratory(1);
    let signature = sign_detached(CONTENT, signer, day(2026, 11, 25)).unwrap();
    assert_eq!(signature, sign_detached(CONTENT, signer, day(2026, 11, 25)).unwrap());
    let verification = verify_detached(CONTENT, &signature, &trust, now());
    assert_eq!(verification.findings, vec![]);
    assert!(verification.is_genuine());
    assert_eq!(verification.signed_at, Some(day(2026, 11, 25)));
}

#[test]
fn other_content_is_found() {
    let (signer, trust) = laboratory(1);
    let signature = sign_detached(CONTENT, signer, day(2026, 11, 25)).unwrap();
    let verification = verify_detached(b"# leverarm attachments 2\n", &signature, &trust, now());
    assert_eq!(verification.findings, vec![Finding::Digest]);
    assert!(!verification.is_genuine());
}

#[test]
fn every_changed_byte_and_every_cut_of_the_signature_is_found() {
    let (signer, trust) = laboratory(1);
    let signature = sign_detached(CONTENT, signer, day(2026, 11, 25)).unwrap();
    for at in 0..signature.len() {
        let mut changed = signature.clone();
        changed[at] ^= 1 << (at % 8);
        assert!(!verify_detached(CONTENT, &changed, &trust, now()).is_genuine(), "byte {at}");
        assert!(!verify_detached(CONTENT, &signature[..at], &trust, now()).is_genuine(), "cut at {at}");
    }
    let longer = [signature.as_slice(), b"\0"].concat();
    assert!(!verify_detached(CONTENT, &longer, &trust, now()).is_genuine());
}

#[test]
fn a_signature_in_a_pdf_is_no_detached_signature_of_another_time() {
    let (signer, _) = laboratory(1);
    let late = sign_detached(CONTENT, signer, day(2030, 1, 1));
    assert!(matches!(late, Err(SealError::Expired { .. })));
}
