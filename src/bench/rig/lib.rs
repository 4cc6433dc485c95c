//! A simulated bench: a torque tool, the hand that pulls it, the transducer that feels the torque and
//! the display that says it.
//!
//! [`Rig`] makes samples from [`Settings`] and a seed; the same seed gives the same samples. The hand
//! pulls only on [`Command::Pull`] or [`Command::Preload`]; what really happened in a pull is its
//! [`Truth`]. [`line`] writes each sample as a line of an invented display.
//!
//! Nothing here reads a port, a file or a clock, and nothing is shared with the detector of pulls: this
//! is the truth that the detector is tried on. It is not a validation of a laboratory and never an
//! oracle for real tools. Equations, units and limits stand in `standards-notes/simulated-bench.md`.
//! Unless said otherwise the parameters are common practice, no published source.

mod chance;
mod check;
mod command;
mod fault;
mod hand;
pub mod line;
mod mechanism;
mod operator;
mod pull;
mod response;
mod rig;
mod settings;
mod store;
mod swing;
mod tool;
mod transducer;
mod truth;

pub use check::SettingsError;
pub use command::{Command, CommandError};
pub use fault::Faults;
pub use operator::{Mistake, Mistakes, Operator};
pub use rig::{Rig, Sample};
pub use settings::{Display, Room, Settings};
pub use store::Stored;
pub use tool::{IndicatingTool, Mechanism, SettingTool, Tool};
pub use transducer::Transducer;
pub use truth::{Moment, Truth};
