//! Large type: how wide a text is at a size, and the text put in blocks, two dots high in a cell.

use crate::canvas::Canvas;
use crate::glyphs::{Glyph, glyph};
use crate::look::Paint;

/// Dots of a letter's height.
const DOTS_HIGH: u16 = 7;

/// No dot is wider than this many columns: 56 rows high is more than any bench needs.
const ACROSS_MAX: u16 = 8;

/// How large a dot is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Size {
    /// columns of a dot
    pub(crate) across: u16,
    /// halves of a row of a dot
    pub(crate) half_rows: u16,
}

impl Size {
    /// The smallest large type: four rows high.
    pub(crate) const LEAST: Size = Size { across: 1, half_rows: 1 };

    /// Rows of a letter.
    pub(crate) const fn rows(self) -> u16 {
        (DOTS_HIGH * self.half_rows).div_ceil(2)
    }

    /// All of them, from a square dot to one twice as high as wide, which is as narrow as reads well.
    pub(crate) fn all() -> impl Iterator<Item = Size> {
        (1..=ACROSS_MAX)
            .flat_map(|across| (across..=across * 2).map(move |half_rows| Size { across, half_rows }))
    }

    /// Dots count by their area: what is larger is read from farther.
    pub(crate) const fn worth(self) -> u16 {
        self.across * self.half_rows
    }

    /// The largest in which the text fits.
    pub(crate) fn largest(text: &str, columns: u16, rows: u16) -> Option<Size> {
        Size::all()
            .filter(|size| size.rows() <= rows && width(text, *size).is_some_and(|wide| wide <= columns))
            .max_by_key(|size| size.worth())
    }
}

/// Columns of the text at a size; none when a letter is missing in the large type.
pub(crate) fn width(text: &str, size: Size) -> Option<u16> {
    let mut dots = 0_u16;
    for c in text.chars() {
        dots = dots.checked_add(glyph(c)?.columns)?.checked_add(1)?;
    }
    dots.saturating_sub(1).checked_mul(size.across)
}

/// Puts the text with its upper left corner at `x`, `y`.
pub(crate) fn put(canvas: &mut Canvas, x: u16, y: u16, text: &str, size: Size, paint: Paint) {
    let mut left = x;
    for letter in text.chars().filter_map(glyph) {
        put_letter(canvas, left, y, letter, size, paint);
        left = left.saturating_add((letter.columns + 1) * size.across);
    }
}

fn put_letter(canvas: &mut Canvas, x: u16, y: u16, letter: &Glyph, size: Size, paint: Paint) {
    for row in 0..size.rows() {
        for column in 0..letter.columns * size.across {
            let has = |half_row: u16| {
                let dots = letter.rows.get(usize::from(half_row / size.half_rows)).copied().unwrap_or(0);
                let from_right = letter.columns - 1 - column / size.across;
                dots >> from_right & 1 == 1
            };
            let symbol = match (has(row * 2), has(row * 2 + 1)) {
                (true, true) => canvas.look.pick("█", "#"),
                (true, false) => canvas.look.pick("▀", "\""),
                (false, true) => canvas.look.pick("▄", "o"),
                (false, false) => continue,
            };
            canvas.dot(x.saturating_add(column), y.saturating_add(row), symbol, paint);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

    use super::{Size, width};

    #[test]
    fn a_number_keeps_its_width_while_it_changes() {
        for size in Size::all() {
            assert_eq!(width("111.17", size), width("888.88", size));
        }
    }

    #[test]
    fn the_largest_size_fits() {
        // Four digits of five dots, a point of two, four gaps: 26 dots wide, 7 high.
        assert_eq!(width("98.74", Size::LEAST), Some(26));
        assert_eq!(Size::largest("98.74", 52, 7), Some(Size { across: 2, half_rows: 2 }));
        assert_eq!(Size::largest("98.74", 51, 7), Some(Size { across: 1, half_rows: 2 }));
        assert_eq!(Size::largest("98.74", 51, 6), Some(Size::LEAST));
        assert_eq!(Size::largest("98.74", 10, 8), None);
        assert_eq!(Size::largest("98 ☃", 200, 60), None);
    }
}
