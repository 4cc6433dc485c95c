//! The live bar over the full width: marks, the bar itself, and what the marks mean.

use leverarm_session::view::{Bar, Phase, View};
use ratatui::layout::Rect;

use crate::canvas::Canvas;
use crate::look::Paint;
use crate::words;

/// Draws the bar in three rows or more: the first for the marks, the last for words.
pub(super) fn draw(canvas: &mut Canvas, place: Rect, view: &View) {
    let Some(bar) = &view.bar else { return };
    let body = Rect {
        x: place.x + 1,
        y: place.y + 1,
        width: place.width.saturating_sub(2),
        height: place.height.saturating_sub(2),
    };
    if body.is_empty() {
        return;
    }
    track(canvas, body, bar);
    fill(canvas, body, bar);
    marks(canvas, body, bar);
    legend(
        canvas,
        Rect { y: body.bottom(), height: 1, ..place },
        bar,
        view.live.as_ref().is_some_and(|live| live.phase == Phase::LetGo),
    );
}

/// The column of a value, from 0; none where it cannot be placed.
fn column(value: f64, end: f64, columns: u16) -> Option<u16> {
    let share = value / end;
    let is_placed = end > 0.0 && end.is_finite() && share.is_finite() && (0.0..=1.0).contains(&share);
    // The range was checked; a share of 1 belongs to the last column.
    is_placed.then(|| ((share * f64::from(columns)) as u16).min(columns.saturating_sub(1)))
}

/// What is not reached yet: the accept window is a double line, what lies beyond the limit is hatched.
fn track(canvas: &mut Canvas, body: Rect, bar: &Bar) {
    let at = |value: Option<f64>| value.and_then(|value| column(value, bar.end, body.width));
    let lowest = at(bar.lowest_accepted);
    let highest = at(bar.highest_accepted);
    let limit = at(bar.limit);
    let middle = body.y + body.height / 2;
    for step in 0..body.width {
        let is_forbidden = limit.is_some_and(|limit| step > limit);
        let is_accepted = lowest.is_some_and(|lowest| step >= lowest)
            && highest.map_or(bar.highest_accepted.is_some(), |highest| step <= highest);
        let (symbol, paint) = if is_forbidden {
            (canvas.look.pick("╱", "/"), Paint::Bad)
        } else if is_accepted {
            (canvas.look.pick("═", "="), Paint::Good)
        } else {
            (canvas.look.pick("─", "-"), Paint::Faint)
        };
        if is_forbidden || is_accepted {
            canvas.fill(Rect { x: body.x + step, width: 1, ..body }, symbol, paint);
        } else {
            canvas.dot(body.x + step, middle, symbol, paint);
        }
    }
}

fn fill(canvas: &mut Canvas, body: Rect, bar: &Bar) {
    const EIGHTHS: [&str; 8] = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"];
    let share = bar.value / bar.end;
    if share.is_nan() || bar.end.is_nan() || bar.end <= 0.0 {
        return;
    }
    let is_over = bar.limit.is_some_and(|limit| bar.value > limit);
    let paint = if is_over { Paint::Bad } else { Paint::Plain };
    let eighths = (share.clamp(0.0, 1.0) * f64::from(body.width) * 8.0) as u32;
    let whole = u16::try_from(eighths / 8).unwrap_or(body.width).min(body.width);
    canvas.fill(Rect { width: whole, ..body }, canvas.look.pick("█", "#"), paint);
    let part = EIGHTHS.get((eighths % 8) as usize).copied().unwrap_or_default();
    if !canvas.look.is_ascii && !part.is_empty() && whole < body.width {
        canvas.fill(Rect { x: body.x + whole, width: 1, ..body }, part, paint);
    }
    if let Some(at) = column(bar.highest, bar.end, body.width).filter(|at| *at >= whole) {
        canvas.fill(Rect { x: body.x + at, width: 1, ..body }, canvas.look.pick("◆", "*"), Paint::Strong);
    }
    if share > 1.0 {
        let end = Rect { x: body.right(), width: 1, ..body };
        canvas.fill(end, canvas.look.pick("▶", ">"), paint);
    }
}

/// The window's ends, the target and the limit, over the bar; the target wins where they meet, and the
/// ends of a narrow window step aside.
fn marks(canvas: &mut Canvas, body: Rect, bar: &Bar) {
    let y = body.y.saturating_sub(1);
    let at = |value: f64| column(value, bar.end, body.width).map(|column| body.x + column);
    let target = at(bar.target);
    if let Some(x) = bar.limit.and_then(at) {
        canvas.dot(x, y, "!", Paint::Bad);
    }
    if let Some(x) = bar.lowest_accepted.and_then(at) {
        let x = if Some(x) == target { x.saturating_sub(1) } else { x };
        canvas.dot(x, y, "[", Paint::Good);
    }
    if let Some(x) = bar.highest_accepted.and_then(at) {
        let x = if Some(x) == target { x + 1 } else { x };
        canvas.dot(x, y, "]", Paint::Good);
    }
    if let Some(x) = target {
        canvas.dot(x, y, canvas.look.pick("▼", "v"), Paint::Target);
    }
}

fn legend(canvas: &mut Canvas, row: Rect, bar: &Bar, is_over: bool) {
    let (words, tone) = words::place(bar, is_over);
    let used = canvas.put(row.x + 1, row.y, row.width.saturating_sub(1), words, Paint::from(tone));
    let mut parts = Vec::new();
    if bar.lowest_accepted.is_some() || bar.highest_accepted.is_some() {
        parts.push("[ ] window".to_owned());
    }
    parts.push(format!("{} target", canvas.look.pick("▼", "v")));
    parts.push(format!("{} highest", canvas.look.pick("◆", "*")));
    if bar.limit.is_some() {
        parts.push("! limit".to_owned());
    }
    let right = Rect { x: row.x + used + 3, width: row.width.saturating_sub(used + 4), ..row };
    canvas.put_right(right, &parts.join("  "), Paint::Faint);
}

#[cfg(test)]
mod tests {
    use super::column;

    #[test]
    fn a_value_has_its_column() {
        assert_eq!(column(0.0, 110.0, 78), Some(0));
        assert_eq!(column(110.0, 110.0, 78), Some(77));
        assert_eq!(column(55.0, 110.0, 78), Some(39));
        for (value, end) in [
            (111.0, 110.0),
            (-1.0, 110.0),
            (f64::NAN, 110.0),
            (f64::INFINITY, f64::INFINITY),
            (1.0, 0.0),
            (1.0, -1.0),
            (1.0, f64::NAN),
        ] {
            assert_eq!(column(value, end, 78), None, "{value} of {end}");
        }
        assert_eq!(column(0.0, 1.0, 0), Some(0));
    }
}
