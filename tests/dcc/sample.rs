//! Certificates of an invented laboratory, written by hand; their numbers trace to nothing.

use chrono::NaiveDate;
use leverarm_dcc::model::*;
use leverarm_dcc::{Digits, NonSiUnit, Unit, terms};

pub fn digits(list: &str) -> Vec<Digits> {
    list.split_whitespace().map(|word| Digits::new(word).unwrap()).collect()
}

pub fn series(unit: Unit, list: &str) -> Series {
    Series::new(unit, digits(list))
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn named(term: &str, name: &str, unit: Unit, list: &str) -> Named {
    Named { ref_types: vec![term.to_owned()], name: Text::en(name), series: series(unit, list) }
}

fn contact(name: &str, city: &str) -> Contact {
    Contact {
        name: name.to_owned(),
        mail: Some("bench@skeldravoe-torque.example".to_owned()),
        phone: None,
        location: Location {
            city: Some(city.to_owned()),
            further: Some(Text::en("Slipway 3 & \"4\"")),
            ..Location::default()
        },
    }
}

pub fn direction(direction: Direction) -> DirectionResult {
    DirectionResult {
        direction,
        nominal: series(Unit::NewtonMetre, "40 120 200"),
        reference: series(Unit::NewtonMetre, "40.200 120.420 200.630"),
        indicated: Some(series(Unit::NewtonMetre, "40 120 200")),
        deviation: Deviation {
            series: series(Unit::Percent, "\u{2212}0.50 -0.35 -0.31"),
            expanded: Some(Expanded {
                values: digits("0.86 0.74 0.70"),
                k: digits("2"),
                probability: digits("0.9545"),
                distribution: Some("normal".to_owned()),
            }),
            limits: Limits {
                tolerance_lower: Some(digits("-4.00 -4.00 -4.00")),
                tolerance_upper: Some(digits("4.00 4.00 4.00")),
                acceptance_lower: Some(digits("-3.14 -3.26 -3.30")),
                acceptance_upper: Some(digits("3.14 3.26 3.30")),
            },
            conformity: Some(Conformities {
                rule: Text::en("guarded: the deviation lies within the limits less U at each point"),
                norms: vec!["ISO/IEC 17025:2017".to_owned()],
                values: vec![Conformity::Pass, Conformity::Pass, Conformity::ConditionalPass],
            }),
        },
        further: vec![named(
            terms::STANDARD_DEVIATION,
            "Standard deviation",
            Unit::Percent,
            "0.08 0.05 0.03",
        )],
        readings: vec![ReadingsAt {
            point: 1,
            indicated: None,
            reference: series(Unit::NewtonMetre, "120.42 120.35 120.51 120.44 120.38"),
        }],
        remark: None,
    }
}

fn result(item: usize, state: State, name: &str) -> MeasurementResult {
    MeasurementResult {
        name: Text::en(name),
        item,
        state: Some(state),
        methods: vec![Method {
            ref_type: Some(terms::METHOD.to_owned()),
            name: Text::en("Calibration of hand torque tools"),
            description: None,
            norms: vec!["ISO 6789-2:2017".to_owned()],
            references: vec!["clause 6".to_owned()],
        }],
        software: vec![Software { name: Text::en("leverarm"), release: "v0.1.0".to_owned() }],
        equipment: vec![Equipment {
            ref_type: Some(terms::STANDARD_USED.to_owned()),
            name: Text::en("torque transducer, 250 N·m, with display"),
            certificate: Some(PreviousReport {
                referral: Text::en("Calibration certificate of the transducer"),
                number: "MI-T-2026-0320".to_owned(),
                sha256: "ab".repeat(32),
            }),
            maker: None,
            model: None,
            identifications: vec![Identification {
                issuer: Issuer::Laboratory,
                value: "RT-250".to_owned(),
                name: None,
            }],
        }],
        conditions: vec![
            Condition {
                ref_type: Some("basic_temperature".to_owned()),
                name: Text::en("Ambient temperature"),
                values: vec![
                    named("leverarm_start", "At the start", Unit::DegreeCelsius, "21.3"),
                    named("leverarm_end", "At the end", Unit::DegreeCelsius, "21.7"),
                ],
            },
            Condition {
                ref_type: Some("basic_humidityRelative".to_owned()),
                name: Text::en("Relative humidity"),
                values: vec![named("leverarm_start", "At the start", Unit::Percent, "45")],
            },
        ],
        directions: vec![direction(Direction::Clockwise), direction(Direction::CounterClockwise)],
    }
}

/// Everything that the model can say, once.
pub fn full() -> Certificate {
    let mut left = result(0, State::AfterAdjustment, "As left");
    for result in &mut left.directions {
        result.nominal.beside =
            Some(Beside { unit: NonSiUnit::PoundForceFoot, values: digits("29.5 88.5 147.5") });
    }
    Certificate {
        software: vec![Software { name: Text::en("leverarm"), release: "v0.1.0".to_owned() }],
        core: Core {
            country: "NO".to_owned(),
            languages: vec!["en".to_owned()],
            binding_languages: vec!["en".to_owned()],
            unique_identifier: "SK-2026-0412-2".to_owned(),
            identifications: vec![Identification {
                issuer: Issuer::Laboratory,
                value: "SK-2026-0412".to_owned(),
                name: Some(Text::en("Job")),
            }],
            received: Some(day("2026-11-16")),
            begin: day("2026-11-18"),
            end: day("2026-11-18"),
            place: Place::Laboratory,
            issued: Some(day("2026-11-20")),
            amendment: Some(Amendment { change: Change::Substituted, replaced: "SK-2026-0412-1".to_owned() }),
            previous: Some(PreviousReport {
                referral: Text::en("The certificate that this one replaces"),
                number: "SK-2026-0412-1".to_owned(),
                sha256: "0f".repeat(32),
            }),
        },
        items: vec![Item {
            name: Text::en("setting wrench, adjustable, graduated (II A)"),
            description: None,
            maker: Some("Brundholt".to_owned()),
            model: Some("BC 200".to_owned()),
            identifications: vec![
                Identification {
                    issuer: Issuer::Manufacturer,
                    value: "26-01743".to_owned(),
                    name: Some(Text::en("Serial number")),
                },
                Identification { issuer: Issuer::Owner, value: "HB-118".to_owned(), name: None },
            ],
            quantities: vec![named("basic_measurementRangeMax", "Maximum torque", Unit::NewtonMetre, "200")],
        }],
        laboratory: Laboratory { code: None, contact: contact("Skeldravoe Torque Laboratory", "Skeldravoe") },
        persons: vec![
            Person { name: "Eskil Marnburg".to_owned(), role: Some("manager".to_owned()), main_signer: true },
            Person {
                name: "Runa Hjaltevik".to_owned(),
                role: Some("technician".to_owned()),
                main_signer: false,
            },
        ],
        customer: contact("Haldervoe Bank Offshore Wind Site", "Haldervoe"),
        statements: vec![
            Statement {
                ref_type: Some(terms::CONFORMITY.to_owned()),
                declaration: Some(Text::en("The tool conforms under the rule of each point <as left>.")),
                conformity: Some(Conformity::Pass),
                ..Statement::default()
            },
            Statement {
                traceable: Some(true),
                norms: vec!["ISO/IEC 17025:2017".to_owned()],
                references: vec!["7.8.4.1 c".to_owned()],
                declaration: Some(Text::en("The results are traceable to the SI.")),
                date: Some(day("2026-11-20")),
                ..Statement::default()
            },
        ],
        results: vec![result(0, State::BeforeAdjustment, "As found"), left],
        comment: Some(Text::en("Demonstration, nothing of it is real.")),
        document: Some(Document::Embedded {
            file_name: "SK-2026-0412-2.pdf".to_owned(),
            media_type: "application/pdf".to_owned(),
            bytes: b"%PDF-1.7 not really".to_vec(),
        }),
    }
}

/// As little as the model allows, in two languages, one test point, the printed certificate by its hash.
pub fn small() -> Certificate {
    let mut certificate = full();
    let both = |words: &str| Text::en(words).and("no", format!("{words} (no)"));
    certificate.core.languages.push("no".to_owned());
    certificate.core.identifications.clear();
    certificate.core.received = None;
    certificate.core.issued = None;
    certificate.core.amendment = None;
    certificate.core.previous = None;
    certificate.software = vec![Software { name: both("leverarm"), release: "v0.1.0".to_owned() }];
    certificate.items.iter_mut().for_each(|item| {
        item.name = both("screwdriver");
        item.identifications.truncate(1);
        item.identifications[0].name = None;
        item.quantities.clear();
    });
    for contact in [&mut certificate.laboratory.contact, &mut certificate.customer] {
        contact.location.further = None;
    }
    certificate.statements.clear();
    certificate.comment = None;
    certificate.document =
        Some(Document::Referred { file_name: "small.pdf".to_owned(), sha256: "c4".repeat(32) });
    certificate.results.truncate(1);
    let result = &mut certificate.results[0];
    result.name = both("New");
    result.state = None;
    result.software.clear();
    result.equipment.clear();
    result.methods[0].name = both("Method");
    result.conditions.truncate(1);
    result.conditions[0].name = both("Temperature");
    result.conditions[0].values.truncate(1);
    result.conditions[0].values[0].name = both("Start");
    result.directions = vec![DirectionResult {
        direction: Direction::Clockwise,
        nominal: series(Unit::CentiNewtonMetre, "50"),
        reference: series(Unit::CentiNewtonMetre, "50.12"),
        indicated: None,
        deviation: Deviation {
            series: series(Unit::One, "-0.0024"),
            expanded: None,
            limits: Limits { tolerance_upper: Some(digits("0.06")), ..Limits::default() },
            conformity: None,
        },
        further: Vec::new(),
        readings: Vec::new(),
        remark: Some(both("a remark")),
    }];
    certificate
}
