//! leverarm: the working bench of a laboratory that calibrates hand torque tools.
//!
//! The pure core is the crate [`metrology`]; around it stand the edges: [`ingest`] reads a run
//! folder, [`diagnose`] says what is wrong with it, [`assess`] judges it, [`printed`] rounds it once
//! for every reader, [`certificate`] sets the paper and [`export`] writes everything else. [`cli`] is the command line over them.

pub mod assess;
pub mod bench;
pub mod certificate;
pub mod cli;
pub mod diagnose;
pub mod export;
pub mod ingest;
pub mod office;
pub mod printed;
pub mod recheck;
pub mod selftest;
pub mod trace_view;

pub use leverarm_metrology as metrology;
