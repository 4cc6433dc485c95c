//! The bottom: what was said last, and the keys that do something.

use leverarm_session::view::{Tone, View};
use ratatui::layout::Rect;

use crate::canvas::Canvas;
use crate::look::{Look, Paint};
use crate::text;

/// More rows of keys than this are cut, visibly.
const KEYS_ROWS_MAX: u16 = 3;

/// The rows for what was said: by the height of the screen, and more when the newest is a warning that
/// needs them.
pub(super) fn said_rows(area: Rect, view: &View, look: Look) -> u16 {
    const WARNING_ROWS_MAX: usize = 5;
    let usual = match area.height {
        ..22 => 1,
        22..30 => 2,
        30..45 => 3,
        _ => 5,
    };
    let warning = view.said.last().filter(|said| matches!(said.tone, Tone::Caution | Tone::Bad));
    let needed = warning.map_or(0, |said| {
        let columns = usize::from(area.width.saturating_sub(2));
        text::wrap(&said.text, columns, look).len().min(WARNING_ROWS_MAX)
    });
    u16::try_from(needed).unwrap_or(usual).max(usual)
}

/// Draws what was said, the newest at the bottom and in full as far as the rows reach.
pub(super) fn said(canvas: &mut Canvas, place: Rect, view: &View) {
    let columns = usize::from(place.width.saturating_sub(2));
    let mut bottom = place.bottom();
    let mut is_newest = true;
    for said in view.said.iter().rev() {
        let room = bottom.saturating_sub(place.top());
        let mut lines = text::wrap(&said.text, columns, canvas.look);
        if room == 0 || (!is_newest && lines.len() > usize::from(room)) {
            break;
        }
        super::head::shorten(canvas, &mut lines, usize::from(room));
        let rows = u16::try_from(lines.len()).unwrap_or(room).min(room);
        bottom -= rows;
        let paint = Paint::from(said.tone);
        canvas.put(place.x, bottom, 1, canvas.look.sign(said.tone), paint);
        let words = Rect { x: place.x + 2, y: bottom, width: place.width.saturating_sub(2), height: rows };
        canvas.put_lines(words, &lines, if is_newest { paint } else { Paint::Faint });
        is_newest = false;
    }
}

/// The rows that the keys need.
pub(super) fn keys_rows(columns: u16, view: &View, look: Look) -> u16 {
    let mut rows = 1;
    flow(columns, view, look, |_, row, _, _| rows = row + 1);
    rows.min(KEYS_ROWS_MAX)
}

/// Draws the keys.
pub(super) fn keys(canvas: &mut Canvas, place: Rect, view: &View) {
    let look = canvas.look;
    flow(place.width, view, look, |x, row, key, does| {
        let y = place.y.saturating_add(row);
        if row >= place.height {
            let last = place.bottom().saturating_sub(1);
            canvas.put(place.right().saturating_sub(1), last, 1, look.pick("…", "~"), Paint::Key);
            return;
        }
        let room = place.right().saturating_sub(x);
        let used = canvas.put(place.x + x, y, room, &format!(" {key} "), Paint::Key);
        canvas.put(place.x + x + used + 1, y, room.saturating_sub(used + 1), does, Paint::Plain);
    });
}

/// Sets the keys one after the other, in a new row where one has no room.
fn flow(columns: u16, view: &View, look: Look, mut put: impl FnMut(u16, u16, &str, &str)) {
    let (mut x, mut row) = (0_u16, 0_u16);
    for hint in &view.keys {
        let (key, does) = (hint.key, hint.does.as_str());
        let wide = text::width(&text::shown(key, look)) + text::width(&text::shown(does, look)) + 3;
        let wide = u16::try_from(wide).unwrap_or(u16::MAX);
        if x > 0 && x.saturating_add(wide) > columns {
            x = 0;
            row = row.saturating_add(1);
        }
        put(x, row, key, does);
        x = x.saturating_add(wide).saturating_add(2);
    }
}
