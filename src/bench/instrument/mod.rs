//! Instruments by description: a TOML file says how the display of a transducer speaks.
//!
//! [`Description`] is what the file says. A [`source`] brings bytes from a serial port, a TCP socket or
//! a recorded file; the [`Framer`] makes lines of them in whatever pieces they come; the
//! [`Understander`] makes a [`Sample`] or a [`Misfit`] of each line. [`Feed`] drives all of them, tells
//! what happens as [`Event`]s, and goes on when the cable was pulled. Framer and understander are pure.
//! `standards-notes/instrument.md` explains every key of the description.

mod checksum;
mod description;
mod feed;
mod framer;
mod misfit;
mod shown;
pub mod source;
mod tally;
mod understand;

pub use checksum::{Checksum, Method, Written};
pub use description::{
    Ask, Description, Encoding, Fault, FaultKind, Faults, FlowControl, Link, Parity, Pattern, Serial, Status,
    StopBits, TimeAs,
};
pub use feed::{Event, Feed, Flow};
pub use framer::Framer;
pub use misfit::Misfit;
pub use shown::shown;
pub use source::{Arrived, Source, Trouble};
pub use tally::{Kind, Report, Tally};
pub use understand::{Sample, Understander, Understood};
