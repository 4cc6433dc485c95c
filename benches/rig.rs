//! Samples a second through the simulated bench, on one core.

#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm_metrology::quantity::Torque;
use leverarm_rig::line::Speaker;
use leverarm_rig::{Command, Faults, Operator, Rig, Settings, Tool};

const SAMPLES: u64 = 100_000;

fn settings(rate_hz: u32) -> Settings {
    let settings = Settings::new(Tool::click_wrench(Torque::from_newton_metres(200.0)), 1);
    let faults = Faults { dropout_share: 1e-4, ..Faults::default() };
    Settings { sample_rate_hz: rate_hz, operator: Operator::unsteady(), faults, ..settings }
}

fn rig(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("rig");
    group.throughput(Throughput::Elements(SAMPLES));
    for (rate_hz, is_pulling) in [(100, true), (1000, true), (10_000, true), (1000, false)] {
        let what = if is_pulling { "pull after pull" } else { "at rest" };
        group.bench_function(format!("{what} at {rate_hz} Hz"), |bencher| {
            let mut rig = Rig::new(settings(rate_hz)).unwrap();
            bencher.iter(|| {
                for _ in 0..SAMPLES {
                    if is_pulling && !rig.is_pulling() {
                        let target = Torque::from_newton_metres(120.0);
                        rig.command(Command::Pull { target, at_s: 0.0 }).unwrap();
                    }
                    black_box(rig.next_sample());
                }
            });
        });
    }
    group.bench_function("pull after pull at 1000 Hz, with its lines", |bencher| {
        let mut rig = Rig::new(settings(1000)).unwrap();
        let speaker = Speaker::new(rig.settings());
        let mut line = Vec::new();
        bencher.iter(|| {
            for _ in 0..SAMPLES {
                if !rig.is_pulling() {
                    let target = Torque::from_newton_metres(120.0);
                    rig.command(Command::Pull { target, at_s: 0.0 }).unwrap();
                }
                line.clear();
                speaker.write(&rig.next_sample(), &mut line);
                black_box(&line);
            }
        });
    });
    group.finish();
}

criterion_group!(benches, rig);
criterion_main!(benches);
