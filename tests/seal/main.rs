//! Signatures: round trips, forgeries, random changes, hostile files, keys made by another program.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod chains;
mod detached;
mod forgeries;
mod hostile;
mod keys;
mod lists;
mod random_changes;
mod reformed;
mod round_trip;
mod support;
