//! The guided session at the bench: what is to be done now, what was taken, and the journal that keeps
//! it. No input, no output, no clock.
//!
//! [`Session`] takes inputs one by one (keys, samples, news of the instrument, what the disk says) and
//! answers with effects. A reading counts only after [`Input::Written`] came back for its entry: nothing
//! is said that is not on disk. All that counts is in the entries, and [`Record`] is what they add up
//! to; so a session that was cut off goes on from its journal as if nothing had been.
//!
//! Terms are those of ISO 6789 and of the VIM (JCGM 200).

pub mod entry;
pub mod journal;
pub mod outcome;
pub mod plan;
pub mod record;
pub mod view;

mod digits;
mod judge;
mod session;
mod text;
mod watch;
mod words;

pub use entry::{Did, Entry};
pub use outcome::{Outcome, readings_csv};
pub use plan::{Indicated, Plan};
pub use record::Record;
pub use session::{Aim, Cue, Effect, Input, Key, News, ResumeError, Session, TraceFile};
