//! How long Monte Carlo takes: a million trials of a nine-input budget with both 95.45 % intervals,
//! on one thread and two, and the adaptive procedure for a certificate of five points.
//!
//! `benches/monte_carlo_numpy.py` runs the same trials in numpy and prints the ratio.

#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;
use std::num::NonZeroUsize;

use criterion::{Criterion, criterion_group, criterion_main};
use leverarm_metrology::budget::{Budget, BudgetLine, Influence, Scope};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::monte_carlo::{
    Adaptive, Coverage, IntervalKind, LinearModel, Outcome, Run, adaptive, simulate,
};
use leverarm_metrology::quantity::Percent;
use leverarm_metrology::rounding::Figures;

const TRIALS: usize = 1_000_000;
const PERCENT: f64 = 95.45;

/// Four normal lines, four rectangular ones and the mean of five readings, in percent. The same
/// numbers stand in `monte_carlo_numpy.py`.
fn budget(scatter: f64) -> Budget {
    let normal = |value| {
        let value = Percent::new(value);
        BudgetLine::normal(Influence::Reference, value, 1.0, Freedom::Infinite, Scope::Common, "bench")
    };
    let rectangular = |half_width| {
        BudgetLine::rectangular(Influence::Resolution, Percent::new(half_width), Scope::PerReading, "bench")
    };
    let readings = BudgetLine::normal(
        Influence::Repeatability,
        Percent::new(scatter),
        1.0,
        Freedom::Finite(4.0),
        Scope::PerReading,
        "bench",
    );
    let mut lines = vec![normal(0.10), normal(0.05), normal(0.08), normal(0.03)];
    lines.extend([rectangular(0.20), rectangular(0.12), rectangular(0.15), rectangular(0.06)]);
    lines.push(readings);
    Budget { lines, missing: vec![] }
}

fn run(threads: usize) -> Run {
    Run { seed: 20_260_101, threads: NonZeroUsize::new(threads).unwrap() }
}

fn trials(model: &LinearModel, run: Run) -> (Option<f64>, Option<f64>, Coverage) {
    let simulation = simulate(model, TRIALS, run).unwrap();
    let coverage = simulation.coverage(PERCENT, run.threads).unwrap();
    (simulation.estimate(), simulation.standard_uncertainty(), coverage)
}

fn nine_inputs(criterion: &mut Criterion) {
    let model = LinearModel::of_budget(&budget(0.05), Percent::new(0.4)).unwrap();
    let mut group = criterion.benchmark_group("million trials of nine inputs");
    for threads in [1, 2] {
        let name = if threads == 1 { "one thread" } else { "two threads" };
        group.bench_function(name, |bencher| bencher.iter(|| trials(black_box(&model), run(threads))));
    }
    group.finish();
}

/// Five points of a certificate, each stable to two digits of u(y).
fn adaptive_certificate(criterion: &mut Criterion) {
    let models: Vec<LinearModel> = [0.03, 0.04, 0.05, 0.06, 0.07]
        .map(|scatter| LinearModel::of_budget(&budget(scatter), Percent::new(0.4)).unwrap())
        .to_vec();
    let wanted = Adaptive {
        percent: PERCENT,
        kind: IntervalKind::Shortest,
        figures: Figures::Two,
        share: 1.0,
        most_trials: 10_000_000,
    };
    let mut group = criterion.benchmark_group("adaptive, five points");
    for threads in [1, 2] {
        let name = if threads == 1 { "one thread" } else { "two threads" };
        group.bench_function(name, |bencher| {
            bencher.iter(|| {
                for model in &models {
                    let found = adaptive(black_box(model), wanted, run(threads)).unwrap();
                    assert_eq!(found.outcome, Outcome::Stable);
                }
            });
        });
    }
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(30);
    targets = nine_inputs, adaptive_certificate
}
criterion_main!(benches);
