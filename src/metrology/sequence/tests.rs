//! A record that follows the sequence passes every check of points, preloads, counts, order and
//! variations, for every class under every rulebook.
#![allow(clippy::unwrap_used)]

use chrono::NaiveDate;

use super::{Action, Moment, Readings, SequenceError, Step, Window, sequence, sequence_on};
use crate::budget::Variation;
use crate::check::check;
use crate::decision::{DecisionRule, Sides};
use crate::quantity::{Celsius, Percent, Torque, TorqueUnit};
use crate::reading::{Direction, Reading, Recorded, Series, Status};
use crate::reference::{CalibrationCurve, CalibrationPoint, Reference};
use crate::rulebook::{
    Denominator, DeviationDefinition, DeviationSign, EMBEDDED, Purpose, Rulebook, embedded,
};
use crate::run::{Agreement, CertificateTerms, Condition, Customer, Environment, Laboratory, People, Run};
use crate::study::TypeStudy;
use crate::tool::{Acting, Tool, ToolClass, TorqueRange};

const BOTH: [Direction; 2] = [Direction::Clockwise, Direction::CounterClockwise];

fn rulebook(name: &str) -> Rulebook {
    Rulebook::parse(embedded(name).unwrap().text).unwrap()
}

fn nm(digits: &str) -> Recorded {
    Recorded::new(digits, TorqueUnit::NewtonMetre).unwrap()
}

fn day(month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, month, day).unwrap()
}

fn tool(class: ToolClass, lower: Recorded, upper: Recorded, step: Recorded) -> Tool {
    Tool {
        class,
        maker: "Invented".into(),
        model: "A 200".into(),
        serial: "1".into(),
        range: TorqueRange { lower: if class.is_fixed() { upper } else { lower }, upper },
        resolution: class.has_scale().then_some(step),
        directions: BOTH.to_vec(),
        claim: None,
        drive: Some("1/2 in square".into()),
        head: Some("fixed square".into()),
        length: None,
        uses: None,
        owner_mark: None,
    }
}

fn study(tool: &Tool, widths: &[Variation]) -> TypeStudy {
    TypeStudy {
        id: "S-1".into(),
        maker: tool.maker.clone(),
        model: tool.model.clone(),
        tools: 10,
        concluded: day(1, 1),
        widths: widths.iter().map(|v| (*v, Percent::new(0.2))).collect(),
    }
}

fn reference(tool: &Tool) -> Reference {
    let top = tool.range.upper.torque().newton_metres() * 1.3;
    let point = |share: &f64| CalibrationPoint {
        indicated: Torque::from_newton_metres(top * share),
        applied: Torque::from_newton_metres(top * share),
        expanded: Torque::from_newton_metres(top * share * 0.002),
        k: 2.0,
    };
    let points: Vec<_> = [0.01, 0.05, 0.1, 0.3, 0.5, 0.8, 1.0].iter().map(point).collect();
    Reference {
        id: "R-1".into(),
        description: "torque transducer".into(),
        serial: "88".into(),
        certificate: "K-1".into(),
        calibrated_by: "An institute".into(),
        traceability: Some("SI".into()),
        calibrated_on: day(3, 13),
        due: NaiveDate::from_ymd_opt(2028, 3, 12).unwrap(),
        range: TorqueRange { lower: nm(&format!("{:.9}", top * 0.01)), upper: nm(&format!("{top:.9}")) },
        resolution: nm(&format!("{:.12}", top * 1e-6)),
        resolution_included: false,
        curves: BOTH.map(|d| CalibrationCurve::new(d, points.clone()).unwrap()).to_vec(),
        drift_per_year: Some(Percent::new(0.05)),
        interpolation: None,
        temperature: None,
    }
}

/// Scatter in hundredths of a percent.
const SCATTER: [i32; 10] = [12, -31, 22, -5, 33, -17, 3, -26, 28, -9];

fn fill(steps: &[Step]) -> Vec<Reading> {
    let mut readings: Vec<Reading> = Vec::new();
    for step in steps.iter().filter_map(Step::readings) {
        for _ in 0..step.count {
            let row = readings.len();
            let scatter = SCATTER[(row + row / 10) % SCATTER.len()] + i32::try_from(row % 7).unwrap();
            let shown = step.target.value() * (1.0 + f64::from(scatter) / 1e4);
            readings.push(Reading {
                row: u32::try_from(row).unwrap() + 1,
                series: step.series,
                position: step.position.clone(),
                direction: step.direction,
                target: step.target,
                indicated: step.target,
                reference: Recorded::new(&format!("{shown:.6}"), step.target.unit()).unwrap(),
                time: None,
                status: Status::Valid,
                note: String::new(),
                loading_time: None,
                trace: None,
            });
        }
    }
    readings
}

fn run(tool: &Tool, rulebook: &Rulebook, study: Option<TypeStudy>, steps: &[Step]) -> Run {
    let rule = match rulebook.purpose {
        Purpose::Calibration => DecisionRule::GUARDED,
        Purpose::Conformance => DecisionRule::EachReading,
    };
    let celsius = |t| Some(Celsius(t));
    Run {
        job: "J-1".into(),
        condition: Condition::AsFound,
        performed: day(11, 18),
        received: None,
        place: Some("permanent laboratory".into()),
        rulebook: rulebook.name.clone(),
        agreement: Some(Agreement { rule, agreed: Some(day(11, 1)) }),
        sides: Sides::Both,
        prior: None,
        tool: tool.clone(),
        customer: Customer { name: Some("C".into()), address: Some("Quay 1".into()), order: None },
        laboratory: Laboratory { name: Some("L".into()), address: Some("Slipway 3".into()), contact: None },
        people: People { technician: Some("R. One".into()), approver: Some("E. Other".into()) },
        environment: Environment {
            temperature_start: celsius(21.0),
            temperature_end: celsius(21.4),
            humidity_start: Some(Percent::new(45.0)),
            humidity_end: Some(Percent::new(46.0)),
        },
        terms: CertificateTerms { number: Some("C-1".into()), ..CertificateTerms::default() },
        chain: None,
        study,
        readings: fill(steps),
    }
}

/// Checks that what was done at the bench can fail, and what was typed beforehand cannot.
fn about_the_work(name: &str) -> bool {
    [
        "readings-none",
        "reading-",
        "direction-",
        "point",
        "preload",
        "variation",
        "study",
        "target",
        "indicated",
    ]
    .iter()
    .any(|start| name.starts_with(start))
        || name == "readings-too-few"
}

#[test]
fn a_record_that_follows_the_sequence_passes_the_checks() {
    let sizes = [
        (nm("40"), nm("200"), nm("0.2")),
        (nm("1"), nm("6.8"), nm("0.05")),
        (nm("4.0"), nm("33.9"), nm("0.1")),
        (nm("20"), nm("95"), nm("2.5")),
    ];
    for book in EMBEDDED {
        let rulebook = rulebook(book.name);
        for class in ToolClass::ALL {
            for (lower, upper, step) in sizes {
                let tool = tool(class, lower, upper, step);
                // ASME asks for 20 % of the maximum, which the last size does not reach down to.
                for study in
                    [None, Some(study(&tool, &Variation::ALL)), Some(study(&tool, &[Variation::Drive]))]
                {
                    let steps = sequence(&tool, &rulebook, study.as_ref()).unwrap();
                    let run = run(&tool, &rulebook, study, &steps);
                    let found = check(&run, &rulebook, &reference(&tool));
                    let wrong: Vec<_> = found.iter().filter(|f| about_the_work(f.check.name)).collect();
                    let reaches = tool.range.lower.value() <= 0.202 * tool.range.upper.value();
                    if rulebook.name == "asme-b107-300" && !class.is_fixed() && !reaches {
                        assert!(wrong.iter().all(|f| f.check.name == "point-missing"), "{wrong:?}");
                    } else {
                        assert!(wrong.is_empty(), "{} {class} {upper}: {wrong:?}", book.name);
                    }
                    let has_errors = found.iter().any(|f| f.severity() == crate::finding::Severity::Error);
                    assert!(!has_errors, "{found:?}");
                }
            }
        }
    }
}

fn of(steps: &[Step], series: Series) -> Vec<&Readings> {
    steps.iter().filter_map(Step::readings).filter(|r| r.series == series).collect()
}

#[test]
fn the_order_is_environment_preload_zero_points_variations_environment() {
    let mut tool = tool(ToolClass::IIA, nm("40"), nm("200"), nm("0.2"));
    tool.directions = vec![Direction::Clockwise];
    let steps = sequence(&tool, &rulebook("iso-6789-2"), None).unwrap();
    assert_eq!(steps.first().unwrap().action, Action::Environment(Moment::Start));
    assert_eq!(steps.last().unwrap().action, Action::Environment(Moment::End));
    let series: Vec<_> = steps.iter().filter_map(Step::readings).map(|r| (r.series, r.count)).collect();
    assert_eq!(
        series[..6],
        [
            (Series::Preload, 5),
            (Series::Zero, 1),
            (Series::Points, 5),
            (Series::Points, 5),
            (Series::Points, 5),
            (Series::Zero, 1),
        ]
    );
    assert_eq!(series[6..10], [(Series::Reproducibility, 5); 4]);
    assert_eq!(series[10..18], [(Series::Drive, 10), (Series::Interface, 10)].map(|s| [s; 4]).concat());
    assert_eq!(series[18..], [(Series::Grip, 10); 2]);
    // Cautions stand before the first load of a direction and nowhere else.
    let cautioned: Vec<_> = steps.iter().filter(|s| !s.cautions.is_empty()).collect();
    assert_eq!(cautioned.len(), 1);
    assert_eq!(cautioned[0].readings().unwrap().series, Series::Preload);
    let first = of(&steps, Series::Points)[0];
    assert_eq!((first.pull.unwrap().seconds_min, first.pull.unwrap().seconds_max), (1.5, None));
    let names = |series| of(&steps, series).iter().map(|r| r.position.clone()).collect::<Vec<_>>();
    assert_eq!(names(Series::Drive), ["0", "90", "180", "270"]);
    assert_eq!(names(Series::Grip), ["inside", "outside"]);
}

#[test]
fn a_screwdriver_has_no_loading_point_and_a_hexagon_turns_by_sixty_degrees() {
    let mut tool = tool(ToolClass::IID, nm("1"), nm("5"), nm("0.1"));
    tool.drive = Some("1/4 in hexagon".into());
    let steps = sequence(&tool, &rulebook("iso-6789-2"), None).unwrap();
    assert!(of(&steps, Series::Grip).is_empty());
    let drive: Vec<_> = of(&steps, Series::Drive).iter().map(|r| r.position.clone()).collect();
    assert_eq!(drive[..4], ["0", "60", "120", "180"]);
}

#[test]
fn a_study_stands_in_only_where_the_rulebook_lets_it() {
    let tool = tool(ToolClass::IIA, nm("40"), nm("200"), nm("0.2"));
    let book = rulebook("iso-6789-2");
    let drives = |study: &TypeStudy| of(&sequence(&tool, &book, Some(study)).unwrap(), Series::Drive).len();
    let whole = study(&tool, &[Variation::Drive]);
    assert_eq!(drives(&whole), 0);
    assert_eq!(drives(&TypeStudy { tools: 9, ..whole.clone() }), 8);
    assert_eq!(drives(&TypeStudy { model: "another".into(), ..whole.clone() }), 8);
    assert_eq!(drives(&TypeStudy { widths: vec![], ..whole }), 8);
}

#[test]
fn targets_are_round_where_they_may_be_and_marks_of_the_scale_in_any_case() {
    let sixty = |class, upper: &str, step: &str| {
        let tool = tool(class, nm("1"), nm(upper), nm(step));
        let steps = sequence(&tool, &rulebook("iso-6789-1"), None).unwrap();
        of(&steps, Series::Points)[1].target.to_string()
    };
    use ToolClass::{IC, IIA, IIC};
    assert_eq!(sixty(IIA, "200", "0.2"), "120 N·m");
    assert_eq!(sixty(IIA, "68", "0.2"), "41 N·m"); // 40.8
    assert_eq!(sixty(IIA, "95", "2.5"), "57.5 N·m"); // 57, where the scale has no mark
    assert_eq!(sixty(IC, "30.0", "0.1"), "18.0 N·m");
    assert_eq!(sixty(IIC, "7", "1"), "4.2 N·m"); // nothing is read on it
    assert_eq!(sixty(IC, "33.9", "0.1"), "20.5 N·m"); // 20.34
}

/// A published rule worked by hand: under ±4 % of the reference a set value of 100 may release from
/// 96.154 to 104.167.
#[test]
fn the_window_is_that_of_the_definition() {
    let definition = |sign, denominator| DeviationDefinition { sign, denominator };
    let hundred = Torque::from_newton_metres(100.0);
    use Denominator::{Reference as R, Tool as T};
    use DeviationSign::{ReferenceMinusTool as RT, ToolMinusReference as TR};
    for (sign, denominator, low, high) in [
        (TR, R, 96.153_846, 104.166_667),
        (RT, R, 96.153_846, 104.166_667),
        (TR, T, 96.0, 104.0),
        (RT, T, 96.0, 104.0),
    ] {
        let by = definition(sign, denominator);
        let of = |sides| Window::of(hundred, Percent::new(4.0), &by, sides).unwrap();
        let both = of(Sides::Both);
        let (lowest, highest) = (both.lowest.unwrap(), both.highest.unwrap());
        assert!((lowest.newton_metres() - low).abs() < 1e-6 && (highest.newton_metres() - high).abs() < 1e-6);
        // Each end has just the permissible deviation, and one side keeps the end that it limits.
        for (sides, share) in [(Sides::Upper, 4.0), (Sides::Lower, -4.0)] {
            let one = of(sides);
            let end = one.lowest.or(one.highest).unwrap();
            assert!(one.lowest.is_none() || one.highest.is_none());
            assert!((by.relative(hundred, end).unwrap().value() - share).abs() < 1e-9);
        }
    }
    assert_eq!(Window::of(hundred, Percent::new(100.0), &definition(TR, R), Sides::Both), None);
}

#[test]
fn what_cannot_be_done_is_said() {
    let book = rulebook("iso-6789-2");
    let mut none = tool(ToolClass::IIA, nm("40"), nm("200"), nm("1"));
    none.directions.clear();
    assert_eq!(sequence(&none, &book, None), Err(SequenceError::NoDirection));
    let upside_down = tool(ToolClass::IIA, nm("200"), nm("40"), nm("1"));
    assert!(matches!(sequence(&upside_down, &book, None), Err(SequenceError::Range { .. })));
    let mut bare = book.clone();
    bare.points.clear();
    let good = tool(ToolClass::IIA, nm("40"), nm("200"), nm("1"));
    assert!(matches!(sequence(&good, &bare, None), Err(SequenceError::NoPoints { .. })));
    bare = book.clone();
    bare.limits.clear();
    assert!(matches!(sequence(&good, &bare, None), Err(SequenceError::Limit(_))));
    let one = sequence_on(&good, &book, None, Sides::Upper).unwrap();
    assert!(of(&one, Series::Points).iter().all(|r| r.window.unwrap().highest.is_none()));
    assert_eq!(good.class.acting(), Acting::Setting);
}
