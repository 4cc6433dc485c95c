//! Thoughtful forgeries. The forger has the program and a key of his own that bears the laboratory's
//! name; only the laboratory's key is out of his reach.

use leverarm::certificate::proof::LaboratoryKey;
use leverarm::recheck::{Conclusion, Outcome, RecheckError, Report};
use leverarm_seal::pdf::{Document, Object, PdfError};
use leverarm_seal::{SigningInfo, sign_pdf};

use crate::support::{draft, issued, laboratory, rechecked, time, told};

fn forger() -> &'static LaboratoryKey {
    &laboratory(1).0
}

fn signed_by_forger(pdf: &[u8]) -> Vec<u8> {
    let info = SigningInfo {
        time: time(),
        reason: "Issue of certificate SK-2026-0412-1".to_owned(),
        location: "Skeldravoe Torque Laboratory".to_owned(),
        contact: String::new(),
    };
    sign_pdf(pdf, forger().signer(), &info).unwrap()
}

/// The part differs, whatever is said of the signer.
fn differs<'r>(report: &'r Report, part: &str) -> &'r leverarm::recheck::Line {
    assert_eq!(report.conclusion, Conclusion::Differs, "{}", told(report));
    let line = report.lines.iter().find(|line| line.part == part && line.outcome == Outcome::Differs);
    line.unwrap_or_else(|| panic!("{part} does not differ:\n{}", told(report)))
}

/// The unsigned file with an object put in the place of another, as an update.
fn updated(pdf: &[u8], number: u32, object: &[u8]) -> Vec<u8> {
    let document = Document::open(pdf).unwrap();
    let size = document.trailer().integer("Size").unwrap();
    let Some(Object::Reference(root)) = document.trailer().get("Root") else { panic!("no root") };
    let tail = String::from_utf8_lossy(&pdf[pdf.len() - 64..]).into_owned();
    let before: usize =
        tail.split("startxref").nth(1).unwrap().split_whitespace().next().unwrap().parse().unwrap();
    let mut out = pdf.to_vec();
    out.push(b'\n');
    let at = out.len();
    out.extend(format!("{number} 0 obj\n").as_bytes());
    out.extend(object);
    out.extend(b"\nendobj\n");
    let table = out.len();
    out.extend(format!("xref\n{number} 1\n{at:010} 00000 n \n").as_bytes());
    let root = root.number;
    out.extend(format!("trailer\n<</Size {size}/Root {root} 0 R/Prev {before}>>\n").as_bytes());
    out.extend(format!("startxref\n{table}\n%%EOF\n").as_bytes());
    out
}

/// The content of a page, from 0, with something behind it.
fn with_behind(pdf: &[u8], page: usize, more: &[u8]) -> Vec<u8> {
    let document = Document::open(pdf).unwrap();
    let Object::Dictionary(page) = document.get(document.pages().unwrap()[page]).unwrap() else { panic!() };
    let Some(Object::Reference(id)) = page.get("Contents").cloned() else { panic!("contents") };
    let Object::Stream(stream) = document.get(id).unwrap() else { panic!("a stream") };
    let mut content = document.decode(&stream, 8 << 20).unwrap();
    content.extend(more);
    let head = format!("<</Length {}>>\nstream\n", content.len());
    let object = [head.as_bytes(), &content, b"\nendstream"].concat();
    updated(pdf, id.number, &object)
}

#[test]
fn a_digit_on_the_page_is_named_with_both_values_and_its_page() {
    let mut forged = draft(&["guard-band-zone"], None);
    let row = &mut forged.made.view.conditions[0].directions[0].results[0];
    let before = row.deviation.clone();
    row.deviation = "+0.11".into();
    let report = rechecked(&forged.pack(Some(forger())).pdf).unwrap();
    let line = differs(&report, "pages");
    let found = line.differences.iter().find(|difference| difference.found.contains("+0.11"));
    let found = found.unwrap_or_else(|| panic!("{}", told(&report)));
    assert!(found.page.is_some() && found.computed.contains(before.trim()), "{found}");
    assert!(found.path.contains("mean_deviation"), "{found}");
}

#[test]
fn a_verdict_on_the_page_is_found() {
    let mut forged = draft(&["guard-band-zone"], None);
    forged.made.view.verdicts[0].words = "Conforms".into();
    let report = rechecked(&forged.pack(Some(forger())).pdf).unwrap();
    let line = differs(&report, "pages");
    assert!(
        line.differences.iter().any(|difference| difference.found.contains("Conforms")),
        "{}",
        told(&report)
    );
}

#[test]
fn a_line_drawn_over_the_page_is_found() {
    let plain = draft(&["click-wrench-full"], None).pack(None).pdf;
    for (more, what) in [
        (&b"\nBT /f0 12 Tf 1 0 0 1 100 700 Tm (\\000\\005) Tj ET"[..], "text"),
        (b"\nq 1 1 1 rg 100 100 300 300 re f Q", "lines and shapes"),
    ] {
        let forged = signed_by_forger(&with_behind(&plain, 1, more));
        let report = rechecked(&forged).unwrap();
        let line = differs(&report, "pages");
        let found = line.differences.iter().find(|d| d.page == Some(2) && d.path == what);
        assert!(found.is_some(), "{what}: {}", told(&report));
    }
}

#[test]
fn a_digit_in_an_attachment_is_found() {
    // in place: the stored stream is packed, so any byte of it that changes breaks the signature
    let mut forged = issued().pdf.clone();
    let at = forged.windows(13).position(|w| w == b"/EmbeddedFile").unwrap();
    forged[at + 400] ^= 1;
    assert!(
        rechecked(&forged).is_err_and(|e| matches!(e, RecheckError::Pdf(_))) || {
            rechecked(&forged).is_ok_and(|report| report.conclusion == Conclusion::Differs)
        }
    );
    // with the forger's own list and signature over it
    let mut forged = draft(&["guard-band-zone"], None);
    let text = String::from_utf8(forged.made.result.clone()).unwrap();
    forged.made.result = text.replacen("\"mean_deviation\": \"", "\"mean_deviation\": \"+9", 1).into_bytes();
    assert_ne!(forged.made.result, text.into_bytes());
    let report = rechecked(&forged.pack(Some(forger())).pdf).unwrap();
    let line = differs(&report, "result.json");
    assert_eq!(line.differences[0].path, "runs[0].points[0].printed.mean_deviation");
}

#[test]
fn a_digit_in_the_xml_is_found() {
    let mut forged = draft(&["guard-band-zone"], None);
    let xml = String::from_utf8(forged.xml.clone().unwrap()).unwrap();
    let changed = xml.replacen("fail", "pass", 1);
    assert_ne!(xml, changed);
    forged.xml = Some(changed.into_bytes());
    let report = rechecked(&forged.pack(Some(forger())).pdf).unwrap();
    let differences = report.lines.iter().filter(|line| line.part == "certificate.xml");
    assert!(differences.flat_map(|line| &line.differences).count() > 0, "{}", told(&report));
    assert_eq!(report.conclusion, Conclusion::Differs);
}

#[test]
fn swapped_attachments_are_found() {
    let mut forged = draft(&["click-wrench-full"], None);
    for file in &mut forged.files.runs[0].files {
        match file.path.as_str() {
            "run.toml" => file.attachment = "readings.csv".into(),
            "readings.csv" => file.attachment = "run.toml".into(),
            _ => {}
        }
    }
    let report = rechecked(&forged.pack(Some(forger())).pdf).unwrap();
    differs(&report, "readings");
}

#[test]
fn readings_of_another_tool_are_found() {
    let mut forged = draft(&["click-wrench-full"], None);
    forged.files = draft(&["guard-band-zone"], None).files;
    let report = rechecked(&forged.pack(Some(forger())).pdf).unwrap();
    differs(&report, "result.json");
    differs(&report, "pages");
}

#[test]
fn what_is_appended_after_signing_is_found() {
    let mut appended = issued().pdf.clone();
    appended.extend(b"\n%%EOF\n");
    differs(&rechecked(&appended).unwrap(), "signature");
    // an update of the file's own kind, which shows another page
    let shown = with_behind(&issued().pdf, 0, b"\nq 1 1 1 rg 0 0 600 800 re f Q");
    differs(&rechecked(&shown).unwrap(), "signature");
}

#[test]
fn an_update_under_the_forgers_signature_is_found() {
    let plain = draft(&["click-wrench-full"], None).pack(None).pdf;
    let document = Document::open(&plain).unwrap();
    let id = document.pages().unwrap()[1];
    let Object::Dictionary(mut page) = document.get(id).unwrap() else { panic!() };
    page.set("Rotate", Object::Integer(180));
    let Some(Object::Reference(contents)) = page.get("Contents") else { panic!() };
    let Some(Object::Reference(parent)) = page.get("Parent") else { panic!() };
    let text = format!(
        "<</Type/Page/Parent {} 0 R/MediaBox[0 0 595 842]/Rotate 180/Contents {} 0 R>>",
        parent.number, contents.number
    );
    let report = rechecked(&signed_by_forger(&updated(&plain, id.number, text.as_bytes()))).unwrap();
    assert_eq!(report.conclusion, Conclusion::Differs, "{}", told(&report));
}

#[test]
fn a_signature_taken_off_is_found() {
    let packed = issued();
    let stripped = &packed.pdf[..packed.unsigned_bytes];
    let report = rechecked(stripped).unwrap();
    // the manifest inside is signed, the PDF is not
    differs(&report, "signature");
}

#[test]
fn a_bomb_is_refused() {
    use std::io::Write;
    let plain = draft(&["click-wrench-full"], None).pack(None).pdf;
    let document = Document::open(&plain).unwrap();
    // the first embedded file, by its number
    let size = u32::try_from(document.trailer().integer("Size").unwrap()).unwrap();
    let embedded = (1..size).find(|number| {
        let id = leverarm_seal::pdf::ObjectId { number: *number, generation: 0 };
        matches!(document.get(id), Ok(Object::Stream(s)) if s.dictionary.name("Type") == Some(b"EmbeddedFile"))
    });
    let mut encoder = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::best());
    for _ in 0..64 {
        encoder.write_all(&vec![b' '; 1 << 20]).unwrap();
    }
    let packed = encoder.finish().unwrap();
    let head = format!("<</Type/EmbeddedFile/Filter/FlateDecode/Length {}>>\nstream\n", packed.len());
    let bomb = updated(&plain, embedded.unwrap(), &[head.as_bytes(), &packed, b"\nendstream"].concat());
    assert!(bomb.len() < plain.len() + 100_000);
    assert!(matches!(rechecked(&bomb), Err(RecheckError::Pdf(PdfError::Bomb { .. }))));
}

#[test]
fn garbage_is_refused() {
    let pdf = &issued().pdf;
    for bytes in [&b""[..], b"%PDF-1.7", b"nonsense", &pdf[..pdf.len() / 2], &pdf[100..]] {
        assert!(rechecked(bytes).is_err());
    }
}
