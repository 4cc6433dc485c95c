//! Where bytes come from: serial port, TCP socket, recorded file.

mod file;
mod serial;
mod tcp;

use std::io;
use std::path::PathBuf;
use std::time::Duration;

use thiserror::Error;

pub use file::FileSource;
pub use serial::SerialSource;
pub use tcp::TcpSource;

use super::description::Link;

/// No read and no write waits longer.
pub const PATIENCE: Duration = Duration::from_millis(50);

/// What a read brought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrived {
    /// so many bytes, at least one
    Bytes(usize),
    /// nothing, which is no fault
    Nothing,
    /// the end of a recorded file
    End,
}

/// Something that brings bytes and may go away and come back.
pub trait Source: Send {
    /// What it is called, for messages.
    fn place(&self) -> String;

    /// Whether it speaks now, as opposed to a recording.
    fn is_live(&self) -> bool;

    /// Opens it, or opens it again. What had come in before is thrown away.
    ///
    /// # Errors
    /// Why it cannot be opened; trying again is allowed.
    fn connect(&mut self) -> Result<(), Trouble>;

    /// Reads what is there, and waits no longer than [`PATIENCE`].
    ///
    /// # Errors
    /// The connection is lost.
    fn read(&mut self, buffer: &mut [u8]) -> Result<Arrived, Trouble>;

    /// Sends all bytes.
    ///
    /// # Errors
    /// The connection is lost.
    fn send(&mut self, bytes: &[u8]) -> Result<(), Trouble>;
}

/// The source for a link.
#[must_use]
pub fn open(link: &Link) -> Box<dyn Source> {
    match link {
        Link::Serial(serial) => Box::new(SerialSource::new(serial.clone())),
        Link::Tcp { address } => Box::new(TcpSource::new(address.clone())),
        Link::File { path } => Box::new(FileSource::new(path.clone())),
    }
}

/// Why a source brings nothing.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Trouble {
    /// There is no such port.
    #[error("there is no port {port}")]
    NoPort {
        /// its name
        port: String,
    },
    /// The port may not be opened.
    #[error("{port} may not be opened by this user")]
    Denied {
        /// its name
        port: String,
    },
    /// Another program has the port.
    #[error("{port} is held by another program")]
    Busy {
        /// its name
        port: String,
    },
    /// The port does not take the settings.
    #[error("{port} does not take these settings: {said}")]
    Settings {
        /// its name
        port: String,
        /// what the system said
        said: String,
    },
    /// The host cannot be reached.
    #[error("{address} does not answer: {said}")]
    NoAnswer {
        /// host and port
        address: String,
        /// what the system said
        said: String,
    },
    /// The cable was pulled, or the other side hung up.
    #[error("the connection to {place} is gone: {said}")]
    Gone {
        /// port or address
        place: String,
        /// what the system said
        said: String,
    },
    /// The recorded file cannot be read.
    #[error("{} cannot be read: {said}", path.display())]
    NoFile {
        /// its path
        path: PathBuf,
        /// what the system said
        said: String,
    },
}

impl Trouble {
    fn gone(place: &str, error: &io::Error) -> Trouble {
        Trouble::Gone { place: place.to_owned(), said: error.to_string() }
    }

    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Trouble::NoPort { .. } => "plug the cable in, or correct link.port",
            Trouble::Denied { .. } => "let this user use serial ports: on many systems by the group dialout",
            Trouble::Busy { .. } => "close the other program",
            Trouble::Settings { .. } => "compare speed, data_bits, parity and stop_bits with the manual",
            Trouble::NoAnswer { .. } => {
                "switch the instrument on, see to the network, or correct link.address"
            }
            Trouble::Gone { .. } => "plug it in again or switch it on: the session goes on by itself",
            Trouble::NoFile { .. } => "correct link.file",
        }
    }
}

/// Whether a read or a write only waited in vain.
fn is_idle(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock | io::ErrorKind::Interrupted)
}
