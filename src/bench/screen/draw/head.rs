//! The top: whose work it is, how the instrument is, and which step.

use leverarm_session::view::{Instrument, Tone, View};
use ratatui::layout::Rect;

use crate::canvas::Canvas;
use crate::look::Paint;
use crate::text;

/// What is wrong with the instrument takes at most this share of the rows, and is cut visibly after it.
const TROUBLE_SHARE: u16 = 5;

/// Draws the head and returns the rows it took.
pub(super) fn draw(canvas: &mut Canvas, place: Rect, view: &View) -> u16 {
    band(canvas, Rect { height: 1, ..place }, view);
    let row = Rect { y: place.y + 1, height: 1, ..place };
    let right = right_of_state(view);
    let used = canvas.put_right(row, &right, Paint::Faint);
    let left = Rect { width: row.width.saturating_sub(used + 2), ..row };
    match &view.instrument {
        Instrument::Sought => say(canvas, left, Tone::Caution, "looking for the instrument"),
        Instrument::Speaks { name } => say(canvas, left, Tone::Good, name),
        Instrument::Troubled { message, remedy } => {
            say(canvas, left, Tone::Bad, "the instrument is in trouble");
            let rest = Rect { y: place.y + 2, height: (place.height / TROUBLE_SHARE).max(3), ..place };
            return 2 + trouble(canvas, rest, message, remedy);
        }
    }
    2
}

fn band(canvas: &mut Canvas, row: Rect, view: &View) {
    canvas.fill(row, " ", Paint::Band);
    let who = Rect { x: row.right().saturating_sub(row.width / 3), width: row.width / 3, ..row };
    let inside = Rect { width: who.width.saturating_sub(1), ..who };
    let used = canvas.put_right(inside, &view.technician, Paint::Band);
    let left = row.width.saturating_sub(used + 4);
    let job = canvas.put(row.x + 1, row.y, left, &view.job, Paint::Band);
    let x = row.x.saturating_add(job + 3);
    canvas.put(x, row.y, left.saturating_sub(job + 2), &view.tool, Paint::Band);
}

fn right_of_state(view: &View) -> String {
    let sound = if view.has_sound { "sound on" } else { "sound off" };
    match &view.step {
        Some(step) => format!("step {} of {}  {sound}", step.number, step.steps),
        None => sound.to_owned(),
    }
}

fn say(canvas: &mut Canvas, row: Rect, tone: Tone, words: &str) {
    let sign = canvas.look.sign(tone);
    canvas.put(row.x, row.y, row.width, sign, Paint::from(tone));
    canvas.put(row.x + 2, row.y, row.width.saturating_sub(2), words, Paint::from(tone));
}

fn trouble(canvas: &mut Canvas, place: Rect, message: &str, remedy: &str) -> u16 {
    let columns = place.width.saturating_sub(2);
    let inside = Rect { x: place.x + 2, width: columns, ..place };
    let mut lines = text::wrap(message, usize::from(columns), canvas.look);
    let remedy = text::wrap(remedy, usize::from(columns), canvas.look);
    // The remedy is the part that helps: a long message leaves at least a row to it.
    let room = usize::from(place.height);
    let for_message = room.saturating_sub(remedy.len()).max(1);
    shorten(canvas, &mut lines, for_message);
    let used = canvas.put_lines(inside, &lines, Paint::Bad);
    let mut rest = remedy;
    shorten(canvas, &mut rest, room.saturating_sub(usize::from(used)));
    let below = Rect { y: inside.y + used, height: place.height.saturating_sub(used), ..inside };
    used + canvas.put_lines(below, &rest, Paint::Strong)
}

/// Leaves at most so many lines, the last with an ellipsis when something was left out.
pub(super) fn shorten(canvas: &Canvas, lines: &mut Vec<String>, most: usize) {
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            last.push_str(canvas.look.pick(" …", " ~"));
        }
    }
}
