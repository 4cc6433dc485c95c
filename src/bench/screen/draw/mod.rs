//! The parts of the screen, and who gets which rows.

mod ask;
mod bar;
mod foot;
mod head;
mod live;
mod meter;
mod order;
mod readings;
mod small;
mod target;

use leverarm_session::view::View;
use ratatui::Frame;
use ratatui::layout::Rect;

use crate::big::Size;
use crate::canvas::Canvas;
use crate::look::Look;
use crate::pager::Pager;
use crate::{COLUMNS_MIN, ROWS_MIN};

/// From so many columns on, the readings stand beside the work.
const COLUMNS_WITH_SIDE: u16 = 100;

/// Rows of the smallest large type.
const LARGE_ROWS: u16 = Size::LEAST.rows();

/// Draws everything. Returns whether the terminal was large enough for it.
pub(crate) fn whole(frame: &mut Frame, look: Look, view: &View, pager: &mut Pager) -> bool {
    let area = frame.area();
    let mut cursor = None;
    let mut canvas = Canvas::new(frame.buffer_mut(), look);
    let is_large_enough = area.width >= COLUMNS_MIN && area.height >= ROWS_MIN;
    if is_large_enough {
        cursor = parts(&mut canvas, area, view, pager);
    } else {
        small::draw(&mut canvas, area, view);
    }
    if let Some(at) = cursor {
        frame.set_cursor_position(at);
    }
    is_large_enough
}

/// Takes rows off a place, from one end or the other.
pub(crate) struct Rows {
    rest: Rect,
}

impl Rows {
    pub(crate) const fn of(place: Rect) -> Rows {
        Rows { rest: place }
    }

    pub(crate) fn top(&mut self, rows: u16) -> Rect {
        let rows = rows.min(self.rest.height);
        let taken = Rect { height: rows, ..self.rest };
        self.rest.y += rows;
        self.rest.height -= rows;
        taken
    }

    pub(crate) fn bottom(&mut self, rows: u16) -> Rect {
        let rows = rows.min(self.rest.height);
        self.rest.height -= rows;
        Rect { y: self.rest.bottom(), height: rows, ..self.rest }
    }

    pub(crate) const fn rest(&self) -> Rect {
        self.rest
    }
}

fn parts(canvas: &mut Canvas, area: Rect, view: &View, pager: &mut Pager) -> Option<(u16, u16)> {
    let mut rows = Rows::of(area);
    let is_roomy = area.height >= 30;
    let gap = u16::from(is_roomy);
    let used = head::draw(canvas, rows.rest(), view);
    rows.top(used + gap);

    let keys = foot::keys_rows(area.width, view, canvas.look);
    foot::keys(canvas, rows.bottom(keys), view);
    let said = foot::said_rows(area, view, canvas.look);
    foot::said(canvas, rows.bottom(said), view);
    rows.bottom(gap);

    if let Some(ask) = &view.ask {
        small::now(canvas, rows.top(1), view);
        rows.top(1);
        return ask::draw(canvas, rows.rest(), ask, pager);
    }
    meter::draw(canvas, rows.bottom(1), view.meter.as_ref());
    rows.bottom(gap);
    let thick = match area.height {
        ..32 => 1,
        32..48 => 2,
        _ => 3,
    };
    bar::draw(canvas, rows.bottom(thick + 2), view);
    rows.bottom(gap);
    middle(canvas, rows.rest(), gap, view);
    None
}

/// Order, target and live value; beside them the readings where there is room.
fn middle(canvas: &mut Canvas, place: Rect, gap: u16, view: &View) {
    let mut work = place;
    let has_side = place.width >= COLUMNS_WITH_SIDE;
    if has_side {
        let side = (place.width * 3 / 10).clamp(32, 56);
        work.width = place.width.saturating_sub(side + 2);
        let side = Rect { x: work.right() + 2, width: side, ..place };
        readings::aside(canvas, side, &view.rows);
    }
    let mut rows = Rows::of(work);
    let used = order::draw(canvas, rows.rest(), view.step.as_ref());
    rows.top(used + gap);
    if let Some(step) = &view.step {
        // Of what remains the live value gets the larger part; the target has large type as long as the
        // live value has it too.
        let room = rows.rest();
        let most = if room.height >= LARGE_ROWS * 2 + 1 + gap {
            (room.height * 3 / 8).max(LARGE_ROWS + 1)
        } else {
            1
        };
        let used = target::draw(canvas, Rect { height: most.min(room.height), ..room }, step);
        rows.top(used + gap);
    }
    live::draw(canvas, rows.rest(), view, !has_side);
}
