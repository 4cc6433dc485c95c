//! Thoughtful forgeries. The attacks on the byte range and the updates are those that Mladenov et
//! al., "1 Trillion Dollar Refund: How To Spoof PDF Signatures" (CCS 2019), name universal forgery,
//! incremental saving and signature wrapping.

use leverarm_seal::pdf::PdfError;
use leverarm_seal::{ChainFault, Finding, Trust, Verification, sign_pdf, verify_pdf};

use crate::support::*;

fn checked(file: &[u8], trust: &Trust) -> Verification {
    let verification = verify_pdf(file, trust, now());
    assert!(!verification.is_genuine(), "{:?}", verification.findings);
    verification
}

#[test]
fn one_digit_on_the_page() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let forged = replaced(&file, b"102.4 N m", b"102.3 N m");
    assert_eq!(checked(&forged, &trust).findings, vec![Finding::Digest]);
}

#[test]
fn an_update_that_changes_the_page() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let forged = updated(&file, 4, &stream("", b"BT /F 12 Tf 10 50 Td (102.0 N m) Tj ET"));
    let verification = checked(&forged, &trust);
    let (signed, length) = (file.len(), forged.len());
    assert_eq!(verification.findings, vec![Finding::Appended { signed, length }]);
    // What was signed is still what was signed: the update is the forgery, and it is named.
    assert!(verification.digest_ok && verification.signature_ok);
}

#[test]
fn a_single_space_after_the_end() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let forged = [file.as_slice(), b" "].concat();
    assert!(matches!(checked(&forged, &trust).findings.as_slice(), [Finding::Appended { .. }]));
}

#[test]
fn another_laboratory_signs_the_same_file() {
    let pdf = small_pdf(Kind::Table);
    let (other, _) = laboratory(2);
    let (_, trust) = laboratory(1);
    let forged = sign_pdf(&pdf, other, &info()).unwrap();
    let verification = checked(&forged, &trust);
    assert!(verification.digest_ok && verification.signature_ok);
    assert!(matches!(verification.findings.as_slice(), [Finding::Chain(ChainFault::Unknown { .. })]));
}

#[test]
fn the_signature_of_one_file_in_another() {
    let (first, trust) = signed(&small_pdf(Kind::Table));
    let page = replaced(&small_pdf(Kind::Table), b"102.4 N m", b"102.0 N m");
    let (mut second, _) = signed(&page);
    let place = contents_at(&second);
    let from = contents_at(&first);
    second[place.0..place.1].copy_from_slice(&first[from.0..from.1]);
    assert_eq!(checked(&second, &trust).findings, vec![Finding::Digest]);
}

/// The signature dictionary of an earlier signature with a text of it replaced, as an update that
/// leaves the signed bytes as they are.
fn with_dictionary(file: &[u8], change: impl Fn(&str) -> String) -> Vec<u8> {
    let inspection = leverarm_seal::pdf::inspect(file).unwrap();
    let id = inspection.signatures[0].id.unwrap();
    let start = position(file, format!("\n{} 0 obj\n", id.number).as_bytes());
    let start = start + format!("\n{} 0 obj\n", id.number).len();
    let end = start + position(&file[start..], b"\nendobj");
    let old = std::str::from_utf8(&file[start..end]).unwrap();
    updated(file, id.number, change(old).as_bytes())
}

fn range_text(file: &[u8]) -> String {
    let start = position(file, b"/ByteRange[");
    let end = start + position(&file[start..], b"]") + 1;
    String::from_utf8(file[start..end].to_vec()).unwrap()
}

#[test]
fn a_moved_signature_whose_range_covers_the_old_place() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let forged = with_dictionary(&file, str::to_owned);
    let verification = checked(&forged, &trust);
    assert!(matches!(verification.findings.as_slice(), [Finding::NotCovered { .. }, ..]));
}

#[test]
fn byte_ranges_of_every_bad_shape() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let (first, second) = contents_at(&file);
    let rest = file.len() - second;
    let shapes = [
        String::new(),
        "0".to_owned(),
        format!("0 {first} {second}"),
        format!("0 {first} {second} {rest} 0 1"),
        format!("1 {} {second} {rest}", first - 1),
        format!("0 {} {second} {rest}", first - 1),
        format!("0 {first} {} {}", second - 1, rest + 1),
        format!("0 {first} {first} {}", rest + second - first),
        format!("{second} {rest} 0 {first}"),
        format!("0 {} 0 {}", file.len(), file.len()),
        format!("0 {first} {second} {}", rest + 10_000_000),
        format!("0 -{first} {second} {rest}"),
        format!("0 {first} {second} 9223372036854775807"),
        format!("0 {first} 9223372036854775807 1"),
        "0 0 0 0".to_owned(),
        "/A /B /C /D".to_owned(),
    ];
    let old = range_text(&file);
    for shape in shapes {
        let mut place = format!("/ByteRange[{shape}");
        if place.len() < old.len() {
            place = format!("{place:<width$}]", width = old.len() - 1);
        } else {
            place.push(']');
        }
        if place.len() != old.len() {
            // Longer texts move the file's end; the table is then wrong, which must be found too.
            assert!(
                !verify_pdf(&replaced(&file, old.as_bytes(), place.as_bytes()), &trust, now()).is_genuine()
            );
            continue;
        }
        let verification = checked(&replaced(&file, old.as_bytes(), place.as_bytes()), &trust);
        let known = verification.findings.iter().any(|finding| {
            matches!(
                finding,
                Finding::NotCovered { .. }
                    | Finding::Appended { .. }
                    | Finding::Unreadable(_)
                    | Finding::Digest
            )
        });
        assert!(known, "{shape}: {:?}", verification.findings);
    }
}

#[test]
fn two_contents_in_one_dictionary() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let forged = with_dictionary(&file, |old| old.replacen("/Contents ", "/Contents <00>/Contents ", 1));
    let verification = checked(&forged, &trust);
    let key = |finding: &Finding| matches!(finding, Finding::Unreadable(PdfError::KeyTwice { key, .. }) if key == "Contents");
    assert!(verification.findings.iter().any(key), "{:?}", verification.findings);
}

#[test]
fn two_contents_where_the_second_is_spelled_otherwise() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let forged = with_dictionary(&file, |old| old.replacen("/Contents ", "/Content#73 <00>/Contents ", 1));
    let verification = checked(&forged, &trust);
    assert!(matches!(verification.findings.as_slice(), [Finding::Unreadable(PdfError::KeyTwice { .. })]));
}

#[test]
fn the_place_of_the_signature_has_one_form() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let (start, end) = contents_at(&file);
    let letter = (start..end).find(|at| file[*at].is_ascii_lowercase()).unwrap();
    let mut capital = file.clone();
    capital[letter].make_ascii_uppercase();
    let mut filling = file.clone();
    filling[end - 2] = b'1';
    let mut space = file.clone();
    space[end - 2] = b' ';
    space[end - 3] = b' ';
    for forged in [capital, filling, space] {
        assert!(matches!(checked(&forged, &trust).findings.as_slice(), [Finding::Form { .. }]));
    }
}

#[test]
fn a_second_signature_field() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let inspection = leverarm_seal::pdf::inspect(&file).unwrap();
    let field = inspection.signatures[0].id.unwrap().number + 1;
    let document = leverarm_seal::pdf::Document::open(&file).unwrap();
    let (catalog, _) = document.catalog().unwrap();
    let content = format!(
        "<</Type/Catalog/Pages 2 0 R/AcroForm<</Fields[{field} 0 R <</FT/Sig/T(x)>>]>>/Perms<</DocMDP {} 0 R>>>>",
        field - 1
    );
    let forged = updated(&file, catalog.number, content.as_bytes());
    let found = checked(&forged, &trust).findings;
    assert!(found.contains(&Finding::OtherFields { signatures: 1, other_fields: 1 }), "{found:?}");
}

#[test]
fn bytes_before_the_first() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let forged = [b"\n", file.as_slice()].concat();
    assert_eq!(checked(&forged, &trust).findings, vec![Finding::Unreadable(PdfError::NotPdf)]);
}

#[test]
fn a_swapped_attachment() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let other =
        stream("/Type/EmbeddedFile/Subtype/application#2Fjson", b"{\"number\": \"SK-2026-0999-1\"}\n");
    let forged = updated(&file, 7, &other);
    assert!(matches!(checked(&forged, &trust).findings.as_slice(), [Finding::Appended { .. }]));
}
