//! A TCP socket.

use std::io::{self, ErrorKind, Read, Write};
use std::net::{TcpStream, ToSocketAddrs};
use std::time::Duration;

use super::{Arrived, PATIENCE, Source, Trouble, is_idle};

/// So long a host is waited for.
const CONNECT: Duration = Duration::from_secs(2);

/// Bytes of a TCP socket.
#[derive(Debug)]
pub struct TcpSource {
    address: String,
    stream: Option<TcpStream>,
}

impl TcpSource {
    /// For an address, which is called by `connect`.
    #[must_use]
    pub fn new(address: String) -> TcpSource {
        TcpSource { address, stream: None }
    }

    fn lost(&mut self, error: &io::Error) -> Trouble {
        self.stream = None;
        Trouble::gone(&self.address, error)
    }

    fn call(&self) -> io::Result<TcpStream> {
        let mut last = io::Error::from(ErrorKind::NotFound);
        for address in self.address.to_socket_addrs()? {
            match TcpStream::connect_timeout(&address, CONNECT) {
                Ok(stream) => {
                    stream.set_read_timeout(Some(PATIENCE))?;
                    stream.set_write_timeout(Some(PATIENCE))?;
                    stream.set_nodelay(true)?;
                    return Ok(stream);
                }
                Err(error) => last = error,
            }
        }
        Err(last)
    }
}

impl Source for TcpSource {
    fn place(&self) -> String {
        self.address.clone()
    }

    fn is_live(&self) -> bool {
        true
    }

    fn connect(&mut self) -> Result<(), Trouble> {
        self.stream = None;
        let stream = self
            .call()
            .map_err(|error| Trouble::NoAnswer { address: self.address.clone(), said: error.to_string() })?;
        self.stream = Some(stream);
        Ok(())
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Arrived, Trouble> {
        let read = match &mut self.stream {
            Some(stream) => stream.read(buffer),
            None => Err(io::Error::from(ErrorKind::NotConnected)),
        };
        match read {
            Ok(0) => Err(self.lost(&io::Error::other("the other side hung up"))),
            Ok(count) => Ok(Arrived::Bytes(count)),
            Err(error) if is_idle(&error) => Ok(Arrived::Nothing),
            Err(error) => Err(self.lost(&error)),
        }
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), Trouble> {
        let sent = match &mut self.stream {
            Some(stream) => stream.write_all(bytes),
            None => Err(io::Error::from(ErrorKind::NotConnected)),
        };
        match sent {
            Ok(()) => Ok(()),
            Err(error) if is_idle(&error) => Ok(()),
            Err(error) => Err(self.lost(&error)),
        }
    }
}
