//! Traces, filter and detector of pulls against a truth that shares no code with them.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod butterworth;
mod dice;
mod first_peak;
mod judgement;
mod page;
mod peak;
mod tops;
mod trace;
mod truth;
