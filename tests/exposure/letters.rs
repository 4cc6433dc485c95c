//! Letters: who gets one, what it says, that hostile names do nothing.

use chrono::NaiveDate;
use leverarm::metrology::exposure::Model;
use leverarm::office::exposure::letter::{LetterView, Terms, letters, views};

use super::{case, cases, files, found, report};

fn terms() -> Terms {
    Terms {
        dated: NaiveDate::from_ymd_opt(2027, 3, 20).unwrap(),
        approved_by: None,
        laboratory: None,
        unaffected_too: false,
    }
}

/// Every word of a letter, a line each.
fn words(view: &LetterView) -> String {
    serde_json::to_string_pretty(view).unwrap().replace('\u{a0}', "~")
}

#[test]
fn a_letter_says_what_happened_and_what_to_do() {
    let all = cases(&["click-wrench-full", "guard-band-zone", "found-fails", "left-passes"]);
    let report = report(&found(3.4), Model::AtOnce, all);
    let views = views(&report, &terms());
    let all: String = views.iter().map(|(_, view)| words(view) + "\n").collect();
    insta::assert_snapshot!(all);
}

#[test]
fn only_the_affected_get_one_unless_all_are_asked_for() {
    let still = report(&found(0.0), Model::AtOnce, cases(&["click-wrench-full"]));
    assert!(letters(&still, &terms()).unwrap().is_empty());
    let all = letters(&still, &Terms { unaffected_too: true, ..terms() }).unwrap();
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].file, "letter-001-haldervoe-bank-offshore-wind-site-turbin.pdf");
}

#[test]
fn the_same_report_gives_the_same_bytes_and_the_draft_goes_with_the_approval() {
    let report = report(&found(4.5), Model::AtOnce, cases(&["click-wrench-full"]));
    let (first, second) = (letters(&report, &terms()).unwrap(), letters(&report, &terms()).unwrap());
    assert_eq!(first, second);
    assert!(first[0].pdf.starts_with(b"%PDF-1.7"));
    let approved = Terms { approved_by: Some("Eskil Marnburg".into()), ..terms() };
    let views = (views(&report, &terms()), views(&report, &approved));
    assert!(views.0[0].1.draft.is_some() && views.1[0].1.draft.is_none());
    assert_eq!(views.1[0].1.signature, "Eskil Marnburg");
}

/// The reader of run folders refuses what cannot be printed; the record takes more. Both are set
/// without an error, and nothing of it is taken for a command.
#[test]
fn hostile_names_are_printed_and_do_nothing() {
    for name in [
        "#panic(\"no\") $x^2$ *bold* _it_ @ref <label> `raw` // comment /* */",
        "\u{202e}esrever\nsecond\tline\u{7}",
        "東京 🔧 \\u{0} \u{1b}[31m",
        "../../../etc/passwd",
        "https://example.invalid \"quoted\" 'single' {{x}} #{y}",
    ] {
        let mut hostile = case("a", files("click-wrench-full", |run| run));
        hostile.certificate = Some(name.to_owned());
        hostile.customer = Some(leverarm::office::exposure::cases::Addressee {
            id: None,
            name: name.to_owned(),
            address: Some(name.repeat(4)),
        });
        let report = report(&found(4.5), Model::AtOnce, vec![hostile]);
        let letters = letters(&report, &terms()).unwrap();
        assert!(letters[0].pdf.starts_with(b"%PDF"), "{name}");
        let file = &letters[0].file;
        assert!(file.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'.'), "{file}");
        assert!(!file.contains(".."), "{file}");
    }
}
