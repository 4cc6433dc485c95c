//! Backup while others write, and a restore that looks before it trusts.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};
use sha2::{Digest as _, Sha256};

use super::fault::Place;
use super::{SqliteStore, connect};
use crate::bytes::Digest;
use crate::error::LedgerError;
use crate::store::StoreError;
use crate::verify::{Report, verify};

/// The SHA-256 of the backup stands beside it, as `sha256sum` writes and checks it.
fn digest_path(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".sha256");
    PathBuf::from(name)
}

impl SqliteStore {
    /// Copies the ledger as it stands into a new file, while others go on writing, and puts the
    /// SHA-256 of the copy beside it (`….sha256`). Any byte of the backup that changes is then found.
    ///
    /// # Errors
    /// [`StoreError::Exists`] where there is such a file; [`StoreError`].
    pub fn backup(&mut self, to: &Path) -> Result<Digest, StoreError> {
        let place = Place::of(to);
        if to.exists() || digest_path(to).exists() {
            return Err(StoreError::Exists { place: place.shown() });
        }
        let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let work = tempfile::tempdir_in(folder).map_err(|error| place.io(&error))?;
        let partial = work.path().join("partial");
        copy(&self.connection, &partial, &self.place)?;
        let file = File::open(&partial).map_err(|error| place.io(&error))?;
        file.sync_all().map_err(|error| place.io(&error))?;
        let digest = digest_of(&partial, &place)?;
        // A hard link fails where a file of that name has come in the meantime; a rename would not.
        fs::hard_link(&partial, to).map_err(|error| place.io(&error))?;
        let name = to.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let line = format!("{digest}  {name}\n");
        let written = File::create_new(digest_path(to)).and_then(|mut file| {
            io::Write::write_all(&mut file, line.as_bytes())?;
            file.sync_all()?;
            File::open(folder)?.sync_all()
        });
        written.map_err(|error| place.io(&error))?;
        Ok(digest)
    }
}

/// Copies every page of a connection's database, as readers see it.
pub(super) fn copy(from: &Connection, to: &Path, place: &Place) -> Result<(), StoreError> {
    let fail = |error| place.error(error);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
    let mut target = Connection::open_with_flags(to, flags).map_err(fail)?;
    {
        let backup = Backup::new(from, &mut target).map_err(fail)?;
        // All pages in one step: it is one read transaction, and nobody's writing starts it anew.
        if backup.step(-1).map_err(fail)? != StepResult::Done {
            return Err(StoreError::Busy { place: place.shown(), seconds: super::fault::WAIT_S });
        }
    }
    target.close().map_err(|(_, error)| fail(error))
}

fn digest_of(path: &Path, place: &Place) -> Result<Digest, StoreError> {
    let mut file = File::open(path).map_err(|error| place.io(&error))?;
    let mut hasher = Sha256::new();
    let mut buffer = vec![0; 1 << 16];
    loop {
        let count = file.read(&mut buffer).map_err(|error| place.io(&error))?;
        let Some(read) = buffer.get(..count).filter(|read| !read.is_empty()) else {
            return Ok(Digest(hasher.finalize().into()));
        };
        hasher.update(read);
    }
}

/// Restores a backup under a new name: its SHA-256 must be the one beside it, and the copy must
/// verify, but for evaluations computed anew, before it gets its name.
///
/// # Errors
/// [`StoreError::Damaged`] where it does not hold, [`StoreError::Exists`] where the name is taken.
pub fn restore(backup: &Path, to: &Path) -> Result<Report, LedgerError> {
    let place = Place::of(backup);
    let said = fs::read_to_string(digest_path(backup)).map_err(|error| place.io(&error))?;
    let said = said.split_whitespace().next().unwrap_or_default().parse::<Digest>();
    let said = said.map_err(|error| place.damaged(format!("the SHA-256 beside it: {error}")))?;
    let found = digest_of(backup, &place)?;
    if said != found {
        return Err(place.damaged(format!("its SHA-256 is {found}, the one beside it {said}")).into());
    }
    let target = Place::of(to);
    if to.exists() {
        return Err(StoreError::Exists { place: target.shown() }.into());
    }
    let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let work = tempfile::tempdir_in(folder).map_err(|error| target.io(&error))?;
    let partial = work.path().join("partial");
    fs::copy(backup, &partial).map_err(|error| target.io(&error))?;
    let report = {
        let mut store = SqliteStore::open(&partial)?;
        let report = verify(&mut store, &[], &mut |_, _| Ok(()));
        if let Some(finding) = report.findings.first() {
            return Err(place.damaged(finding.problem.to_string()).into());
        }
        report
    };
    // What opening it may have changed (an earlier version) is in the file before it gets its name.
    connect(&partial, &target)?.close().map_err(|(_, error)| target.error(error))?;
    let sync = || -> io::Result<()> {
        File::open(&partial)?.sync_all()?;
        fs::hard_link(&partial, to)?;
        File::open(folder)?.sync_all()
    };
    sync().map_err(|error| target.io(&error))?;
    Ok(report)
}
