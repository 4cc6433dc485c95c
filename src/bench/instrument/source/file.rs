//! A recorded file, played as fast as it is read.

use std::fs::File;
use std::io::Read;
use std::path::PathBuf;

use super::{Arrived, Source, Trouble};

/// Bytes of a recorded file.
#[derive(Debug)]
pub struct FileSource {
    path: PathBuf,
    file: Option<File>,
}

impl FileSource {
    /// For a file, which is opened by `connect`.
    #[must_use]
    pub fn new(path: PathBuf) -> FileSource {
        FileSource { path, file: None }
    }

    fn trouble(&self, error: &std::io::Error) -> Trouble {
        Trouble::NoFile { path: self.path.clone(), said: error.to_string() }
    }
}

impl Source for FileSource {
    fn place(&self) -> String {
        self.path.display().to_string()
    }

    fn is_live(&self) -> bool {
        false
    }

    fn connect(&mut self) -> Result<(), Trouble> {
        self.file = Some(File::open(&self.path).map_err(|error| self.trouble(&error))?);
        Ok(())
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Arrived, Trouble> {
        let Some(file) = &mut self.file else { return Ok(Arrived::End) };
        match file.read(buffer) {
            Ok(0) => Ok(Arrived::End),
            Ok(count) => Ok(Arrived::Bytes(count)),
            Err(error) => Err(self.trouble(&error)),
        }
    }

    /// A recording hears no request.
    fn send(&mut self, _bytes: &[u8]) -> Result<(), Trouble> {
        Ok(())
    }
}
