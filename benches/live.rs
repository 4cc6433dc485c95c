//! How many samples a second one core takes: from the bytes of a display, or of a socket, to the judged
//! pull. The lines are those of the simulated display; five pulls with a click stand in them.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::hint::black_box;
use std::io::Write;
use std::net::TcpListener;
use std::path::Path;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use leverarm::bench::instrument::{
    Arrived, Description, Event, Feed, Flow, Framer, Source, Trouble, Understander, Understood,
};
use leverarm::metrology::quantity::Torque;
use leverarm_pull::butterworth::{Butterworth, Order};
use leverarm_pull::detector::{Detector, Event as Heard, Mode, Settings};
use leverarm_pull::trace::Sample;

const SAMPLES: u32 = 204_000;
const RATE_HZ: f64 = 10_000.0;
const TARGET_NM: f64 = 120.0;

/// Torque of a pull of four seconds: 80 % in one second, to the click in two more, let go.
fn torque(t: f64) -> f64 {
    let t = t % 4.0;
    let pull = match t {
        t if t < 0.5 => 0.0,
        t if t < 1.5 => 96.0 * (t - 0.5),
        t if t < 3.5 => 96.0 + 12.0 * (t - 1.5),
        t if t < 3.6 => 112.0,
        t if t < 3.7 => 112.0 * (3.7 - t) / 0.1,
        _ => 0.0,
    };
    pull + 0.01 * (t * 2399.0).sin()
}

fn lines() -> Vec<u8> {
    let mut lines = Vec::new();
    for index in 0..SAMPLES {
        let t = f64::from(index) / RATE_HZ;
        let torque = torque(t);
        let sign = if torque < 0.0 { '-' } else { '+' };
        write!(lines, "{t:.6} M {sign}{:>6.2} N.m\r\n", torque.abs()).unwrap();
    }
    lines
}

fn description(link: &str) -> Description {
    let text = format!(
        "name = \"Simulated display\"\nrate = \"10000 Hz\"\n\n[link]\n{link}\n\n\
         [lines]\nterminator = \"\\r\\n\"\nlongest = 80\n\n[pattern]\n\
         line = '(?<time>[0-9]+\\.[0-9]{{6}}) (?<status>[A-Z]) (?<sign>[+-]) *(?<value>[0-9.]+|-{{4}}) (?<unit>\\S+)'\n\
         unit = \"N·m\"\ntime = \"s\"\noverload = [\"----\"]\nignore = ['#.*']\n\n\
         [pattern.status]\nS = \"good\"\nM = \"moving\"\nO = \"overload\"\n"
    );
    Description::parse(&text, Path::new("")).unwrap()
}

/// Bytes that are there already.
struct Memory {
    bytes: Vec<u8>,
    at: usize,
}

impl Source for Memory {
    fn place(&self) -> String {
        "memory".to_owned()
    }

    fn is_live(&self) -> bool {
        false
    }

    fn connect(&mut self) -> Result<(), Trouble> {
        Ok(())
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Arrived, Trouble> {
        let rest = &self.bytes[self.at..];
        let count = rest.len().min(buffer.len());
        buffer[..count].copy_from_slice(&rest[..count]);
        self.at += count;
        Ok(if count == 0 { Arrived::End } else { Arrived::Bytes(count) })
    }

    fn send(&mut self, _: &[u8]) -> Result<(), Trouble> {
        Ok(())
    }
}

/// Filter and detector, as they stand behind the feed.
struct Judge {
    filter: Butterworth,
    detector: Detector,
    events: Vec<Heard>,
    samples: u32,
    pulls: usize,
}

impl Judge {
    fn new() -> Judge {
        let mut settings = Settings::new(Mode::FirstPeak, Torque::from_newton_metres(TARGET_NM), RATE_HZ);
        settings.mains_hz = Some(50.0);
        Judge {
            filter: Butterworth::new(Order::Second, 500.0, RATE_HZ).unwrap(),
            detector: Detector::new(settings).unwrap(),
            events: Vec::new(),
            samples: 0,
            pulls: 0,
        }
    }

    fn push(&mut self, time_s: f64, torque: Torque) {
        self.samples += 1;
        let torque = Torque::from_newton_metres(self.filter.step(torque.newton_metres()));
        self.detector.push(Sample { time_s, torque }, &mut self.events);
        self.pulls += self.events.drain(..).filter(|event| matches!(event, Heard::Done(_))).count();
    }
}

/// From a feed to the judge, until so many samples have come or the source is at its end.
fn listen(feed: &mut Feed, wanted: u32) -> Judge {
    let mut judge = Judge::new();
    while judge.samples < wanted {
        let flow = feed.step(&mut |event| {
            if let Event::Line { read: Ok(Understood::Sample(sample)), .. } = event {
                judge.push(sample.time_s.unwrap_or_default(), sample.torque.torque());
            }
        });
        if flow == Flow::Ended {
            break;
        }
    }
    judge
}

fn through_a_socket(bytes: &[u8]) -> Judge {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let link = format!("kind = \"tcp\"\naddress = \"{}\"", listener.local_addr().unwrap());
    std::thread::scope(|scope| {
        scope.spawn(move || {
            let (mut stream, _) = listener.accept().unwrap();
            stream.write_all(bytes).unwrap();
        });
        // the first line after connecting is never used
        listen(&mut Feed::new(&description(&link)), SAMPLES - 1)
    })
}

fn million(c: &mut Criterion) {
    let bytes = lines();
    let file = description("kind = \"file\"\nfile = \"memory\"");
    let feed = || Feed::from_source(&file, Box::new(Memory { bytes: bytes.clone(), at: 0 }));
    let judged = listen(&mut feed(), SAMPLES);
    assert_eq!((judged.samples, judged.pulls), (SAMPLES, 5));
    let mut group = c.benchmark_group("samples");
    group.sample_size(20).throughput(Throughput::Elements(u64::from(SAMPLES)));
    group.bench_function("lines cut", |b| {
        b.iter(|| {
            let (mut framer, mut count) = (Framer::new(b"\r\n", 80), 0_u32);
            for piece in bytes.chunks(16 * 1024) {
                framer.push(piece, |line| count += u32::from(!black_box(line).is_empty()));
            }
            count
        })
    });
    group.bench_function("lines understood", |b| {
        let mut understander = Understander::new(&file);
        b.iter(|| {
            let lines = bytes.split(|byte| *byte == b'\n').filter_map(|line| line.strip_suffix(b"\r"));
            lines.filter(|line| understander.understand(black_box(line)).is_ok()).count()
        })
    });
    group.bench_function("filter and detector", |b| {
        let samples: Vec<(f64, Torque)> = (0..SAMPLES)
            .map(|index| f64::from(index) / RATE_HZ)
            .map(|t| (t, Torque::from_newton_metres(torque(t))))
            .collect();
        b.iter(|| {
            let mut judge = Judge::new();
            samples.iter().for_each(|(time_s, torque)| judge.push(*time_s, black_box(*torque)));
            judge.pulls
        })
    });
    group.bench_function("all of it, from memory", |b| b.iter(|| listen(&mut feed(), SAMPLES).pulls));
    group.bench_function("all of it, from a socket", |b| b.iter(|| through_a_socket(&bytes).pulls));
    group.finish();
}

criterion_group!(benches, million);
criterion_main!(benches);
