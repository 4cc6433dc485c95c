//! Samples a second through the session: buffer of the trace, filter, detector and all decisions.

#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;

use chrono::{DateTime, FixedOffset, TimeDelta};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::reading::{Direction, Recorded};
use leverarm_metrology::rulebook::{Rulebook, embedded};
use leverarm_metrology::run::Condition;
use leverarm_metrology::sequence::sequence;
use leverarm_metrology::tool::{Tool, ToolClass, TorqueRange};
use leverarm_pull::butterworth::Order;
use leverarm_pull::detector::Sense;
use leverarm_session::plan::{Filter, Instrument, Limit};
use leverarm_session::{Effect, Indicated, Input, Key, Plan, Session};

fn nm(digits: &str) -> Recorded {
    Recorded::new(digits, TorqueUnit::NewtonMetre).unwrap()
}

fn plan(rate_hz: f64) -> Plan {
    let rulebook = Rulebook::parse(embedded("iso-6789-1").unwrap().text).unwrap();
    let tool = Tool {
        class: ToolClass::IIA,
        maker: "Brundholt".into(),
        model: "BC 200".into(),
        serial: "26-01743".into(),
        range: TorqueRange { lower: nm("40"), upper: nm("200") },
        resolution: Some(nm("1")),
        directions: vec![Direction::Clockwise],
        claim: None,
        drive: None,
        head: None,
        length: None,
        uses: None,
        owner_mark: None,
    };
    let permissible = rulebook.governing_limit(&tool).unwrap().permissible;
    Plan {
        job: "SK-2026-0412".into(),
        condition: Condition::AsFound,
        steps: sequence(&tool, &rulebook, None).unwrap(),
        rulebook: rulebook.name.clone(),
        title: rulebook.title.clone(),
        room: rulebook.environment.clone(),
        permissible,
        limit: Limit::of(&tool, &rulebook, permissible),
        instrument: Instrument {
            name: "RT-250 display".into(),
            sample_rate_hz: rate_hz,
            step: nm("0.01"),
            range: Some(Torque::from_newton_metres(250.0)),
            clockwise: Sense::Positive,
            mains_hz: Some(50.0),
            filter: Some(Filter { order: Order::Fourth, cutoff_hz: 0.2 * rate_hz }),
        },
        indicated: Indicated::AsSet,
        technician: Some("Runa Hjaltevik".into()),
        inputs: vec![],
        tool,
    }
}

fn now() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-11-18T08:40:00+01:00").unwrap()
}

/// Answers every write at once.
fn follow(session: &mut Session, mut effects: Vec<Effect>, now: DateTime<FixedOffset>) {
    while let Some(effect) = effects.pop() {
        if let Effect::Write(entry, _) = effect {
            effects.extend(session.on(Input::Written(entry.number), now));
        }
    }
}

/// A session that awaits its first preload.
fn armed(rate_hz: f64) -> Session {
    let (mut session, effects) = Session::begin(plan(rate_hz), now()).unwrap();
    follow(&mut session, effects, now());
    for key in "21.3\n45\n\n".chars() {
        let key = if key == '\n' { Key::Enter } else { Key::Char(key) };
        let effects = session.on(Input::Key(key), now());
        follow(&mut session, effects, now());
    }
    session
}

/// A pull of four seconds with a click at 3 s, and a ripple in the place of noise.
fn samples(rate_hz: f64) -> Vec<Input> {
    let torque = |t: f64| match t {
        t if t < 0.8 => 0.0,
        t if t < 1.3 => 320.0 * (t - 0.8),
        t if t < 3.0 => 160.0 + 24.0 * (t - 1.3),
        t if t < 3.2 => 188.0,
        t if t < 3.4 => 188.0 - 940.0 * (t - 3.2),
        _ => 0.0,
    };
    (0..(4.0 * rate_hz) as u32)
        .map(|i| {
            let (time_s, ripple) = (f64::from(i) / rate_hz, 0.01 * (f64::from(i) * 2.399).sin());
            let digits = format!("{:.2}", torque(time_s) + ripple);
            Input::Sample { time_s, recorded: nm(&digits) }
        })
        .collect()
}

fn session(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("session");
    for rate_hz in [1000.0, 10_000.0] {
        let (armed, samples) = (armed(rate_hz), samples(rate_hz));
        group.throughput(Throughput::Elements(samples.len() as u64));
        group.bench_function(format!("a pull at {rate_hz} Hz, entry and trace included"), |bencher| {
            bencher.iter(|| {
                let mut session = armed.clone();
                for sample in &samples {
                    let effects = session.on(sample.clone(), now() + TimeDelta::zero());
                    if !effects.is_empty() {
                        follow(&mut session, effects, now());
                    }
                }
                assert_eq!(session.record().readings.len(), 1);
                black_box(session)
            });
        });
    }
    let session = armed(1000.0);
    group.throughput(Throughput::Elements(1));
    group.bench_function("view", |bencher| bencher.iter(|| black_box(session.view())));
    group.finish();
}

criterion_group!(benches, session);
criterion_main!(benches);
