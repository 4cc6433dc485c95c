//! Why a line is not a sample.

use leverarm_metrology::quantity::TorqueUnit;
use thiserror::Error;

/// Why a line is not a sample, with what stood there and what was wanted.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Misfit {
    /// Bytes that are no text in the stated encoding.
    #[error("the line is not text: byte {at} is \\x{byte:02x}")]
    NotText {
        /// which byte, from 1
        at: usize,
        /// the byte
        byte: u8,
    },
    /// The pattern does not fit.
    #[error("the pattern does not fit the line")]
    NoMatch {
        /// the line begins with the rest, or ends with the beginning, of another terminator
        stray_terminator: bool,
    },
    /// The checksum in the line is not that of its bytes.
    #[error("the checksum is wrong: the line says {given}, its bytes give {wanted}")]
    Checksum {
        /// what stands in the line
        given: String,
        /// what its bytes give, written in the same way
        wanted: String,
    },
    /// The value is no number.
    #[error("'{given}' is not a number")]
    NotANumber {
        /// the text of the value
        given: String,
    },
    /// The unit is none that is known.
    #[error("'{given}' is not a known unit")]
    UnknownUnit {
        /// the text of the unit
        given: String,
    },
    /// The unit is known and not the one that the description fixes.
    #[error("the display shows {given}, the description says {wanted}")]
    OtherUnit {
        /// the unit of the line
        given: TorqueUnit,
        /// the unit of the description
        wanted: TorqueUnit,
    },
    /// The sign is none that is known.
    #[error("'{given}' is not a known sign")]
    UnknownSign {
        /// the text of the sign
        given: String,
    },
    /// The status is none that is known.
    #[error("'{given}' is not a known status")]
    UnknownStatus {
        /// the text of the status
        given: String,
    },
    /// The time cannot be read.
    #[error("'{given}' is not a time as the description states it")]
    NotATime {
        /// the text of the time
        given: String,
    },
    /// The display says that the torque is beyond its range.
    #[error("the display says overload: '{given}'")]
    Overload {
        /// the word
        given: String,
    },
    /// The display says that something is wrong with it.
    #[error("the display says that it has a fault: '{given}'")]
    Fault {
        /// the word
        given: String,
    },
}

impl Misfit {
    /// Every kind, as it stands in JSON.
    pub const KINDS: [&'static str; 11] = [
        "not-text",
        "no-match",
        "checksum",
        "not-a-number",
        "unknown-unit",
        "other-unit",
        "unknown-sign",
        "unknown-status",
        "not-a-time",
        "overload",
        "instrument-fault",
    ];

    /// The number of its kind in [`Misfit::KINDS`].
    #[must_use]
    pub fn index(&self) -> usize {
        match self {
            Misfit::NotText { .. } => 0,
            Misfit::NoMatch { .. } => 1,
            Misfit::Checksum { .. } => 2,
            Misfit::NotANumber { .. } => 3,
            Misfit::UnknownUnit { .. } => 4,
            Misfit::OtherUnit { .. } => 5,
            Misfit::UnknownSign { .. } => 6,
            Misfit::UnknownStatus { .. } => 7,
            Misfit::NotATime { .. } => 8,
            Misfit::Overload { .. } => 9,
            Misfit::Fault { .. } => 10,
        }
    }

    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Misfit::NotText { .. } => {
                "compare speed, data bits and parity with the menu of the display; where it writes signs of its own, set lines.encoding = \"latin-1\""
            }
            Misfit::NoMatch { stray_terminator: true } => {
                "a line end is left over: compare lines.terminator with the raw line, it is probably \"\\r\\n\""
            }
            Misfit::NoMatch { stray_terminator: false } => {
                "compare the raw line with pattern.line; a line that is no reading belongs to pattern.ignore; if it happens now and then, look for noise on the cable"
            }
            Misfit::Checksum { .. } => {
                "if every line has it, compare checksum.method and the part `checked` with the manual; if some have it, look for noise on the cable"
            }
            Misfit::NotANumber { .. } => {
                "a word for a torque beyond the range belongs to pattern.overload; a decimal comma needs pattern.decimal = \",\""
            }
            Misfit::UnknownUnit { .. } => "say in [pattern.units] which unit this spelling stands for",
            Misfit::OtherUnit { .. } => {
                "set the display to the unit of the description, or change pattern.unit"
            }
            Misfit::UnknownSign { .. } => "say in [pattern.signs] whether it stands for \"+\" or \"-\"",
            Misfit::UnknownStatus { .. } => "say in [pattern.status] what it stands for",
            Misfit::NotATime { .. } => "compare pattern.time with the raw line",
            Misfit::Overload { .. } => "unload the transducer at once; its calibration may have suffered",
            Misfit::Fault { .. } => "look at the display and into its manual",
        }
    }
}
