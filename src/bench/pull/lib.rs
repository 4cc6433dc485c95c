//! The pull on a torque tool as a signal: the trace of torque against time, the low-pass filter,
//! and the detector that finds the zero, the start, the first peak, the peak and the end of a pull
//! and judges it before it counts.
//!
//! Nothing here reads a port, a file or a clock: samples with their times go in, events come out,
//! in constant memory. What is claimed for the detector, for which pulls and on what ground stands
//! in `standards-notes/first-peak.md`.
//!
//! Terms are those of ISO 6789 and of the VIM (JCGM 200).

pub mod butterworth;
pub mod codec;
pub mod detector;
pub mod stored;
pub mod trace;

mod fit;
mod notch;
