//! A run folder as files of the record, without loss: everything in it, and the files outside that
//! `run.toml` names, such as the reference and the laboratory.
//!
//! The record takes paths inside one folder only. So the paths start as many folders above the run
//! folder as the run leads upwards, with the names that these folders have: a run that names
//! `../references/rt-250.toml` is kept as `click-wrench/run.toml`, …, `references/rt-250.toml`. The
//! first path is always that of `run.toml`: its folder is the run folder.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::event::FileRef;
use leverarm_ledger::store::FILE_BYTES_MAX;
use leverarm_ledger::text::{Id, TextError};
use thiserror::Error;

use leverarm_metrology::finding::Document;

use crate::ingest::Loaded;
use crate::ingest::store::{self, Folder, Store as _, TRACE_BYTES_MAX};

/// So many files one run may have: ten thousand traces and what belongs to them.
pub const FILES_MAX: usize = 10_500;
/// So many bytes one run may have.
pub const BYTES_MAX: u64 = 512 << 20;
/// So deep a run folder may be.
const DEPTH_MAX: usize = 8;
const RUN_FILE: &str = "run.toml";

/// A run folder, ready to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// path and name of each file, `run.toml` first
    pub files: Vec<FileRef>,
    /// their bytes, in the same order
    pub bytes: Vec<Vec<u8>>,
}

/// Why a run folder cannot be kept as it is.
#[derive(Debug, Error)]
pub enum LayoutError {
    /// It cannot be read.
    #[error("cannot read {}: {error}", path.display())]
    Io {
        /// what
        path: PathBuf,
        /// why
        #[source]
        error: io::Error,
    },
    /// A link, a pipe, a device.
    #[error("{} is not a plain file or folder", path.display())]
    NotPlain {
        /// what
        path: PathBuf,
    },
    /// Too much.
    #[error("the run has more than {what}")]
    TooMuch {
        /// of what
        what: String,
    },
    /// A name that the record cannot hold.
    #[error("the path '{path}' cannot stand in the record: {error}")]
    Path {
        /// the path
        path: String,
        /// why
        #[source]
        error: TextError,
    },
    /// A name that is no text, or that another system would read otherwise.
    #[error("the name {} cannot stand in the record", path.display())]
    Name {
        /// the path
        path: PathBuf,
    },
    /// The run names a file that cannot be had.
    #[error("{0}")]
    Store(#[from] store::StoreError),
    /// The file changed between two readings.
    #[error("'{path}' changed while it was read")]
    Changed {
        /// which
        path: String,
    },
}

impl LayoutError {
    /// What can be done.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            LayoutError::Io { .. } | LayoutError::Store(_) => "see whether the path is right and may be read",
            LayoutError::NotPlain { .. } => "put the file itself into the run folder, or take it out",
            LayoutError::TooMuch { .. } => "keep what is not part of the run elsewhere",
            LayoutError::Path { .. } | LayoutError::Name { .. } => {
                "give it a shorter name of letters, digits, '-', '_' and '.'"
            }
            LayoutError::Changed { .. } => "wait until the run is finished, and add it again",
        }
    }
}

/// The folders of a path of the record.
pub(super) fn folder_of(path: &str) -> Vec<String> {
    let mut parts: Vec<String> = path.split('/').map(str::to_owned).collect();
    parts.pop();
    parts
}

/// The path from the root of what was added, of a name that is relative to the run folder; `None`
/// where it leads out.
pub(super) fn resolve(base: &[String], name: &str) -> Option<String> {
    let mut parts: Vec<&str> = base.iter().map(String::as_str).collect();
    for part in name.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

/// How many folders above the run folder a name begins.
fn rise(name: &str) -> usize {
    let (mut depth, mut most) = (0_i64, 0_i64);
    for part in name.split('/') {
        match part {
            "" | "." => {}
            ".." => depth -= 1,
            _ => depth += 1,
        }
        most = most.min(depth);
    }
    usize::try_from(-most).unwrap_or(0)
}

/// Collects the files of a run that was read from a folder.
///
/// # Errors
/// [`LayoutError`].
pub fn collect(folder: &Path, loaded: &Loaded) -> Result<Kept, LayoutError> {
    let named = named(folder, loaded)?;
    let height = named.keys().map(|name| rise(name)).max().unwrap_or(0);
    let base = base_of(folder, height)?;
    let mut files: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    let mut walk = Walk { files: &mut files, base: &base, count: 0, bytes: 0 };
    walk.folder(folder, &mut Vec::new())?;
    for (name, bytes) in named {
        let Some(path) = resolve(&base, &name) else { continue };
        match files.get(&path) {
            Some(there) if *there != bytes => return Err(LayoutError::Changed { path: name }),
            Some(_) => {}
            None => {
                files.insert(path, bytes);
            }
        }
    }
    let first = resolve(&base, RUN_FILE).unwrap_or_default();
    let head = files.remove_entry(&first).into_iter();
    let mut kept = Kept { files: Vec::new(), bytes: Vec::new() };
    for (path, bytes) in head.chain(files) {
        if bytes.len() > FILE_BYTES_MAX {
            return Err(LayoutError::TooMuch { what: format!("{FILE_BYTES_MAX} bytes in {path}") });
        }
        let id = Id::new(&path).map_err(|error| LayoutError::Path { path, error })?;
        kept.files.push(FileRef { path: id, sha256: Digest::of(&bytes) });
        kept.bytes.push(bytes);
    }
    Ok(kept)
}

/// The files that the run names, by the names that it gives them, with the bytes that were read.
fn named(folder: &Path, loaded: &Loaded) -> Result<BTreeMap<String, Vec<u8>>, LayoutError> {
    let mut named = BTreeMap::new();
    for input in &loaded.inputs {
        // A built-in rulebook has no file of its own.
        let is_built_in = input.document == Document::Rulebook && !input.path.ends_with(".toml");
        if !is_built_in {
            named.insert(input.path.clone(), input.bytes.to_vec());
        }
    }
    let store = Folder::new(folder);
    for reading in loaded.run.iter().flat_map(|run| &run.readings) {
        let Some(trace) = reading.trace.as_ref().filter(|trace| !named.contains_key(&trace.file)) else {
            continue;
        };
        named.insert(trace.file.clone(), store.read(&trace.file, TRACE_BYTES_MAX)?);
    }
    Ok(named)
}

/// The names of the run folder and of those above it, as many as the run leads upwards.
fn base_of(folder: &Path, height: usize) -> Result<Vec<String>, LayoutError> {
    let io = |error| LayoutError::Io { path: folder.to_owned(), error };
    let whole = fs::canonicalize(folder).map_err(io)?;
    let mut names: Vec<String> = Vec::new();
    let mut at = whole.as_path();
    for _ in 0..height {
        let name = at.file_name().and_then(|name| name.to_str()).filter(|name| is_plain(name));
        names.push(name.unwrap_or("run").to_owned());
        at = at.parent().unwrap_or(at);
    }
    names.reverse();
    Ok(names)
}

fn is_plain(name: &str) -> bool {
    !matches!(name, "" | "." | "..") && !name.contains(['/', '\\', ':']) && !name.contains(char::is_control)
}

struct Walk<'a> {
    files: &'a mut BTreeMap<String, Vec<u8>>,
    base: &'a [String],
    count: usize,
    bytes: u64,
}

impl Walk<'_> {
    fn folder(&mut self, folder: &Path, within: &mut Vec<String>) -> Result<(), LayoutError> {
        let io = |error| LayoutError::Io { path: folder.to_owned(), error };
        if within.len() >= DEPTH_MAX {
            return Err(LayoutError::TooMuch { what: format!("{DEPTH_MAX} folders within one another") });
        }
        for entry in fs::read_dir(folder).map_err(io)? {
            let entry = entry.map_err(io)?;
            let path = entry.path();
            let name = entry.file_name().to_str().filter(|name| is_plain(name)).map(str::to_owned);
            let name = name.ok_or_else(|| LayoutError::Name { path: path.clone() })?;
            // A link could lead anywhere: what it points to is not looked at.
            let kind = entry.file_type().map_err(io)?;
            within.push(name);
            if kind.is_dir() {
                self.folder(&path, within)?;
            } else if kind.is_file() {
                self.file(&path, within)?;
            } else {
                return Err(LayoutError::NotPlain { path });
            }
            within.pop();
        }
        Ok(())
    }

    fn file(&mut self, path: &Path, within: &[String]) -> Result<(), LayoutError> {
        self.count += 1;
        if self.count > FILES_MAX {
            return Err(LayoutError::TooMuch { what: format!("{FILES_MAX} files") });
        }
        let io = |error| LayoutError::Io { path: path.to_owned(), error };
        self.bytes += fs::metadata(path).map_err(io)?.len();
        if self.bytes > BYTES_MAX {
            return Err(LayoutError::TooMuch { what: format!("{BYTES_MAX} bytes") });
        }
        let bytes = fs::read(path).map_err(io)?;
        let name: Vec<&str> = self.base.iter().chain(within).map(String::as_str).collect();
        self.files.insert(name.join("/"), bytes);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]
    use super::*;
    use crate::ingest;

    #[test]
    fn names_lead_up_as_far_as_they_say() {
        for (name, height) in
            [("a", 0), ("./a", 0), ("../a", 1), ("b/../../a", 1), ("../../x/y", 2), ("../b/../../c", 2)]
        {
            assert_eq!(rise(name), height, "{name}");
        }
    }

    #[test]
    fn a_folder_is_kept_with_what_it_names_outside_and_every_stray_file() {
        let scratch = tempfile::tempdir().unwrap();
        let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs");
        let run = scratch.path().join("bench/run 7");
        fs::create_dir_all(run.join("notes/deep")).unwrap();
        fs::create_dir_all(scratch.path().join("bench/references")).unwrap();
        for name in ["run.toml", "readings.csv"] {
            fs::copy(samples.join("click-wrench-full").join(name), run.join(name)).unwrap();
        }
        fs::write(run.join("notes/deep/photo.bin"), [0, 255, 10, 13]).unwrap();
        for name in ["references/rt-250.toml", "laboratory.toml"] {
            fs::copy(samples.join(name), scratch.path().join("bench").join(name)).unwrap();
        }
        let kept = collect(&run, &ingest::load(&run)).unwrap();
        let paths: Vec<&str> = kept.files.iter().map(|file| file.path.as_str()).collect();
        assert_eq!(
            paths,
            [
                "run 7/run.toml",
                "laboratory.toml",
                "references/rt-250.toml",
                "run 7/notes/deep/photo.bin",
                "run 7/readings.csv"
            ]
        );
        assert_eq!(kept.bytes[3], [0, 255, 10, 13]);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_not_followed() {
        let scratch = tempfile::tempdir().unwrap();
        let run = scratch.path().join("run");
        fs::create_dir(&run).unwrap();
        fs::write(run.join("run.toml"), "format = 1\n").unwrap();
        fs::write(scratch.path().join("secret"), "s").unwrap();
        std::os::unix::fs::symlink(scratch.path().join("secret"), run.join("note")).unwrap();
        let refused = collect(&run, &ingest::load(&run));
        assert!(matches!(refused, Err(LayoutError::NotPlain { .. })), "{refused:?}");
    }
}
