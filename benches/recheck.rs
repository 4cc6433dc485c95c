//! What a recheck costs, and what a signature adds to a certificate.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]
#![allow(dead_code)]

#[path = "../tests/proof/support.rs"]
mod support;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use support::{draft, laboratory, rechecked, renderer};

fn recheck(c: &mut Criterion) {
    let mut group = c.benchmark_group("recheck");
    group.sample_size(20);
    let key = &laboratory(0).0;
    for (name, seed) in [("one run, GUM only", None), ("one run, with trials", Some(6789))] {
        let draft = draft(&["click-wrench-full"], seed);
        let signed = draft.pack(Some(key)).pdf;
        group.bench_function(name, |b| b.iter(|| rechecked(black_box(&signed)).unwrap()));
    }
    let draft = draft(&["click-wrench-full"], None);
    group.bench_function("set the pages", |b| {
        b.iter(|| renderer().render(black_box(&draft.made.view), draft.decided.paper).unwrap());
    });
    group.bench_function("pack, unsigned", |b| b.iter(|| draft.pack(None)));
    group.bench_function("pack, signed", |b| b.iter(|| draft.pack(Some(key))));
    group.finish();
}

criterion_group!(benches, recheck);
criterion_main!(benches);
