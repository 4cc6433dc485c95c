//! Writing a folder of results, or one file, so that it is there whole or not at all.
//!
//! Everything is written and flushed to disk under a temporary name beside the wanted one, which is
//! then renamed. A crash at any moment leaves either nothing new or everything under the wanted name.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use thiserror::Error;

/// What became of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// It was written.
    New,
    /// It was there already, byte for byte the same.
    Same,
}

/// Why it was not written.
#[derive(Debug, Error)]
pub enum FolderError {
    /// Something else is there under that name.
    #[error("{} holds other results; a certificate is never overwritten", path.display())]
    Occupied {
        /// the folder
        path: PathBuf,
        /// the first file that differs, is missing or is one too many
        file: String,
    },
    /// The disk refused.
    #[error("cannot write {}: {error}", path.display())]
    Io {
        /// the file or folder
        path: PathBuf,
        /// why
        #[source]
        error: io::Error,
    },
}

fn at<T>(path: &Path, result: io::Result<T>) -> Result<T, FolderError> {
    result.map_err(|error| FolderError::Io { path: path.to_owned(), error })
}

/// Writes files into a new folder, atomically. A name may have folders before it, with `/` between.
///
/// # Errors
/// [`FolderError::Occupied`] when the folder is there with other content, [`FolderError::Io`] when
/// the disk refuses; then nothing is left behind.
pub fn write(folder: &Path, files: &[(&str, &[u8])]) -> Result<Written, FolderError> {
    if folder.exists() {
        return compare(folder, files);
    }
    let parent = parent(folder);
    at(&parent, fs::create_dir_all(&parent))?;
    let temporary = beside(folder);
    let outcome = fill(&temporary, files).and_then(|()| {
        at(folder, fs::rename(&temporary, folder))?;
        at(&parent, sync(&parent))
    });
    if outcome.is_err() && temporary.exists() {
        // What could not be finished is taken away; the first error is the one to report.
        let _ = fs::remove_dir_all(&temporary);
    }
    outcome.map(|()| Written::New)
}

/// Writes one file, atomically, over whatever stands under its name.
///
/// # Errors
/// What the disk says; then the old content is untouched and nothing else is left behind.
pub fn replace_file(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let temporary = beside(path);
    let written = File::create(&temporary)
        .and_then(|file| flush(file, bytes))
        .and_then(|()| fs::rename(&temporary, path));
    if written.is_err() {
        // What could not be finished is taken away; the first error is the one to report.
        let _ = fs::remove_file(&temporary);
    }
    written.and_then(|()| sync(&parent(path)))
}

fn parent(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// A temporary name in the same folder, of this process alone.
fn beside(path: &Path) -> PathBuf {
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    parent(path).join(format!(".{name}.{}.tmp", std::process::id()))
}

fn flush(mut file: File, bytes: &[u8]) -> io::Result<()> {
    file.write_all(bytes)?;
    file.sync_all()
}

fn fill(temporary: &Path, files: &[(&str, &[u8])]) -> Result<(), FolderError> {
    at(temporary, fs::create_dir(temporary))?;
    for (name, bytes) in files {
        let path = temporary.join(name);
        let holder = parent(&path);
        if !holder.exists() {
            at(&holder, fs::create_dir_all(&holder))?;
        }
        at(&path, File::create_new(&path).and_then(|file| flush(file, bytes)))?;
    }
    for (name, _) in files.iter().filter(|(name, _)| name.contains('/')) {
        let holder = parent(&temporary.join(name));
        at(&holder, sync(&holder))?;
    }
    at(temporary, sync(temporary))
}

/// Only Unix can flush a folder itself; elsewhere the rename is as durable as the system makes it.
fn sync(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder).and_then(|f| f.sync_all()) } else { Ok(()) }
}

fn compare(folder: &Path, files: &[(&str, &[u8])]) -> Result<Written, FolderError> {
    let occupied = |file: &str| FolderError::Occupied { path: folder.to_owned(), file: file.to_owned() };
    let mut there = Vec::new();
    names(folder, "", &mut there)?;
    if let Some(other) = there.iter().find(|name| !files.iter().any(|(wanted, _)| wanted == name)) {
        return Err(occupied(other));
    }
    for (name, bytes) in files {
        match fs::read(folder.join(name)) {
            Ok(there) if there == *bytes => {}
            _ => return Err(occupied(name)),
        }
    }
    Ok(Written::Same)
}

/// The files in a folder and its folders.
fn names(folder: &Path, before: &str, found: &mut Vec<String>) -> Result<(), FolderError> {
    for entry in at(folder, fs::read_dir(folder))? {
        let entry = at(folder, entry)?;
        let name = format!("{before}{}", entry.file_name().to_string_lossy());
        // a link to a folder is no folder of ours, and is not followed
        if at(&entry.path(), entry.file_type())?.is_dir() {
            names(&entry.path(), &format!("{name}/"), found)?;
        } else {
            found.push(name);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_folder_is_written_once_and_never_changed() {
        let scratch = tempfile::tempdir().unwrap();
        let folder = scratch.path().join("a/b");
        assert_eq!(write(&folder, &[("x", b"1"), ("y", b"2")]).unwrap(), Written::New);
        assert_eq!(write(&folder, &[("x", b"1"), ("y", b"2")]).unwrap(), Written::Same);
        let other = write(&folder, &[("x", b"1"), ("y", b"3")]);
        assert!(matches!(other, Err(FolderError::Occupied { file, .. }) if file == "y"));
        let fewer = write(&folder, &[("x", b"1")]);
        assert!(matches!(fewer, Err(FolderError::Occupied { file, .. }) if file == "y"));
        assert_eq!(fs::read(folder.join("y")).unwrap(), b"2");
    }

    #[test]
    fn folders_within_are_written_and_compared() {
        let scratch = tempfile::tempdir().unwrap();
        let folder = scratch.path().join("run");
        let files: &[(&str, &[u8])] = &[("x", b"1"), ("traces/1", b"2")];
        assert_eq!(write(&folder, files).unwrap(), Written::New);
        assert_eq!(write(&folder, files).unwrap(), Written::Same);
        fs::write(folder.join("traces/2"), b"").unwrap();
        let other = write(&folder, files);
        assert!(matches!(other, Err(FolderError::Occupied { file, .. }) if file == "traces/2"));
    }

    #[test]
    fn what_fails_leaves_nothing() {
        let scratch = tempfile::tempdir().unwrap();
        let folder = scratch.path().join("c");
        assert!(write(&folder, &[("x", b"1"), ("x", b"2")]).is_err());
        assert_eq!(fs::read_dir(scratch.path()).unwrap().count(), 0);
    }
}
