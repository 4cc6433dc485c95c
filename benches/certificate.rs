//! What a certificate costs: choosing its words, drawing its charts, setting
//! and exporting the whole. The last less the others is the typesetter's own.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

#[path = "../tests/paper/work.rs"]
mod work;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use leverarm::certificate::{Paper, Renderer, draw};
use leverarm::metrology::decision::DecisionRule;
use leverarm::metrology::reading::Direction;
use work::Work;

fn certificate(c: &mut Criterion) {
    let mut work = Work::new("iso-6789-2", DecisionRule::GUARDED, &[Direction::Clockwise]);
    let pair = work.certificate().unwrap();
    work.runs.remove(0);
    let single = work.certificate().unwrap();
    let renderer = Renderer::new().unwrap();
    let mut group = c.benchmark_group("certificate");
    group.sample_size(20);
    group.bench_function("build the typesetter", |b| b.iter(|| Renderer::new().unwrap()));
    group.bench_function("evaluate and compose one run", |b| b.iter(|| work.certificate().unwrap()));
    group.bench_function("draw the charts of one run", |b| {
        b.iter(|| single.figures().map(|f| draw(black_box(&f.chart)).unwrap().len()).sum::<usize>());
    });
    for (name, view) in [("render one run", &single), ("render as found and as left", &pair)] {
        group.bench_function(name, |b| b.iter(|| renderer.render(black_box(view), Paper::A4).unwrap()));
    }
    group.finish();
}

criterion_group!(benches, certificate);
criterion_main!(benches);
