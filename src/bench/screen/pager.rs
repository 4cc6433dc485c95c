//! Which page of a long text is up, and whether all of it has been shown.

use std::ops::Range;

use leverarm_session::view::Ask;

/// The pages of what is asked.
#[derive(Debug, Default)]
pub(crate) struct Pager {
    /// what the pages are of
    of: Option<Ask>,
    /// the page that is up, from 0
    page: usize,
    /// of how many; 0 when nothing could be shown
    pages: usize,
    /// the farthest page that was shown without a gap, as a count
    seen: usize,
    has_seen_all: bool,
    /// lines and rows that the pages were made for
    made_for: (usize, usize),
}

impl Pager {
    /// Says what is asked in this frame; another question begins at its first page.
    pub(crate) fn turn_to(&mut self, ask: Option<&Ask>) {
        // What is typed changes with every key and has no pages.
        let ask = ask.filter(|ask| !matches!(ask, Ask::Line { .. }));
        if self.of.as_ref() != ask {
            *self = Pager { of: ask.cloned(), ..Pager::default() };
        }
        self.pages = 0;
    }

    /// The lines of the page that is up, and that they are being shown.
    pub(crate) fn show(&mut self, lines: usize, rows: usize) -> Range<usize> {
        if rows == 0 {
            return 0..0;
        }
        if self.made_for != (lines, rows) {
            // Other pages than before: what was seen of the old ones says nothing about the new ones.
            self.made_for = (lines, rows);
            self.page = 0;
            self.seen = 0;
        }
        self.pages = lines.div_ceil(rows).max(1);
        self.page = self.page.min(self.pages - 1);
        if self.page <= self.seen {
            self.seen = self.seen.max(self.page + 1);
        }
        self.has_seen_all |= self.seen >= self.pages;
        let start = self.page.saturating_mul(rows).min(lines);
        start..start.saturating_add(rows).min(lines)
    }

    /// Forward, from the last page to the first again.
    pub(crate) fn forward(&mut self) {
        self.page = if self.page + 1 < self.pages { self.page + 1 } else { 0 };
    }

    pub(crate) fn back(&mut self) {
        self.page = self.page.saturating_sub(1);
    }

    /// Whether these are the pages of `ask`.
    pub(crate) fn is_of(&self, ask: &Ask) -> bool {
        self.of.as_ref() == Some(ask)
    }

    pub(crate) const fn has_seen_all(&self) -> bool {
        self.has_seen_all
    }

    /// The number of the page that is up, from 1, and of how many.
    pub(crate) const fn place(&self) -> (usize, usize) {
        (self.page + 1, self.pages)
    }
}
