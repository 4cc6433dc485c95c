//! How long the pull has lasted from 80 % of the target on, against the window.

use leverarm_session::view::Meter;
use ratatui::layout::Rect;

use crate::canvas::Canvas;
use crate::look::Paint;
use crate::words;

/// Columns of the small bar, where there is room for it.
const TRACK: u16 = 24;

/// Draws the meter in one row.
pub(super) fn draw(canvas: &mut Canvas, row: Rect, meter: Option<&Meter>) {
    let Some(meter) = meter else { return };
    let (word, tone) = words::loading(meter);
    let window = match meter.seconds_max {
        Some(most) => format!("of {} to {}", words::seconds(meter.seconds_min), words::seconds(most)),
        None => format!("of at least {}", words::seconds(meter.seconds_min)),
    };
    let mut x = row.x + 1;
    let mut put = |canvas: &mut Canvas, words: &str, gap: u16, paint| {
        let used = canvas.put(x, row.y, row.right().saturating_sub(x), words, paint);
        x = x.saturating_add(used + gap);
        x
    };
    put(canvas, "loading time", 2, Paint::Plain);
    put(canvas, &words::tenths(meter), 1, Paint::Strong);
    put(canvas, &window, 2, Paint::Plain);
    put(canvas, canvas.look.sign(tone), 1, Paint::from(tone));
    put(canvas, word, 3, Paint::from(tone));
    let room = row.right().saturating_sub(x);
    if room >= TRACK {
        track(canvas, Rect { x, width: room.min(TRACK * 2), ..row }, meter);
    }
}

fn track(canvas: &mut Canvas, row: Rect, meter: &Meter) {
    let end = meter.seconds_max.map_or(meter.seconds_min * 2.0, |most| most * 1.25);
    if !(end > 0.0 && end.is_finite()) {
        return;
    }
    let at = |seconds: f64| {
        let share = (seconds / end).clamp(0.0, 1.0);
        // The share lies between 0 and 1, or is no number and becomes 0.
        ((share * f64::from(row.width)) as u16).min(row.width)
    };
    canvas.fill(row, canvas.look.pick("·", "."), Paint::Faint);
    canvas.fill(Rect { width: at(meter.seconds), ..row }, canvas.look.pick("━", "="), Paint::Plain);
    canvas.dot(row.x + at(meter.seconds_min).min(row.width - 1), row.y, "[", Paint::Good);
    if let Some(most) = meter.seconds_max {
        canvas.dot(row.x + at(most).min(row.width - 1), row.y, "]", Paint::Good);
    }
}
