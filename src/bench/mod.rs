//! The bench: from what an instrument says to a reading. [`instrument`] makes samples of bytes;
//! [`simulate`] plays a bench where there is none.

pub mod instrument;
pub mod live;
pub mod simulate;
