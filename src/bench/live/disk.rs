//! The journal of a session and its traces on disk: a line is there for good before anybody says so,
//! and one process at a time writes it.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use thiserror::Error;

use crate::export::folder::replace_file;

/// The name of the journal in the run folder.
pub const JOURNAL_FILE: &str = "session.journal";
/// The folder of the traces in the run folder.
pub const TRACES: &str = "traces";
/// A journal of a working day is some hundred kilobytes; this is no journal.
const BYTES_MAX: u64 = 256 * 1024 * 1024;

/// Why the record of a session cannot be kept or read.
#[derive(Debug, Error)]
pub enum DiskFault {
    /// Another process has it open.
    #[error("another bench session is at work on {}", path.display())]
    InUse {
        /// the journal
        path: PathBuf,
    },
    /// It is far too long.
    #[error("{} is {bytes} bytes long, more than any session writes", path.display())]
    TooLarge {
        /// the journal
        path: PathBuf,
        /// its length
        bytes: u64,
    },
    /// The disk refused.
    #[error("{}: {error}", path.display())]
    Io {
        /// which file or folder
        path: PathBuf,
        /// why
        #[source]
        error: io::Error,
    },
}

impl DiskFault {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            DiskFault::InUse { .. } => "end the other session first, or give another run folder",
            DiskFault::TooLarge { .. } => "see what this file is; a journal is never made by hand",
            DiskFault::Io { .. } => "see whether the disk is full, and whether the folder may be written to",
        }
    }
}

/// The journal, open and locked.
#[derive(Debug)]
pub struct Disk {
    folder: PathBuf,
    path: PathBuf,
    file: File,
    length: u64,
}

fn at<T>(path: &Path, result: io::Result<T>) -> Result<T, DiskFault> {
    result.map_err(|error| DiskFault::Io { path: path.to_owned(), error })
}

fn sync_folder(folder: &Path) -> Result<(), DiskFault> {
    at(folder, File::open(folder).and_then(|folder| folder.sync_all()))
}

impl Disk {
    /// Whether a session was begun in this run folder.
    #[must_use]
    pub fn is_begun(folder: &Path) -> bool {
        // an empty one was opened, and nothing came of it
        fs::metadata(folder.join(JOURNAL_FILE)).is_ok_and(|there| there.len() > 0)
    }

    /// Opens the journal of a run folder, or begins one, and gives what stands in it. The lock ends
    /// with the process, however that ends.
    ///
    /// # Errors
    /// [`DiskFault::InUse`] while another process has it open; what the disk says.
    pub fn open(folder: &Path) -> Result<(Disk, Vec<u8>), DiskFault> {
        let path = folder.join(JOURNAL_FILE);
        let is_new = !path.exists();
        let mut options = OpenOptions::new();
        let mut file = at(&path, options.read(true).write(true).create(true).truncate(false).open(&path))?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(DiskFault::InUse { path }),
            Err(TryLockError::Error(error)) => return Err(DiskFault::Io { path, error }),
        }
        if is_new {
            at(&path, file.sync_all())?;
            sync_folder(folder)?;
        }
        let bytes = at(&path, file.metadata())?.len();
        if bytes > BYTES_MAX {
            return Err(DiskFault::TooLarge { path, bytes });
        }
        let mut text = Vec::new();
        at(&path, file.read_to_end(&mut text))?;
        let length = text.len() as u64;
        Ok((Disk { folder: folder.to_owned(), path, file, length }, text))
    }

    /// Takes away the end of a line that was being written when the machine stopped: nobody was told
    /// of it.
    ///
    /// # Errors
    /// What the disk says.
    pub fn cut(&mut self, good: u64) -> Result<(), DiskFault> {
        if good < self.length {
            at(&self.path, self.file.set_len(good).and_then(|()| self.file.sync_all()))?;
            self.length = good;
        }
        Ok(())
    }

    /// Adds a line and returns when it is on disk. Where that fails nothing is left of it.
    ///
    /// # Errors
    /// What the disk says.
    pub fn append(&mut self, line: &[u8]) -> Result<(), DiskFault> {
        let written = self
            .file
            .seek(SeekFrom::Start(self.length))
            .and_then(|_| self.file.write_all(line))
            .and_then(|()| self.file.sync_data());
        match written {
            Ok(()) => {
                self.length = self.length.saturating_add(line.len() as u64);
                Ok(())
            }
            Err(error) => {
                // The first error is the one to report; the next opening cuts what could not be cut here.
                let _ = self.file.set_len(self.length);
                Err(DiskFault::Io { path: self.path.clone(), error })
            }
        }
    }

    /// Keeps a file of the run folder, such as `traces/0007.ltrc`, and returns when it is on disk. One
    /// that a crash left behind before its line was written is replaced.
    ///
    /// # Errors
    /// What the disk says.
    pub fn keep(&self, name: &str, bytes: &[u8]) -> Result<(), DiskFault> {
        keep(&self.folder, name, bytes)
    }

    /// The run folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }
}

/// Keeps a file of a run folder and returns when it is on disk; see [`Disk::keep`].
///
/// # Errors
/// What the disk says.
pub fn keep(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), DiskFault> {
    let path = folder.join(name);
    if let Some(holder) = path.parent().filter(|holder| !holder.exists()) {
        at(holder, fs::create_dir_all(holder))?;
        sync_folder(folder)?;
    }
    at(&path, replace_file(&path, bytes))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn what_was_appended_is_there_and_a_torn_end_goes() {
        let folder = tempfile::tempdir().unwrap();
        assert!(!Disk::is_begun(folder.path()));
        let (mut disk, text) = Disk::open(folder.path()).unwrap();
        assert!(text.is_empty());
        disk.append(b"one\n").unwrap();
        disk.append(b"two\n").unwrap();
        drop(disk);
        let torn = folder.path().join(JOURNAL_FILE);
        fs::write(&torn, b"one\ntwo\nthr").unwrap();
        let (mut disk, text) = Disk::open(folder.path()).unwrap();
        assert_eq!(text, b"one\ntwo\nthr");
        disk.cut(8).unwrap();
        disk.append(b"four\n").unwrap();
        drop(disk);
        assert_eq!(fs::read(&torn).unwrap(), b"one\ntwo\nfour\n");
    }

    #[test]
    fn two_sessions_do_not_write_one_journal() {
        let folder = tempfile::tempdir().unwrap();
        let first = Disk::open(folder.path()).unwrap();
        assert!(matches!(Disk::open(folder.path()), Err(DiskFault::InUse { .. })));
        drop(first);
        assert!(Disk::open(folder.path()).is_ok());
    }

    #[test]
    fn a_trace_is_kept_in_its_folder() {
        let folder = tempfile::tempdir().unwrap();
        let (disk, _) = Disk::open(folder.path()).unwrap();
        disk.keep("traces/0001.ltrc", b"LTRC").unwrap();
        disk.keep("traces/0001.ltrc", b"LTRC2").unwrap();
        assert_eq!(fs::read(folder.path().join("traces/0001.ltrc")).unwrap(), b"LTRC2");
        assert_eq!(fs::read_dir(folder.path().join("traces")).unwrap().count(), 1);
    }
}
