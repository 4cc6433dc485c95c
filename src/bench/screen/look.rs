//! How the terminal at hand is to be written to: which characters it has, whether it has colours.

use leverarm_session::view::Tone;
use ratatui::style::{Color, Modifier, Style};

/// What the terminal can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// nothing outside ASCII is written
    pub is_ascii: bool,
    /// the terminal's sixteen colours are used; without them bold, faint and reversed remain
    pub has_colour: bool,
}

impl Look {
    /// From the values of the environment variables `TERM` and `NO_COLOR`, and what the user asked for.
    /// `NO_COLOR` counts when it is there and not empty (no-color.org). A terminal that does not say
    /// what it is, and one that says it is plain, gets ASCII.
    #[must_use]
    pub fn of(term: Option<&str>, no_color: Option<&str>, wants_ascii: bool) -> Look {
        let term = term.unwrap_or_default();
        let is_plain = matches!(term, "" | "dumb" | "unknown");
        let lacks_blocks = is_plain || term.starts_with("linux") || term.starts_with("vt");
        Look {
            is_ascii: wants_ascii || lacks_blocks,
            has_colour: !is_plain && no_color.is_none_or(str::is_empty),
        }
    }

    /// The one of two that the terminal has.
    pub(crate) const fn pick<T: Copy>(self, unicode: T, ascii: T) -> T {
        if self.is_ascii { ascii } else { unicode }
    }

    /// The sign before something said, so that its gravity is not in the colour alone.
    pub(crate) const fn sign(self, tone: Tone) -> &'static str {
        match tone {
            Tone::Good => self.pick("✓", "+"),
            Tone::Plain => self.pick("·", "-"),
            Tone::Caution => "!",
            Tone::Bad => self.pick("✗", "X"),
        }
    }

    pub(crate) fn style(self, paint: Paint) -> Style {
        let (colour, modifier) = match paint {
            Paint::Plain => (None, Modifier::empty()),
            Paint::Strong => (None, Modifier::BOLD),
            Paint::Faint => (None, Modifier::DIM),
            Paint::Band => (Some(Color::Cyan), Modifier::REVERSED),
            Paint::Key => (None, Modifier::REVERSED.union(Modifier::BOLD)),
            Paint::Target => (Some(Color::Cyan), Modifier::BOLD),
            Paint::Good => (Some(Color::Green), Modifier::BOLD),
            Paint::Caution => (Some(Color::Yellow), Modifier::BOLD),
            Paint::Bad => (Some(Color::Red), Modifier::BOLD),
            Paint::Alarm => (Some(Color::Red), Modifier::BOLD.union(Modifier::REVERSED)),
            Paint::Struck => (None, Modifier::DIM.union(Modifier::CROSSED_OUT)),
        };
        // What was in the cell before must not shine through.
        let style = Style::reset().add_modifier(modifier);
        match colour {
            Some(colour) if self.has_colour => style.fg(colour),
            _ => style,
        }
    }
}

/// What a text is, from which its colour follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Paint {
    Plain,
    Strong,
    Faint,
    Band,
    Key,
    Target,
    Good,
    Caution,
    Bad,
    Alarm,
    Struck,
}

impl From<Tone> for Paint {
    fn from(tone: Tone) -> Paint {
        match tone {
            Tone::Good => Paint::Good,
            Tone::Plain => Paint::Plain,
            Tone::Caution => Paint::Caution,
            Tone::Bad => Paint::Bad,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Look;

    // no-color.org: present and not an empty string, regardless of its value.
    #[test]
    fn no_color_counts_when_it_is_not_empty() {
        assert!(Look::of(Some("xterm"), None, false).has_colour);
        assert!(Look::of(Some("xterm"), Some(""), false).has_colour);
        assert!(!Look::of(Some("xterm"), Some("0"), false).has_colour);
    }

    #[test]
    fn plain_terminals_get_ascii() {
        for term in [None, Some(""), Some("dumb"), Some("linux"), Some("linux-16color"), Some("vt100")] {
            assert!(Look::of(term, None, false).is_ascii, "{term:?}");
        }
        assert!(!Look::of(Some("xterm-256color"), None, false).is_ascii);
        assert!(Look::of(Some("xterm-256color"), None, true).is_ascii);
        assert!(!Look::of(Some("dumb"), None, false).has_colour);
        assert!(Look::of(Some("linux"), None, false).has_colour);
    }
}
