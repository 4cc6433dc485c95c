//! A run without a fault, for tests to spoil in one way each.
#![allow(clippy::unwrap_used)]

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta};

use crate::decision::{DecisionRule, Sides};
use crate::finding::Finding;
use crate::quantity::{Celsius, Millimetres, Percent, Torque, TorqueUnit};
use crate::reading::{Direction, Reading, Recorded, Series, Status};
use crate::reference::{CalibrationCurve, CalibrationPoint, Reference, TemperatureEffect};
use crate::rulebook::{Rulebook, embedded};
use crate::run::{Agreement, CertificateTerms, Condition, Customer, Environment, Laboratory, People, Run};
use crate::tool::{Tool, ToolClass, TorqueRange};

/// Everything that a check looks at.
#[derive(Debug)]
pub(super) struct Sample {
    pub run: Run,
    pub rulebook: Rulebook,
    pub reference: Reference,
}

impl Sample {
    /// A click wrench of 40 N·m to 200 N·m with every series measured in the run.
    pub fn good() -> Sample {
        let rulebook = Rulebook::parse(embedded("iso-6789-2").unwrap().text).unwrap();
        Sample { run: run(), rulebook, reference: reference() }
    }

    pub fn findings(&self) -> Vec<Finding> {
        super::check(&self.run, &self.rulebook, &self.reference)
    }

    /// The names of the checks that found something, each once, sorted.
    pub fn names(&self) -> Vec<&'static str> {
        let mut names: Vec<&str> = self.findings().iter().map(|f| f.check.name).collect();
        names.sort_unstable();
        names.dedup();
        names
    }

    /// The readings of a series at a target, to be spoiled.
    pub fn readings(&mut self, series: Series, target: f64) -> Vec<&mut Reading> {
        let at = |r: &&mut Reading| r.series == series && r.target.value() == target;
        self.run.readings.iter_mut().filter(at).collect()
    }

    /// Writes these torques into the column of the reference.
    pub fn shows(&mut self, series: Series, target: f64, values: &[&str]) {
        for (reading, value) in self.readings(series, target).into_iter().zip(values) {
            reading.reference = nm(value);
        }
    }

    /// Keeps only some readings, and numbers the rows anew.
    pub fn keep(&mut self, mut which: impl FnMut(&Reading) -> bool) {
        self.run.readings.retain(|r| which(r));
        self.number();
    }

    /// Numbers the rows in their order.
    pub fn number(&mut self) {
        for (i, reading) in self.run.readings.iter_mut().enumerate() {
            reading.row = u32::try_from(i).unwrap() + 1;
        }
    }
}

pub(super) fn nm(digits: &str) -> Recorded {
    Recorded::new(digits, TorqueUnit::NewtonMetre).unwrap()
}

pub(super) fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

pub(super) fn at(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

pub(super) fn void(reason: &str) -> Status {
    Status::Void { reason: reason.to_owned() }
}

/// Scatter in hundredths of a percent: neither rising nor falling, without an outlier.
const SCATTER: [i32; 10] = [12, -31, 22, -5, 33, -17, 3, -26, 28, -9];

/// Appends a sequence of readings, each a little different from every other sequence.
fn append(readings: &mut Vec<Reading>, series: Series, position: &str, target: i32, count: usize) {
    let sequence = i32::try_from(readings.len()).unwrap();
    for i in 0..count {
        let row = readings.len();
        let scatter = SCATTER[(i + row / 10) % SCATTER.len()];
        // Hundredths of a newton metre: a deviation of about one percent, with scatter.
        let hundredths = target * 101 + target * scatter / 100 + sequence % 7;
        readings.push(Reading {
            row: u32::try_from(row).unwrap() + 1,
            series,
            position: position.to_owned(),
            direction: Direction::Clockwise,
            target: nm(&target.to_string()),
            indicated: nm(&target.to_string()),
            reference: nm(&format!("{}.{:02}", hundredths / 100, hundredths % 100)),
            time: Some(
                at("2026-11-18T08:00:00+01:00") + TimeDelta::seconds(25 * i64::try_from(row).unwrap()),
            ),
            status: Status::Valid,
            note: String::new(),
            loading_time: None,
            trace: None,
        });
    }
}

fn all_readings() -> Vec<Reading> {
    let mut readings = Vec::new();
    append(&mut readings, Series::Preload, "", 200, 5);
    for target in [40, 120, 200] {
        append(&mut readings, Series::Points, "", target, 5);
    }
    for position in ["1", "2", "3", "4"] {
        append(&mut readings, Series::Reproducibility, position, 40, 5);
    }
    for series in [Series::Drive, Series::Interface] {
        for position in ["0°", "90°", "180°", "270°"] {
            append(&mut readings, series, position, 40, 10);
        }
    }
    for position in ["inside", "outside"] {
        append(&mut readings, Series::Grip, position, 40, 10);
    }
    readings
}

fn tool() -> Tool {
    Tool {
        class: ToolClass::IIA,
        maker: "Invented".to_owned(),
        model: "A 200".to_owned(),
        serial: "0417".to_owned(),
        range: TorqueRange { lower: nm("40"), upper: nm("200") },
        resolution: Some(nm("0.2")),
        directions: vec![Direction::Clockwise],
        claim: None,
        drive: Some("1/2 in square".to_owned()),
        head: Some("ratchet, insert 14x18".to_owned()),
        length: Some(Millimetres(487.0)),
        uses: None,
        owner_mark: None,
    }
}

fn run() -> Run {
    Run {
        job: "J-1".to_owned(),
        condition: Condition::AsFound,
        performed: day(2026, 11, 18),
        received: Some(day(2026, 11, 16)),
        place: Some("permanent laboratory".to_owned()),
        rulebook: "iso-6789-2".to_owned(),
        sides: Sides::Both,
        prior: None,
        agreement: Some(Agreement { rule: DecisionRule::GUARDED, agreed: Some(day(2026, 11, 10)) }),
        tool: tool(),
        customer: Customer {
            name: Some("A customer".to_owned()),
            address: Some("Quay 1".to_owned()),
            order: None,
        },
        laboratory: Laboratory {
            name: Some("A laboratory".to_owned()),
            address: Some("Slipway 3".to_owned()),
            contact: None,
        },
        people: People { technician: Some("R. One".to_owned()), approver: Some("E. Other".to_owned()) },
        environment: Environment {
            temperature_start: Some(Celsius(20.9)),
            temperature_end: Some(Celsius(21.4)),
            humidity_start: Some(Percent::new(45.0)),
            humidity_end: Some(Percent::new(46.0)),
        },
        terms: CertificateTerms { number: Some("C-1".to_owned()), ..CertificateTerms::default() },
        chain: None,
        study: None,
        readings: all_readings(),
    }
}

/// A curve over these indications, each with an expanded uncertainty of so many percent.
pub(super) fn curve(direction: Direction, indications: &[f64], percent: f64) -> CalibrationCurve {
    let point = |x: &f64| CalibrationPoint {
        indicated: Torque::from_newton_metres(*x),
        applied: Torque::from_newton_metres(x * 1.0005),
        expanded: Torque::from_newton_metres(x * percent / 100.0),
        k: 2.0,
    };
    CalibrationCurve::new(direction, indications.iter().map(point).collect()).unwrap()
}

fn reference() -> Reference {
    Reference {
        id: "R-1".to_owned(),
        description: "torque transducer, 250 N·m".to_owned(),
        serial: "88".to_owned(),
        certificate: "K-2026-1".to_owned(),
        calibrated_by: "An institute".to_owned(),
        traceability: Some("SI, through the national standard".to_owned()),
        calibrated_on: day(2026, 3, 13),
        due: day(2028, 3, 12),
        range: TorqueRange { lower: nm("5"), upper: nm("250") },
        resolution: nm("0.01"),
        resolution_included: false,
        curves: vec![curve(Direction::Clockwise, &[5.0, 25.0, 50.0, 100.0, 150.0, 200.0, 250.0], 0.2)],
        drift_per_year: Some(Percent::new(0.05)),
        interpolation: None,
        temperature: Some(TemperatureEffect { per_kelvin: Percent::new(0.01), calibrated_at: Celsius(21.0) }),
    }
}
