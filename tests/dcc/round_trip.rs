//! What is written is read back, digit by digit.

use leverarm_dcc::model::*;
use leverarm_dcc::read::Column;
use leverarm_dcc::{Digits, Unit, read, terms, write};
use proptest::prelude::*;

use super::sample::{digits, full, small};

fn with_term<'d>(columns: &'d [Column], term: &str) -> &'d Column {
    columns.iter().find(|column| column.terms.iter().any(|known| known == term)).unwrap()
}

#[test]
fn the_full_certificate_is_read_back() {
    let dcc = read(&write(&full()).unwrap()).unwrap();
    assert_eq!(dcc.schema_version, "3.3.0");
    let admin = &dcc.admin;
    assert_eq!(admin.unique_identifier, "SK-2026-0412-2");
    assert_eq!(admin.replaces.as_deref(), Some("SK-2026-0412-1"));
    assert_eq!(admin.received.unwrap().to_string(), "2026-11-16");
    assert_eq!(admin.issued.unwrap().to_string(), "2026-11-20");
    assert_eq!(admin.laboratory.words(), "Skeldravoe Torque Laboratory");
    assert_eq!(admin.customer.words(), "Haldervoe Bank Offshore Wind Site");
    assert_eq!(admin.items[0].maker.words(), "Brundholt");
    assert_eq!(admin.items[0].identifications[1].issuer, "owner");
    assert_eq!(
        admin.statements[0].declaration.words(),
        "The tool conforms under the rule of each point <as left>."
    );
    assert_eq!(admin.statements[0].conformity.as_deref(), Some("pass"));
    assert_eq!(dcc.document().unwrap().unwrap().bytes, b"%PDF-1.7 not really");
    assert_eq!(dcc.conditions.len(), 4);
    assert_eq!(dcc.conditions[2].state.as_deref(), Some("afterAdjustment"));
    assert_eq!(dcc.conditions[0].columns[1].values, digits("21.7"));
    // two conditions, two directions, each with a table of points and one of readings
    assert_eq!(dcc.tables.len(), 8);
    let table = &dcc.tables[0];
    let deviation = with_term(&table.columns, terms::DEVIATION);
    assert_eq!(deviation.values, digits("-0.50 -0.35 -0.31"));
    assert_eq!(deviation.units, [r"\percent"]);
    let expanded = deviation.expanded.as_ref().unwrap();
    assert_eq!((&expanded.values, &expanded.k), (&digits("0.86 0.74 0.70"), &digits("2")));
    assert_eq!(expanded.probability, digits("0.9545"));
    assert_eq!(deviation.meta[0].conformity, ["pass", "pass", "conditionalPass"]);
    assert!(deviation.meta[0].declaration.words().starts_with("guarded"));
    let lower = with_term(&deviation.meta[0].columns, "basic_acceptanceLimitLower");
    assert_eq!(lower.values, digits("-3.14 -3.26 -3.30"));
    let nominal = with_term(&dcc.tables[4].columns, terms::NOMINAL);
    assert_eq!(nominal.values, digits("40 120 200"));
    assert_eq!(
        (&nominal.beside[0].units[0][..], &nominal.beside[0].values),
        ("|lbf.ft", &digits("29.5 88.5 147.5"))
    );
}

#[test]
fn the_small_certificate_is_read_back() {
    let dcc = read(&write(&small()).unwrap()).unwrap();
    assert_eq!(dcc.document().unwrap(), None);
    let printed = &dcc.admin.statements[0];
    assert_eq!(printed.terms, [terms::PRINTED]);
    assert_eq!(printed.references, ["small.pdf".to_owned(), format!("SHA-256:{}", "c4".repeat(32))]);
    let reference = with_term(&dcc.tables[0].columns, terms::REFERENCE_VALUE);
    assert_eq!((&reference.units[0][..], &reference.values), (r"\centi\newton\metre", &digits("50.12")));
    assert!(dcc.admin.items[0].name.is("screwdriver (no)"));
}

#[test]
fn the_same_certificate_gives_the_same_bytes() {
    assert_eq!(write(&full()).unwrap(), write(&full()).unwrap());
}

/// Our own example files, which are valid against the schema (tests/dcc/independent.py).
#[test]
fn the_examples_are_read() {
    let dcc = read(include_bytes!("example.xml")).unwrap();
    assert_eq!(dcc.admin.unique_identifier, "EXAMPLELAB-2026-000123");
    let error = with_term(&dcc.tables[0].columns, terms::MEASUREMENT_ERROR);
    assert_eq!(error.values, digits("-0.200 -0.420 -0.630"));
    assert_eq!(error.expanded.as_ref().unwrap().values, digits("0.086 0.247 0.405"));
    let dcc = read(include_bytes!("minimal.xml")).unwrap();
    let only = &dcc.tables[0].columns[0];
    assert_eq!((&only.values, &only.units[0][..]), (&digits("40.2"), r"\newton\metre"));
    assert_eq!(only.expanded.as_ref().unwrap().values, digits("0.086"));
}

fn number() -> impl Strategy<Value = Digits> {
    (any::<bool>(), 0_u32..1_000_000, 0_usize..5).prop_map(|(minus, n, places)| {
        let text = format!("{n:06}");
        let (whole, fraction) = text.split_at(6 - places);
        let dot = if places > 0 { "." } else { "" };
        Digits::new(&format!("{}{whole}{dot}{fraction}", if minus { "-" } else { "" })).unwrap()
    })
}

/// Texts that a person could type, with all that XML must escape.
fn words() -> impl Strategy<Value = String> {
    "[a-zA-Z&<>\"'\\]·é漢]([ a-zA-Z&<>\"'\\]·é漢]{0,20}[a-z&<>])?"
        .prop_map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_numbers_and_words_come_back(
        rows in prop::collection::vec((number(), number(), number(), 0_usize..6), 1..12),
        name in words(),
        remark in words(),
        bytes in prop::collection::vec(any::<u8>(), 1..200),
    ) {
        let mut certificate = full();
        let column = |pick: fn(&(Digits, Digits, Digits, usize)) -> Digits| rows.iter().map(pick).collect::<Vec<_>>();
        let positive = |digits: Digits| Digits::new(digits.as_str().trim_start_matches('-')).unwrap();
        let result = &mut certificate.results[0].directions[0];
        result.nominal = Series::new(Unit::NewtonMetre, column(|row| row.0.clone()));
        result.reference = Series::new(Unit::KiloNewtonMetre, column(|row| row.1.clone()));
        result.indicated = None;
        result.further.clear();
        result.readings.clear();
        result.remark = Some(Text::en(remark.clone()));
        let expanded: Vec<Digits> = column(|row| row.1.clone()).into_iter().map(positive).collect();
        let verdicts: Vec<Conformity> = rows.iter().map(|row| Conformity::ALL[row.3]).collect();
        result.deviation = Deviation {
            series: Series::new(Unit::Percent, column(|row| row.2.clone())),
            expanded: Some(Expanded { values: expanded.clone(), k: digits("2.00"), probability: digits("0.95"), distribution: None }),
            limits: Limits::default(),
            conformity: Some(Conformities { rule: Text::en(name.clone()), norms: Vec::new(), values: verdicts.clone() }),
        };
        certificate.items[0].name = Text::en(name.clone());
        certificate.document = Some(Document::Embedded { file_name: name.clone(), media_type: "a/b".to_owned(), bytes: bytes.clone() });
        let dcc = read(&write(&certificate).unwrap()).unwrap();
        let table = &dcc.tables[0];
        prop_assert_eq!(&with_term(&table.columns, terms::NOMINAL).values, &column(|row| row.0.clone()));
        prop_assert_eq!(&with_term(&table.columns, terms::REFERENCE_VALUE).values, &column(|row| row.1.clone()));
        let deviation = with_term(&table.columns, terms::DEVIATION);
        prop_assert_eq!(&deviation.values, &column(|row| row.2.clone()));
        prop_assert_eq!(&deviation.expanded.as_ref().unwrap().values, &expanded);
        let read_verdicts: Vec<Conformity> = deviation.meta[0].conformity.iter().map(|w| Conformity::parse(w).unwrap()).collect();
        prop_assert_eq!(read_verdicts, verdicts);
        prop_assert_eq!(dcc.admin.items[0].name.words(), &name);
        let document = dcc.document().unwrap().unwrap();
        prop_assert_eq!((document.file_name, document.bytes), (name, bytes));
    }
}
