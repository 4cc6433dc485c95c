//! The ledger: rights, chain, signatures, numbering, stores, and what an attacker would try.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod bytes;
mod canonical;
mod conformance;
mod copies;
mod evil;
mod forged;
mod frozen;
mod house;
mod keys;
mod kills;
mod model;
mod postgres;
mod processes;
mod questions;
mod rights;
mod sqlite;
