//! Certificates that others issued: who is trusted, and who is not.

use leverarm_seal::{ChainFault, Finding, Signer, Trust, Trusted, Verification, sign_pdf, verify_pdf};

use crate::support::*;

const ROOT: &str = include_str!("data/root.pem");
const MIDDLE: &str = include_str!("data/middle.pem");
const LEAF: &str = include_str!("data/leaf.pem");

/// The certificates of openssl start on the day when they were made.
fn verified(key: &str, chain: &[&str], trust: &Trust) -> Verification {
    let signer = Signer::from_pem(key, &chain.concat(), PASSPHRASE).unwrap();
    let mut info = info();
    info.time = day(2027, 3, 1);
    let file = sign_pdf(&small_pdf(Kind::Table), &signer, &info).unwrap();
    verify_pdf(&file, trust, day(2027, 3, 2))
}

fn roots(pem: &str) -> Trust {
    Trust::nobody().roots_pem(pem).unwrap()
}

#[test]
fn a_chain_to_a_root_is_trusted_with_and_without_the_root_in_the_file() {
    let key = include_str!("data/leaf.key.pem");
    for chain in [[LEAF, MIDDLE].as_slice(), &[LEAF, MIDDLE, ROOT]] {
        let verification = verified(key, chain, &roots(ROOT));
        assert!(verification.is_genuine(), "{:?}", verification.findings);
        let Some(Trusted::Issued { root }) = verification.trusted else { panic!("not issued") };
        assert_eq!(root.common_name.as_deref(), Some("Isle Register Root"));
    }
}

#[test]
fn an_rsa_key_signs_and_is_verified() {
    let rsa = include_str!("data/rsa.pem");
    let verification = verified(include_str!("data/rsa.key.pem"), &[rsa], &roots(ROOT));
    assert!(verification.is_genuine(), "{:?}", verification.findings);
}

#[test]
fn a_root_of_the_same_name_is_not_the_root() {
    let other = include_str!("data/other-root.pem");
    let verification = verified(include_str!("data/leaf.key.pem"), &[LEAF, MIDDLE, ROOT], &roots(other));
    assert!(matches!(verification.findings.as_slice(), [Finding::Chain(ChainFault::Unknown { .. })]));
}

#[test]
fn a_chain_with_a_missing_link_is_not_trusted() {
    let verification = verified(include_str!("data/leaf.key.pem"), &[LEAF], &roots(ROOT));
    assert!(matches!(verification.findings.as_slice(), [Finding::Chain(ChainFault::Unknown { .. })]));
    assert!(verification.signature_ok && verification.digest_ok);
}

#[test]
fn an_intermediate_may_be_the_trusted_root() {
    let verification = verified(include_str!("data/leaf.key.pem"), &[LEAF], &roots(MIDDLE));
    assert!(verification.is_genuine(), "{:?}", verification.findings);
}

#[test]
fn who_may_not_issue_does_not_vouch() {
    let below = include_str!("data/below-leaf.pem");
    let key = include_str!("data/below-leaf.key.pem");
    let verification = verified(key, &[below, LEAF, MIDDLE], &roots(ROOT));
    let found = |finding: &Finding| matches!(finding, Finding::Chain(ChainFault::NotAnIssuer { .. }));
    assert!(verification.findings.iter().any(found), "{:?}", verification.findings);
    assert!(!verification.is_genuine());
}

#[test]
fn nobody_trusted_is_nobody_trusted() {
    let verification = verified(include_str!("data/leaf.key.pem"), &[LEAF, MIDDLE, ROOT], &Trust::nobody());
    assert!(!verification.is_genuine());
    assert_eq!(verification.trusted, None);
}
