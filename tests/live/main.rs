//! leverarm at the bench: driven through a real pseudo-terminal, on a simulated bench.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]
#![cfg(unix)]

mod day;
mod dice;
mod folder;
mod kills;
mod latency;
mod noise;
mod person;
mod record;
mod terminal;
mod whole;
