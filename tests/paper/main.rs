//! What comes out on paper and on the terminal.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod certificate;
mod work;
