//! A run in code, for the tests that call the whole pipeline: a setting wrench on an ideal or a
//! given reference. Invented throughout, so never an oracle by itself.

use chrono::NaiveDate;
use leverarm_metrology::decision::{DecisionRule, Sides};
use leverarm_metrology::quantity::{Celsius, Percent, Torque, TorqueUnit};
use leverarm_metrology::reading::{Direction, Reading, Recorded, Series, Status};
use leverarm_metrology::reference::{CalibrationCurve, CalibrationPoint, Reference};
use leverarm_metrology::rulebook::{Rulebook, embedded};
use leverarm_metrology::run::{
    Agreement, CertificateTerms, Condition, Customer, Environment, Laboratory, People, Run,
};
use leverarm_metrology::tool::{Tool, ToolClass, TorqueRange};

/// A built-in rulebook.
pub fn rulebook(name: &str) -> Rulebook {
    Rulebook::parse(embedded(name).expect("a built-in rulebook").text).expect("a sound rulebook")
}

/// A torque as digits, with enough of them to bring the number back.
pub fn recorded(value: f64, unit: TorqueUnit) -> Recorded {
    Recorded::new(&format!("{value:.18}"), unit).unwrap()
}

/// A torque in newton metres, as digits.
pub fn newton_metres(value: f64) -> Recorded {
    recorded(value, TorqueUnit::NewtonMetre)
}

/// The same torque, written in another unit.
pub fn rewritten(torque: Recorded, unit: TorqueUnit) -> Recorded {
    recorded(torque.torque().in_unit(unit), unit)
}

fn day(month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, month, day).unwrap()
}

/// A reference calibrated clockwise, by lines of indicated and applied torque and expanded
/// uncertainty (k = 2) in newton metres.
pub fn reference(lines: &[(f64, f64, f64)]) -> Reference {
    let torque = Torque::from_newton_metres;
    let points = lines
        .iter()
        .map(|&(indicated, applied, expanded)| CalibrationPoint {
            indicated: torque(indicated),
            applied: torque(applied),
            expanded: torque(expanded),
            k: 2.0,
        })
        .collect();
    let (lower, upper) = (lines[0].0, lines[lines.len() - 1].0);
    Reference {
        id: "R-1".into(),
        description: "torque transducer".into(),
        serial: "1".into(),
        certificate: "C-1".into(),
        calibrated_by: "somebody".into(),
        traceability: None,
        calibrated_on: day(3, 1),
        due: NaiveDate::from_ymd_opt(2028, 3, 1).unwrap(),
        range: TorqueRange { lower: newton_metres(lower), upper: newton_metres(upper) },
        resolution: newton_metres(0.01),
        resolution_included: true,
        curves: vec![CalibrationCurve::new(Direction::Clockwise, points).unwrap()],
        drift_per_year: Some(Percent::new(0.05)),
        interpolation: None,
        temperature: None,
    }
}

/// A reference that needs no correction, with 0.2 % of expanded uncertainty from 5 N·m up.
pub fn ideal_reference() -> Reference {
    let lines = [0.0, 5.0, 20.0, 50.0, 100.0, 200.0, 400.0, 800.0];
    reference(&lines.map(|x: f64| (x, x, 0.002 * x.max(5.0))))
}

/// A run of one tool without any reading.
pub fn run(class: ToolClass, lower: f64, upper: f64, resolution: Option<f64>) -> Run {
    Run {
        job: "J-1".into(),
        condition: Condition::AsFound,
        performed: day(11, 18),
        received: None,
        place: None,
        rulebook: "iso-6789-2".into(),
        agreement: None,
        sides: Sides::Both,
        prior: None,
        tool: Tool {
            class,
            maker: "somebody".into(),
            model: "M".into(),
            serial: "1".into(),
            range: TorqueRange { lower: newton_metres(lower), upper: newton_metres(upper) },
            resolution: resolution.map(newton_metres),
            directions: vec![Direction::Clockwise],
            claim: None,
            drive: None,
            head: None,
            length: None,
            uses: None,
            owner_mark: None,
        },
        customer: Customer::default(),
        laboratory: Laboratory::default(),
        people: People::default(),
        environment: Environment {
            temperature_start: Some(Celsius(21.0)),
            temperature_end: Some(Celsius(21.4)),
            ..Environment::default()
        },
        terms: CertificateTerms::default(),
        chain: None,
        study: None,
        readings: Vec::new(),
    }
}

/// Agrees on a decision rule before the readings.
pub fn agreed(mut run: Run, rule: DecisionRule) -> Run {
    run.agreement = Some(Agreement { rule, agreed: Some(day(11, 1)) });
    run
}

/// Appends a clockwise reading: the tool set to its target, what the reference showed.
pub fn push(run: &mut Run, series: Series, position: &str, target: f64, shown: f64) {
    run.readings.push(Reading {
        row: u32::try_from(run.readings.len()).unwrap() + 1,
        series,
        position: position.into(),
        direction: Direction::Clockwise,
        target: newton_metres(target),
        indicated: newton_metres(target),
        reference: newton_metres(shown),
        time: None,
        status: Status::Valid,
        note: String::new(),
        loading_time: None,
        trace: None,
    });
}

/// The points of [`wrench`] in newton metres.
pub const TARGETS: [f64; 3] = [40.0, 120.0, 200.0];

/// A full calibration of an adjustable, graduated wrench of 40 N·m to 200 N·m: per point five
/// readings with these deviations in percent, and at the lowest point the four variations, whose
/// positions lie this many percent apart.
pub fn wrench(deviations: &[[f64; 5]; 3], variation: f64) -> Run {
    let mut run = run(ToolClass::IIA, 40.0, 200.0, Some(1.0));
    for (target, of_point) in TARGETS.into_iter().zip(deviations) {
        for deviation in of_point {
            let shown = target / (1.0 + deviation / 100.0);
            push(&mut run, Series::Points, "", target, shown);
        }
    }
    for (series, positions, readings) in [
        (Series::Reproducibility, 4, 5),
        (Series::Drive, 4, 10),
        (Series::Interface, 4, 10),
        (Series::Grip, 2, 10),
    ] {
        for position in 0..positions {
            for _ in 0..readings {
                let shown = TARGETS[0] * (1.0 + f64::from(position) * variation / 100.0);
                push(&mut run, series, &position.to_string(), TARGETS[0], shown);
            }
        }
    }
    run
}
