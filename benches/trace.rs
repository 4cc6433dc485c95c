//! What it takes to open and draw a trace of a million samples: the bytes, the search for the pull, the
//! reduction to columns, the chart as SVG, the picture on a terminal, and all of it together.
#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm::certificate::draw;
use leverarm::export::trace::{Charset, Seen, chart::chart, csv, text::text};
use leverarm::metrology::quantity::TorqueUnit;
use leverarm::metrology::reading::Recorded;
use leverarm::trace_view::analyse::{Wanted, analyse};
use leverarm::trace_view::columns::columns;
use leverarm::trace_view::facts::facts;
use leverarm::trace_view::open::of_bytes;
use leverarm_pull::codec::encode;
use leverarm_pull::detector::Mode;
use leverarm_pull::trace::{Timing, Trace};

const SAMPLES: u32 = 1_000_000;
const RATE_HZ: f64 = 10_000.0;

/// A slow pull in a recording of a hundred seconds, with a click at 85 s, as a display with two decimals
/// says it.
fn trace() -> Trace {
    let torque = |t: f64| match t {
        t if t < 10.0 => 0.0,
        t if t < 11.0 => 96.0 * (t - 10.0),
        t if t < 85.0 => 96.0 + 0.3 * (t - 11.0),
        t if t < 90.0 => 112.0,
        t if t < 92.0 => 112.0 - 56.0 * (t - 90.0),
        _ => 0.0,
    };
    let values = (0..SAMPLES)
        .map(|i| torque(f64::from(i) / RATE_HZ) + 0.02 * (f64::from(i) * 2.399).sin())
        .map(|value| (value * 100.0).round() / 100.0)
        .collect();
    Trace::new(TorqueUnit::NewtonMetre, Timing::Uniform { start_s: 0.0, rate_hz: RATE_HZ }, values).unwrap()
}

fn wanted() -> Wanted {
    let target = Some(Recorded::parse("120 N·m").unwrap());
    Wanted { mode: Mode::FirstPeak, target, window: None, resolution: None }
}

fn see(bytes: &[u8]) -> Seen {
    let trace = of_bytes("trace.ltrc", bytes).unwrap();
    let analysis = analyse(&trace, wanted());
    let facts = facts("trace.ltrc", &trace, &analysis, None);
    Seen { trace, analysis, facts }
}

fn million(c: &mut Criterion) {
    let bytes = encode(&trace());
    let seen = see(&bytes);
    let mut group = c.benchmark_group("trace of a million samples");
    group.sample_size(20).throughput(Throughput::Elements(u64::from(SAMPLES)));
    group.bench_function("decode", |b| b.iter(|| of_bytes("trace.ltrc", black_box(&bytes)).unwrap()));
    group.bench_function("look for the pull", |b| b.iter(|| analyse(black_box(&seen.trace), wanted())));
    group.bench_function("reduce to 1530 columns", |b| b.iter(|| columns(black_box(&seen.trace), 1530)));
    group.bench_function("svg", |b| b.iter(|| draw(&chart(black_box(&seen))).unwrap()));
    group.bench_function("terminal of 80 columns", |b| {
        b.iter(|| text(black_box(&seen), 80, Charset::Unicode));
    });
    group.bench_function("csv", |b| {
        b.iter(|| csv::write(black_box(&seen.trace), &mut std::io::sink()).unwrap());
    });
    group.bench_function("open and draw on the terminal", |b| {
        b.iter(|| text(&see(black_box(&bytes)), 80, Charset::Unicode));
    });
    group.bench_function("open and draw as svg", |b| {
        b.iter(|| draw(&chart(&see(black_box(&bytes)))).unwrap());
    });
    group.finish();
}

criterion_group!(benches, million);
criterion_main!(benches);
