//! What comes out on paper and on the terminal.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod catalogue;
mod certificate;
mod command_line;
mod instrument;
mod samples;
mod selftest;
mod sequence;
mod stored;
mod traced;
mod under;
mod work;
