//! The certificate that proves itself: what is issued is rechecked and agrees; what is forged is found.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod dcc;
mod forgeries;
mod program;
mod random_changes;
mod samples;
mod support;
