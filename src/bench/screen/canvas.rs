//! The buffer as the parts of the screen write to it: nothing goes outside, nothing harmful goes in.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::look::{Look, Paint};
use crate::text;

/// A buffer and how it is to be written to.
pub(crate) struct Canvas<'a> {
    buffer: &'a mut Buffer,
    pub(crate) look: Look,
}

impl<'a> Canvas<'a> {
    pub(crate) const fn new(buffer: &'a mut Buffer, look: Look) -> Canvas<'a> {
        Canvas { buffer, look }
    }

    /// Writes the text from `x` on in at most `columns`, cut with an ellipsis. Returns the columns used.
    pub(crate) fn put(&mut self, x: u16, y: u16, columns: u16, words: &str, paint: Paint) -> u16 {
        let area = self.buffer.area;
        if y < area.top() || y >= area.bottom() || x < area.left() || x >= area.right() {
            return 0;
        }
        let columns = columns.min(area.right() - x);
        let shown = text::cut(words, usize::from(columns), self.look);
        let (end, _) = self.buffer.set_stringn(x, y, shown, usize::from(columns), self.look.style(paint));
        end.saturating_sub(x)
    }

    /// Writes the text so that it ends at the right edge of the row of `place`. Returns the columns used.
    pub(crate) fn put_right(&mut self, place: Rect, words: &str, paint: Paint) -> u16 {
        let shown = text::cut(words, usize::from(place.width), self.look);
        let columns = u16::try_from(text::width(&shown)).unwrap_or(place.width).min(place.width);
        self.put(place.right().saturating_sub(columns), place.y, columns, &shown, paint)
    }

    /// Writes lines that were wrapped for `place`, as many as it has rows. Returns the rows used.
    pub(crate) fn put_lines(&mut self, place: Rect, lines: &[String], paint: Paint) -> u16 {
        let mut used = 0;
        for (y, line) in (place.top()..place.bottom()).zip(lines) {
            self.put(place.x, y, place.width, line, paint);
            used += 1;
        }
        used
    }

    /// One cell; `symbol` is one of our own signs, one column wide.
    pub(crate) fn dot(&mut self, x: u16, y: u16, symbol: &str, paint: Paint) {
        let style = self.look.style(paint);
        if let Some(cell) = self.buffer.cell_mut((x, y)) {
            cell.set_symbol(symbol).set_style(style);
        }
    }

    /// A place filled with one of our own signs.
    pub(crate) fn fill(&mut self, place: Rect, symbol: &str, paint: Paint) {
        for y in place.top()..place.bottom() {
            for x in place.left()..place.right() {
                self.dot(x, y, symbol, paint);
            }
        }
    }
}
