//! A grid of dots made of characters: two by four in a braille character, one by two in ASCII.

use super::Charset;

/// Dots on characters. Dots are counted from the left and from the top.
#[derive(Debug, Clone)]
pub(super) struct Canvas {
    charset: Charset,
    columns: usize,
    rows: usize,
    cells: Vec<u8>,
}

impl Canvas {
    pub(super) fn new(charset: Charset, columns: usize, rows: usize) -> Canvas {
        Canvas { charset, columns, rows, cells: vec![0; columns * rows] }
    }

    /// Dots of a character, across and down.
    const fn grain(&self) -> (usize, usize) {
        match self.charset {
            Charset::Unicode => (2, 4),
            Charset::Ascii => (1, 2),
        }
    }

    /// How many dots there are across.
    pub(super) fn width(&self) -> usize {
        self.columns * self.grain().0
    }

    /// How many dots there are down.
    pub(super) fn height(&self) -> usize {
        self.rows * self.grain().1
    }

    /// Which character holds a dot of this column.
    pub(super) fn column_of(&self, x: usize) -> usize {
        x / self.grain().0
    }

    /// Which line of characters holds a dot of this height.
    pub(super) fn row_of(&self, y: usize) -> usize {
        y / self.grain().1
    }

    /// Sets a dot; one outside is none.
    pub(super) fn set(&mut self, x: usize, y: usize) {
        let (across, down) = self.grain();
        let (column, row) = (x / across, y / down);
        if column >= self.columns {
            return;
        }
        if let Some(cell) = self.cells.get_mut(row * self.columns + column) {
            *cell |= 1 << ((x % across) * down + y % down);
        }
    }

    /// Sets the dots of a straight line (J. E. Bresenham, IBM Systems Journal 4, 1965), its ends too.
    pub(super) fn line(&mut self, from: (usize, usize), to: (usize, usize)) {
        let signed = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        let (mut x, mut y) = (signed(from.0), signed(from.1));
        let (to_x, to_y) = (signed(to.0), signed(to.1));
        let (dx, dy) = ((to_x - x).abs(), -(to_y - y).abs());
        let (step_x, step_y) = ((to_x - x).signum(), (to_y - y).signum());
        let mut error = dx + dy;
        loop {
            if let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) {
                self.set(x, y);
            }
            if (x, y) == (to_x, to_y) {
                return;
            }
            let twice = 2 * error;
            if twice >= dy {
                error += dy;
                x += step_x;
            }
            if twice <= dx {
                error += dx;
                y += step_y;
            }
        }
    }

    /// A line of characters; where a character has no dot, that of `beneath` shows.
    pub(super) fn row(&self, row: usize, beneath: impl Fn(usize) -> char) -> String {
        (0..self.columns)
            .map(|column| match self.cells.get(row * self.columns + column) {
                None | Some(0) => beneath(column),
                Some(dots) => self.character(*dots),
            })
            .collect()
    }

    fn character(&self, dots: u8) -> char {
        match (self.charset, dots) {
            (Charset::Ascii, 1) => '\'',
            (Charset::Ascii, 2) => '.',
            (Charset::Ascii, _) => ':',
            (Charset::Unicode, dots) => {
                // Braille patterns number the left column 1, 2, 3, 7 and the right one 4, 5, 6, 8.
                const BITS: [u32; 8] = [0x01, 0x02, 0x04, 0x40, 0x08, 0x10, 0x20, 0x80];
                let pattern: u32 =
                    BITS.iter().enumerate().filter(|(i, _)| dots & (1 << i) != 0).map(|(_, bit)| bit).sum();
                char::from_u32(0x2800 + pattern).unwrap_or(' ')
            }
        }
    }

    #[cfg(test)]
    pub(super) fn is_set(&self, x: usize, y: usize) -> bool {
        let (across, down) = self.grain();
        let cell = self.cells.get(y / down * self.columns + x / across);
        cell.is_some_and(|cell| cell & (1 << ((x % across) * down + y % down)) != 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dots_are_those_of_braille() {
        let mut canvas = Canvas::new(Charset::Unicode, 2, 1);
        canvas.set(0, 0);
        canvas.set(1, 3);
        canvas.set(9, 9);
        assert_eq!(canvas.row(0, |_| ' '), "⢁ ");
        let mut all = Canvas::new(Charset::Unicode, 1, 1);
        (0..8).for_each(|i| all.set(i % 2, i / 2));
        assert_eq!(all.row(0, |_| ' '), "⣿");
    }

    #[test]
    fn a_line_touches_both_ends_and_leaves_no_hole() {
        let mut canvas = Canvas::new(Charset::Ascii, 9, 4);
        canvas.line((8, 7), (0, 0));
        assert!(canvas.is_set(0, 0) && canvas.is_set(8, 7));
        assert!((0..9).all(|x| (0..8).any(|y| canvas.is_set(x, y))));
        assert!((0..8).all(|y| (0..9).any(|x| canvas.is_set(x, y))));
    }
}
