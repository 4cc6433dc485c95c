//! An instrument that says anything at all: random bytes, half lines, wrong units, silence, a line cut
//! and taken up again. The session goes on, says what is wrong, and takes nothing that was not pulled.
//!
//! `LEVERARM_NOISE` is the number of bad turns, `LEVERARM_NOISE_SEED` throws the same dice.

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

use crate::dice::{Dice, number};
use crate::folder::Folder;
use crate::person::{Asked, Person, asked};
use crate::record::{journal, readings, sayable};
use crate::terminal::Terminal;

const RATE_HZ: u64 = 200;

/// What the instrument does for a while.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Turn {
    Random,
    HalfLines,
    WrongUnits,
    Absurd,
    Silence,
    Cut,
    Still,
}

const TURNS: [Turn; 7] =
    [Turn::Random, Turn::HalfLines, Turn::WrongUnits, Turn::Absurd, Turn::Silence, Turn::Cut, Turn::Still];

/// The far side of an instrument.
enum Far {
    Tcp { listener: TcpListener, stream: Option<TcpStream> },
    Pty { master: File },
}

impl Far {
    fn say(&mut self, bytes: &[u8]) {
        match self {
            Far::Tcp { listener, stream } => {
                if stream.is_none() {
                    *stream = listener.accept().ok().map(|(stream, _)| stream);
                }
                if stream.as_mut().is_some_and(|stream| stream.write_all(bytes).is_err()) {
                    *stream = None;
                }
            }
            // what nobody reads is lost, as on a cable
            Far::Pty { master } => match master.write(bytes) {
                Ok(_) => {}
                Err(error) => assert_eq!(error.kind(), ErrorKind::WouldBlock, "{error}"),
            },
        }
    }

    fn hang_up(&mut self) {
        if let Far::Tcp { stream, .. } = self {
            *stream = None;
        }
    }
}

/// A display of the test at work.
struct Display {
    stop: Arc<AtomicBool>,
    turns: Arc<AtomicU64>,
    /// what it does now; none for a display in good order
    turn: Arc<Mutex<Option<Turn>>>,
    thread: Option<JoinHandle<()>>,
}

impl Display {
    fn start(far: Far, mut dice: Dice, turns_wanted: u64) -> Display {
        let (stop, turns) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicU64::new(0)));
        let turn = Arc::new(Mutex::new(None));
        let (halt, done, now) = (Arc::clone(&stop), Arc::clone(&turns), Arc::clone(&turn));
        let thread = std::thread::spawn(move || {
            let mut far = far;
            // in good order until the person has come to the first pull
            while !halt.load(Ordering::Relaxed) && done.load(Ordering::Relaxed) == 0 {
                good(&mut far, &mut dice, 10);
            }
            while !halt.load(Ordering::Relaxed) && done.load(Ordering::Relaxed) <= turns_wanted {
                let next = TURNS[dice.below(TURNS.len() as u64) as usize];
                *now.lock().unwrap() = Some(next);
                play(&mut far, next, &mut dice);
                done.fetch_add(1, Ordering::Relaxed);
            }
            *now.lock().unwrap() = None;
            done.store(u64::MAX, Ordering::Relaxed);
            while !halt.load(Ordering::Relaxed) {
                good(&mut far, &mut dice, 10);
            }
        });
        Display { stop, turns, turn, thread: Some(thread) }
    }
}

impl Drop for Display {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// Nobody touches the tool: the display stands at zero.
fn good(far: &mut Far, dice: &mut Dice, lines: u64) {
    for _ in 0..lines {
        let torque = 0.01 * (dice.below(3) as f64 - 1.0);
        far.say(format!("{torque:+.2} N.m\r\n").as_bytes());
        std::thread::sleep(Duration::from_micros(1_000_000 / RATE_HZ));
    }
}

fn play(far: &mut Far, turn: Turn, dice: &mut Dice) {
    match turn {
        Turn::Random => {
            let bytes: Vec<u8> = (0..dice.below(20_000)).map(|_| dice.byte()).collect();
            far.say(&bytes);
        }
        Turn::HalfLines => {
            for _ in 0..dice.below(40) {
                let line = format!("{:+.2} N.m\r\n", dice.below(250) as f64 / 100.0 - 1.2);
                let end = dice.below(line.len() as u64) as usize;
                far.say(&line.as_bytes()[..end]);
            }
            far.say(b"\r\n");
        }
        Turn::WrongUnits => {
            for _ in 0..dice.below(60) {
                let unit = ["lbf.ft", "cN.m", "kN.m", "bar", "N", ""][dice.below(6) as usize];
                far.say(format!("{:+.2} {unit}\r\n", dice.below(25_000) as f64 / 100.0).as_bytes());
            }
        }
        Turn::Absurd => {
            let line =
                ["+9e99 N.m", "+--5 N.m", "NaN N.m", "+1.2.3 N.m", "OL", "+99999999999999999999999999 N.m"];
            for _ in 0..dice.below(60) {
                far.say(format!("{}\r\n", line[dice.below(6) as usize]).as_bytes());
            }
            far.say(&vec![b'7'; dice.below(200_000) as usize]);
            far.say(b"\r\n");
        }
        Turn::Silence => std::thread::sleep(dice.ms(100, 1500)),
        Turn::Cut => {
            far.say(b"+12.3");
            far.hang_up();
            std::thread::sleep(dice.ms(0, 300));
        }
        Turn::Still => good(far, dice, 60),
    }
}

/// Keys and pictures with a display that is out of order; then it is in order again.
fn endure(link: &str, far: Far, variable: &str) {
    let folder = Folder::of("fixed-tool");
    let description = folder.around().join("display.toml");
    let text = format!(
        "name = \"Bad display\"\nrate = \"{RATE_HZ} Hz\"\nsilence = \"300 ms\"\n\n[link]\n{link}\n[lines]\nterminator = \"\\r\\n\"\nlongest = 60\n\n[pattern]\nline = '(?<sign>[+-])(?<value>[0-9.]+) (?<unit>\\S+)'\n"
    );
    fs::write(&description, text).unwrap();
    let turns = number("LEVERARM_NOISE", 20);
    let display = Display::start(far, Dice::of(variable), turns);
    let arguments = ["bench", folder.run(), "--instrument", description.to_str().unwrap(), "--mains", "0"];
    let mut terminal = Terminal::start(&arguments, 30, 100, pictures);
    let mut person = Person::new("Runa Hjaltevik");
    person.work_until(&mut terminal, "the first pull", |text| {
        asked(text) == Asked::Pull && text.contains("Preload")
    });
    let before = journal(&folder);
    display.turns.store(1, Ordering::Relaxed);
    let mut presses = 0_u64;
    while display.turns.load(Ordering::Relaxed) != u64::MAX {
        assert!(terminal.is_alive(), "it died in {:?}:\n{}", display.turn.lock().unwrap(), terminal.text());
        presses += 1;
        // a person who tries this and that meanwhile
        if presses.is_multiple_of(20) {
            terminal.key("\r");
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    let text = terminal.wait("a display in order", |text| text.contains("✓ Bad display"));
    assert!(text.contains("PULL") || asked(&text) == Asked::Pull, "{text}");
    terminal.key("l");
    let seen = terminal.seen();
    let (status, text) = terminal.end();
    assert!(status.success(), "{text}");
    // nothing was pulled, and nothing was taken
    let after = journal(&folder);
    assert!(!after.torn);
    assert_eq!(sayable(&after), sayable(&before), "{seen:#?}");
    assert!(!seen.iter().any(|words| words.starts_with("taken") || words.starts_with("void")), "{seen:#?}");
    println!("{turns} bad turns; said: {seen:#?}");
    for words in ["not understood", "in trouble"] {
        assert!(seen.iter().any(|said| said.contains(words)), "'{words}' was never said: {seen:#?}");
    }
}

/// Readings, and what was said of the instrument.
fn pictures(text: &str) -> Vec<String> {
    let mut found = readings(text);
    let words = [
        ("Not understood", "not understood"),
        ("the instrument is in trouble", "in trouble"),
        ("nothing has come for", "silent"),
        ("is gone:", "gone"),
        ("and N·m was expected", "wrong unit"),
        ("is not a known unit", "unknown unit"),
        ("lines were longer", "too long"),
        ("the line is not text", "not text"),
        ("do not trust this value", "do not trust"),
    ];
    found.extend(words.iter().filter(|(there, _)| text.contains(there)).map(|(_, name)| (*name).to_owned()));
    found
}

#[test]
fn a_display_on_a_socket_says_anything_at_all() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let link = format!("kind = \"tcp\"\naddress = \"{}\"\n", listener.local_addr().unwrap());
    listener.set_nonblocking(true).unwrap();
    endure(&link, Far::Tcp { listener, stream: None }, "LEVERARM_NOISE_SEED");
}

#[test]
fn a_display_on_a_serial_port_says_anything_at_all() {
    let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&master).unwrap();
    unlockpt(&master).unwrap();
    let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
    // while one holds it open the terminal lives on without a reader
    let held = OpenOptions::new().read(true).write(true).open(&name).unwrap();
    rustix::io::ioctl_fionbio(&master, true).unwrap();
    let link = format!("kind = \"serial\"\nport = \"{name}\"\nspeed = 115200\n");
    endure(&link, Far::Pty { master: File::from(master) }, "LEVERARM_NOISE_SERIAL_SEED");
    drop(held);
}
