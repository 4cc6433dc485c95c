//! The doors: what is written here is read by the code that reads instruments.

use std::io::{ErrorKind, Read, Write};
use std::net::{TcpListener, TcpStream};

use leverarm_rig::line::Link;

use super::{Door, StartError};

/// A door that stands open.
pub(super) struct Opened {
    /// how it is reached
    pub(super) link: Link,
    /// the side of the bench
    pub(super) side: Side,
    /// the far side of a pseudo-terminal
    #[cfg(unix)]
    pub(super) far_side: Option<serialport::TTYPort>,
}

/// The side of the bench.
#[derive(Debug)]
pub(super) enum Side {
    Tcp {
        listener: TcpListener,
        reader: Option<TcpStream>,
    },
    #[cfg(unix)]
    Pty {
        near_side: serialport::TTYPort,
    },
}

/// What became of bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wrote {
    /// so many were taken
    Bytes(usize),
    /// the reader is too slow at the moment
    Full,
    /// there is no reader any more
    Gone,
}

impl Opened {
    pub(super) fn open(door: Door) -> Result<Opened, StartError> {
        match door {
            Door::Tcp => Opened::tcp().map_err(|error| StartError::NoPort { said: error.to_string() }),
            Door::Pty => Opened::pty(),
        }
    }

    fn tcp() -> std::io::Result<Opened> {
        let listener = TcpListener::bind(("127.0.0.1", 0))?;
        listener.set_nonblocking(true)?;
        let address = listener.local_addr()?.to_string();
        Ok(Opened {
            link: Link::Tcp { address },
            side: Side::Tcp { listener, reader: None },
            #[cfg(unix)]
            far_side: None,
        })
    }

    #[cfg(unix)]
    fn pty() -> Result<Opened, StartError> {
        use std::time::Duration;

        use serialport::{SerialPort, TTYPort};

        let no_pty = |said: String| StartError::NoPty { said };
        // The far side is not locked here. Asking for shared use would lock it, against the reader.
        let (mut near_side, far_side) = TTYPort::pair().map_err(|error| no_pty(error.to_string()))?;
        near_side.set_timeout(Duration::from_millis(2)).map_err(|error| no_pty(error.to_string()))?;
        let port = far_side.name().ok_or_else(|| no_pty("it has no name".into()))?;
        let link = Link::Serial { port };
        Ok(Opened { link, side: Side::Pty { near_side }, far_side: Some(far_side) })
    }

    #[cfg(not(unix))]
    fn pty() -> Result<Opened, StartError> {
        Err(StartError::NoPty { said: "this system has none".into() })
    }
}

impl Side {
    /// Whether somebody reads, and whether he has just come.
    pub(super) fn reader(&mut self) -> (bool, bool) {
        match self {
            Side::Tcp { listener, reader } => {
                if reader.as_mut().is_some_and(has_hung_up) {
                    *reader = None;
                }
                if reader.is_some() {
                    return (true, false);
                }
                let accepted = listener.accept().and_then(|(stream, _)| {
                    stream.set_nonblocking(true)?;
                    stream.set_nodelay(true)?;
                    Ok(stream)
                });
                *reader = accepted.ok();
                (reader.is_some(), reader.is_some())
            }
            // who has the far side open cannot be seen: what nobody reads fills it, and then time stands
            #[cfg(unix)]
            Side::Pty { near_side } => {
                discard(near_side);
                (true, false)
            }
        }
    }

    /// Hangs up, where that can be done.
    pub(super) fn hang_up(&mut self) {
        match self {
            Side::Tcp { reader, .. } => *reader = None,
            #[cfg(unix)]
            Side::Pty { .. } => {}
        }
    }

    /// Whether hanging up can be seen by the reader.
    pub(super) fn can_hang_up(&self) -> bool {
        matches!(self, Side::Tcp { .. })
    }

    /// Writes what there is room for.
    pub(super) fn write(&mut self, bytes: &[u8]) -> Wrote {
        let wrote = match self {
            Side::Tcp { reader, .. } => match reader {
                Some(stream) => stream.write(bytes),
                None => return Wrote::Gone,
            },
            #[cfg(unix)]
            Side::Pty { near_side } => near_side.write(bytes.get(..PIECE).unwrap_or(bytes)),
        };
        match wrote {
            Ok(0) => Wrote::Full,
            Ok(count) => Wrote::Bytes(count),
            Err(error) => match error.kind() {
                ErrorKind::WouldBlock | ErrorKind::TimedOut | ErrorKind::Interrupted => Wrote::Full,
                _ => {
                    self.hang_up();
                    if self.can_hang_up() { Wrote::Gone } else { Wrote::Full }
                }
            },
        }
    }
}

/// A terminal that says it has room has room for so many bytes; a longer write may wait for its reader.
#[cfg(unix)]
const PIECE: usize = 256;

/// Reads what the reader says, which nobody heeds, and whether he has gone.
fn has_hung_up(stream: &mut TcpStream) -> bool {
    match stream.read(&mut [0; 1024]) {
        Ok(0) => true,
        Ok(_) => false,
        Err(error) => !matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::Interrupted),
    }
}

#[cfg(unix)]
fn discard(port: &mut serialport::TTYPort) {
    use serialport::SerialPort;

    if port.bytes_to_read().is_ok_and(|count| count > 0) {
        let _ = port.read(&mut [0; 1024]);
    }
}
