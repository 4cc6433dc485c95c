//! What a description says, read and checked.

mod fault;
mod read;
mod table;

use std::path::PathBuf;
use std::time::Duration;

use leverarm_metrology::quantity::TorqueUnit;
use regex::Regex;

pub use fault::{Fault, FaultKind, Faults};

use super::checksum::Checksum;

/// How an instrument speaks.
#[derive(Debug, Clone)]
pub struct Description {
    /// what the people call it
    pub name: String,
    /// where its bytes come from
    pub link: Link,
    /// the bytes that end a line
    pub terminator: Vec<u8>,
    /// longer lines are dropped
    pub longest: usize,
    /// what its bytes mean
    pub encoding: Encoding,
    /// the request, where it does not speak unasked
    pub ask: Option<Ask>,
    /// what stands in a line
    pub pattern: Pattern,
    /// how a line is protected
    pub checksum: Option<Checksum>,
    /// samples a second as its manual states them
    pub rate_hz: Option<f64>,
    /// after so long without a line its silence is said
    pub silence: Duration,
}

/// Where bytes come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Link {
    /// a serial port
    Serial(Serial),
    /// a TCP socket
    Tcp {
        /// host and port
        address: String,
    },
    /// a recorded file
    File {
        /// its path, beside the description unless it is absolute
        path: PathBuf,
    },
}

/// Settings of a serial port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Serial {
    /// its name in the system
    pub port: String,
    /// bits a second
    pub speed: u32,
    /// bits of a character, 5 to 8
    pub data_bits: u8,
    /// the parity bit
    pub parity: Parity,
    /// stop bits
    pub stop_bits: StopBits,
    /// flow control
    pub flow_control: FlowControl,
}

/// The parity bit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parity {
    /// there is none
    None,
    /// even
    Even,
    /// odd
    Odd,
}

/// Stop bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StopBits {
    /// one
    One,
    /// two
    Two,
}

/// Flow control.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FlowControl {
    /// none
    None,
    /// XON and XOFF
    Software,
    /// RTS and CTS
    Hardware,
}

/// What bytes mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, which ASCII is part of
    Utf8,
    /// ISO 8859-1: every byte is a character
    Latin1,
}

/// A request and how often it is sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// its bytes
    pub request: Vec<u8>,
    /// the time from one to the next
    pub every: Duration,
}

/// What stands in a line.
#[derive(Debug, Clone)]
pub struct Pattern {
    /// the whole line, with parts named value, unit, sign, status, time, checksum, checked
    pub line: Regex,
    /// lines that are no readings
    pub ignore: Vec<Regex>,
    /// the unit of lines without one, and the only one that is accepted in lines with one
    pub unit: Option<TorqueUnit>,
    /// spellings of units that only this instrument uses
    pub units: Vec<(String, TorqueUnit)>,
    /// words for a sign, `true` for minus
    pub signs: Vec<(String, bool)>,
    /// words for a status
    pub status: Vec<(String, Status)>,
    /// texts of the value that stand for a torque beyond the range
    pub overload: Vec<String>,
    /// whether the decimal sign is a comma
    pub decimal_comma: bool,
    /// how the time is written
    pub time: Option<TimeAs>,
}

/// What the display says of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// the value is good
    Good,
    /// the value is moving
    Moving,
    /// the value is a peak that the display holds
    Peak,
    /// beyond the range: no value
    Overload,
    /// a fault of the instrument: no value
    Fault,
}

impl Status {
    /// Every status with its word in a description.
    pub const WORDS: [(&'static str, Status); 5] = [
        ("good", Status::Good),
        ("moving", Status::Moving),
        ("peak", Status::Peak),
        ("overload", Status::Overload),
        ("fault", Status::Fault),
    ];

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Status::Good => "good",
            Status::Moving => "moving",
            Status::Peak => "peak",
            Status::Overload => "overload",
            Status::Fault => "fault",
        }
    }
}

/// How the display writes a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeAs {
    /// seconds since it began
    Seconds,
    /// milliseconds since it began
    Milliseconds,
    /// microseconds since it began
    Microseconds,
    /// hours, minutes and seconds: `14:03:07.25`
    Clock,
}
