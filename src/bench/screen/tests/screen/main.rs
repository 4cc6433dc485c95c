//! What stands on the screen at every moment, and that nothing can break it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod arbitrary;
mod pages;
mod pictures;
mod scenes;
mod signs;

use leverarm_screen::look::Look;
use leverarm_screen::screen::{Drawn, Screen};
use leverarm_session::view::View;
use ratatui::backend::TestBackend;

pub const COLOURED: Look = Look { is_ascii: false, has_colour: true };
pub const ASCII: Look = Look { is_ascii: true, has_colour: true };
pub const COLOURLESS: Look = Look { is_ascii: false, has_colour: false };

pub fn screen(columns: u16, rows: u16, look: Look) -> Screen<TestBackend> {
    Screen::new(TestBackend::new(columns, rows), look).unwrap()
}

pub fn drawn(screen: &mut Screen<TestBackend>, view: &View) -> Drawn {
    screen.draw(view).unwrap()
}

/// What can be read on the screen, row by row.
pub fn text(screen: &Screen<TestBackend>) -> String {
    let buffer = screen.backend().buffer();
    let mut out = String::new();
    for y in 0..buffer.area.height {
        let mut x = 0;
        let mut row = String::new();
        while x < buffer.area.width {
            let symbol = buffer[(x, y)].symbol();
            row.push_str(symbol);
            x += u16::try_from(ratatui::text::Span::raw(symbol).width()).unwrap().max(1);
        }
        out.push_str(row.trim_end());
        out.push('\n');
    }
    out
}

pub fn picture(view: &View, columns: u16, rows: u16, look: Look) -> String {
    let mut screen = screen(columns, rows, look);
    drawn(&mut screen, view);
    text(&screen)
}
