//! Files made to harm: bombs, circles, depth, numbers. Each is refused with its error, in bounded
//! memory.

use leverarm_seal::pdf::{Limits, PdfError, inspect, inspect_within};
use leverarm_seal::verify_pdf;
use proptest::prelude::*;

use crate::support::*;

#[test]
fn an_attachment_bomb() {
    let bomb = packed(&vec![0; 40 << 20]);
    assert!(bomb.len() < 100_000);
    let file = pdf_with(Kind::Table, &stream("/Type/EmbeddedFile/Filter/FlateDecode", &bomb));
    assert_eq!(inspect(&file), Err(PdfError::Bomb { limit: 16 << 20 }));
}

#[test]
fn attachments_that_are_small_each_and_too_much_together() {
    let part = packed(&vec![0; 1 << 20]);
    let catalog = b"<</Type/Catalog/Pages 2 0 R/AF[11 0 R 12 0 R 13 0 R 14 0 R]>>";
    let mut objects: Vec<(u32, Vec<u8>)> = vec![
        (1, catalog.to_vec()),
        (2, b"<</Type/Pages/Count 1/Kids[3 0 R]>>".to_vec()),
        (3, b"<</Type/Page>>".to_vec()),
    ];
    objects.push((7, stream("/Filter/FlateDecode", &part)));
    for number in 11..=14 {
        objects.push((number, format!("<</F(part {number})/EF<</F 7 0 R>>>>").into_bytes()));
    }
    let file = with_table(objects);
    assert_eq!(inspect(&file).unwrap().files.len(), 4);
    let limits = Limits { embedded_total: 3 << 20, ..Limits::default() };
    assert_eq!(inspect_within(&file, &limits), Err(PdfError::Bomb { limit: 0 }));
    let limits = Limits { embedded_count: 3, ..Limits::default() };
    assert_eq!(inspect_within(&file, &limits), Err(PdfError::TooMany { what: "embedded files", limit: 3 }));
}

#[test]
fn tables_that_run_in_a_circle() {
    let file = small_pdf(Kind::Table);
    let table = position(&file, b"xref\n0 ");
    let circle = replaced(&file, b"/Root 1 0 R", format!("/Root 1 0 R/Prev {table}").as_bytes());
    assert_eq!(inspect(&circle), Err(PdfError::Circle { what: "tables of objects" }));
}

#[test]
fn more_revisions_than_a_certificate_can_have() {
    let mut file = small_pdf(Kind::Table);
    for _ in 0..64 {
        file = updated(&file, 8, b"null");
    }
    assert_eq!(inspect(&file), Err(PdfError::TooMany { what: "revisions", limit: 64 }));
}

fn with_object(number: u32, content: &[u8]) -> Vec<u8> {
    updated(&small_pdf(Kind::Table), number, content)
}

#[test]
fn pages_and_references_that_run_in_circles() {
    let pages = with_object(2, b"<</Type/Pages/Kids[2 0 R]>>");
    assert_eq!(inspect(&pages), Err(PdfError::Circle { what: "pages" }));
    let reference = with_object(6, b"<</F 6 0 R/EF 6 0 R>>");
    assert!(matches!(inspect(&reference), Err(PdfError::Missing { .. })));
    let fields = with_object(1, b"<</Pages 2 0 R/AcroForm<</Fields[8 0 R]>>>>");
    let fields = updated(&fields, 8, b"<</FT/Tx/Kids[8 0 R]>>");
    assert_eq!(inspect(&fields), Err(PdfError::Circle { what: "form fields" }));
    let names = with_object(1, b"<</Pages 2 0 R/Names<</EmbeddedFiles 8 0 R>>>>");
    let names = updated(&names, 8, b"<</Kids[8 0 R 8 0 R]>>");
    assert!(matches!(inspect(&names), Err(PdfError::TooMany { .. })));
    let itself = with_object(1, b"<</Pages 2 0 R/AF 8 0 R>>");
    let itself = updated(&itself, 8, b"8 0 R");
    assert_eq!(inspect(&itself), Err(PdfError::Circle { what: "references" }));
}

#[test]
fn a_length_that_is_its_own_stream() {
    let file = with_object(7, b"<</Length 7 0 R>>\nstream\nx\nendstream");
    assert_eq!(inspect(&file), Err(PdfError::Missing { what: "/Length" }));
}

#[test]
fn depth() {
    for (open, close) in [("[", "]"), ("<</A", ">>")] {
        let deep = format!("{}{}", open.repeat(200_000), close.repeat(200_000));
        let found = inspect(&with_object(1, deep.as_bytes()));
        assert!(matches!(found, Err(PdfError::TooDeep { .. })), "{found:?}");
    }
    let parentheses = with_object(1, "(".repeat(300_000).as_bytes());
    assert!(matches!(inspect(&parentheses), Err(PdfError::Syntax { .. })));
}

#[test]
fn numbers_that_do_not_fit() {
    for (from, to) in [
        ("xref\n0 9", "xref\n4294967295 9"),
        ("xref\n0 9", "xref\n0 4294967295"),
        ("xref\n0 9", "xref\n0 99999999999999999999"),
        ("/Size 9", "/Size 9/Prev 99999999999999999999"),
        ("/Size 9", "/Size 9/Prev -1"),
        ("/Length 3", "/Length -3"),
        ("/Length 3", "/Length 9223372036854775807"),
        ("1 0 obj", "1 65536 obj"),
    ] {
        let file = replaced(&small_pdf(Kind::Table), from.as_bytes(), to.as_bytes());
        assert!(inspect(&file).is_err(), "{to}");
    }
}

#[test]
fn what_readers_might_read_in_two_ways_is_refused() {
    let both = replaced(&small_pdf(Kind::Table), b"/Size 9", b"/Size 9/XRefStm 20");
    assert!(matches!(inspect(&both), Err(PdfError::Unsupported { .. })));
    let locked = replaced(&small_pdf(Kind::Table), b"/Size 9", b"/Size 9/Encrypt 8 0 R");
    assert!(matches!(inspect(&locked), Err(PdfError::Unsupported { .. })));
    let twice = with_object(6, b"<</F(a)/EF<</F 7 0 R/UF 4 0 R>>>>");
    assert!(matches!(inspect(&twice), Err(PdfError::Unsupported { .. })));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let file = [b"%PDF-1.7\n".as_slice(), &bytes, b"\nstartxref\n9\n%%EOF"].concat();
        prop_assert!(!verify_pdf(&file, &leverarm_seal::Trust::nobody(), now()).is_genuine());
    }

    #[test]
    fn no_object_panics(text in "[\\[\\]<>()/%a-zR0-9 .+#\\\\-]{0,120}") {
        let file = with_object(1, text.as_bytes());
        prop_assert!(!verify_pdf(&file, &leverarm_seal::Trust::nobody(), now()).is_genuine());
    }
}
