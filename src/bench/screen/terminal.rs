//! The real terminal: taken over for the session, and given back whatever happens.

use std::io::{self, BufWriter, IsTerminal, Stdout, Write};
use std::panic;
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use leverarm_session::Cue;
use leverarm_session::view::View;
use ratatui::backend::CrosstermBackend;
use ratatui::crossterm::event::{self, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use ratatui::crossterm::{cursor, execute, terminal};

use crate::cue::bells;
use crate::fault::ScreenError;
use crate::look::Look;
use crate::screen::{Drawn, Key, Screen};

/// Whether the terminal is ours. A process has one terminal, and a panic has no other way to know.
static IS_TAKEN: AtomicBool = AtomicBool::new(false);
static HOOK: Once = Once::new();

/// A frame is written at once, so that no half of it is ever seen.
const FRAME_BYTES: usize = 1 << 16;

/// What came from the keyboard or the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    /// a key
    Key(Key),
    /// another size; draw again
    Resize,
    /// Ctrl-C: the technician wants to leave
    Leave,
}

/// The terminal with the screen on it. When it is dropped the terminal is as it was before.
#[derive(Debug)]
pub struct Terminal {
    screen: Screen<CrosstermBackend<BufWriter<Stdout>>>,
}

impl Terminal {
    /// Takes the terminal over: raw mode, another screen, no cursor. A panic gives it back before it
    /// is printed. Signals are the caller's: call [`restore`] before the process ends.
    ///
    /// # Errors
    /// When input or output is not a terminal, or the system refuses.
    pub fn open(look: Look) -> Result<Terminal, ScreenError> {
        for (is_one, stream) in
            [(io::stdin().is_terminal(), "standard input"), (io::stdout().is_terminal(), "standard output")]
        {
            if !is_one {
                return Err(ScreenError::NotATerminal { stream });
            }
        }
        HOOK.call_once(|| {
            let printed = panic::take_hook();
            panic::set_hook(Box::new(move |what| {
                restore();
                printed(what);
            }));
        });
        IS_TAKEN.store(true, Ordering::SeqCst);
        // From here on an error leaves by way of `restore`.
        Terminal::taken(look).inspect_err(|_| restore())
    }

    fn taken(look: Look) -> Result<Terminal, ScreenError> {
        const TAKE: &str = "take the terminal over";
        terminal::enable_raw_mode().map_err(ScreenError::io(TAKE))?;
        // Ratatui's own clearing asks where the cursor is, which not every terminal answers.
        execute!(
            io::stdout(),
            terminal::EnterAlternateScreen,
            terminal::Clear(terminal::ClearType::All),
            event::DisableBracketedPaste,
            cursor::Hide
        )
        .map_err(ScreenError::io(TAKE))?;
        let backend = CrosstermBackend::new(BufWriter::with_capacity(FRAME_BYTES, io::stdout()));
        let screen = Screen::new(backend, look).map_err(ScreenError::io(TAKE))?;
        Ok(Terminal { screen })
    }

    /// Draws what the session shows.
    ///
    /// # Errors
    /// When the terminal cannot be written to.
    pub fn draw(&mut self, view: &View) -> Result<Drawn, ScreenError> {
        self.screen.draw(view).map_err(ScreenError::io("draw on the terminal"))
    }

    /// Whether the screen keeps the key; see [`Screen::takes`].
    pub fn takes(&mut self, key: Key, view: &View) -> bool {
        self.screen.takes(key, view)
    }

    /// Waits at most `wait` for something that matters; none when nothing came.
    ///
    /// # Errors
    /// When the terminal cannot be read.
    pub fn next(&mut self, wait: Duration) -> Result<Option<Event>, ScreenError> {
        const READ: &str = "read the keyboard";
        if has_hung_up() {
            return Err(ScreenError::HungUp);
        }
        if !event::poll(wait).map_err(ScreenError::io(READ))? {
            return Ok(None);
        }
        event::read().map(understood).map_err(ScreenError::io(READ))
    }

    /// Strikes the bell for what happened.
    ///
    /// # Errors
    /// When the terminal cannot be written to.
    pub fn ring(&mut self, cue: Cue) -> Result<(), ScreenError> {
        const RING: &str = "ring the terminal's bell";
        let bell = self.screen.backend_mut();
        for _ in 0..bells(cue) {
            bell.write_all(b"\x07").map_err(ScreenError::io(RING))?;
        }
        io::Write::flush(bell).map_err(ScreenError::io(RING))
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        restore();
    }
}

/// Gives the terminal back as it was. It does nothing when the terminal is not taken, and may be called
/// from anywhere and more than once.
pub fn restore() {
    if IS_TAKEN.swap(false, Ordering::SeqCst) {
        // Nobody is left to tell when this fails.
        let _ = terminal::disable_raw_mode();
        let _ = execute!(io::stdout(), terminal::LeaveAlternateScreen, cursor::Show);
    }
}

/// Whether nobody is behind the terminal any more.
#[cfg(unix)]
fn has_hung_up() -> bool {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};

    let stdin = io::stdin();
    let mut files = [PollFd::new(&stdin, PollFlags::IN)];
    // What cannot be asked is left to the reading itself.
    poll(&mut files, Some(&Timespec::default())).is_ok()
        && files
            .iter()
            .any(|file| file.revents().intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL))
}

#[cfg(not(unix))]
fn has_hung_up() -> bool {
    false
}

/// What an event of the terminal means here; most mean nothing.
fn understood(event: event::Event) -> Option<Event> {
    match event {
        event::Event::Key(key) if key.kind == KeyEventKind::Press => pressed(key),
        event::Event::Resize(..) => Some(Event::Resize),
        _ => None,
    }
}

fn pressed(key: KeyEvent) -> Option<Event> {
    let with = key.modifiers.difference(KeyModifiers::SHIFT);
    let key = match key.code {
        KeyCode::Char('c' | 'C') if with == KeyModifiers::CONTROL => return Some(Event::Leave),
        // AltGr comes as both of them where it comes at all.
        KeyCode::Char(c) if with.is_empty() || with == KeyModifiers::CONTROL | KeyModifiers::ALT => {
            Key::Char(c)
        }
        KeyCode::Enter => Key::Enter,
        KeyCode::Esc => Key::Escape,
        KeyCode::Backspace | KeyCode::Delete => Key::Backspace,
        KeyCode::PageDown | KeyCode::Down => Key::Next,
        KeyCode::PageUp | KeyCode::Up => Key::Previous,
        _ => return None,
    };
    Some(Event::Key(key))
}

#[cfg(test)]
mod tests {
    use ratatui::crossterm::event::{self, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

    use super::{Event, understood};
    use crate::screen::Key;

    fn key(code: KeyCode, modifiers: KeyModifiers) -> Option<Event> {
        understood(event::Event::Key(KeyEvent::new(code, modifiers)))
    }

    #[test]
    fn keys_are_plain() {
        assert_eq!(key(KeyCode::Char('x'), KeyModifiers::NONE), Some(Event::Key(Key::Char('x'))));
        assert_eq!(key(KeyCode::Char('X'), KeyModifiers::SHIFT), Some(Event::Key(Key::Char('X'))));
        assert_eq!(key(KeyCode::Char('x'), KeyModifiers::CONTROL), None);
        assert_eq!(key(KeyCode::Char('x'), KeyModifiers::ALT), None);
        assert_eq!(key(KeyCode::Char('c'), KeyModifiers::CONTROL), Some(Event::Leave));
        assert_eq!(key(KeyCode::Enter, KeyModifiers::NONE), Some(Event::Key(Key::Enter)));
        assert_eq!(key(KeyCode::F(1), KeyModifiers::NONE), None);
        assert_eq!(understood(event::Event::Resize(80, 24)), Some(Event::Resize));
        assert_eq!(understood(event::Event::FocusLost), None);
        assert_eq!(
            understood(event::Event::Mouse(event::MouseEvent {
                kind: event::MouseEventKind::Moved,
                column: 0,
                row: 0,
                modifiers: KeyModifiers::NONE,
            })),
            None
        );
    }

    #[test]
    fn only_the_press_of_a_key_counts() {
        for kind in [KeyEventKind::Release, KeyEventKind::Repeat] {
            let event = KeyEvent::new_with_kind(KeyCode::Enter, KeyModifiers::NONE, kind);
            assert_eq!(understood(event::Event::Key(event)), None);
        }
    }
}
