//! Instruments over what they are really read from: a pseudo-terminal, a socket on the loopback, a
//! recorded file. The lines are invented; what is expected stands beside them.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Command, Output};
use std::time::{Duration, Instant};

use leverarm::bench::instrument::{
    Description, Event, FaultKind, Feed, Flow, Method, Misfit, Understander, Understood,
};
use proptest::prelude::*;
use serde_json::Value;

const PATTERN: &str = r"
[pattern]
line = '(?<value>[-+]?[0-9.]+|OVER) (?<unit>\S+)'
overload = ['OVER']
";

fn tcp(address: &str, more: &str) -> Description {
    let text = format!(
        "name = 'test'\nsilence = '150 ms'\n[link]\nkind = 'tcp'\naddress = '{address}'\n{more}{PATTERN}"
    );
    Description::parse(&text, Path::new("")).unwrap_or_else(|faults| panic!("{faults}"))
}

/// Listens until `wanted` lines of the log are there, or fails after ten seconds.
fn listen(feed: &mut Feed, wanted: &[&str]) -> Vec<String> {
    let mut log: Vec<String> = Vec::new();
    let end = Instant::now() + Duration::from_secs(10);
    while !wanted.iter().all(|line| log.iter().any(|said| said.starts_with(line))) {
        assert!(Instant::now() < end, "wanted {wanted:?}, heard {log:?}");
        if feed.step(&mut |event| log.push(word(&event))) == Flow::Ended {
            break;
        }
    }
    log
}

fn word(event: &Event<'_>) -> String {
    let text = |raw: &[u8]| String::from_utf8_lossy(raw).into_owned();
    match event {
        Event::Connected { .. } => "connected".into(),
        Event::Lost(trouble) => format!("lost {trouble}"),
        Event::Silence { unended, .. } => format!("silence {unended}"),
        Event::First { raw } => format!("first {}", text(raw)),
        Event::Cut { raw } => format!("cut {}", text(raw)),
        Event::TooLong { count } => format!("too long {count}"),
        Event::Line { read: Ok(Understood::Sample(sample)), .. } => sample.torque.to_string(),
        Event::Line { read: Ok(Understood::Ignored), .. } => "ignored".into(),
        Event::Line { read: Err(misfit), .. } => format!("? {misfit}"),
    }
}

fn probe(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args(["instrument", "probe"])
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

#[test]
fn a_socket_cut_noisy_silent_and_hung_up() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let mut feed = Feed::new(&tcp(&address, ""));
    listen(&mut feed, &["connected"]);
    let (mut display, _) = listener.accept().unwrap();
    display.set_nodelay(true).unwrap();
    // Connected in the middle of 112.5: what is left of it must not become a reading.
    display.write_all(b"2.5 Nm\n3.50 Nm\n4.").unwrap();
    let log = listen(&mut feed, &["3.50 N·m"]);
    assert_eq!(log, ["first 2.5 Nm", "3.50 N·m"]);
    assert_eq!(listen(&mut feed, &["silence"]), ["silence 2"]);
    display.write_all(b"25 Nm\n\xff\x00\x17\nOVER Nm\n7 bar\n1.2.3 Nm\n").unwrap();
    display.write_all(&[b'9'; 1000]).unwrap();
    display.write_all(b"\n-5 ft-lb\n8.1").unwrap();
    // Lines that were dropped are told at the end of the read in which they were.
    let mut log = listen(&mut feed, &["-5 lbf·ft", "too long 1"]);
    log.sort();
    assert_eq!(
        log,
        [
            "-5 lbf·ft",
            "4.25 N·m",
            "? '1.2.3' is not a number",
            "? 'bar' is not a known unit",
            "? the display says overload: 'OVER'",
            "? the line is not text: byte 1 is \\xff",
            "too long 1",
        ]
    );
    drop(display);
    let log = listen(&mut feed, &["lost", "connected"]);
    assert_eq!(log[0], "cut 8.1");
    let (mut display, _) = listener.accept().unwrap();
    display.write_all(b"0 Nm\n6 Nm\n").unwrap();
    assert_eq!(listen(&mut feed, &["6 N·m"]), ["first 0 Nm", "6 N·m"]);
    // Switched off for longer: one message, not one for each attempt.
    drop((display, listener));
    let end = Instant::now() + Duration::from_millis(800);
    let mut log = Vec::new();
    while Instant::now() < end {
        feed.step(&mut |event| log.push(word(&event)));
    }
    assert_eq!(log.len(), 2, "{log:?}");
    let listener = TcpListener::bind(&address).unwrap();
    listen(&mut feed, &["connected"]);
    let (mut display, _) = listener.accept().unwrap();
    display.write_all(b"\n9 Nm\n").unwrap();
    listen(&mut feed, &["9 N·m"]);
}

fn answer(mut display: TcpStream, answers: &[&str]) {
    let mut asked = [0; 7];
    for answer in answers {
        display.read_exact(&mut asked).unwrap();
        assert_eq!(&asked, b"value?;");
        display.write_all(answer.as_bytes()).unwrap();
    }
}

#[test]
fn a_socket_that_is_asked_and_protects_its_lines() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let sample = include_str!("../../sample-runs/instruments/tcp-poll.toml");
    let text = sample.replace("192.0.2.10:4001", &listener.local_addr().unwrap().to_string());
    let mut feed = Feed::new(&Description::parse(&text, Path::new("")).unwrap());
    let answers = std::thread::spawn(move || {
        let line = |checked: &str| format!("{checked}~{:02X};", Method::Xor.of(checked.as_bytes()));
        let wrong = line("300 R12,70 newtonmetre").replace("12,70", "12,71");
        let answers = [&line("100 R12,50 newtonmetre"), &line("200 L12,60 newtonmetre"), &wrong, ""];
        answer(listener.accept().unwrap().0, &answers.map(AsRef::as_ref));
    });
    // The first answer to a request is whole: nothing is skipped.
    let log = listen(&mut feed, &["? the checksum"]);
    assert_eq!(log[..3], ["connected", "12.50 N·m", "-12.60 N·m"]);
    listen(&mut feed, &["lost"]);
    answers.join().unwrap();
}

#[test]
fn requests_keep_their_interval() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let ask = "[ask]\nrequest = 'value?;'\nevery = '20 ms'\n";
    let mut feed = Feed::new(&tcp(&listener.local_addr().unwrap().to_string(), ask));
    let answers = std::thread::spawn(move || answer(listener.accept().unwrap().0, &["1 Nm\n"; 30]));
    let (mut arrived, end) = (Vec::new(), Instant::now() + Duration::from_secs(10));
    while arrived.len() < 30 && Instant::now() < end {
        feed.step(&mut |event| {
            if let Event::Line { at, .. } = event {
                arrived.push(at);
            }
        });
    }
    answers.join().unwrap();
    let gaps: Vec<Duration> = arrived.windows(2).map(|pair| pair[1] - pair[0]).collect();
    assert!(gaps.len() == 29 && gaps.iter().min().unwrap() < &Duration::from_millis(30), "{gaps:?}");
    assert!(arrived[29] - arrived[0] >= Duration::from_millis(29 * 20 - 20), "{gaps:?}");
}

#[cfg(unix)]
mod serial {
    use std::os::unix::fs::symlink;

    use serialport::{SerialPort, TTYPort};

    use super::*;

    fn plug(port: &Path) -> (TTYPort, TTYPort) {
        let (display, bench) = TTYPort::pair().unwrap();
        symlink(bench.name().unwrap(), port).unwrap();
        (display, bench)
    }

    #[test]
    fn a_port_slow_fast_unplugged_and_plugged_in_again() {
        let folder = tempfile::tempdir().unwrap();
        let port = folder.path().join("port");
        let sample = include_str!("../../sample-runs/instruments/serial-stream.toml");
        let text = sample.replace("/dev/ttyUSB0", port.to_str().unwrap()).replace("\"2 s\"", "\"150 ms\"");
        let mut feed = Feed::new(&Description::parse(&text, Path::new("")).unwrap());
        assert_eq!(listen(&mut feed, &["lost"]), [format!("lost there is no port {}", port.display())]);
        // The handle of the bench's side stays open: without it the display's side would hang up.
        let (mut display, bench) = plug(&port);
        listen(&mut feed, &["connected"]);
        display.write_all(b"S +  0.0 N").unwrap();
        assert_eq!(listen(&mut feed, &["silence"]), ["silence 10"]);
        for byte in "·m\r\nM - 41.70 N·m\r\n".as_bytes() {
            display.write_all(&[*byte]).unwrap();
            feed.step(&mut |event| assert!(matches!(event, Event::First { .. } | Event::Line { .. })));
        }
        let fast: Vec<String> = (0..2000).map(|i| format!("M + {}.{:02} N·m", i / 100, i % 100)).collect();
        let writer = std::thread::spawn(move || {
            for line in fast.chunks(20) {
                display.write_all(format!("{}\r\n", line.join("\r\n")).as_bytes()).unwrap();
            }
            display.write_all(b"M + 99").unwrap();
            display
        });
        let log = listen(&mut feed, &["19.99 N·m"]);
        let values = log.iter().filter(|line| line.ends_with("N·m") && !line.starts_with('-')).count();
        assert_eq!(values, 2000, "{:?}", &log[..5]);
        let display = writer.join().unwrap();
        std::fs::remove_file(&port).unwrap();
        drop((display, bench));
        listen(&mut feed, &["lost the connection"]);
        let (mut display, _bench) = plug(&port);
        listen(&mut feed, &["connected"]);
        display.write_all(b"S + 1.0 N\xc2\xb7m\r\nS + 1.5 N\xc2\xb7m\r\n").unwrap();
        assert_eq!(listen(&mut feed, &["1.5 N·m"]), ["first S + 1.0 N·m", "1.5 N·m"]);
    }
}

#[test]
fn a_recorded_file_shows_what_does_not_fit() {
    let shown = probe(&["sample-runs/instruments/recorded.toml"]);
    assert_eq!(shown.status.code(), Some(1));
    let text = String::from_utf8(shown.stdout).unwrap();
    assert!(
        text.contains("1.40 M +101.30 N·m                       │ 101.30 N·m  at 1.4 s  moving\n"),
        "{text}"
    );
    assert!(text.contains("the display shows lbf·ft, the description says N·m"), "{text}");
    let json = probe(&["sample-runs/instruments/recorded.toml", "--json"]);
    let report: Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(
        (&report["lines"], &report["samples"], &report["ignored"]),
        (&101.into(), &97.into(), &1.into())
    );
    let kinds: Vec<&str> =
        report["misfits"].as_array().unwrap().iter().map(|kind| kind["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["no-match", "other-unit", "overload"]);
    assert!((report["rate_measured_hz"].as_f64().unwrap() - 50.0).abs() < 0.01);
    let some = probe(&["sample-runs/instruments/recorded.toml", "--lines", "20"]);
    assert_eq!(some.status.code(), Some(0));
}

#[test]
fn every_fault_of_a_description_is_said_with_its_place() {
    let text = "name = 'x'\nrate = 50\n[link]\nkind = 'serial'\nport = 'a'\nspeed = 1\nparitty = 'odd'\n\
                [pattern]\nline = '(?<value>[0-9]+) (?<moment>.*)'\nunit = 'nm'\n[pattern.status]\nX = 'good'\n";
    let faults = Description::parse(text, Path::new("")).unwrap_err().0;
    let places: Vec<(usize, usize)> = faults.iter().map(|fault| (fault.line, fault.column)).collect();
    assert_eq!(places, [(2, 8), (6, 9), (7, 1), (9, 8), (9, 8), (9, 8), (10, 8)], "{faults:#?}");
    assert!(matches!(&faults[2].kind, FaultKind::UnknownKey { meant: Some("parity"), .. }));
    let wrong = tempfile::tempdir().unwrap();
    let file = wrong.path().join("wrong.toml");
    std::fs::write(&file, text).unwrap();
    let output = probe(&[file.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8(output.stderr).unwrap().contains("did you mean `parity`?"));
}

#[test]
fn silence_is_no_success() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("silent.toml");
    let address = listener.local_addr().unwrap();
    std::fs::write(
        &file,
        format!("name = 't'\nsilence = '0.1 s'\n[link]\nkind = 'tcp'\naddress = '{address}'\n{PATTERN}"),
    )
    .unwrap();
    let output = probe(&[file.to_str().unwrap(), "--seconds", "0.5"]);
    assert_eq!(output.status.code(), Some(2));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.contains("── silence for 0.1") && text.contains("nothing came in"), "{text}");
}

proptest! {
    #[test]
    fn any_bytes_are_a_sample_or_a_typed_misfit(raw in prop::collection::vec(any::<u8>(), 0..60)) {
        let mut understander = Understander::new(&tcp("127.0.0.1:1", ""));
        if let Err(misfit) = understander.understand(&raw) {
            prop_assert!(misfit.index() < Misfit::KINDS.len());
            prop_assert!(!misfit.remedy().is_empty());
        }
    }

    #[test]
    fn digits_are_kept_as_they_came(whole in 0_u32..100_000, part in "[0-9]{0,6}", minus in any::<bool>()) {
        let digits = format!("{}{whole}.{part}", if minus { "-" } else { "" });
        let mut understander = Understander::new(&tcp("127.0.0.1:1", ""));
        let read = understander.understand(format!("{digits} mNm").as_bytes()).unwrap();
        let Understood::Sample(sample) = read else { panic!("{read:?}") };
        prop_assert_eq!(sample.torque.to_string(), format!("{} mN·m", digits.trim_end_matches('.')));
    }

    #[test]
    fn any_text_is_a_description_or_its_faults(text in "[a-z\\[\\]=\"'\n .{}0-9]{0,200}") {
        let _ = Description::parse(&text, Path::new(""));
    }
}

/// Ten million lines are 24 hours at 115 a second.
#[cfg(target_os = "linux")]
#[test]
fn a_day_of_samples_takes_no_more_memory_than_a_minute() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("day.toml");
    let address = listener.local_addr().unwrap();
    std::fs::write(&file, format!("name = 't'\n[link]\nkind = 'tcp'\naddress = '{address}'\n{PATTERN}"))
        .unwrap();
    let child = Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args([
            "instrument",
            "probe",
            file.to_str().unwrap(),
            "--seconds",
            "600",
            "--lines",
            "9999999",
            "--json",
        ])
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let resident_kb = || -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap();
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap();
        line.trim().trim_end_matches(" kB").parse().unwrap()
    };
    let (mut display, _) = listener.accept().unwrap();
    let thousand: String =
        (0..1000).map(|i| format!("{i:03}.5 {}\n", if i % 97 == 0 { "bar" } else { "Nm" })).collect();
    let mut after_a_hundred_thousand = 0;
    for i in 0..10_000 {
        if i == 100 {
            after_a_hundred_thousand = resident_kb();
        }
        if i == 9900 {
            let grown = resident_kb().saturating_sub(after_a_hundred_thousand);
            assert!(grown < 1024, "{grown} kB more");
        }
        display.write_all(thousand.as_bytes()).unwrap();
    }
    let output = child.wait_with_output().unwrap();
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(report["lines"], 9_999_999);
    assert_eq!(report["misfits"].as_array().unwrap().len(), 1);
}
