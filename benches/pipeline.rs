//! The pipeline without its paper: read, check, evaluate. `cargo bench --bench pipeline`.

#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used)]

use std::fmt::Write;
use std::hint::black_box;
use std::path::Path;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm::assess::{Overrides, assess_loaded};
use leverarm::ingest::store::Memory;
use leverarm::ingest::{self, readings};
use leverarm::metrology::check::check;
use leverarm::metrology::decision::Verdict;
use leverarm::metrology::evaluate::evaluate;

const MILLION: usize = 1_000_000;

/// A sample run with everything that it refers to, in memory.
struct Sample {
    run: Vec<u8>,
    readings: Vec<u8>,
    reference: Vec<u8>,
    laboratory: Vec<u8>,
}

impl Sample {
    fn read() -> Sample {
        let file = |name: &str| {
            std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs").join(name)).unwrap()
        };
        Sample {
            run: file("click-wrench-full/run.toml"),
            readings: file("click-wrench-full/readings.csv"),
            reference: file("references/rt-250.toml"),
            laboratory: file("laboratory.toml"),
        }
    }

    fn store(&self) -> Memory {
        Memory::new()
            .with("run.toml", self.run.clone())
            .with("readings.csv", self.readings.clone())
            .with("../references/rt-250.toml", self.reference.clone())
            .with("../laboratory.toml", self.laboratory.clone())
    }

    fn rows(&self) -> usize {
        self.readings.iter().filter(|b| **b == b'\n').count() - 1
    }

    /// From the bytes of its files to the verdict of the tool.
    fn verdict(&self) -> Verdict {
        let assessed = assess_loaded(ingest::parse(&self.store()), &Overrides::default()).unwrap();
        assessed.judged.expect("a sample run is sound").evaluation.verdict
    }
}

fn one_run(c: &mut Criterion) {
    let sample = Sample::read();
    let loaded = ingest::parse(&sample.store());
    let (run, rulebook, reference) =
        (loaded.run.unwrap(), loaded.rulebook.unwrap(), loaded.reference.unwrap());
    c.bench_function("evaluate one full run", |b| {
        b.iter(|| evaluate(black_box(&run), &rulebook, &reference).unwrap());
    });
    c.bench_function("check one full run", |b| {
        b.iter(|| check(black_box(&run), &rulebook, &reference));
    });
    c.bench_function("from files in memory to a verdict", |b| b.iter(|| sample.verdict()));
}

fn a_million_readings(c: &mut Criterion) {
    let mut csv = String::from("series,position,target,indicated,reference,unit,time,status,note\n");
    for i in 0..MILLION {
        let (cents, second) = (100 + i * 37 % 800, i % 60);
        writeln!(csv, "points,,40,40,39.{cents},N·m,2026-11-18T08:45:{second:02}+00:00,ok,").unwrap();
    }
    let mut group = c.benchmark_group("a million readings");
    group.sample_size(10).throughput(Throughput::Elements(MILLION as u64));
    group.bench_function("parse", |b| {
        b.iter(|| {
            let (rows, _, findings) = readings::parse(csv.as_bytes(), &readings::Context::default());
            assert_eq!((rows.len(), findings.len()), (MILLION, 0));
        });
    });
    let sample = Sample::read();
    let tools = MILLION / sample.rows();
    group.bench_function("from CSV to verdicts, two threads", |b| {
        b.iter(|| {
            std::thread::scope(|scope| {
                for _ in 0..2 {
                    scope.spawn(|| {
                        for _ in 0..tools / 2 {
                            assert_eq!(sample.verdict(), Verdict::Pass);
                        }
                    });
                }
            });
        });
    });
    group.finish();
}

criterion_group!(benches, one_run, a_million_readings);
criterion_main!(benches);
