//! The bench: from what an instrument says to a reading. [`instrument`] makes samples of bytes.

pub mod instrument;
