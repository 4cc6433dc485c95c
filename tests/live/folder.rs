//! Run folders to work in, made from the sample runs: what is measured at the bench is taken out.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

/// A run folder with its reference and its laboratory beside it.
pub struct Folder {
    holder: TempDir,
    run: PathBuf,
}

impl Folder {
    /// The run folder of a sample run, as it was before anything was measured.
    pub fn of(sample: &str) -> Folder {
        let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs");
        let holder = tempfile::tempdir().unwrap();
        for name in ["references", "studies"] {
            copy(&samples.join(name), &holder.path().join(name));
        }
        fs::copy(samples.join("laboratory.toml"), holder.path().join("laboratory.toml")).unwrap();
        let run = holder.path().join("run");
        fs::create_dir(&run).unwrap();
        let text = fs::read_to_string(samples.join(sample).join("run.toml")).unwrap();
        fs::write(run.join("run.toml"), prepared(&text)).unwrap();
        Folder { holder, run }
    }

    /// The run folder.
    pub fn run(&self) -> &str {
        self.run.to_str().unwrap()
    }

    /// The folder around it.
    pub fn around(&self) -> &Path {
        self.holder.path()
    }

    /// The path of a file in the run folder.
    pub fn file(&self, name: &str) -> PathBuf {
        self.run.join(name)
    }

    /// The bytes of a file in the run folder; none where it is not there.
    pub fn bytes(&self, name: &str) -> Vec<u8> {
        fs::read(self.file(name)).unwrap_or_default()
    }
}

/// Without the surroundings and the technician: those are asked for at the bench.
fn prepared(text: &str) -> String {
    let mut is_room = false;
    let mut kept = String::new();
    for line in text.lines() {
        if line.starts_with('[') {
            is_room = line == "[environment]";
        }
        if !is_room && !line.starts_with("technician") {
            kept.push_str(line);
            kept.push('\n');
        }
    }
    kept
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
    }
}

/// Runs a command of leverarm to its end.
pub fn leverarm(arguments: &[&str]) -> Output {
    Command::new(program()).args(arguments).env("NO_COLOR", "1").output().unwrap()
}

/// What it said, both ways, for a message.
pub fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// The program under test; for runs of hours a copy of it, which nobody builds anew meanwhile.
pub fn program() -> String {
    std::env::var("LEVERARM_PROGRAM").unwrap_or_else(|_| env!("CARGO_BIN_EXE_leverarm").to_owned())
}
