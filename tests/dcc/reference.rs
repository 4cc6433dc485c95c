//! The certificate of a reference transducer, made into a reference file.

use leverarm_dcc::model::Direction;
use leverarm_dcc::reference::{Amount, CurveSelection, Own, ReferenceError, Role, Selection, Shown};
use leverarm_dcc::{Digits, ReferenceData, as_reference, read, to_toml, write};

use super::sample::full;

const TRANSDUCER: &str = include_str!("transducer.xml");

fn reference(xml: &str) -> Result<ReferenceData, ReferenceError> {
    as_reference(&read(xml.as_bytes()).unwrap(), &Selection::default())
}

fn changed(from: &str, to: &str) -> ReferenceError {
    assert!(TRANSDUCER.contains(from), "{from}");
    let error = reference(&TRANSDUCER.replacen(from, to, 1)).unwrap_err();
    assert!(!error.remedy().is_empty());
    error
}

fn digits(text: &str) -> Digits {
    Digits::new(text).unwrap()
}

// Oracle: the numbers of transducer.xml, their points moved by hand.
#[test]
fn a_transducer_becomes_a_reference_file() {
    let data = reference(TRANSDUCER).unwrap();
    assert_eq!(data.certificate, "MI-T-2026-0320");
    assert_eq!(data.calibrated_by, "Marrenfirth Institute");
    assert_eq!(data.calibrated_on.to_string(), "2026-03-13");
    assert_eq!(data.serial, "Q250-0931");
    let [right, left] = data.curves.as_slice() else { panic!("{:?}", data.curves) };
    assert_eq!((right.direction, right.points.len()), (Direction::Clockwise, 3));
    assert_eq!(right.points[1].applied, digits("100.00"));
    assert_eq!(right.points[1].shown, Shown::Indicated(digits("99.85")));
    assert_eq!(right.points[1].expanded, Amount::Torque(digits("0.10")));
    assert_eq!(right.points[1].k, digits("2"));
    assert_eq!((left.direction, left.points.len()), (Direction::CounterClockwise, 2));
    assert_eq!(left.points[1].applied, digits("100"));
    assert_eq!(left.points[1].shown, Shown::Deviation(Amount::Torque(digits("0.12"))));
    assert_eq!(left.points[1].expanded, Amount::Torque(digits("0.10")));
    assert_eq!(left.points[1].k, digits("2.1"));
    assert_eq!(data.notes.len(), 2);
    let own = Own {
        id: Some("RT-250".to_owned()),
        due: "2028-03-12".parse().ok(),
        resolution: Some("0.01 N·m".to_owned()),
        resolution_included: Some(false),
        traceability: None,
    };
    assert_eq!(to_toml(&data, &own), include_str!("transducer.toml"));
}

#[test]
fn what_the_certificate_does_not_say_is_asked_for() {
    let toml = to_toml(&reference(TRANSDUCER).unwrap(), &Own::default());
    for key in ["id", "traceability", "due", "resolution", "resolution_included"] {
        assert!(toml.contains(&format!("\n# {key} = ")), "{key}");
        assert!(!toml.contains(&format!("\n{key} = ")), "{key}");
    }
}

#[test]
fn texts_cannot_break_out_of_their_key() {
    let mut data = reference(TRANSDUCER).unwrap();
    data.serial = "a\"\ndue = \"2099-01-01\" \\".to_owned();
    data.notes = vec!["a\nid = 1".to_owned()];
    let toml = to_toml(&data, &Own::default());
    assert!(toml.contains("serial = \"a\\\" due = \\\"2099-01-01\\\" \\\\\"\n"));
    assert!(!toml.lines().any(|line| line.starts_with("due") || line.starts_with("id")));
}

#[test]
fn a_unit_that_is_none_is_named_with_its_line() {
    let error = changed(
        r"\newton\metre</s:unitXMLList>
    <s:expanded",
        r"\banana</s:unitXMLList>
    <s:expanded",
    );
    let ReferenceError::Unit { place, given, .. } = &error else { panic!("{error}") };
    assert_eq!(given, r"\banana");
    assert!(
        place
            .path
            .ends_with("/dcc:result[1]/dcc:data/dcc:list/dcc:quantity[2]/si:realListXMLList/si:unitXMLList"),
        "{error}"
    );
    assert_eq!(place.line, 17);
    assert!(
        error.to_string().contains(
            r"si:unitXMLList, line 17: the unit is '\banana', where a torque such as \newton\metre"
        )
    );
}

#[test]
fn nothing_is_guessed() {
    assert!(matches!(changed("Clockwise torque", "Torque"), ReferenceError::Direction { table: 1, .. }));
    assert!(matches!(changed("Anti-clockwise", "Clockwise"), ReferenceError::Tables { .. }));
    let no_terms = TRANSDUCER.replace("basic_referenceValue", "basic_nominalValue");
    assert!(matches!(reference(&no_terms).unwrap_err(), ReferenceError::NoTable { .. }));
    let two = changed("\"basic_measuredValue\"", "\"basic_referenceValue basic_measurementError\"");
    assert!(matches!(two, ReferenceError::Columns { role: Role::Applied, .. }), "{two}");
    assert!(matches!(changed("<d:issuer>manufacturer", "<d:issuer>other"), ReferenceError::Serial { .. }));
}

#[test]
fn what_is_said_by_a_person_opens_what_was_open() {
    let xml = TRANSDUCER
        .replace("basic_referenceValue", "basic_nominalValue")
        .replace("Clockwise torque", "Torque");
    let curve = CurveSelection {
        direction: Some(Direction::CounterClockwise),
        applied: Some("applied".to_owned()),
        ..CurveSelection::table(1)
    };
    let selection =
        Selection { serial: Some("RT-250".to_owned()), curves: vec![curve], ..Selection::default() };
    let data = as_reference(&read(xml.as_bytes()).unwrap(), &selection).unwrap();
    assert_eq!(data.serial, "RT-250");
    assert_eq!((data.curves.len(), data.curves[0].direction), (1, Direction::CounterClockwise));
    let wrong = Selection { curves: vec![CurveSelection::table(9)], ..Selection::default() };
    let error = as_reference(&read(xml.as_bytes()).unwrap(), &wrong).unwrap_err();
    assert_eq!(error, ReferenceError::TableNumber { given: 9, count: 2 });
}

#[test]
fn points_that_make_no_curve() {
    assert!(matches!(
        changed("0.01000 0.10000", "0.10000 0.10000"),
        ReferenceError::NotRising { row: 2, .. }
    ));
    assert!(matches!(changed("9.99 99.85", "99.99 99.85"), ReferenceError::NotRising { row: 2, .. }));
    assert!(matches!(
        changed("0.02 0.10 0.20", "0.02 0 0.20"),
        ReferenceError::ZeroUncertainty { row: 2, .. }
    ));
    assert!(matches!(
        changed("0.01000 0.10000", "-0.01000 0.10000"),
        ReferenceError::Negative { row: 1, .. }
    ));
    assert!(matches!(changed("9.99 99.85 249.70", "9.99 99.85"), ReferenceError::Read(_)));
    assert!(matches!(changed("9.99 99.85", "NaN 99.85"), ReferenceError::Read(_)));
    let standard = TRANSDUCER.replace("expandedUncXMLList", "coverageIntervalXMLList");
    let none = reference(&standard).unwrap_err();
    let ReferenceError::NoUncertainty { other, .. } = &none else { panic!("{none}") };
    assert_eq!(other.as_deref(), Some("si:coverageIntervalXMLList"));
}

/// A tool's own certificate in two conditions: which one is meant is not plain; then it is said.
#[test]
fn our_own_certificate_is_read_as_any_other() {
    let dcc = read(&write(&full()).unwrap()).unwrap();
    let error = as_reference(&dcc, &Selection::default()).unwrap_err();
    assert_eq!(error, ReferenceError::Tables { direction: "clockwise", tables: vec![1, 5] });
    let selection = Selection { curves: vec![CurveSelection::table(5)], ..Selection::default() };
    let data = as_reference(&dcc, &selection).unwrap();
    assert_eq!(data.curves[0].points[2].expanded, Amount::Percent(digits("0.70")));
    assert_eq!(data.curves[0].points[2].shown, Shown::Indicated(digits("200")));
}

#[test]
fn an_indication_that_contradicts_its_deviation() {
    let with = |indicated: &str| {
        let mut certificate = full();
        certificate.results[0].directions[0].indicated.as_mut().unwrap().values[1] = digits(indicated);
        let dcc = read(&write(&certificate).unwrap()).unwrap();
        as_reference(&dcc, &Selection { curves: vec![CurveSelection::table(1)], ..Selection::default() })
    };
    // 120.420 N·m less 0.35 % is 119.999 N·m
    assert!(with("120.0").is_ok());
    let error = with("120.9").unwrap_err();
    assert!(matches!(&error, ReferenceError::Contradiction { row: 2, .. }), "{error}");
}
