//! The signature's form. That other programs verify it is judged by `tests/dcc/independent.py`.

use leverarm_dcc::sign::{Algorithm, SignError, open, prepare};
use leverarm_dcc::{read, write};

use super::sample::full;

fn signed() -> Vec<u8> {
    let xml = write(&full()).unwrap();
    prepare(&xml, Algorithm::EcdsaSha256, &[b"a certificate".to_vec()]).unwrap().finish(&[7; 64])
}

#[test]
fn what_is_signed_is_taken_out_again() {
    let xml = write(&full()).unwrap();
    for algorithm in Algorithm::ALL {
        let certificates = vec![b"one".to_vec(), b"two".to_vec()];
        let prepared = prepare(&xml, algorithm, &certificates).unwrap();
        let file = prepared.finish(&[7; 64]);
        assert_eq!(read(&file).unwrap().signatures, 1);
        let opened = open(&file).unwrap();
        assert_eq!(opened.signed_info, prepared.signed_info());
        assert_eq!((opened.algorithm, opened.signature), (algorithm, vec![7; 64]));
        assert_eq!((opened.certificates, opened.unsigned), (certificates, xml.clone()));
    }
}

#[test]
fn every_changed_byte_is_found() {
    let file = signed();
    let end = file.windows(13).position(|window| window == b"<ds:Signature").unwrap();
    let opened = open(&file).unwrap();
    for at in (0..file.len()).step_by(13) {
        let mut forged = file.clone();
        forged[at] = if forged[at] == b'1' { b'2' } else { b'1' };
        match open(&forged) {
            Err(_) => {}
            // in the signature itself: then what the key signed, its signature or its certificate differs
            Ok(other) => assert!(at > end && other != opened, "{at}"),
        }
    }
}

#[test]
fn other_forms_are_refused() {
    let xml = write(&full()).unwrap();
    assert_eq!(open(&xml), Err(SignError::Unsigned));
    assert_eq!(prepare(&signed(), Algorithm::RsaSha256, &[vec![1]]).unwrap_err(), SignError::Signed);
    assert_eq!(prepare(&xml, Algorithm::RsaSha256, &[]).unwrap_err(), SignError::Certificates { given: 0 });
    let text = String::from_utf8(signed()).unwrap();
    // a second signature, one that is not the last child, a comment
    let twice = text.replacen("</ds:Signature>", "</ds:Signature><ds:Signature></ds:Signature>", 1);
    let after = text.replacen("</ds:Signature>", "</ds:Signature><dcc:more></dcc:more>", 1);
    let comment = text.replacen("<dcc:items>", "<!-- --><dcc:items>", 1);
    for forged in [twice, after, comment] {
        assert!(matches!(open(forged.as_bytes()), Err(SignError::Form { .. })));
    }
    let moved = text.replacen("200.630", "200.930", 1);
    assert!(matches!(open(moved.as_bytes()), Err(SignError::Changed { .. })));
    assert!(matches!(
        prepare(include_bytes!("example.xml"), Algorithm::RsaSha256, &[vec![1]]),
        Err(SignError::Form { .. })
    ));
}
