//! Invented work of an invented laboratory, evaluated and composed as a real
//! run is: a click wrench as found, then as left.

use chrono::NaiveDate;
use leverarm::certificate::{CertificateView, ComposeError, Issue, Judged, compose};
use leverarm::metrology::decision::{DecisionRule, Sides};
use leverarm::metrology::evaluate::{Evaluation, evaluate};
use leverarm::metrology::quantity::{Celsius, Millimetres, Percent, Torque, TorqueUnit};
use leverarm::metrology::reading::{Direction, Reading, Recorded, Series, Status};
use leverarm::metrology::reference::{CalibrationCurve, CalibrationPoint, Reference};
use leverarm::metrology::rounding::RoundingRule;
use leverarm::metrology::rulebook::{Rulebook, embedded};
use leverarm::metrology::run::{
    Agreement, CertificateTerms, Condition, Customer, Environment, Laboratory, People, Run,
};
use leverarm::metrology::tool::{Tool, ToolClass, TorqueRange};

/// Deviations in percent about the mean of a point, the same in every series.
const SCATTER: [f64; 5] = [0.31, -0.22, 0.08, -0.41, 0.24];

pub struct Work {
    pub runs: Vec<Run>,
    pub rulebook: Rulebook,
    pub reference: Reference,
    pub number: String,
}

impl Work {
    /// As found and as left, under a built-in rulebook.
    pub fn new(rulebook: &str, rule: DecisionRule, directions: &[Direction]) -> Work {
        let text = embedded(rulebook).expect("a built-in rulebook").text;
        let mut found = run(rulebook, rule, Condition::AsFound, directions, [-4.3, -2.3, -1.7]);
        strike_one(&mut found);
        let mut left = run(rulebook, rule, Condition::AsLeft, directions, [-0.6, 0.2, 0.4]);
        left.terms.adjustment = Some("spring adjusted, ratchet cleaned".into());
        Work {
            runs: vec![found, left],
            rulebook: Rulebook::parse(text).expect("built-in rulebooks parse"),
            reference: reference(),
            number: "SK-2026-0412-1".into(),
        }
    }

    /// The certificate of all runs.
    pub fn certificate(&self) -> Result<CertificateView, ComposeError> {
        let evaluations: Vec<Evaluation> = self
            .runs
            .iter()
            .map(|run| evaluate(run, &self.rulebook, &self.reference).expect("it evaluates"))
            .collect();
        let judged: Vec<Judged> = self
            .runs
            .iter()
            .zip(&evaluations)
            .map(|(run, evaluation)| Judged {
                run,
                rulebook: &self.rulebook,
                reference: &self.reference,
                evaluation,
                warnings: &[],
            })
            .collect();
        let issue = Issue {
            curve: true,
            number: self.number.clone(),
            issued: day(2026, 11, 20),
            rounding: RoundingRule::default(),
            inputs: [("run.toml", "a6"), ("readings.csv", "1f"), ("rt-250.toml", "90")]
                .map(|(name, pair)| (name.to_owned(), pair.repeat(32)))
                .to_vec(),
        };
        compose(&judged, &issue)
    }
}

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).expect("a day of the calendar")
}

fn recorded(text: &str) -> Recorded {
    Recorded::parse(text).expect("a torque")
}

fn reference() -> Reference {
    let curve = |direction| {
        let points = [0.0, 20.0, 50.0, 100.0, 150.0, 200.0, 250.0]
            .map(|x| CalibrationPoint {
                indicated: Torque::from_newton_metres(x),
                applied: Torque::from_newton_metres(x * 1.0003 + 1e-7 * x * x),
                expanded: Torque::from_newton_metres(0.02 + 0.0004 * x),
                k: 2.0,
            })
            .to_vec();
        CalibrationCurve::new(direction, points).expect("a curve")
    };
    Reference {
        id: "RT-250".into(),
        description: "torque transducer with display".into(),
        serial: "T-88120".into(),
        certificate: "NV-T-26-0093".into(),
        calibrated_by: "Nordvik Institute of Mechanics".into(),
        traceability: None,
        calibrated_on: day(2026, 2, 3),
        due: day(2028, 2, 3),
        range: TorqueRange { lower: recorded("10 N·m"), upper: recorded("250 N·m") },
        resolution: recorded("0.01 N·m"),
        resolution_included: false,
        curves: vec![curve(Direction::Clockwise), curve(Direction::CounterClockwise)],
        drift_per_year: Some(Percent::new(0.05)),
        interpolation: None,
        temperature: None,
    }
}

fn tool(directions: &[Direction]) -> Tool {
    Tool {
        class: ToolClass::IIA,
        maker: "Holmgard Verktøy".into(),
        model: "HV 200".into(),
        serial: "26-01743".into(),
        range: TorqueRange { lower: recorded("40 N·m"), upper: recorded("200 N·m") },
        resolution: Some(recorded("0.5 N·m")),
        directions: directions.to_vec(),
        claim: None,
        drive: Some("1/2 in square".into()),
        head: Some("ratchet, insert 14x18".into()),
        length: Some(Millimetres(487.0)),
        uses: None,
        owner_mark: Some("WT-118".into()),
    }
}

fn run(
    rulebook: &str,
    rule: DecisionRule,
    condition: Condition,
    directions: &[Direction],
    means: [f64; 3],
) -> Run {
    Run {
        job: "SK-2026-0412".into(),
        condition,
        performed: day(2026, 11, 18),
        received: Some(day(2026, 11, 16)),
        place: Some("permanent laboratory, room 2".into()),
        rulebook: rulebook.into(),
        sides: Sides::Both,
        prior: None,
        agreement: Some(Agreement { rule, agreed: Some(day(2026, 11, 9)) }),
        tool: tool(directions),
        customer: Customer {
            name: Some("Skarvholm Offshore Wind Site, turbine service".into()),
            address: Some("Quay 1, tool store\nSkarvholm Harbour".into()),
            order: Some("4417".into()),
        },
        laboratory: Laboratory {
            name: Some("Skarvholm Torque Laboratory".into()),
            address: Some("Slipway 3, Skarvholm Harbour\nSkarvholm island".into()),
            contact: None,
        },
        people: People {
            technician: Some("Runa Tveit, technician".into()),
            approver: Some("Eskil Marnburg, head of laboratory".into()),
        },
        environment: Environment {
            temperature_start: Some(Celsius(21.2)),
            temperature_end: Some(Celsius(21.6)),
            humidity_start: Some(Percent::new(44.0)),
            humidity_end: Some(Percent::new(45.0)),
        },
        terms: CertificateTerms::default(),
        chain: None,
        study: None,
        readings: readings(directions, means),
    }
}

fn readings(directions: &[Direction], means: [f64; 3]) -> Vec<Reading> {
    let mut rows = Vec::new();
    for &direction in directions {
        let mut series = |series, position: &str, target: f64, mean: f64, count: usize| {
            for scatter in SCATTER.iter().cycle().take(count) {
                rows.push((series, position.to_owned(), direction, target, mean + scatter));
            }
        };
        series(Series::Preload, "", 200.0, means[2], 5);
        for (target, mean) in [40.0, 120.0, 200.0].into_iter().zip(means) {
            series(Series::Points, "", target, mean, 5);
        }
        for (i, shift) in [0.0, 0.2, -0.1, 0.1].into_iter().enumerate() {
            series(Series::Reproducibility, &format!("sequence {}", i + 1), 40.0, means[0] + shift, 5);
        }
        for (kind, size) in [(Series::Drive, 1.0), (Series::Interface, 0.4)] {
            for (angle, shift) in ["0°", "90°", "180°", "270°"].into_iter().zip([0.0, 0.3, 0.5, 0.2]) {
                series(kind, angle, 40.0, means[0] + size * shift, 10);
            }
        }
        series(Series::Grip, "10 mm inside", 40.0, means[0] - 0.1, 10);
        series(Series::Grip, "10 mm outside", 40.0, means[0] + 0.1, 10);
    }
    let numbered = rows.into_iter().zip(1..);
    numbered
        .map(|((series, position, direction, target, deviation), row)| Reading {
            row,
            series,
            position,
            direction,
            target: recorded(&format!("{target} N·m")),
            indicated: recorded(&format!("{target} N·m")),
            reference: Recorded::new(
                &format!("{:.2}", target / (1.0 + deviation / 100.0)),
                TorqueUnit::NewtonMetre,
            )
            .expect("a torque"),
            time: None,
            status: Status::Valid,
            note: String::new(),
            loading_time: None,
            trace: None,
        })
        .collect()
}

/// Puts a sixth reading between those of the first point, struck out.
fn strike_one(run: &mut Run) {
    let at = run.readings.iter().position(|r| r.series == Series::Points).expect("points") + 2;
    let mut extra = run.readings[at].clone();
    extra.reference = recorded("44.91 N·m");
    extra.status = Status::Void { reason: "grip slipped out of the support; repeated at once".into() };
    run.readings.insert(at, extra);
    for (reading, row) in run.readings.iter_mut().zip(1..) {
        reading.row = row;
    }
}
