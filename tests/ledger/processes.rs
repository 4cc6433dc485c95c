//! Processes of their own that write to a ledger: this binary, started again with `writer` alone. What
//! they say of their work stands in lines that begin with `@`.

use std::env;
use std::io::{BufRead as _, BufReader, Write as _};
use std::process::{Child, ChildStdin, Command as Process, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::Time;
use leverarm_ledger::event::*;
use leverarm_ledger::rules::Command;
use leverarm_ledger::store::{PostgresStore, SqliteStore, Store, StoreError};
use leverarm_ledger::{Ledger, LedgerError};

use crate::house::*;

/// What a ledger is opened by, as it stands in a variable: `file PATH` or `schema NAME`.
#[derive(Debug, Clone)]
pub struct Place(pub String);

pub fn clock() -> Time {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    // The invented laboratory lives in November 2026; only that time goes on matters.
    start() + since - Duration::from_secs(1_700_000_000)
}

fn say(line: &str) {
    // One write: a line is there whole, or not at all.
    let mut out = std::io::stdout().lock();
    out.write_all(format!("\n@ {line}\n").as_bytes()).unwrap();
    out.flush().unwrap();
}

#[test]
#[ignore = "is started by other tests"]
fn writer() {
    let variable = |name: &str| env::var(format!("LEVERARM_WRITER_{name}")).expect("started by another test");
    let (place, work, name) = (variable("PLACE"), variable("WORK"), variable("NAME"));
    match place.split_once(' ').unwrap() {
        ("file", path) => write(SqliteStore::open(path.as_ref()).unwrap(), &work, &name),
        ("schema", schema) => {
            write(PostgresStore::open(&crate::postgres::server(schema)).unwrap(), &work, &name)
        }
        _ => panic!("{place}"),
    }
}

fn write<S: Store>(store: S, work: &str, name: &str) {
    let mut ledger = Ledger::open(store).unwrap();
    say("ready");
    std::io::stdin().read_line(&mut String::new()).unwrap();
    match work.split_once(' ').unwrap() {
        ("jobs", count) => {
            (0..count.parse().unwrap()).for_each(|n| lead(&mut ledger, &format!("{name}-{n}")))
        }
        ("tools", count) => {
            (0..count.parse().unwrap()).for_each(|n| register(&mut ledger, &format!("{name}-{n}")));
        }
        _ => panic!("{work}"),
    }
    say("done");
}

fn acknowledge<S: Store>(ledger: &Ledger<S>) {
    let head = ledger.state().head();
    say(&format!("entry {} {}", head.sequence, head.hash));
}

/// A job from the door to its certificate; each step is announced before and acknowledged after.
fn lead<S: Store>(ledger: &mut Ledger<S>, job: &str) {
    let readings: Vec<u8> = format!("readings of {job}\n").repeat(3_000).into_bytes();
    let result = format!("result of {job}");
    let mut run = run(job, "found", "runa");
    run.files = vec![FileRef { path: id("readings.csv"), sha256: Digest::of(&readings) }];
    let steps = [
        ("receipt", "runa", Event::JobReceived(received(job)), vec![]),
        ("import", "runa", Event::RunAdded(run), readings),
        ("evaluation", "runa", Event::Evaluated(evaluated(job, "found")), result.into_bytes()),
        ("submission", "runa", Event::Submitted(Submitted { job: id(job) }), vec![]),
        ("approval", "idunn", Event::Approved(Approved { job: id(job) }), vec![]),
    ];
    for (step, who, event, file) in steps {
        say(&format!("begin {step}"));
        ledger.record(&signer(who), &clock, Command::Record(event), &[file]).unwrap();
        acknowledge(ledger);
    }
    say("begin issue");
    let mut render = |number: &CertificateNumber| {
        Ok(vec![(id("c.pdf"), format!("{number}\n").repeat(2_000).into_bytes())])
    };
    let number = ledger.issue(&signer("idunn"), &clock, &id(job), &id("SK-2026"), &mut render).unwrap();
    acknowledge(ledger);
    say(&format!("certificate {} {job}", number.number));
}

/// Registers a tool, and tries again where the store failed. A failure that was none would show as a
/// tool that exists already.
fn register<S: Store>(ledger: &mut Ledger<S>, name: &str) {
    loop {
        let command = Command::Record(Event::ToolRegistered(tool(name, name)));
        match ledger.record(&signer("runa"), &clock, command, &[]) {
            Ok(_) => return acknowledge(ledger),
            Err(LedgerError::Store(StoreError::Failed { reason, .. })) => {
                say(&format!("again {}", reason.escape_debug()));
                thread::sleep(Duration::from_millis(20));
            }
            Err(LedgerError::Store(StoreError::OutcomeUnknown { .. })) => {
                say("unknown");
                ledger.refresh().unwrap();
                if ledger.state().tools().contains_key(&id(name)) {
                    return acknowledge(ledger);
                }
            }
            Err(other) => panic!("{name}: {other}"),
        }
    }
}

/// A writer that was started.
pub struct Writer {
    child: Child,
    input: ChildStdin,
    ready: Receiver<()>,
    lines: JoinHandle<Vec<String>>,
}

/// What it said until its end.
#[derive(Debug, Default)]
pub struct Said {
    pub entries: Vec<(u64, Digest)>,
    pub certificates: Vec<(u64, String)>,
    /// the step that was begun and not acknowledged
    pub in_flight: Option<String>,
    pub again: usize,
    pub unknown: usize,
    pub is_done: bool,
}

impl Writer {
    pub fn start(place: &Place, work: &str, name: &str) -> Writer {
        let mut child = Process::new(env::current_exe().unwrap())
            .args(["--ignored", "--exact", "--nocapture", "processes::writer"])
            .envs(
                [("PLACE", place.0.as_str()), ("WORK", work), ("NAME", name)]
                    .map(|(key, value)| (format!("LEVERARM_WRITER_{key}"), value)),
            )
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let (input, output) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        let (sender, ready) = channel();
        let lines = thread::spawn(move || {
            let (mut output, mut lines, mut line) = (BufReader::new(output), Vec::new(), String::new());
            // A line without an end is one that the writer did not come to say.
            while output.read_line(&mut line).unwrap() > 0 && line.ends_with('\n') {
                if let Some(said) = line.trim_end().strip_prefix("@ ") {
                    if said == "ready" {
                        let _ = sender.send(());
                    }
                    lines.push(said.to_owned());
                }
                line.clear();
            }
            lines
        });
        Writer { child, input, ready, lines }
    }

    /// Waits until it has opened the ledger.
    pub fn is_ready(&self) {
        self.ready.recv().expect("the writer opens the ledger");
    }

    pub fn go(&mut self) {
        self.input.write_all(b"go\n").unwrap();
    }

    /// Ends it by SIGKILL, wherever it is.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
    }

    pub fn end(mut self) -> Said {
        self.child.wait().unwrap();
        let mut said = Said::default();
        for line in self.lines.join().unwrap() {
            match line.split(' ').collect::<Vec<_>>()[..] {
                ["entry", sequence, hash] => {
                    said.in_flight = None;
                    said.entries.push((sequence.parse().unwrap(), hash.parse().unwrap()));
                }
                ["certificate", number, job] => {
                    said.certificates.push((number.parse().unwrap(), job.to_owned()))
                }
                ["begin", step] => said.in_flight = Some(step.to_owned()),
                ["again", ..] => said.again += 1,
                ["unknown"] => said.unknown += 1,
                ["done"] => said.is_done = true,
                _ => assert_eq!(line, "ready"),
            }
        }
        said
    }
}
