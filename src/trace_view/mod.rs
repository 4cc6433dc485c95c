//! A trace of a pull to look at: opened with care ([`open`]), searched for its pull ([`analyse`]),
//! reduced to what a picture can hold without losing a peak ([`columns`]), and said in facts with
//! every digit chosen ([`facts`]). What draws it stands in [`crate::export::trace`].

pub mod analyse;
pub mod columns;
pub mod facts;
pub mod open;
pub mod scribe;
pub mod ticks;
mod words;

#[cfg(test)]
pub(crate) mod sample;
