//! The readings of the step, the newest last; a void one is marked by a sign and its reason.

use leverarm_session::view::{Row, Tone};
use ratatui::layout::Rect;

use crate::canvas::Canvas;
use crate::look::Paint;
use crate::text;

/// Columns of what stands between a reading and its reason: the sign, a space, `void: `.
const BESIDE: usize = 2 + 1 + 6;

/// In a column of their own: each with its reason in full.
pub(super) fn aside(canvas: &mut Canvas, place: Rect, rows: &[Row]) {
    canvas.put(place.x, place.y, place.width, "READINGS OF THIS STEP", Paint::Strong);
    let body = Rect { y: place.y + 1, height: place.height.saturating_sub(1), ..place };
    let room = usize::from(body.height);
    let columns = usize::from(body.width.saturating_sub(6));
    let mut entries = Vec::new();
    let mut used = 0_usize;
    for row in rows.iter().rev() {
        let reason = row.void.as_deref().map(|void| reason(canvas, void, columns)).unwrap_or_default();
        // One row is kept for the count of those that have no room.
        if used + 1 + reason.len() > room.saturating_sub(1) {
            break;
        }
        used += 1 + reason.len();
        entries.push((row, reason));
    }
    let mut y = earlier(canvas, body, rows.len() - entries.len());
    for (row, reason) in entries.into_iter().rev() {
        entry(canvas, Rect { y, height: 1, ..body }, row);
        let under = Rect {
            x: body.x + 6,
            y: y + 1,
            width: body.width.saturating_sub(6),
            height: body.bottom().saturating_sub(y + 1),
        };
        y += 1 + canvas.put_lines(under, &reason, Paint::Bad);
    }
}

/// In what room there is: one row each, and another for a reason that does not fit beside its reading.
pub(super) fn newest(canvas: &mut Canvas, place: Rect, rows: &[Row]) {
    let columns = usize::from(place.width);
    let mut y = place.bottom();
    let mut shown = 0;
    for row in rows.iter().rev() {
        let is_apart = row.void.as_deref().is_some_and(|void| {
            text::width(&words(row, columns)) + text::width(&text::shown(void, canvas.look)) + BESIDE
                > columns
        });
        let room = y.saturating_sub(place.top());
        let needed = 1 + u16::from(is_apart && place.height > 1);
        if room < needed {
            break;
        }
        y -= needed;
        let line = Rect { y, height: 1, ..place };
        let used = entry(canvas, line, row);
        if let Some(void) = &row.void {
            let (x, y) = if needed > 1 { (line.x + 2, y + 1) } else { (line.x + used + 1, y) };
            let words = format!("void: {void}");
            canvas.put(x, y, line.right().saturating_sub(x), &words, Paint::Bad);
        }
        shown += 1;
    }
    if shown < rows.len() && y > place.top() {
        earlier(canvas, Rect { y: y - 1, ..place }, rows.len() - shown);
    }
}

/// Says how many are not shown; returns the next row.
fn earlier(canvas: &mut Canvas, place: Rect, hidden: usize) -> u16 {
    if hidden == 0 {
        return place.y;
    }
    let words = format!("{} {hidden} earlier", canvas.look.pick("↑", "^"));
    canvas.put(place.x, place.y, place.width, &words, Paint::Faint);
    place.y + 1
}

fn reason(canvas: &Canvas, void: &str, columns: usize) -> Vec<String> {
    const ROWS_MAX: usize = 4;
    let mut lines = text::wrap(&format!("void: {void}"), columns, canvas.look);
    super::head::shorten(canvas, &mut lines, ROWS_MAX);
    lines
}

fn entry(canvas: &mut Canvas, row: Rect, reading: &Row) -> u16 {
    let is_void = reading.void.is_some();
    let tone = if is_void { Tone::Bad } else { Tone::Good };
    canvas.put(row.x, row.y, row.width, canvas.look.sign(tone), Paint::from(tone));
    let paint = if is_void { Paint::Struck } else { Paint::Plain };
    let words = words(reading, usize::from(row.width));
    2 + canvas.put(row.x + 2, row.y, row.width.saturating_sub(2), &words, paint)
}

/// Number and values; the loading time only where it fits.
fn words(reading: &Row, columns: usize) -> String {
    let mut words = format!("{:>3} {}", reading.number, reading.reference);
    if let Some(indicated) = &reading.indicated {
        words.push_str(&format!("  ind. {indicated}"));
    }
    if let Some(seconds) = &reading.seconds
        && text::width(&words) + text::width(seconds) + 4 <= columns
    {
        words.push_str(&format!("  {seconds}"));
    }
    words
}
