//! A real pseudo-terminal with leverarm behind it: keys are typed, the screen is read back as a
//! terminal would show it.

use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};

/// How long anything may take before a test gives up; nothing waits so long in practice.
pub const PATIENCE: Duration = Duration::from_secs(60);
/// How often the picture is looked at.
pub const GLANCE: Duration = Duration::from_millis(2);
/// A frame ends with the cursor being hidden or put somewhere (`CrosstermBackend`): what stands there
/// in between is no picture that anybody was meant to see.
const FRAME_ENDS: [&[u8]; 2] = [b"\x1b[?25l", b"\x1b[?25h"];

/// Where is the cursor? A terminal answers (DSR, ECMA-48 8.3.35).
const WHERE: &[u8] = b"\x1b[6n";

/// Picks from each picture what is to be remembered.
pub type Watch = fn(&str) -> Vec<String>;

/// leverarm in a terminal.
pub struct Terminal {
    child: Child,
    keyboard: File,
    screen: Arc<Mutex<Screen>>,
    reader: Option<JoinHandle<()>>,
}

/// What was shown.
struct Screen {
    parser: vt100::Parser,
    /// bytes of a frame that has no end yet
    begun: Vec<u8>,
    text: String,
    frames: u64,
    /// everything that ever stood on it which a test looks for
    seen: Vec<String>,
    watch: Watch,
    bells: usize,
}

impl Terminal {
    /// Starts leverarm with these arguments in a terminal of this size.
    pub fn start(arguments: &[&str], rows: u16, columns: u16, watch: Watch) -> Terminal {
        let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        tcsetwinsize(&master, Winsize { ws_row: rows, ws_col: columns, ws_xpixel: 0, ws_ypixel: 0 }).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
        let side = || OpenOptions::new().read(true).write(true).open(Path::new(&name)).unwrap();
        let child = Command::new(crate::folder::program())
            .args(arguments)
            .env("TERM", "xterm-256color")
            .env("NO_COLOR", "1")
            .stdin(Stdio::from(side()))
            .stdout(Stdio::from(side()))
            .stderr(Stdio::from(side()))
            .spawn()
            .unwrap();
        let keyboard = File::from(master);
        let mut shown = keyboard.try_clone().unwrap();
        let screen = Arc::new(Mutex::new(Screen::new(rows, columns, watch)));
        let written = Arc::clone(&screen);
        let mut answers = keyboard.try_clone().unwrap();
        let reader = std::thread::spawn(move || {
            let mut buffer = [0_u8; 1 << 16];
            // the terminal answers with an error when nobody is behind it any more
            while let Ok(count) = shown.read(&mut buffer) {
                if count == 0 {
                    break;
                }
                let piece = &buffer[..count];
                if behind(piece, WHERE).is_some() {
                    // the cursor is at home: leverarm asks before its first frame
                    let _ = answers.write_all(b"\x1b[1;1R");
                }
                written.lock().unwrap().take(piece);
            }
        });
        Terminal { child, keyboard, screen, reader: Some(reader) }
    }

    /// Types. Where nobody listens any more nothing happens: the next look sees it.
    pub fn key(&mut self, keys: &str) {
        let _ = self.keyboard.write_all(keys.as_bytes());
    }

    /// The last whole picture as text.
    pub fn text(&self) -> String {
        self.screen.lock().unwrap().text.clone()
    }

    /// What was remembered, in the order in which it was first seen.
    pub fn seen(&self) -> Vec<String> {
        self.screen.lock().unwrap().seen.clone()
    }

    /// How often the bell was struck.
    pub fn bells(&self) -> usize {
        self.screen.lock().unwrap().bells
    }

    /// Pictures so far.
    pub fn frames(&self) -> u64 {
        self.screen.lock().unwrap().frames
    }

    /// The number of the process.
    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Waits until the picture is as wanted.
    pub fn wait(&mut self, what: &str, is_there: impl Fn(&str) -> bool) -> String {
        let begun = Instant::now();
        loop {
            let text = self.text();
            if is_there(&text) {
                return text;
            }
            if let Some(status) = self.child.try_wait().unwrap() {
                self.last();
                panic!("leverarm ended with {status} before {what}:\n{}", self.text());
            }
            assert!(begun.elapsed() < PATIENCE, "no {what} in time:\n{text}");
            std::thread::sleep(GLANCE);
        }
    }

    /// Waits until something was remembered that begins so.
    pub fn wait_said(&mut self, words: &str) {
        let begun = Instant::now();
        while !self.seen().iter().any(|seen| seen.starts_with(words)) {
            assert!(
                begun.elapsed() < PATIENCE && self.is_alive(),
                "'{words}' was never said:\n{}",
                self.text()
            );
            std::thread::sleep(GLANCE);
        }
    }

    /// Whether leverarm is still there.
    pub fn is_alive(&mut self) -> bool {
        self.child.try_wait().unwrap().is_none()
    }

    /// Kills it as a failing machine would, and waits until all that it wrote was read.
    pub fn kill(mut self) -> Vec<String> {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        self.last();
        self.seen()
    }

    /// Waits for its end; what it says there is the text.
    pub fn end(mut self) -> (ExitStatus, String) {
        let begun = Instant::now();
        let status = loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                break status;
            }
            assert!(begun.elapsed() < PATIENCE, "leverarm does not end:\n{}", self.text());
            std::thread::sleep(GLANCE);
        };
        self.last();
        (status, self.text())
    }

    fn last(&mut self) {
        if let Some(reader) = self.reader.take() {
            reader.join().unwrap();
            self.screen.lock().unwrap().rest();
        }
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // One that has ended already is no matter.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Screen {
    fn new(rows: u16, columns: u16, watch: Watch) -> Screen {
        Screen {
            parser: vt100::Parser::new(rows, columns, 0),
            begun: Vec::new(),
            text: String::new(),
            frames: 0,
            seen: Vec::new(),
            watch,
            bells: 0,
        }
    }

    fn take(&mut self, bytes: &[u8]) {
        self.bells += bytes.iter().filter(|byte| **byte == 0x07).count();
        self.begun.extend_from_slice(bytes);
        while let Some(end) = FRAME_ENDS.iter().filter_map(|end| behind(&self.begun, end)).min() {
            let frame: Vec<u8> = self.begun.drain(..end).collect();
            self.parser.process(&frame);
            self.frames += 1;
            self.text = self.parser.screen().contents();
            for line in (self.watch)(&self.text) {
                if !self.seen.contains(&line) {
                    self.seen.push(line);
                }
            }
        }
    }

    /// What came after the last frame: the words at the end, or half a frame.
    fn rest(&mut self) {
        let rest = std::mem::take(&mut self.begun);
        self.parser.process(&rest);
        self.text = self.parser.screen().contents();
    }
}

fn behind(bytes: &[u8], end: &[u8]) -> Option<usize> {
    bytes.windows(end.len()).position(|window| window == end).map(|at| at + end.len())
}
