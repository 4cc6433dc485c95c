//! The ledger at the command line, as the people of a laboratory use it: each writes with a key of his
//! own, in a process of his own.
//!
//! The days of the sample runs lie before the day on which these tests run; the clock must not be set
//! back before 2026-11-25.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod help;
mod hostile;
mod house;
mod life;
mod many;
mod whole;
