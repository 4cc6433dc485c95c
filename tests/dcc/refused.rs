//! What the schema lets pass, or the rules of the DCC refuse, is not written.

use leverarm_dcc::model::*;
use leverarm_dcc::write::Fault;
use leverarm_dcc::{Unit, write};

use super::sample::{digits, full, series};

/// Changes the full certificate, and gives the one problem that it must have then.
fn problem(change: impl FnOnce(&mut Certificate)) -> (String, Fault) {
    let mut certificate = full();
    change(&mut certificate);
    let mut refused = write(&certificate).unwrap_err();
    assert_eq!(refused.problems.len(), 1, "{refused}");
    let problem = refused.problems.remove(0);
    assert!(!problem.fault.remedy().is_empty());
    (problem.path, problem.fault)
}

fn first(certificate: &mut Certificate) -> &mut DirectionResult {
    &mut certificate.results[0].directions[0]
}

#[test]
fn lists_of_other_lengths() {
    let (path, fault) = problem(|c| first(c).reference.values.truncate(2));
    assert!(path.ends_with("/dcc:result/dcc:data/dcc:list/dcc:quantity"), "{path}");
    assert_eq!(fault, Fault::Length { what: "reference torques", given: 2, wanted: 3 });
    let (_, fault) = problem(|c| first(c).deviation.expanded.as_mut().unwrap().values.truncate(2));
    assert_eq!(fault, Fault::Length { what: "expanded uncertainties", given: 2, wanted: 3 });
    let (path, fault) = problem(|c| first(c).deviation.conformity.as_mut().unwrap().values.truncate(1));
    assert!(path.ends_with("dcc:metaData/dcc:conformityXMLList"), "{path}");
    assert_eq!(fault, Fault::Length { what: "verdicts", given: 1, wanted: 3 });
    let (_, fault) = problem(|c| first(c).deviation.limits.tolerance_upper = Some(digits("4")));
    assert_eq!(fault, Fault::Length { what: "limits", given: 1, wanted: 3 });
}

#[test]
fn numbers_that_cannot_be_what_they_stand_for() {
    for (list, k, probability) in [
        ("-0.1", "2", "0.95"),
        ("0.1", "0.9", "0.95"),
        ("0.1", "2", "1.1"),
        ("0.1", "2E0", "0.95"),
        ("0.1", "2", "00.95"),
    ] {
        let (_, fault) = problem(|c| {
            let expanded = Expanded {
                values: digits(list),
                k: digits(k),
                probability: digits(probability),
                distribution: None,
            };
            first(c).deviation.expanded = Some(expanded);
        });
        assert!(matches!(fault, Fault::Number { .. }), "{fault}");
    }
}

#[test]
fn units_of_another_kind() {
    let (_, fault) = problem(|c| first(c).reference.unit = Unit::Percent);
    assert!(matches!(fault, Fault::Unit { given: r"\percent", .. }));
    let (_, fault) = problem(|c| first(c).indicated = Some(series(Unit::DegreeCelsius, "40 120 200")));
    assert!(matches!(fault, Fault::Unit { .. }));
}

#[test]
fn languages_dates_codes_and_texts() {
    let (_, fault) = problem(|c| c.items[0].name = Text::en("wrench").and("de", "Schlüssel"));
    assert!(matches!(fault, Fault::Languages { .. }), "{fault}");
    let (_, fault) = problem(|c| c.items[0].name = Text::default());
    assert!(matches!(fault, Fault::Languages { .. }), "{fault}");
    let (path, fault) = problem(|c| c.core.issued = "2026-11-17".parse().ok());
    assert!(path.ends_with("/dcc:coreData/dcc:issueDate"), "{path}");
    assert!(matches!(fault, Fault::Order { .. }));
    let (_, fault) = problem(|c| c.core.received = "2026-11-19".parse().ok());
    assert!(matches!(fault, Fault::Order { .. }));
    let (_, fault) = problem(|c| c.core.country = "Norway".to_owned());
    assert!(matches!(fault, Fault::Code { .. }));
    for release in ["0.1.0", "v0.1.0-rc.1", "v", "v1.2.3.4.5", "v1.2345"] {
        let (_, fault) = problem(|c| c.software[0].release = release.to_owned());
        assert!(matches!(fault, Fault::Code { .. }), "{release}");
    }
    let (path, fault) = problem(|c| c.items[0].model = Some(" BC 200".to_owned()));
    assert!(path.ends_with("/dcc:item/dcc:model"), "{path}");
    assert!(matches!(fault, Fault::NotAWord { .. }));
    let (_, fault) = problem(|c| c.items[0].model = Some("BC\u{0}200".to_owned()));
    assert_eq!(fault, Fault::Character { given: '\u{0}' });
    let (_, fault) = problem(|c| c.core.binding_languages = vec!["de".to_owned()]);
    assert!(matches!(fault, Fault::Code { .. }));
    let (_, fault) = problem(|c| c.core.previous.as_mut().unwrap().sha256 = "ab".to_owned());
    assert!(matches!(fault, Fault::Code { .. }));
}

#[test]
fn what_must_be_there_or_be_there_once() {
    let (_, fault) = problem(|c| c.results[0].methods.clear());
    assert_eq!(fault, Fault::Nothing { what: "method" });
    let (_, fault) = problem(|c| c.results[0].conditions.clear());
    assert_eq!(fault, Fault::Nothing { what: "influence condition" });
    let (_, fault) = problem(|c| c.persons[1].main_signer = true);
    assert_eq!(fault, Fault::Once { what: "main signer", given: 2 });
    let (_, fault) = problem(|c| c.results[0].directions[1].direction = Direction::Clockwise);
    assert_eq!(fault, Fault::Once { what: "clockwise", given: 2 });
    let (_, fault) = problem(|c| c.results[0].item = 1);
    assert_eq!(fault, Fault::Index { what: "item", given: 1, count: 1 });
    let (_, fault) = problem(|c| first(c).readings[0].point = 3);
    assert_eq!(fault, Fault::Index { what: "test point", given: 3, count: 3 });
}

#[test]
fn all_that_is_wrong_is_told_at_once() {
    let mut certificate = full();
    certificate.core.country = String::new();
    certificate.results[0].methods.clear();
    certificate.results[0].directions[0].reference.unit = Unit::One;
    let refused = write(&certificate).unwrap_err();
    // an empty country is no code, and no word
    assert_eq!(refused.problems.len(), 4, "{refused}");
}
