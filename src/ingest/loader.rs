//! Reads the files of a run one after the other and puts them together.

use std::sync::Arc;

use leverarm_metrology::finding::{Document, Finding, Place};
use leverarm_metrology::reading::Reading;
use leverarm_metrology::run::Laboratory;

use super::encoding::decode;
use super::page::{Page, Sink};
use super::readings::{self, Context};
use super::run::RunDraft;
use super::store::{READINGS_BYTES_MAX, Store, StoreError, TOML_BYTES_MAX};
use super::table::Table;
use super::value::shorten;
use super::{Input, Loaded, Source, checks, laboratory, reference, rulebook, study, traces};

const RUN_FILE: &str = "run.toml";
const READINGS_FILE: &str = "readings.csv";

struct Loader<'s> {
    store: &'s dyn Store,
    loaded: Loaded,
}

/// Reads a run.
pub(super) fn load(store: &dyn Store) -> Loaded {
    let mut loader = Loader { store, loaded: Loaded::default() };
    if let Some(error) = store.unfit() {
        loader.loaded.sources.name(Document::Run, error.path());
        loader.loaded.findings.push(unreadable(&error, Place::Whole(Document::Run)));
        return loader.loaded;
    }
    let draft = loader.page(Document::Run, RUN_FILE, Place::Whole(Document::Run), |root, sink| {
        Some(RunDraft::read(root, sink))
    });
    let is_folder_of_none = draft.is_none() && loader.holds_nothing();
    let draft = draft.unwrap_or_default();
    let readings = if is_folder_of_none { Vec::new() } else { loader.readings(&draft) };
    if let Some(path) = &draft.reference_file {
        loader.loaded.reference =
            loader.page(Document::Reference, path, Place::run("reference.file"), reference::read);
    }
    let study = draft
        .study_file
        .as_ref()
        .and_then(|path| loader.page(Document::Study, path, Place::run("study.file"), study::read));
    if draft.study_file.is_some() && study.is_none() {
        loader.loaded.sources.fail(Document::Study, String::new());
    }
    let laboratory = loader.laboratory(&draft);
    loader.rulebook(&draft);
    if let Some(path) = &draft.journal_file {
        loader.bytes(Document::Journal, path, Place::run("bench.journal"), READINGS_BYTES_MAX);
    }
    // What was recovered from a damaged file names other files and is no run.
    if !loader.loaded.sources.has_failed(Document::Run, "") {
        loader.loaded.run = draft.finish(laboratory, study, readings);
    }
    loader.traces();
    loader.awaited();
    loader.loaded
}

impl Loader<'_> {
    /// Whether there is neither `run.toml` nor `readings.csv`: this is no run, which is one mistake.
    fn holds_nothing(&self) -> bool {
        [RUN_FILE, READINGS_FILE]
            .iter()
            .all(|file| matches!(self.store.read(file, READINGS_BYTES_MAX), Err(StoreError::Missing { .. })))
    }

    /// Reads the traces that the readings name, and looks whether they show what the rows say.
    fn traces(&mut self) {
        let loaded = &mut self.loaded;
        if let Some(run) = &mut loaded.run {
            let step = loaded.reference.as_ref().map(|reference| reference.resolution.torque());
            loaded.findings.extend(traces::read(self.store, run, step));
        }
    }

    /// Notes what the checks of the core wait for.
    fn awaited(&mut self) {
        let loaded = &mut self.loaded;
        for (document, is_absent) in [
            (Document::Run, loaded.run.is_none()),
            (Document::Reference, loaded.reference.is_none()),
            (Document::Rulebook, loaded.rulebook.is_none()),
        ] {
            // Without run.toml nobody knows the names of the others.
            if is_absent && (document == Document::Run || loaded.sources.is_named(document)) {
                loaded.sources.wait_for(document);
            }
        }
    }

    /// Reads a file; what stands in the way becomes a finding at the place that names it.
    fn bytes(&mut self, document: Document, path: &str, named_at: Place, limit: u64) -> Option<Arc<Vec<u8>>> {
        match self.store.read(path, limit) {
            Ok(bytes) => {
                let bytes = Arc::new(bytes);
                self.input(document, path, &bytes);
                self.loaded.sources.insert(document, Source::new(path, Arc::clone(&bytes)));
                Some(bytes)
            }
            Err(error) => {
                self.loaded.sources.name(document, path);
                if let Place::Key { document, path } = &named_at {
                    self.loaded.sources.fail(*document, path.clone());
                }
                self.loaded.findings.push(unreadable(&error, named_at));
                None
            }
        }
    }

    fn input(&mut self, document: Document, path: &str, bytes: &Arc<Vec<u8>>) {
        let sha256 = super::sha256(bytes.as_slice());
        self.loaded.inputs.push(Input { document, path: path.to_owned(), sha256, bytes: Arc::clone(bytes) });
    }

    /// Reads a TOML file.
    fn page<T>(
        &mut self,
        document: Document,
        path: &str,
        named_at: Place,
        read: impl FnOnce(&Table<'_, '_>, &mut Sink) -> Option<T>,
    ) -> Option<T> {
        let bytes = self.bytes(document, path, named_at, TOML_BYTES_MAX)?;
        let text = match decode(document, &bytes) {
            Ok(text) => text,
            Err(finding) => {
                self.loaded.sources.fail(document, String::new());
                self.loaded.findings.push(*finding);
                return None;
            }
        };
        let mut page = Page::open(document, text);
        let mut sink = page.take_sink();
        let value = read(&page.root(), &mut sink);
        page.printable(&mut sink);
        let mut source = Source::new(path, Arc::clone(&bytes));
        source.keys = std::mem::take(&mut page.keys);
        self.loaded.sources.insert(document, source);
        self.loaded.findings.append(&mut sink.findings);
        if sink.is_damaged() {
            self.loaded.sources.fail(document, String::new());
        }
        for path in sink.failed {
            self.loaded.sources.fail(document, path);
        }
        value
    }

    fn readings(&mut self, draft: &RunDraft) -> Vec<Reading> {
        let (path, named_at) = match &draft.readings_file {
            Some(path) => (path.as_str(), Place::run("readings.file")),
            None => (READINGS_FILE, Place::Whole(Document::Readings)),
        };
        let Some(bytes) = self.bytes(Document::Readings, path, named_at, READINGS_BYTES_MAX) else {
            self.loaded.sources.fail_readings();
            return Vec::new();
        };
        let context = Context { directions: draft.tool.directions.clone(), decimal: draft.decimal };
        let (readings, rows, mut findings) = readings::parse(&bytes, &context);
        if !findings.is_empty() {
            self.loaded.sources.fail_readings();
        }
        let mut source = Source::new(path, bytes);
        source.readings = Some(rows);
        self.loaded.sources.insert(Document::Readings, source);
        self.loaded.findings.append(&mut findings);
        readings
    }

    fn laboratory(&mut self, draft: &RunDraft) -> Laboratory {
        let Some(path) = &draft.laboratory_file else {
            self.loaded.country = draft.country.clone();
            return draft.laboratory.clone();
        };
        let place = Place::run("laboratory.file");
        let read =
            self.page(Document::Laboratory, path, place, |root, sink| Some(laboratory::read(root, sink)));
        if read.is_none() {
            self.loaded.sources.fail(Document::Run, "laboratory".to_owned());
        }
        let (laboratory, country) = read.unwrap_or_default();
        self.loaded.country = country;
        laboratory
    }

    fn rulebook(&mut self, draft: &RunDraft) {
        let Some(word) = draft.rulebook() else { return };
        let place = Place::run("run.rulebook");
        if let Some(built_in) = rulebook::built_in(word) {
            let bytes = Arc::clone(&built_in.bytes);
            self.loaded.sources.insert(Document::Rulebook, Source::new(word, Arc::clone(&bytes)));
            self.loaded.inputs.push(Input {
                document: Document::Rulebook,
                path: word.to_owned(),
                sha256: built_in.sha256.clone(),
                bytes,
            });
            self.loaded.rulebook = Some(built_in.rulebook.clone());
            return;
        }
        let bytes = if rulebook::is_path(word) {
            match self.bytes(Document::Rulebook, word, place, TOML_BYTES_MAX) {
                Some(bytes) => bytes,
                None => return,
            }
        } else {
            let fault = rulebook::unknown(word);
            self.loaded.sources.fail(Document::Run, "run.rulebook".to_owned());
            self.loaded.sources.name(Document::Rulebook, word);
            self.loaded.findings.push(
                Finding::new(fault.check, place, fault.message)
                    .given(shorten(word))
                    .wanted(fault.wanted)
                    .remedy(fault.remedy),
            );
            return;
        };
        let text = decode(Document::Rulebook, &bytes).map_err(|finding| vec![*finding]);
        match text.and_then(|text| rulebook::parse(text).map(|rulebook| (text, rulebook))) {
            Ok((text, rulebook)) => {
                self.loaded.rulebook = Some(rulebook);
                self.loaded.findings.extend(rulebook::unprintable(text));
            }
            Err(mut findings) => self.loaded.findings.append(&mut findings),
        }
    }
}

pub(super) fn unreadable(error: &StoreError, place: Place) -> Finding {
    let (check, path, wanted, remedy) = match error {
        StoreError::Missing { path } if path == RUN_FILE => (
            &checks::FILE_MISSING,
            path,
            "a run folder, which holds run.toml and readings.csv".to_owned(),
            "give the folder of one run; where this is one, write its run.toml, which standards-notes/run-folder.md explains",
        ),
        StoreError::Missing { path } => (
            &checks::FILE_MISSING,
            path,
            "a file of that name".to_owned(),
            "put the file there or mend its path; paths are relative to the run folder, with / between folders",
        ),
        StoreError::NoFolder { path } => (
            &checks::FILE_MISSING,
            path,
            "a run folder, which holds run.toml and readings.csv".to_owned(),
            "give the path of the folder from where you are; see whether its name is spelled right",
        ),
        StoreError::FileGiven { path, holder } => (
            &checks::FILE_MISSING,
            path,
            format!("the run folder, here {holder}"),
            "give the folder that holds the file",
        ),
        StoreError::NotAFile { path } => {
            (&checks::FILE_UNREADABLE, path, "a plain file".to_owned(), "write the path of the file itself")
        }
        StoreError::TooLarge { path, limit, .. } => (
            &checks::FILE_UNREADABLE,
            path,
            format!("at most {limit} bytes"),
            "see whether this is the right file, or split the run",
        ),
        StoreError::NotRelative { path } => (
            &checks::FILE_UNREADABLE,
            path,
            "a path relative to the run folder".to_owned(),
            "write the path from the run folder, such as ../references/reference.toml, so that the folder can move",
        ),
        StoreError::Refused { path, .. } => (
            &checks::FILE_UNREADABLE,
            path,
            "a file that may be read".to_owned(),
            "give yourself permission to read the file, and see whether the disk is whole",
        ),
    };
    Finding::new(check, place, error.to_string()).given(shorten(path)).wanted(wanted).remedy(remedy)
}
