//! For each check the one change to the good run that provokes it, and it alone.

use chrono::TimeDelta;

use crate::budget::Variation;
use crate::check::sample::{Sample, at, curve, day, nm, void};
use crate::decision::{DecisionRule, RuleKind};
use crate::low_pass::{LowPass, Order, SignalChain};
use crate::quantity::{Celsius, Hertz, Millimetres, Percent, TorqueUnit};
use crate::reading::{Direction, LoadingTime, Reading, Recorded, Series};
use crate::run::{Condition, PriorStatement, StatedPrior};
use crate::study::TypeStudy;
use crate::tool::ToolClass;

type Spoil = fn(&mut Sample);

fn study(sample: &mut Sample) -> &mut TypeStudy {
    sample.keep(|r| r.series != Series::Drive);
    sample.run.study.insert(TypeStudy {
        id: "S-1".to_owned(),
        maker: "Invented".to_owned(),
        model: "A 200".to_owned(),
        tools: 12,
        concluded: day(2025, 9, 26),
        widths: vec![(Variation::Drive, Percent::new(0.4))],
    })
}

/// Appends a copy of readings, later and with new rows.
fn append(sample: &mut Sample, copies: Vec<Reading>) {
    let last = sample.run.readings.last().and_then(|r| r.time);
    for (i, mut copy) in copies.into_iter().enumerate() {
        copy.time = last.map(|t| t + TimeDelta::seconds(25 * (i64::try_from(i).unwrap_or(0) + 1)));
        sample.run.readings.push(copy);
    }
    sample.number();
}

fn points(sample: &Sample) -> Vec<Reading> {
    sample.run.readings.iter().filter(|r| r.series == Series::Points).cloned().collect()
}

fn zero(sample: &mut Sample, shown: &str) {
    let mut zero = sample.run.readings[0].clone();
    zero.series = Series::Zero;
    (zero.target, zero.indicated, zero.reference) = (nm("0"), nm("0"), nm(shown));
    append(sample, vec![zero]);
}

fn only(sample: &mut Sample, rules: Vec<RuleKind>) {
    sample.rulebook.decisions.value = rules;
}

fn filtered() -> SignalChain {
    SignalChain {
        instrument: "I-1".to_owned(),
        rate: Hertz(250.0),
        filter: Some(LowPass { order: Order::Second, cut_off: Hertz(50.0) }),
        journal: None,
    }
}

pub(super) const CASES: &[(&str, Spoil)] = &[
    // tool
    ("tool-range", |s| {
        s.run.tool.class = ToolClass::IIB;
        s.run.tool.resolution = None;
        for row in &mut s.rulebook.points {
            row.readings = 5;
        }
    }),
    ("tool-range", |s| s.run.tool.range.lower = nm("0")),
    ("tool-range", |s| s.run.tool.range.upper = nm("4.0")),
    ("tool-resolution", |s| s.run.tool.resolution = Some(nm("0"))),
    ("tool-resolution", |s| s.run.tool.resolution = Some(nm("-0.2"))),
    ("tool-resolution-missing", |s| s.run.tool.resolution = None),
    ("tool-resolution-unexpected", |s| {
        s.run.tool.class = ToolClass::IIC;
        for row in &mut s.rulebook.points {
            row.readings = 5;
        }
    }),
    ("tool-claim", |s| s.run.tool.claim = Some(Percent::new(0.0))),
    ("tool-claim", |s| s.run.tool.claim = Some(Percent::new(f64::NAN))),
    ("tool-length", |s| s.run.tool.length = Some(Millimetres(0.0))),
    ("tool-class-not-in-rulebook", |s| s.rulebook.limits.clear()),
    ("tool-identity", |s| s.run.tool.serial = " ".to_owned()),
    ("tool-identity", |s| s.run.tool.maker = "?".to_owned()),
    ("tool-head", |s| {
        s.run.tool.drive = None;
        s.run.tool.head = Some("-".to_owned());
    }),
    ("tool-claim-not-governing", |s| s.run.tool.claim = Some(Percent::new(5.0))),
    ("tool-claim-not-governing", |s| {
        s.run.tool.claim = Some(Percent::new(3.0));
        s.rulebook.claim_governs.value = false;
    }),
    // reference
    ("reference-range", |s| s.reference.range.lower = nm("-5")),
    ("reference-range", |s| s.reference.range.lower = nm("500")),
    ("reference-figures", |s| s.reference.drift_per_year = Some(Percent::new(-0.1))),
    ("reference-figures", |s| s.reference.interpolation = Some(Percent::new(f64::NAN))),
    ("reference-figures", |s| s.reference.resolution = nm("0")),
    ("reference-dates", |s| s.reference.calibrated_on = day(2026, 12, 1)),
    ("reference-dates", |s| {
        s.reference.due = day(2025, 12, 1);
    }),
    ("reference-overdue", |s| s.reference.due = day(2026, 11, 17)),
    ("reference-identity", |s| s.reference.certificate.clear()),
    ("reference-traceability", |s| s.reference.traceability = None),
    ("reference-due-soon", |s| s.reference.due = day(2026, 12, 1)),
    ("reference-due-soon", |s| s.reference.due = s.run.performed),
    ("reference-direction", |s| s.reference.curves[0].direction = Direction::CounterClockwise),
    ("reading-outside-reference", |s| s.reference.range.upper = nm("200")),
    ("reading-outside-reference", |s| {
        s.reference.curves = vec![curve(Direction::Clockwise, &[40.5, 100.0, 250.0], 0.2)];
    }),
    ("reference-share", |s| {
        s.reference.curves = vec![curve(Direction::Clockwise, &[5.0, 100.0, 250.0], 1.1)];
    }),
    ("reference-drift-unknown", |s| s.reference.drift_per_year = None),
    ("reference-interpolation-unknown", |s| {
        s.reference.curves = vec![curve(Direction::Clockwise, &[5.0, 250.0], 0.2)];
    }),
    ("reference-temperature", |s| {
        if let Some(effect) = &mut s.reference.temperature {
            (effect.per_kelvin, effect.calibrated_at) = (Percent::ZERO, Celsius(27.0));
        }
    }),
    // environment
    ("environment-impossible", |s| {
        (s.run.environment.temperature_start, s.run.environment.temperature_end) =
            (Some(Celsius(70.0)), Some(Celsius(71.0)));
        s.reference.temperature = None;
    }),
    ("environment-impossible", |s| s.run.environment.humidity_end = Some(Percent::new(145.0))),
    ("environment-missing", |s| s.run.environment.temperature_end = None),
    ("environment-temperature", |s| {
        (s.run.environment.temperature_start, s.run.environment.temperature_end) =
            (Some(Celsius(17.0)), Some(Celsius(17.9)));
    }),
    ("environment-change", |s| s.run.environment.temperature_end = Some(Celsius(23.0))),
    ("environment-humidity", |s| s.run.environment.humidity_start = Some(Percent::new(92.0))),
    // readings
    ("reading-not-positive", |s| s.shows(Series::Points, 120.0, &["-121.10"])),
    ("reading-implausible", |s| s.shows(Series::Points, 120.0, &["12.11"])),
    ("reading-implausible", |s| {
        for reading in s.readings(Series::Points, 120.0) {
            // The display stood at pound-force feet.
            let shown = reading.reference.torque().in_unit(TorqueUnit::PoundForceFoot);
            if let Ok(slipped) = Recorded::new(&format!("{shown:.2}"), TorqueUnit::NewtonMetre) {
                reading.reference = slipped;
            }
        }
    }),
    ("target-outside-range", |s| {
        let mut extra = points(s).split_off(10);
        for (reading, shown) in extra.iter_mut().zip(["212.31", "212.88", "211.97", "212.52", "212.05"]) {
            (reading.target, reading.indicated, reading.reference) = (nm("210"), nm("210"), nm(shown));
        }
        append(s, extra);
    }),
    ("reading-direction", |s| {
        s.run.tool.directions.clear();
    }),
    ("void-without-reason", |s| {
        let mut extra = points(s).split_off(14);
        extra[0].status = void(" ");
        append(s, extra);
    }),
    // points
    ("readings-none", |s| s.keep(|r| r.series != Series::Points)),
    ("reading-single", |s| {
        let mut seen = 0;
        s.keep(|r| {
            r.series != Series::Points || r.target.value() != 120.0 || {
                seen += 1;
                seen == 1
            }
        });
    }),
    ("direction-not-measured", |s| s.run.tool.directions.push(Direction::CounterClockwise)),
    ("point-missing", |s| s.keep(|r| r.series != Series::Points || r.target.value() != 120.0)),
    ("readings-too-few", |s| {
        let mut seen = 0;
        s.keep(|r| {
            r.series != Series::Points || r.target.value() != 120.0 || {
                seen += 1;
                seen < 5
            }
        });
    }),
    ("points-order", |s| {
        s.run.readings[5..20].rotate_left(5);
        let times: Vec<_> =
            (0..).map(|i| at("2026-11-18T08:00:00Z") + TimeDelta::seconds(25 * i)).take(200).collect();
        for (reading, time) in s.run.readings.iter_mut().zip(times) {
            reading.time = Some(time);
        }
        s.number();
    }),
    // preloads
    ("preloads-too-few", |s| {
        let mut seen = 0;
        s.keep(|r| {
            r.series != Series::Preload || {
                seen += 1;
                seen < 4
            }
        });
    }),
    ("preloads-late", |s| {
        let preload = s.run.readings.remove(0);
        append(s, vec![preload]);
    }),
    ("preloads-not-at-maximum", |s| {
        for reading in s.readings(Series::Preload, 200.0) {
            reading.target = nm("180");
        }
    }),
    // times
    ("times-backward", |s| s.run.readings[7].time = Some(at("2026-11-18T07:00:00+01:00"))),
    ("received-after-performed", |s| s.run.received = Some(day(2026, 11, 19))),
    ("times-off-day", |s| s.run.performed = day(2026, 11, 20)),
    ("times-off-day", |s| {
        s.run.received = Some(day(2026, 11, 19));
        s.run.performed = day(2026, 11, 19);
    }),
    ("times-too-close", |s| {
        s.run.readings[7].time = s.run.readings[6].time.map(|t| t + TimeDelta::milliseconds(400))
    }),
    ("times-partial", |s| s.run.readings[7].time = None),
    // pulls
    ("pull-too-short", |s| {
        for (reading, seconds) in s.readings(Series::Points, 120.0).into_iter().zip(["1.5", "1.49", "1.2"]) {
            reading.loading_time = LoadingTime::new(seconds).ok();
        }
    }),
    ("pull-too-long", |s| {
        for row in &mut s.rulebook.pulls {
            row.seconds_max = Some(4.0);
        }
        s.readings(Series::Drive, 40.0)[3].loading_time = LoadingTime::new("4.1").ok();
    }),
    ("loading-time-missing", |s| {
        s.run.chain = Some(filtered());
        let points = s.run.readings.iter_mut().filter(|r| r.series == Series::Points);
        for (reading, seconds) in points.zip(["1.9", ""].into_iter().chain(std::iter::repeat("2.1"))) {
            reading.loading_time = LoadingTime::new(seconds).ok();
        }
    }),
    // variations and study
    ("variation-missing", |s| s.keep(|r| r.series != Series::Drive)),
    ("variation-missing", |s| {
        study(s).widths.clear();
    }),
    ("variation-positions", |s| s.keep(|r| r.series != Series::Drive || r.position != "90°")),
    ("variation-readings", |s| {
        let mut seen = 0;
        s.keep(|r| {
            r.series != Series::Grip || {
                seen += 1;
                seen < 20
            }
        });
    }),
    ("variation-not-at-lowest-point", |s| {
        for reading in s.readings(Series::Grip, 40.0) {
            (reading.target, reading.indicated) = (nm("41"), nm("41"));
        }
    }),
    ("study-width", |s| study(s).widths[0].1 = Percent::new(-0.4)),
    ("study-not-allowed", |s| {
        study(s);
        if let Some(budget) = &mut s.rulebook.budget {
            budget.study_tools_min = None;
        }
    }),
    ("study-tools", |s| study(s).tools = 9),
    ("study-model", |s| study(s).model = "A 300".to_owned()),
    ("study-later", |s| study(s).concluded = day(2026, 12, 1)),
    // paper
    ("technician-missing", |s| s.run.people.technician = None),
    ("approver-missing", |s| s.run.people.approver = Some("—".to_owned())),
    ("place-missing", |s| s.run.place = None),
    ("customer-missing", |s| s.run.customer.address = None),
    ("laboratory-missing", |s| s.run.laboratory.name = None),
    ("certificate-number-missing", |s| s.run.terms.number = None),
    ("amendment-change-missing", |s| s.run.terms.replaces = Some("C-0".to_owned())),
    ("amendment-replaces-itself", |s| {
        s.run.terms.replaces = Some("C-1".to_owned());
        s.run.terms.change = Some("the owner's number was wrong".to_owned());
    }),
    ("adjustment-unsaid", |s| s.run.condition = Condition::AsLeft),
    ("as-found-absent", |s| {
        s.run.condition = Condition::AsLeft;
        s.run.terms.adjustment = Some("spring set anew".to_owned());
    }),
    ("approver-is-technician", |s| s.run.people.approver = Some("r. one ".to_owned())),
    // prior
    ("prior-missing", |s| {
        s.rulebook.decisions.value = RuleKind::ALL.to_vec();
        if let Some(agreement) = &mut s.run.agreement {
            agreement.rule = DecisionRule::Capped { percent_max: 2.0 };
        }
    }),
    ("prior-impossible", |s| {
        s.run.prior = Some(StatedPrior {
            statement: PriorStatement::InTolerance(Percent::new(100.0)),
            source: "history".to_owned(),
        });
    }),
    // agreement
    ("decision-not-allowed", |s| only(s, vec![RuleKind::Simple, RuleKind::EachReading])),
    ("decision-missing", |s| s.run.agreement = None),
    ("decision-agreed-missing", |s| {
        if let Some(agreement) = &mut s.run.agreement {
            agreement.agreed = None;
        }
    }),
    ("decision-agreed-late", |s| {
        if let Some(agreement) = &mut s.run.agreement {
            agreement.agreed = Some(day(2026, 11, 19));
        }
    }),
    // fitness
    ("display-step-coarse", |s| s.run.tool.resolution = Some(nm("1"))),
    ("zero-off", |s| zero(s, "-0.05")),
    // scatter
    ("outlier", |s| s.shows(Series::Points, 120.0, &["121.10", "121.24", "123.60", "121.17", "121.05"])),
    ("readings-identical", |s| s.shows(Series::Points, 120.0, &["121.13"; 5])),
    ("drift-in-series", |s| {
        s.shows(Series::Points, 120.0, &["121.01", "121.14", "121.22", "121.41", "121.49"])
    }),
    ("drift-in-series", |s| {
        s.shows(Series::Points, 120.0, &["121.51", "121.44", "121.32", "121.33", "121.19"])
    }),
    ("reading-outside-mean-inside", |s| {
        s.shows(Series::Points, 120.0, &["125.11", "123.74", "124.62", "123.48", "124.33"])
    }),
    // digits
    ("digits-of-tool", |s| {
        for reading in s.readings(Series::Points, 120.0) {
            (reading.target, reading.indicated) = (nm("120.1"), nm("120.1"));
        }
    }),
    ("digits-of-reference", |s| s.shows(Series::Points, 120.0, &["121.104"])),
    ("digits-dropped", |s| {
        for reading in &mut s.run.readings {
            let other_tenths = f64::from(reading.row * reading.row % 7) / 10.0;
            reading.reference = nm(&format!("{:.1}", reading.reference.value() + other_tenths));
        }
    }),
    ("reference-equals-tool", |s| {
        for (target, shown) in [(40.0, "40"), (120.0, "120"), (200.0, "200")] {
            s.shows(Series::Points, target, &[shown; 5]);
        }
    }),
    ("block-repeated", |s| {
        let copied: Vec<Recorded> =
            s.readings(Series::Reproducibility, 40.0)[..5].iter().map(|r| r.reference).collect();
        for (reading, value) in s.readings(Series::Points, 40.0).into_iter().zip(copied) {
            reading.reference = value;
        }
    }),
    // handling
    ("voids-many", |s| {
        let mut extra = points(s).split_off(13);
        for reading in &mut extra {
            reading.status = void("slipped");
        }
        append(s, extra);
    }),
    ("indicated-off-target", |s| {
        for reading in s.readings(Series::Points, 120.0) {
            reading.indicated = nm("121");
        }
    }),
];

/// A pull that was struck out was taken again; a preload is no reading.
#[test]
fn a_fast_pull_that_does_not_count_is_no_finding() {
    let mut sample = Sample::good();
    let mut fast = sample.readings(Series::Points, 120.0)[0].clone();
    (fast.status, fast.loading_time) = (void("pulled too fast"), LoadingTime::new("0.2").ok());
    append(&mut sample, vec![fast]);
    sample.readings(Series::Preload, 200.0)[0].loading_time = LoadingTime::new("0.2").ok();
    assert_eq!(sample.names(), Vec::<&str>::new());
}

/// The rule that lets a single reading fail the tool says so itself.
#[test]
fn a_reading_outside_is_no_remark_under_each_reading() {
    let mut sample = Sample::good();
    sample.shows(Series::Points, 120.0, &["125.11", "123.74", "124.62", "123.48", "124.33"]);
    if let Some(agreement) = &mut sample.run.agreement {
        agreement.rule = DecisionRule::EachReading;
    }
    assert_eq!(sample.names(), Vec::<&str>::new());
}
