//! The torque as it is, and what is called to the technician.

use leverarm_session::view::{Bar, Live, View};
use ratatui::layout::Rect;

use crate::big::{self, Size};
use crate::canvas::Canvas;
use crate::draw::readings;
use crate::look::Paint;
use crate::text;
use crate::words::{self, Call};

const GAP: u16 = 2;

/// How the block is arranged; it follows from what may come, not from what is there, so that nothing
/// moves while the torque rises.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Plan {
    digits: Size,
    /// columns kept for the digits
    columns: u16,
    call: Option<(Beside, Size)>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beside {
    Right,
    Below,
}

/// Draws the live value; the newest readings too where they have no place of their own.
pub(super) fn draw(canvas: &mut Canvas, place: Rect, view: &View, has_readings: bool) {
    let call = words::call(view);
    let Some(live) = &view.live else {
        return without(canvas, place, view, call, has_readings);
    };
    let most = template(live, view.bar.as_ref());
    let unit = u16::try_from(text::width(&text::shown(&live.unit, canvas.look))).unwrap_or(u16::MAX).min(8);
    // Two readings and the sentence stand under the call, where the readings have no place of their own.
    let kept = if has_readings { 3 } else { 0 };
    let plan = plan(place, &most, unit, kept)
        .filter(|plan| big::width(&live.digits, plan.digits).is_some_and(|wide| wide <= plan.columns));
    let Some(plan) = plan else {
        return plain(canvas, place, view, live, call, has_readings);
    };
    let wide = big::width(&live.digits, plan.digits).unwrap_or(0);
    let paint = if call.paint == Paint::Strong { Paint::Plain } else { call.paint };
    // The digits end where the last one always is.
    big::put(canvas, place.x + plan.columns.saturating_sub(wide), place.y, &live.digits, plan.digits, paint);
    let x = place.x + plan.columns + 1;
    let base = place.y + plan.digits.rows().saturating_sub(1);
    canvas.put(x, base, unit, &live.unit, Paint::Strong);
    let x = x + unit + GAP;
    let right = Rect {
        x,
        width: place.right().saturating_sub(x),
        height: plan.digits.rows().min(place.height),
        ..place
    };
    let below = Rect { y: base + 1, height: place.height.saturating_sub(plan.digits.rows()), ..place };
    let rest = match plan.call {
        Some((Beside::Right, size)) => shout(canvas, right, call, size),
        Some((Beside::Below, size)) => {
            let gap = u16::from(below.height > size.rows());
            let below = Rect { y: below.y + gap, height: below.height - gap, ..below };
            shout(canvas, below, call, size);
            right
        }
        None => shout_plainly(canvas, right, call),
    };
    if has_readings {
        readings::newest(canvas, rest, &view.rows);
    }
}

/// The widest digits to come: as many before the point as the bar's end has, as many after it as now.
pub(super) fn template(live: &Live, bar: Option<&Bar>) -> String {
    let end = bar.map_or(0.0, |bar| bar.end);
    let whole =
        if end.is_finite() && (1.0..1e9).contains(&end) { end.log10().floor() as usize + 1 } else { 1 };
    let point = live.digits.find(['.', ',']);
    let decimals = point.and_then(|at| live.digits.get(at + 1..)).map_or(0, str::len).min(9);
    let mut widest = "0".repeat(whole);
    if decimals > 0 {
        widest.push('.');
        widest.push_str(&"0".repeat(decimals));
    }
    let is_longer = live.digits.chars().count() > widest.len();
    if is_longer { live.digits.clone() } else { widest }
}

fn plan(place: Rect, most: &str, unit: u16, kept: u16) -> Option<Plan> {
    let plans: Vec<Plan> = Size::all()
        .filter(|digits| digits.rows() <= place.height)
        .filter_map(|digits| {
            let columns = big::width(most, digits)?;
            (columns.saturating_add(unit + 1) <= place.width).then(|| Plan {
                digits,
                columns,
                call: room_for_call(place, digits, columns.saturating_add(unit + 1 + GAP), kept),
            })
        })
        .collect();
    // What to do is read from as far as the value: a smaller value with a large call is the better screen,
    // and neither grows at the other's cost beyond twice its area.
    let has_call = plans.iter().any(|plan| plan.call.is_some());
    plans.into_iter().filter(|plan| plan.call.is_some() == has_call).max_by_key(|plan| {
        let call = plan.call.map_or(1, |(_, size)| size.worth());
        (plan.digits.worth().min(call * 2), plan.digits.worth(), call)
    })
}

fn room_for_call(place: Rect, digits: Size, used: u16, kept: u16) -> Option<(Beside, Size)> {
    let largest = |columns, rows| {
        // The same size for every call, or the screen would jump when one follows the other.
        words::large_calls()
            .map(|call| Size::largest(call, columns, rows))
            .min_by_key(|size| size.map_or(0, Size::worth))
            .flatten()
    };
    let beside = digits.rows().saturating_sub(kept);
    let right = largest(place.width.saturating_sub(used), beside).map(|size| (Beside::Right, size));
    let below = || {
        let rows = place.height.saturating_sub(digits.rows() + 1);
        largest(place.width, rows.min(digits.rows())).map(|size| (Beside::Below, size))
    };
    right.or_else(below)
}

/// The call in large type with its sentence under it; returns the place that is left below.
fn shout(canvas: &mut Canvas, place: Rect, call: Call, size: Size) -> Rect {
    big::put(canvas, place.x, place.y, call.large, size, call.paint);
    let used = size.rows();
    let below = Rect { y: place.y + used, height: place.height.saturating_sub(used), ..place };
    if below.height == 0 {
        return below;
    }
    canvas.put(below.x, below.y, below.width, call.words, call.paint);
    Rect { y: below.y + 1, height: below.height - 1, ..below }
}

fn shout_plainly(canvas: &mut Canvas, place: Rect, call: Call) -> Rect {
    canvas.put(place.x, place.y, place.width, &format!(" {} ", call.large), Paint::Key);
    let lines = text::wrap(call.words, usize::from(place.width), canvas.look);
    // A warning is not cut for the sake of a reading.
    let most = if call.paint == Paint::Bad { 5 } else { 2 };
    let below = Rect { y: place.y + 1, height: place.height.saturating_sub(1).min(most), ..place };
    let used = 1 + canvas.put_lines(below, &lines, call.paint);
    Rect { y: place.y + used, height: place.height.saturating_sub(used), ..place }
}

/// Digits that the large type does not have, or no room for it.
fn plain(canvas: &mut Canvas, place: Rect, view: &View, live: &Live, call: Call, has_readings: bool) {
    let now = format!("NOW {} {}", live.digits, live.unit);
    canvas.put(place.x, place.y, place.width, &now, Paint::Strong);
    let below = Rect { y: place.y + 1, height: place.height.saturating_sub(1), ..place };
    let rest = shout_plainly(canvas, below, call);
    if has_readings {
        readings::newest(canvas, rest, &view.rows);
    }
}

fn without(canvas: &mut Canvas, place: Rect, view: &View, call: Call, has_readings: bool) {
    let rest = match Size::largest(call.large, place.width, place.height.min(7)) {
        Some(size) => shout(canvas, place, call, size),
        None => shout_plainly(canvas, place, call),
    };
    if has_readings {
        readings::newest(canvas, rest, &view.rows);
    }
}
