//! The list of attachments and the list of withdrawn certificates.

use chrono::NaiveDate;
use leverarm_seal::{
    Fingerprint, Manifest, ManifestDifference, ManifestError, Withdrawal, WithdrawnError, WithdrawnList,
};

use crate::support::*;

fn files() -> Vec<(&'static str, &'static [u8])> {
    vec![("run/run.toml", b"format = 1\n"), ("result.json", b"{}"), ("leer", b"")]
}

#[test]
fn a_manifest_comes_back_and_agrees_with_its_files() {
    let manifest = Manifest::of("SK-2026-0412-1", files()).unwrap();
    let text = manifest.to_text();
    // FIPS 180-2: the SHA-256 of nothing.
    assert!(text.contains("e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  leer\n"));
    assert_eq!(Manifest::parse(&text), Ok(manifest.clone()));
    assert_eq!(manifest.compare(files()), vec![]);
    assert_eq!(manifest.certificate(), "SK-2026-0412-1");
}

#[test]
fn each_difference_is_named() {
    let manifest = Manifest::of("SK-2026-0412-1", files()).unwrap();
    let other: Vec<(&str, &[u8])> =
        vec![("result.json", b"{ }"), ("leer", b""), ("leer", b""), ("more", b"x")];
    let differences = manifest.compare(other);
    let changed = ManifestDifference::Changed {
        name: "result.json".to_owned(),
        listed: Fingerprint::of(b"{}"),
        found: Fingerprint::of(b"{ }"),
    };
    for wanted in [
        changed,
        ManifestDifference::Absent { name: "run/run.toml".to_owned() },
        ManifestDifference::Unlisted { name: "more".to_owned() },
        ManifestDifference::Twice { name: "leer".to_owned() },
    ] {
        assert!(differences.contains(&wanted), "{wanted} not in {differences:?}");
    }
    assert_eq!(differences.len(), 4);
}

#[test]
fn a_manifest_has_one_form() {
    let text = Manifest::of("SK-2026-0412-1", files()).unwrap().to_text();
    let capitals = text.replace("e3b0", "E3B0");
    for other in [
        text.replace('\n', "\r\n"),
        text.trim_end().to_owned(),
        capitals,
        text.replace("  leer", " *leer"),
        text.replace("attachments 1", "attachments 2"),
        format!("{text}\n"),
        String::new(),
    ] {
        assert!(Manifest::parse(&other).is_err(), "{other}");
    }
}

#[test]
fn names_that_a_line_cannot_hold_are_refused() {
    for name in ["", "a\nb", "a\\b", "a\u{0}b"] {
        let made = Manifest::of("SK-1", [(name, b"x".as_slice())]);
        assert!(matches!(made, Err(ManifestError::Name { .. })), "{name:?}");
    }
    let twice = Manifest::of("SK-1", [("a", b"x".as_slice()), ("a", b"y")]);
    assert_eq!(twice, Err(ManifestError::Twice { name: "a".to_owned() }));
}

fn withdrawal(number: &str) -> Withdrawal {
    Withdrawal {
        number: number.to_owned(),
        since: NaiveDate::from_ymd_opt(2026, 12, 1).unwrap(),
        reason: "the reference was found to be wrong".to_owned(),
        replaced_by: Some(format!("{number}-A")),
    }
}

fn list() -> WithdrawnList {
    let withdrawn = vec![withdrawal("SK-2026-0412-1"), withdrawal("SK-2026-0007-1")];
    WithdrawnList::of("Skeldravoe Torque Laboratory", 4, day(2026, 12, 1), withdrawn).unwrap()
}

#[test]
fn a_list_is_signed_verified_and_asked() {
    let (signer, trust) = laboratory(1);
    let (json, signature) = list().sign(signer).unwrap();
    let (read, verification) = WithdrawnList::verify(&json, &signature, &trust, now()).unwrap();
    assert_eq!(read, list());
    assert!(verification.is_genuine());
    assert_eq!(read.of_certificate("SK-2026-0412-1"), Some(&withdrawal("SK-2026-0412-1")));
    assert_eq!(read.of_certificate("SK-2026-0412-2"), None);
    assert_eq!(read.withdrawn()[0].number, "SK-2026-0007-1");
}

#[test]
fn a_list_that_was_changed_or_is_anothers_is_refused() {
    let (signer, trust) = laboratory(1);
    let (json, signature) = list().sign(signer).unwrap();
    for at in (0..json.len()).step_by(11) {
        let mut changed = json.clone();
        changed[at] ^= 1;
        let found = WithdrawnList::verify(&changed, &signature, &trust, now());
        assert!(matches!(found, Err(WithdrawnError::NotGenuine(_))), "byte {at}");
    }
    let (other, _) = laboratory(2);
    let (json, signature) = list().sign(other).unwrap();
    assert!(matches!(
        WithdrawnList::verify(&json, &signature, &trust, now()),
        Err(WithdrawnError::NotGenuine(_))
    ));
}

#[test]
fn a_list_of_another_form_is_refused() {
    let twice = WithdrawnList::of("L", 1, now(), vec![withdrawal("a"), withdrawal("a")]);
    assert_eq!(twice, Err(WithdrawnError::Twice { number: "a".to_owned() }));
    let json = String::from_utf8(list().to_json().unwrap()).unwrap();
    let other = json.replace("leverarm-withdrawn-1", "leverarm-withdrawn-2");
    assert!(matches!(WithdrawnList::parse(other.as_bytes()), Err(WithdrawnError::Format { .. })));
    let more = json.replace("\"edition\"", "\"more\": 1, \"edition\"");
    assert!(matches!(WithdrawnList::parse(more.as_bytes()), Err(WithdrawnError::Unreadable { .. })));
    let deep = "[".repeat(100_000);
    assert!(matches!(WithdrawnList::parse(deep.as_bytes()), Err(WithdrawnError::Unreadable { .. })));
}
