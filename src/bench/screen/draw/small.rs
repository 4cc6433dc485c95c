//! A terminal that is too small, and the torque in one row beside a question.

use leverarm_session::view::View;
use ratatui::layout::Rect;

use crate::big::{self, Size};
use crate::canvas::Canvas;
use crate::draw::{Rows, live};
use crate::look::Paint;
use crate::words;
use crate::{COLUMNS_MIN, ROWS_MIN};

/// The torque and what is called, in one row: it stays in sight whatever is asked.
pub(super) fn now(canvas: &mut Canvas, row: Rect, view: &View) {
    let call = words::call(view);
    let value = value(view);
    let used = canvas.put(row.x, row.y, row.width, &format!("NOW {value}"), Paint::Strong);
    let paint = if words::is_over_limit(view) { Paint::Alarm } else { call.paint };
    canvas.put(row.x + used + 2, row.y, row.width.saturating_sub(used + 2), call.words, paint);
}

/// What can be shown where the whole screen has no room: the torque, what to do, and the size that is
/// needed.
pub(super) fn draw(canvas: &mut Canvas, area: Rect, view: &View) {
    let call = words::call(view);
    let value = value(view);
    let needs = format!("needs {COLUMNS_MIN}{}{ROWS_MIN}", canvas.look.pick("×", "x"));
    let sign = if words::is_over_limit(view) { "! " } else { "" };
    let mut rows = Rows::of(area);
    if area.height < 3 {
        let all = format!("{sign}{value} {needs}");
        canvas.put(area.x, area.y, area.width, &all, Paint::Strong);
        let second = rows.bottom(1);
        if area.height == 2 {
            canvas.put(second.x, second.y, second.width, call.words, call.paint);
        }
        return;
    }
    let size_row = rows.bottom(1);
    let words = format!("{needs}, is {}{}{}", area.width, canvas.look.pick("×", "x"), area.height);
    canvas.put(size_row.x, size_row.y, size_row.width, &words, Paint::Strong);
    if view.ask.is_some() && area.height > 3 {
        let row = rows.bottom(1);
        let waits = "! a question waits: enlarge the window";
        canvas.put(row.x, row.y, row.width, waits, Paint::Caution);
    }
    let said = rows.bottom(1);
    canvas.put(said.x, said.y, said.width, call.words, call.paint);
    let room = rows.rest();
    let digits = view.live.as_ref().map(|live| live.digits.as_str()).unwrap_or_default();
    let most = view.live.as_ref().map(|live| live::template(live, view.bar.as_ref())).unwrap_or_default();
    match Size::largest(&most, room.width, room.height.saturating_sub(1)) {
        Some(size) if big::width(digits, size).is_some_and(|wide| wide <= room.width) => {
            canvas.put(room.x, room.y, room.width, &format!("{sign}{value}"), Paint::Strong);
            big::put(canvas, room.x, room.y + 1, digits, size, call.paint);
        }
        _ => {
            canvas.put(room.x, room.y, room.width, &format!("{sign}{value}"), Paint::Strong);
        }
    }
}

fn value(view: &View) -> String {
    match &view.live {
        Some(live) => format!("{} {}", live.digits, live.unit),
        None => "no value".to_owned(),
    }
}
