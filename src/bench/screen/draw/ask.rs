//! What the technician is asked, over everything else; what does not fit is turned page by page.

use leverarm_session::view::{Ask, Tone};
use ratatui::layout::Rect;

use crate::big::{self, Size};
use crate::canvas::Canvas;
use crate::draw::Rows;
use crate::look::{Look, Paint};
use crate::pager::Pager;
use crate::text;

/// Rows that a line to be typed needs, with its words and a fault.
const LINE_ROWS: usize = 9;

/// A line of the text.
struct Line {
    text: String,
    paint: Paint,
}

/// Draws the question; returns where the cursor is, for a line that is typed.
pub(super) fn draw(canvas: &mut Canvas, place: Rect, ask: &Ask, pager: &mut Pager) -> Option<(u16, u16)> {
    let inside = Rect { x: place.x + 2, width: place.width.saturating_sub(4), ..place };
    let mut rows = Rows::of(inside);
    let large = title(ask);
    let lines = body(ask, usize::from(inside.width), canvas.look);
    let needed = if lines.is_empty() { LINE_ROWS } else { lines.len() };
    // The title is large where the text has its room all the same.
    let spare = inside.height.saturating_sub(u16::try_from(needed).unwrap_or(u16::MAX)).saturating_sub(1);
    let room = spare.min((inside.height / 4).max(Size::LEAST.rows()));
    if let Some(size) = Size::largest(large, inside.width, room) {
        let at = rows.top(size.rows() + 1);
        big::put(canvas, at.x, at.y, large, size, Paint::Caution);
    } else {
        let at = rows.top(1);
        canvas.put(at.x, at.y, at.width, &format!(" {large} "), Paint::Key);
        // Where every row counts the text follows at once.
        rows.top(spare.saturating_sub(1).min(1));
    }
    if let Ask::Line { title, hint, typed, fault } = ask {
        return line(canvas, rows.rest(), [title, hint, typed], fault.as_deref());
    }
    let has_more = lines.len() > usize::from(rows.rest().height);
    let last = rows.bottom(u16::from(has_more));
    let room = rows.rest();
    let shown = pager.show(lines.len(), usize::from(room.height));
    for (y, line) in (room.top()..room.bottom()).zip(lines.get(shown).unwrap_or_default()) {
        canvas.put(room.x, y, room.width, &line.text, line.paint);
    }
    let (page, pages) = pager.place();
    if has_more {
        let words = match (page < pages, ask) {
            (true, Ask::Cautions { .. }) => "Space reads on; acknowledge at the end",
            (true, _) => "Space reads on",
            (false, _) => "the end; Space goes back to page 1",
        };
        let arrow = canvas.look.pick("▼", "v");
        canvas.put(
            last.x,
            last.y,
            last.width,
            &format!("{arrow} page {page} of {pages}  {words}"),
            Paint::Caution,
        );
    }
    None
}

const fn title(ask: &Ask) -> &'static str {
    match ask {
        Ask::Cautions { .. } => "CAUTION",
        Ask::Line { .. } => "TYPE",
        Ask::Choice { .. } => "CHOOSE",
        Ask::Paused { .. } => "PAUSED",
        Ask::Finished { .. } => "FINISHED",
    }
}

fn body(ask: &Ask, columns: usize, look: Look) -> Vec<Line> {
    let mut lines = Vec::new();
    match ask {
        Ask::Cautions { before, cautions } => {
            hang(&mut lines, "", &format!("Before {before}:"), Paint::Strong, columns, look);
            for caution in cautions {
                hang(&mut lines, look.sign(Tone::Caution), caution, Paint::Plain, columns, look);
            }
        }
        Ask::Choice { title, choices } => {
            hang(&mut lines, "", title, Paint::Strong, columns, look);
            for (key, words) in choices {
                hang(&mut lines, &format!("[{key}]"), words, Paint::Plain, columns, look);
            }
        }
        Ask::Paused { words } => hang(&mut lines, "", words, Paint::Strong, columns, look),
        Ask::Finished { lines: said } => {
            for line in said {
                hang(&mut lines, look.sign(Tone::Good), line, Paint::Plain, columns, look);
            }
        }
        Ask::Line { .. } => {}
    }
    lines
}

/// A text with a sign before its first line, and the others under it.
fn hang(lines: &mut Vec<Line>, sign: &str, words: &str, paint: Paint, columns: usize, look: Look) {
    let sign = text::shown(sign, look);
    let indent = if sign.is_empty() { 0 } else { text::width(&sign) + 1 };
    for (at, line) in text::wrap(words, columns.saturating_sub(indent), look).into_iter().enumerate() {
        let start = if at == 0 { sign.as_str() } else { "" };
        let pad = " ".repeat(indent.saturating_sub(text::width(start)));
        lines.push(Line { text: format!("{start}{pad}{line}"), paint });
    }
}

/// A line that is typed: what it is about, an example, the line, and why the last one was not taken.
fn line(canvas: &mut Canvas, place: Rect, words: [&String; 3], fault: Option<&str>) -> Option<(u16, u16)> {
    const FAULT_ROWS_MAX: usize = 3;
    let [title, hint, typed] = words;
    let columns = usize::from(place.width);
    let mut rows = Rows::of(place);
    let mut why =
        fault.map(|fault| text::wrap(fault, columns.saturating_sub(2), canvas.look)).unwrap_or_default();
    super::head::shorten(canvas, &mut why, FAULT_ROWS_MAX);
    let below = u16::try_from(why.len()).unwrap_or(0) + 3;
    for (words, paint) in [(title, Paint::Strong), (hint, Paint::Plain)] {
        let mut lines = text::wrap(words, columns, canvas.look);
        let room = rows.rest().height.saturating_sub(below).min(6);
        super::head::shorten(canvas, &mut lines, usize::from(room));
        let used = canvas.put_lines(Rect { height: room, ..rows.rest() }, &lines, paint);
        rows.top(used);
    }
    rows.top(1);
    let at = rows.top(1);
    canvas.put(at.x, at.y, 1, ">", Paint::Key);
    let x = at.x + 2;
    // One column is left for the cursor.
    let room = at.width.saturating_sub(3);
    let end = text::tail(typed, usize::from(room), canvas.look);
    let used = canvas.put(x, at.y, room, &end, Paint::Strong);
    canvas.dot(x + used, at.y, "_", Paint::Key);
    rows.top(1);
    let place = rows.rest();
    if !why.is_empty() {
        canvas.put(place.x, place.y, 1, canvas.look.sign(Tone::Bad), Paint::Bad);
        canvas.put_lines(
            Rect { x: place.x + 2, width: place.width.saturating_sub(2), ..place },
            &why,
            Paint::Bad,
        );
    }
    Some((x + used, at.y))
}
