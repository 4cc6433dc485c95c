//! A serial port.

use std::io::{self, ErrorKind, Read, Write};

use serialport::{ClearBuffer, SerialPort};

use super::super::description::{FlowControl, Parity, Serial, StopBits};
use super::{Arrived, PATIENCE, Source, Trouble, is_idle};

/// Bytes of a serial port. An idle read is a time-out, not an error.
pub struct SerialSource {
    settings: Serial,
    port: Option<Box<dyn SerialPort>>,
}

impl SerialSource {
    /// For a port, which is opened by `connect`.
    #[must_use]
    pub fn new(settings: Serial) -> SerialSource {
        SerialSource { settings, port: None }
    }

    fn lost(&mut self, error: &io::Error) -> Trouble {
        self.port = None;
        Trouble::gone(&self.settings.port, error)
    }

    fn not_open(&self) -> Trouble {
        Trouble::gone(&self.settings.port, &io::Error::from(ErrorKind::NotConnected))
    }

    fn trouble(&self, error: &serialport::Error) -> Trouble {
        let port = self.settings.port.clone();
        match error.kind() {
            serialport::ErrorKind::Io(ErrorKind::NotFound) => Trouble::NoPort { port },
            serialport::ErrorKind::Io(ErrorKind::PermissionDenied) => Trouble::Denied { port },
            serialport::ErrorKind::NoDevice => {
                let exists = std::path::Path::new(&port).exists();
                if exists || cfg!(windows) { Trouble::Busy { port } } else { Trouble::NoPort { port } }
            }
            _ => Trouble::Settings { port, said: error.to_string() },
        }
    }
}

impl Source for SerialSource {
    fn place(&self) -> String {
        self.settings.port.clone()
    }

    fn is_live(&self) -> bool {
        true
    }

    fn connect(&mut self) -> Result<(), Trouble> {
        self.port = None;
        let settings = &self.settings;
        let port = serialport::new(&settings.port, settings.speed)
            .data_bits(match settings.data_bits {
                5 => serialport::DataBits::Five,
                6 => serialport::DataBits::Six,
                7 => serialport::DataBits::Seven,
                _ => serialport::DataBits::Eight,
            })
            .parity(match settings.parity {
                Parity::None => serialport::Parity::None,
                Parity::Even => serialport::Parity::Even,
                Parity::Odd => serialport::Parity::Odd,
            })
            .stop_bits(match settings.stop_bits {
                StopBits::One => serialport::StopBits::One,
                StopBits::Two => serialport::StopBits::Two,
            })
            .flow_control(match settings.flow_control {
                FlowControl::None => serialport::FlowControl::None,
                FlowControl::Software => serialport::FlowControl::Software,
                FlowControl::Hardware => serialport::FlowControl::Hardware,
            })
            .timeout(PATIENCE)
            .open()
            .map_err(|error| self.trouble(&error))?;
        // What came before belongs to an earlier moment. A port that cannot forget is read all the same.
        let _ = port.clear(ClearBuffer::Input);
        self.port = Some(port);
        Ok(())
    }

    fn read(&mut self, buffer: &mut [u8]) -> Result<Arrived, Trouble> {
        let Some(port) = &mut self.port else { return Err(self.not_open()) };
        match port.read(buffer) {
            // A port that reports data and gives none has been pulled out.
            Ok(0) => Err(self.lost(&io::Error::from(ErrorKind::UnexpectedEof))),
            Ok(count) => Ok(Arrived::Bytes(count)),
            Err(error) if is_idle(&error) => Ok(Arrived::Nothing),
            Err(error) => Err(self.lost(&error)),
        }
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), Trouble> {
        let Some(port) = &mut self.port else { return Err(self.not_open()) };
        match port.write_all(bytes) {
            Ok(()) => Ok(()),
            // Flow control holds the request up: the instrument stays silent, which is said.
            Err(error) if is_idle(&error) => Ok(()),
            Err(error) => Err(self.lost(&error)),
        }
    }
}
