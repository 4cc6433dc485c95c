//! A laboratory in a temporary folder, with its people: invented, as everything of the demo.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

pub const PASSPHRASE: &str = "fjord kettle lantern";
pub const JOB: &str = "SK-2026-0412";

pub struct House {
    folder: TempDir,
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

pub fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs")
}

/// Every file below a folder, with its path from there.
pub fn tree(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_str().unwrap().to_owned();
                found.push((name, fs::read(path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

impl House {
    /// An empty folder.
    pub fn empty() -> House {
        House { folder: tempfile::tempdir().unwrap() }
    }

    /// Founded, with a technician and two approvers, one of whom amends as well; with the reference of
    /// the sample runs, a customer and the tool of `click-wrench-full`.
    pub fn new() -> House {
        let house = House::empty();
        house.done(
            "eskil",
            &["init", "--laboratory", "Skeldravoe Torque Laboratory", "--name", "Eskil Marnburg"],
        );
        house.enrol("runa", "Runa Hjaltevik", &["technician"]);
        house.enrol("idunn", "Idunn Varholm", &["approver"]);
        house.authorise("eskil", "approver");
        house.authorise("eskil", "amender");
        let reference = samples().join("references/rt-250.toml");
        let maker = ["--maker", "Aldmarow", "--model", "RT 250"];
        let mut add = vec!["reference", "add", reference.to_str().unwrap()];
        add.extend(maker);
        house.done("idunn", &add);
        let name = "Haldervoe Bank Offshore Wind Site, turbine service";
        house.done("runa", &["customer", "add", "haldervoe", "--name", name]);
        house.tool("T-1", "click-wrench-full");
        house
    }

    pub fn tool(&self, id: &str, run: &str) {
        let run = samples().join(run);
        let run = run.to_str().unwrap();
        self.done(
            "runa",
            &["tool", "add", id, "--customer", "haldervoe", "--from", run, "--interval-months", "12"],
        );
    }

    pub fn enrol(&self, id: &str, name: &str, authorities: &[&str]) {
        let key = self.key(id);
        self.done("eskil", &["person", "add", id, "--name", name, "--new-key", key.to_str().unwrap()]);
        authorities.iter().for_each(|authority| self.authorise(id, authority));
    }

    pub fn authorise(&self, id: &str, authority: &str) {
        let from = "2026-01-01";
        self.done(
            "eskil",
            &["person", "authorise", id, "--for", authority, "--from", from, "--why", "training"],
        );
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn ledger(&self) -> PathBuf {
        self.path("ledger.sqlite")
    }

    pub fn key(&self, id: &str) -> PathBuf {
        self.path(&format!("{id}.pem"))
    }

    pub fn command(&self, person: &str, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_leverarm"));
        command
            .arg("ledger")
            .args(arguments)
            .current_dir(self.folder.path())
            .env("COLUMNS", "100")
            .env("LEVERARM_LEDGER", self.ledger())
            .env("LEVERARM_AS", person)
            .env("LEVERARM_KEY", self.key(person))
            .env("LEVERARM_PASSPHRASE", PASSPHRASE)
            .env("LEVERARM_NEW_PASSPHRASE", PASSPHRASE)
            .stdin(Stdio::null());
        command
    }

    pub fn run(&self, person: &str, arguments: &[&str]) -> Output {
        self.command(person, arguments).output().unwrap()
    }

    /// What was printed; the command must do what it was asked.
    pub fn done(&self, person: &str, arguments: &[&str]) -> String {
        let output = self.run(person, arguments);
        assert!(output.status.success(), "{arguments:?}: {}{}", stdout(&output), stderr(&output));
        stdout(&output)
    }

    /// What was said; the command must refuse.
    pub fn refused(&self, person: &str, arguments: &[&str]) -> String {
        let output = self.run(person, arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}{}", stdout(&output), stderr(&output));
        stderr(&output)
    }

    pub fn json(&self, person: &str, arguments: &[&str]) -> Value {
        let mut all = arguments.to_vec();
        all.push("--json");
        serde_json::from_str(&self.done(person, &all)).unwrap()
    }

    /// Leads the sample's job until it waits for an approver.
    pub fn submitted(&self) {
        let run = samples().join("click-wrench-full");
        let run = run.to_str().unwrap();
        self.done("runa", &["receive", "--from", run, "--condition", "complete, clean"]);
        self.done("runa", &["add-run", JOB, run]);
        self.done("runa", &["evaluate", JOB]);
        self.done("runa", &["submit", JOB]);
    }

    /// A copy of a sample run under another job's number, beside the files that it names.
    pub fn copy(&self, sample: &str, job: &str) -> PathBuf {
        let bench = self.path("bench");
        fs::create_dir_all(bench.join("references")).unwrap();
        for name in ["laboratory.toml", "references/rt-250.toml"] {
            fs::copy(samples().join(name), bench.join(name)).unwrap();
        }
        let target = bench.join(job);
        fs::create_dir_all(&target).unwrap();
        for (name, bytes) in tree(&samples().join(sample)) {
            let path = target.join(&name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, bytes).unwrap();
        }
        self.edit(&target, JOB, job);
        target
    }

    /// Puts one text for another in `run.toml`.
    pub fn edit(&self, run: &Path, from: &str, to: &str) {
        let path = run.join("run.toml");
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{from}");
        fs::write(path, text.replacen(from, to, 1)).unwrap();
    }
}
