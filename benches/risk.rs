//! Risks of decisions. `cargo bench --bench risk`.

#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::risk::{Belief, Limits, Prior, global_guard_band, global_risk};

const MANY: u32 = 100_000;

fn risks(c: &mut Criterion) {
    let limits = Limits::new(Some(-4.0), Some(4.0)).unwrap();
    let prior = Prior::from_in_tolerance(&limits, 0.9).unwrap();
    let mut group = c.benchmark_group("risks");
    group.sample_size(10);
    group.throughput(Throughput::Elements(u64::from(MANY)));
    group.bench_function("100,000 global risks, both integrals", |b| {
        b.iter(|| {
            let mut sum = 0.0;
            for i in 0..MANY {
                let u = 0.1 + 2.0 * f64::from(i) / f64::from(MANY);
                let risk = global_risk(&prior, black_box(u), &limits, &limits.guarded(u)).unwrap();
                sum += risk.consumer + risk.producer;
            }
            sum
        });
    });
    group.throughput(Throughput::Elements(1));
    group.bench_function("guard band for a cap of 2 %", |b| {
        b.iter(|| global_guard_band(0.02, &prior, black_box(0.8), &limits).unwrap());
    });
    let belief = Belief::new(0.4, Freedom::Finite(7.0)).unwrap();
    group.bench_function("guard band for a specific risk of 5 %, 7 degrees of freedom", |b| {
        b.iter(|| belief.guard_band(black_box(0.05), &limits).unwrap());
    });
    group.finish();
}

criterion_group!(benches, risks);
criterion_main!(benches);
