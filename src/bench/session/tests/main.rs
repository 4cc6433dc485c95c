//! Whole sessions, driven through `Session::on` by a bench of numbers: a hand, a tool and a display
//! that share no code with the detector.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::float_cmp_const,
    missing_docs
)]

mod any;
mod bench;
mod disk;
mod hand;
mod journal;
mod keys;
mod pulls;
mod resume;
mod room;
mod tools;
mod whole;
