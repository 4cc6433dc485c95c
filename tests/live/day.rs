//! A day of samples in a few minutes, with the memory of the process at a tenth of it and at its end.
//!
//! `LEVERARM_DAY=100` for all of it: 24 h at 50 Hz, and an hour at 1 kHz. The number is in percent.

use std::fs;
use std::io::Write;
use std::net::TcpListener;
use std::time::{Duration, Instant};

use crate::dice::number;
use crate::folder::Folder;
use crate::person::{Asked, Person, asked};
use crate::record::{journal, nothing, sayable};
use crate::terminal::Terminal;

/// Memory may differ by so much: a page table here, a buffer of the screen there.
const SLACK_KB: u64 = 1024;

/// A line of the memory of a process, in kB.
fn memory_kb(pid: u32, name: &str) -> u64 {
    let status = fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let line = status.lines().find(|line| line.starts_with(name)).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// One sample of a bench on which someone leans now and then: hum, noise, and a bump of two per cent
/// that is no pull.
fn torque(index: u64, rate_hz: u64) -> f64 {
    let t = index as f64 / rate_hz as f64;
    let bump = if t % 600.0 > 590.0 { 2.0 * ((t % 600.0) - 590.0).min(600.0 - (t % 600.0)) } else { 0.0 };
    0.01 * (t * 7.3).sin() + 0.01 * (index as f64 * 2.399).sin() + bump
}

fn stand(rate_hz: u64, seconds: u64) {
    let samples = rate_hz * seconds * number("LEVERARM_DAY", 2) / 100;
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let folder = Folder::of("fixed-tool");
    let description = folder.around().join("display.toml");
    let text = format!(
        "name = \"Patient display\"\nrate = \"{rate_hz} Hz\"\n\n[link]\nkind = \"tcp\"\naddress = \"{}\"\n\n[lines]\nterminator = \"\\r\\n\"\n\n[pattern]\nline = '(?<time>[0-9.]+) (?<sign>[+-])(?<value>[0-9.]+) (?<unit>\\S+)'\ntime = \"s\"\n",
        listener.local_addr().unwrap()
    );
    fs::write(&description, text).unwrap();
    let arguments = ["bench", folder.run(), "--instrument", description.to_str().unwrap(), "--quiet"];
    let mut terminal = Terminal::start(&arguments, 24, 80, nothing);
    let (mut stream, _) = listener.accept().unwrap();
    let mut index = 0_u64;
    let mut bytes = Vec::new();
    let mut say = |count: u64| {
        for _ in 0..count {
            bytes.clear();
            // a thousand at once: the loopback is not what is tried here
            for _ in 0..1000 {
                let torque = torque(index, rate_hz);
                let time = index as f64 / rate_hz as f64;
                write!(bytes, "{time:.4} {torque:+.2} N.m\r\n").unwrap();
                index += 1;
            }
            stream.write_all(&bytes).unwrap();
        }
    };
    say(1);
    let mut person = Person::new("Runa Hjaltevik");
    person.work_until(&mut terminal, "the first pull", |text| asked(text) == Asked::Pull);
    let before = sayable(&journal(&folder));
    let begun = Instant::now();
    say(samples / 1000 / 10);
    std::thread::sleep(Duration::from_millis(100));
    let early = (memory_kb(terminal.pid(), "VmRSS"), memory_kb(terminal.pid(), "VmHWM"));
    say(samples / 1000 - samples / 1000 / 10);
    std::thread::sleep(Duration::from_millis(100));
    let late = (memory_kb(terminal.pid(), "VmRSS"), memory_kb(terminal.pid(), "VmHWM"));
    let took = begun.elapsed().as_secs_f64();
    println!(
        "{samples} samples at {rate_hz} Hz in {took:.1} s; VmRSS {} kB, then {} kB; VmHWM {} kB, then {} kB",
        early.0, late.0, early.1, late.1
    );
    assert!(terminal.is_alive());
    assert_eq!(sayable(&journal(&folder)), before, "somebody who leans on the bench pulls nothing");
    assert!(late.0 <= early.0 + SLACK_KB, "the memory grows: {} kB, then {} kB", early.0, late.0);
    assert!(late.1 <= early.1 + SLACK_KB, "the memory grew: {} kB, then {} kB", early.1, late.1);
    terminal.key("l");
    let (status, text) = terminal.end();
    assert!(status.success(), "{text}");
}

#[test]
fn a_day_at_50_hz_takes_no_memory() {
    stand(50, 24 * 3600);
}

#[test]
fn an_hour_at_1_khz_takes_no_memory() {
    stand(1000, 3600);
}
