//! The screen on any backend.

use leverarm_session::view::{Ask, View};
use ratatui::backend::Backend;

use crate::draw;
use crate::look::Look;
use crate::pager::Pager;

/// A key that was pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// a character
    Char(char),
    /// the end of a line, an acknowledgement
    Enter,
    /// never mind
    Escape,
    /// the last character away
    Backspace,
    /// a page or a row down
    Next,
    /// a page or a row up
    Previous,
}

/// What was drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Drawn {
    /// whether the terminal is at least [`crate::COLUMNS_MIN`] by [`crate::ROWS_MIN`]
    pub is_large_enough: bool,
    /// whether every line of what is asked has been shown; true where nothing is asked
    pub has_shown_all: bool,
}

/// The screen.
#[derive(Debug)]
pub struct Screen<B: Backend> {
    terminal: ratatui::Terminal<B>,
    look: Look,
    pager: Pager,
}

impl<B: Backend> Screen<B> {
    /// A screen on a backend that is ready to be written to.
    ///
    /// # Errors
    /// Whatever the backend says when it is asked for its size.
    pub fn new(backend: B, look: Look) -> Result<Screen<B>, B::Error> {
        Ok(Screen { terminal: ratatui::Terminal::new(backend)?, look, pager: Pager::default() })
    }

    /// Draws what the session shows. Only cells that changed are written.
    ///
    /// # Errors
    /// Whatever the backend says when it is written to.
    pub fn draw(&mut self, view: &View) -> Result<Drawn, B::Error> {
        let pager = &mut self.pager;
        let look = self.look;
        let mut is_large_enough = false;
        self.terminal.draw(|frame| {
            pager.turn_to(view.ask.as_ref());
            is_large_enough = draw::whole(frame, look, view, pager);
        })?;
        let is_paged = view.ask.as_ref().is_some_and(|ask| !matches!(ask, Ask::Line { .. }));
        Ok(Drawn { is_large_enough, has_shown_all: !is_paged || self.pager.has_seen_all() })
    }

    /// Whether the screen keeps the key for itself, to turn a page. Ask this before the session is given
    /// the key. As long as cautions have not been shown to their end, every key but Escape is kept, so
    /// that nobody acknowledges what was never on the screen; draw after a key that was kept.
    pub fn takes(&mut self, key: Key, view: &View) -> bool {
        let Some(ask) = view.ask.as_ref().filter(|ask| !matches!(ask, Ask::Line { .. })) else {
            return matches!(key, Key::Next | Key::Previous);
        };
        let is_known = self.pager.is_of(ask);
        if key == Key::Previous {
            self.pager.back();
            return true;
        }
        if key == Key::Next {
            self.pager.forward();
            return true;
        }
        let has_unread = !is_known || !self.pager.has_seen_all();
        if matches!(ask, Ask::Cautions { .. }) && has_unread && key != Key::Escape {
            self.pager.forward();
            return true;
        }
        let is_choice = matches!(ask, Ask::Choice { choices, .. } if choices.iter().any(|(c, _)| *c == ' '));
        if is_known && key == Key::Char(' ') && !is_choice && self.pager.place().1 > 1 {
            self.pager.forward();
            return true;
        }
        false
    }

    /// The backend, to look at what was drawn.
    pub const fn backend(&self) -> &B {
        self.terminal.backend()
    }

    /// The backend, to write what is no part of the picture.
    pub const fn backend_mut(&mut self) -> &mut B {
        self.terminal.backend_mut()
    }

    /// Forgets what is on the terminal, so that everything is drawn anew.
    ///
    /// # Errors
    /// Whatever the backend says when it is cleared.
    pub fn clear(&mut self) -> Result<(), B::Error> {
        self.terminal.clear()
    }
}
