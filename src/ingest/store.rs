//! Where the files of a run come from: a folder on disk, or memory (a recheck of the files that a
//! certificate carries, a test). Names are relative to the run folder.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

use thiserror::Error;

/// Largest TOML file that is read, in bytes. The largest honest one has some thousand lines.
pub const TOML_BYTES_MAX: u64 = 4 << 20;
/// Largest file of readings that is read, in bytes: a million readings take about 60 million.
pub const READINGS_BYTES_MAX: u64 = 128 << 20;

/// Largest trace of a pull that is read, in bytes: a million samples take about two million.
pub const TRACE_BYTES_MAX: u64 = 8 << 20;
/// So many bytes of traces are read for one run: a hundred and fifty pulls of ten seconds at 10 kHz
/// take about thirty million.
pub const TRACE_BYTES_OF_RUN_MAX: u64 = 64 << 20;
/// So many traces are read for one run.
pub const TRACES_MAX: usize = 10_000;

/// Why a file could not be had.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum StoreError {
    /// There is none of that name.
    #[error("there is no file '{path}'")]
    Missing {
        /// the name as it was written
        path: String,
    },
    /// There is no run folder of that name.
    #[error("there is no run folder '{path}'")]
    NoFolder {
        /// the folder as it was given
        path: String,
    },
    /// A file where the run folder should be.
    #[error("'{path}' is a file, and a run is the folder that holds it")]
    FileGiven {
        /// the file as it was given
        path: String,
        /// the folder that holds it
        holder: String,
    },
    /// A folder, a device, a pipe.
    #[error("'{path}' is not a plain file")]
    NotAFile {
        /// the name as it was written
        path: String,
    },
    /// Too large to be what it should be.
    #[error("'{path}' has {found} bytes or more, at most {limit} are read")]
    TooLarge {
        /// the name as it was written
        path: String,
        /// its size
        found: u64,
        /// the largest size that is read
        limit: u64,
    },
    /// A path that starts at the root of the disk, or holds a character that no path may hold.
    #[error("'{path}' is not a path relative to the run folder")]
    NotRelative {
        /// the name as it was written
        path: String,
    },
    /// The operating system refuses.
    #[error("'{path}' cannot be read: {reason}")]
    Refused {
        /// the name as it was written
        path: String,
        /// what the operating system says
        reason: String,
    },
}

impl StoreError {
    /// The name as it was written.
    #[must_use]
    pub fn path(&self) -> &str {
        match self {
            StoreError::Missing { path }
            | StoreError::NoFolder { path }
            | StoreError::FileGiven { path, .. }
            | StoreError::NotAFile { path }
            | StoreError::TooLarge { path, .. }
            | StoreError::NotRelative { path }
            | StoreError::Refused { path, .. } => path,
        }
    }
}

/// A place from which the files of a run are read.
pub trait Store {
    /// The whole content of a file.
    ///
    /// # Errors
    /// [`StoreError`] when there is no such file, when it is too large or cannot be read.
    fn read(&self, path: &str, limit: u64) -> Result<Vec<u8>, StoreError>;

    /// Why there can be no run at all, where the place itself is not one.
    fn unfit(&self) -> Option<StoreError> {
        None
    }
}

/// A run folder on disk.
#[derive(Debug, Clone)]
pub struct Folder {
    root: PathBuf,
}

impl Folder {
    /// The folder at a path.
    #[must_use]
    pub fn new(root: &Path) -> Folder {
        Folder { root: root.to_owned() }
    }
}

impl Store for Folder {
    fn unfit(&self) -> Option<StoreError> {
        let path = self.root.display().to_string();
        match std::fs::metadata(&self.root) {
            Ok(about) if about.is_dir() => None,
            Ok(_) => {
                let holder = self.root.parent().map(|folder| folder.display().to_string());
                let holder = holder.filter(|name| !name.is_empty()).unwrap_or_else(|| ".".to_owned());
                Some(StoreError::FileGiven { path, holder })
            }
            Err(error) => match error.kind() {
                ErrorKind::NotFound | ErrorKind::NotADirectory => Some(StoreError::NoFolder { path }),
                _ => Some(StoreError::Refused { path, reason: error.to_string() }),
            },
        }
    }

    fn read(&self, path: &str, limit: u64) -> Result<Vec<u8>, StoreError> {
        let name = path.to_owned();
        if path.contains('\0') || Path::new(path).is_absolute() {
            return Err(StoreError::NotRelative { path: name });
        }
        let full = self.root.join(path);
        let from_io = |error: std::io::Error| match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => StoreError::Missing { path: path.to_owned() },
            _ => StoreError::Refused { path: path.to_owned(), reason: error.to_string() },
        };
        // Asked before it is opened: opening a pipe would wait for its other end.
        let about = std::fs::metadata(&full).map_err(from_io)?;
        if !about.is_file() {
            return Err(StoreError::NotAFile { path: name });
        }
        if about.len() > limit {
            return Err(StoreError::TooLarge { path: name, found: about.len(), limit });
        }
        let mut bytes = Vec::with_capacity(usize::try_from(about.len()).unwrap_or(0));
        File::open(&full).map_err(from_io)?.take(limit + 1).read_to_end(&mut bytes).map_err(from_io)?;
        if bytes.len() as u64 > limit {
            return Err(StoreError::TooLarge { path: name, found: bytes.len() as u64, limit });
        }
        Ok(bytes)
    }
}

/// The files of a run in memory, by the names that `run.toml` gives them.
#[derive(Debug, Clone, Default)]
pub struct Memory {
    files: BTreeMap<String, Vec<u8>>,
}

impl Memory {
    /// No files.
    #[must_use]
    pub fn new() -> Memory {
        Memory::default()
    }

    /// Adds a file, or replaces the one of that name.
    #[must_use]
    pub fn with(mut self, path: &str, bytes: impl Into<Vec<u8>>) -> Memory {
        self.files.insert(path.to_owned(), bytes.into());
        self
    }
}

impl Store for Memory {
    fn read(&self, path: &str, limit: u64) -> Result<Vec<u8>, StoreError> {
        let bytes = self.files.get(path).ok_or_else(|| StoreError::Missing { path: path.to_owned() })?;
        if bytes.len() as u64 > limit {
            return Err(StoreError::TooLarge { path: path.to_owned(), found: bytes.len() as u64, limit });
        }
        Ok(bytes.clone())
    }
}
