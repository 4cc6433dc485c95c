//! The files that a run was read from, as attachments: names that any reader of PDF files can show and
//! save, and the path of each within its run.

use std::collections::BTreeSet;
use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use leverarm_metrology::finding::Document;
use leverarm_metrology::run::{Condition, Run};

use super::record::{self, FileRecord, LeftOut, RunFiles};
use crate::ingest::store::{Store, TRACE_BYTES_MAX};
use crate::ingest::{Input, sha256};

/// What traces and journal of all runs may take inside the PDF, packed, bytes. With the pages, a
/// certificate stays under 400 kB.
pub const OPTIONAL_PACKED_MAX: usize = 80_000;
/// Largest file of a run inside the PDF, bytes. The readings of an honest certificate take some
/// thousand.
pub const FILE_MAX: usize = 2 << 20;

/// A run with the files that it was read from.
pub struct RunSource<'a> {
    /// the run
    pub run: &'a Run,
    /// the files that were read, the rulebook in use among them
    pub inputs: &'a [Input],
    /// where they came from, for the traces
    pub store: &'a dyn Store,
}

/// A file to be attached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Held {
    pub(crate) name: String,
    pub(crate) bytes: Vec<u8>,
    /// path within the run, for the description
    pub(crate) about: String,
}

/// The files of the runs of one certificate.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Gathered {
    pub(crate) held: Vec<Held>,
    /// which attachment is which file
    pub runs: Vec<RunFiles>,
}

/// A file of one run, before it has a name.
struct Found {
    path: String,
    bytes: Vec<u8>,
    /// a built-in rulebook has no file of its own
    built_in: bool,
    optional: bool,
}

/// Takes the files of the runs. Traces and journals go in all together or not at all: a run of which a
/// part is missing cannot be evaluated again.
#[must_use]
pub fn gather(sources: &[RunSource<'_>]) -> Gathered {
    let all: Vec<(Condition, Vec<Found>)> =
        sources.iter().map(|source| (source.run.condition, found(source))).collect();
    let optional = all.iter().flat_map(|(_, files)| files).filter(|file| file.optional);
    let packed: usize = optional.map(|file| packed_bytes(&file.bytes)).sum();
    let mut names = Names::default();
    let mut gathered = Gathered::default();
    for (place, (condition, files)) in all.iter().enumerate() {
        let prefix = (all.len() > 1).then(|| condition.words().replace(' ', "-"));
        let mut run =
            RunFiles { condition: condition.words().to_owned(), files: Vec::new(), left_out: Vec::new() };
        for file in files {
            let large = file.bytes.len() > FILE_MAX || (file.optional && packed > OPTIONAL_PACKED_MAX);
            if large {
                run.left_out.push(LeftOut {
                    path: file.path.clone(),
                    sha256: sha256(&file.bytes),
                    bytes: file.bytes.len() as u64,
                });
                continue;
            }
            let same = |held: &&Held| held.about == file.path && held.bytes == file.bytes;
            let attachment = match gathered.held.iter().find(same) {
                Some(held) => held.name.clone(),
                None => {
                    let shared = all.iter().enumerate().any(|(other, (_, files))| {
                        other != place && files.iter().any(|f| f.path == file.path && f.bytes == file.bytes)
                    });
                    let name = names.take(file, prefix.as_deref().filter(|_| !shared));
                    let (bytes, about) = (file.bytes.clone(), file.path.clone());
                    gathered.held.push(Held { name: name.clone(), bytes, about });
                    name
                }
            };
            run.files.push(FileRecord { path: file.path.clone(), attachment });
        }
        gathered.runs.push(run);
    }
    gathered
}

fn found(source: &RunSource<'_>) -> Vec<Found> {
    let mut files: Vec<Found> = source
        .inputs
        .iter()
        .map(|input| Found {
            path: input.path.clone(),
            bytes: input.bytes.to_vec(),
            built_in: input.document == Document::Rulebook
                && input.path == source.run.rulebook
                && !input.path.ends_with(".toml"),
            optional: input.document == Document::Journal,
        })
        .collect();
    for reading in &source.run.readings {
        let Some(trace) = &reading.trace else { continue };
        if files.iter().any(|file| file.path == trace.file) {
            continue;
        }
        // What changed on disk since it was read is not what the result rests on.
        let read = source.store.read(&trace.file, TRACE_BYTES_MAX);
        if let Some(bytes) = read.ok().filter(|bytes| trace.sha256.as_deref() == Some(&sha256(bytes))) {
            files.push(Found { path: trace.file.clone(), bytes, built_in: false, optional: true });
        }
    }
    files
}

/// Size as a PDF packs it.
fn packed_bytes(bytes: &[u8]) -> usize {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    // Writing to memory cannot fail; if it did, the plain size stands.
    let packed = encoder.write_all(bytes).and_then(|()| encoder.finish());
    packed.map_or(bytes.len(), |packed| packed.len())
}

/// Names that are taken.
struct Names(BTreeSet<String>);

impl Default for Names {
    fn default() -> Names {
        let ours = [record::ISSUE, record::RESULT, record::XML, record::MANIFEST, record::SIGNATURE];
        Names(ours.map(str::to_owned).into())
    }
}

impl Names {
    /// A plain name: letters, digits, hyphen, underscore and point, not taken by another file.
    fn take(&mut self, file: &Found, prefix: Option<&str>) -> String {
        let base = match file.built_in {
            true => format!("rulebook-{}.toml", file.path),
            // What lies outside the run folder has a name of its own; what lies in a folder inside
            // takes the folder with it.
            false => match file.path.contains("..") {
                true => file.path.rsplit(['/', '\\']).next().unwrap_or_default().to_owned(),
                false => file.path.replace(['/', '\\'], "-"),
            },
        };
        let plain = |c: char| if c.is_ascii_alphanumeric() || "-_.".contains(c) { c } else { '_' };
        let mut name: String = base.chars().map(plain).take(96).collect();
        if name.is_empty() || name.starts_with('.') {
            name.insert_str(0, "file");
        }
        if let Some(prefix) = prefix {
            name = format!("{prefix}-{name}");
        }
        let mut free = name.clone();
        let mut count = 2_u32;
        while !self.0.insert(free.to_ascii_lowercase()) {
            free = format!("{count}-{name}");
            count += 1;
        }
        free
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str) -> Found {
        Found { path: path.to_owned(), bytes: Vec::new(), built_in: false, optional: false }
    }

    #[test]
    fn names_are_plain_and_each_is_another() {
        let mut names = Names::default();
        assert_eq!(names.take(&file("run.toml"), None), "run.toml");
        assert_eq!(names.take(&file("RUN.toml"), None), "2-RUN.toml");
        assert_eq!(names.take(&file("../references/rt-250.toml"), None), "rt-250.toml");
        assert_eq!(names.take(&file("traces/0001.ltrc"), None), "traces-0001.ltrc");
        assert_eq!(names.take(&file("result.json"), None), "2-result.json");
        assert_eq!(names.take(&file("readings.csv"), Some("as-left")), "as-left-readings.csv");
        assert_eq!(names.take(&file("prøve måling.csv"), None), "pr_ve_m_ling.csv");
        assert_eq!(names.take(&file(".."), None), "file..");
    }
}
