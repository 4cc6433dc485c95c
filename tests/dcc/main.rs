//! The Digital Calibration Certificate: written and read back, refused, forged and attacked. What other
//! programs say of it is judged by `tests/dcc/independent.py`.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::float_cmp_const,
    missing_docs
)]

mod hostile;
mod reference;
mod refused;
mod round_trip;
mod sample;
mod signature;
