//! Samples a second through filter and detector, on one core.

#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm_metrology::quantity::Torque;
use leverarm_pull::butterworth::{Butterworth, Order};
use leverarm_pull::detector::{Detector, Mode, Settings};
use leverarm_pull::trace::Sample;

/// A pull of four seconds with a click at 3 s, and a ripple in the place of noise.
fn samples(rate_hz: f64) -> Vec<Sample> {
    let torque = |t: f64| match t {
        t if t < 0.8 => 0.0,
        t if t < 1.3 => 160.0 * (t - 0.8),
        t if t < 3.0 => 80.0 + 10.0 * (t - 1.3),
        t if t < 3.2 => 91.0,
        t if t < 3.4 => 91.0 - 455.0 * (t - 3.2),
        _ => 0.0,
    };
    (0..(4.0 * rate_hz) as u32)
        .map(|i| (f64::from(i) / rate_hz, 0.01 * (f64::from(i) * 2.399).sin()))
        .map(|(time_s, ripple)| Sample {
            time_s,
            torque: Torque::from_newton_metres(torque(time_s) + ripple),
        })
        .collect()
}

fn detector(rate_hz: f64) -> Detector {
    let mut settings = Settings::new(Mode::FirstPeak, Torque::from_newton_metres(100.0), rate_hz);
    settings.mains_hz = Some(50.0);
    Detector::new(settings).unwrap()
}

fn pull(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("pull");
    for rate_hz in [500.0, 1000.0, 10_000.0] {
        let samples = samples(rate_hz);
        group.throughput(Throughput::Elements(samples.len() as u64));
        group.bench_function(format!("filter and detector at {rate_hz} Hz"), |bencher| {
            bencher.iter(|| {
                let mut filter = Butterworth::new(Order::Fourth, 0.2 * rate_hz, rate_hz).unwrap();
                let (mut detector, mut events) = (detector(rate_hz), Vec::new());
                for sample in &samples {
                    let torque = Torque::from_newton_metres(filter.step(sample.torque.newton_metres()));
                    detector.push(Sample { torque, ..*sample }, &mut events);
                }
                black_box(events)
            });
        });
    }
    group.finish();
}

criterion_group!(benches, pull);
criterion_main!(benches);
