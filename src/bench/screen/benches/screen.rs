//! Milliseconds of a frame: the picture made, compared with the last one, and the difference written as
//! a terminal would get it.

#![allow(missing_docs, clippy::expect_used, clippy::indexing_slicing)]

#[path = "../tests/screen/scenes.rs"]
mod scenes;

use std::cell::Cell;
use std::hint::black_box;
use std::io::{self, Write};
use std::rc::Rc;

use criterion::{Criterion, criterion_group, criterion_main};
use leverarm_screen::look::Look;
use leverarm_screen::screen::Screen;
use leverarm_session::view::{Phase, View};
use ratatui::backend::{Backend, ClearType, CrosstermBackend, TestBackend, WindowSize};
use ratatui::buffer;
use ratatui::layout::{Position, Size};

/// A pull in so many frames.
fn frames() -> Vec<View> {
    (0..200_u32)
        .map(|at| {
            let value = f64::from(at) * 0.6137;
            let phase = if value < 96.0 { Phase::Pulling } else { Phase::Slowly };
            scenes::pull(&format!("{value:.2}"), value, value, phase, f64::from(at) * 0.006)
        })
        .collect()
}

fn pictures(c: &mut Criterion) {
    let look = Look { is_ascii: false, has_colour: true };
    let frames = frames();
    for (columns, rows) in [(80, 24), (200, 60)] {
        let mut screen = Screen::new(TestBackend::new(columns, rows), look).expect("a screen in memory");
        let mut at = 0;
        c.bench_function(&format!("frame of a pull, {columns}x{rows}"), |b| {
            b.iter(|| {
                at = (at + 1) % frames.len();
                screen.draw(black_box(&frames[at])).expect("a screen in memory")
            });
        });
    }
}

/// A terminal of a fixed size that counts what is written to it.
struct Counted {
    inner: CrosstermBackend<Count>,
    size: Size,
}

#[derive(Clone, Default)]
struct Count(Rc<Cell<u64>>);

impl Write for Count {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.set(self.0.get() + bytes.len() as u64);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Backend for Counted {
    type Error = io::Error;

    fn draw<'a, I: Iterator<Item = (u16, u16, &'a buffer::Cell)>>(&mut self, cells: I) -> io::Result<()> {
        self.inner.draw(cells)
    }

    fn hide_cursor(&mut self) -> io::Result<()> {
        self.inner.hide_cursor()
    }

    fn show_cursor(&mut self) -> io::Result<()> {
        self.inner.show_cursor()
    }

    fn get_cursor_position(&mut self) -> io::Result<Position> {
        Ok(Position::ORIGIN)
    }

    fn set_cursor_position<P: Into<Position>>(&mut self, position: P) -> io::Result<()> {
        self.inner.set_cursor_position(position)
    }

    fn clear(&mut self) -> io::Result<()> {
        self.inner.clear()
    }

    fn clear_region(&mut self, clear_type: ClearType) -> io::Result<()> {
        self.inner.clear_region(clear_type)
    }

    fn size(&self) -> io::Result<Size> {
        Ok(self.size)
    }

    fn window_size(&mut self) -> io::Result<WindowSize> {
        Ok(WindowSize { columns_rows: self.size, pixels: Size::ZERO })
    }

    fn flush(&mut self) -> io::Result<()> {
        Backend::flush(&mut self.inner)
    }
}

/// The same with the bytes for the terminal.
fn bytes(c: &mut Criterion) {
    let look = Look { is_ascii: false, has_colour: true };
    let frames = frames();
    let count = Count::default();
    let inner = CrosstermBackend::new(count.clone());
    let backend = Counted { inner, size: Size::new(200, 60) };
    let mut screen = Screen::new(backend, look).expect("a screen in memory");
    let (mut at, mut drawn) = (0, 0_u64);
    c.bench_function("frame of a pull with its bytes, 200x60", |b| {
        b.iter(|| {
            at = (at + 1) % frames.len();
            drawn += 1;
            screen.draw(black_box(&frames[at])).expect("a screen in memory")
        });
    });
    println!("bytes a frame: {}", count.0.get() / drawn.max(1));
}

criterion_group!(benches, pictures, bytes);
criterion_main!(benches);
