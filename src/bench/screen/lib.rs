//! The screen of the guided session in a terminal: large type, live bar, loading-time meter. It draws
//! what the session shows and decides nothing.
//!
//! [`screen::Screen`] draws a [`leverarm_session::view::View`] on any backend and knows which page of a
//! long text is up; [`terminal::Terminal`] is the real terminal around it, which is given back whatever
//! happens. Nothing is said by colour alone, and no caution is cut: what does not fit is turned page by
//! page, and [`screen::Screen::takes`] lets no key acknowledge what has not been shown.

pub mod cue;
pub mod fault;
pub mod look;
pub mod screen;
pub mod terminal;

mod big;
mod canvas;
mod draw;
mod glyphs;
mod pager;
mod text;
mod words;

/// The screen is made for at least so many columns.
pub const COLUMNS_MIN: u16 = 60;

/// The screen is made for at least so many rows.
pub const ROWS_MIN: u16 = 20;
