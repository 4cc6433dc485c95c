//! The target, the direction and which reading of how many, in large type.

use leverarm_metrology::reading::Direction;
use leverarm_session::view::Step;
use ratatui::layout::Rect;

use crate::big::{self, Size};
use crate::canvas::Canvas;
use crate::look::Paint;
use crate::text;

/// Columns between the parts.
const GAP: u16 = 3;

/// Columns of `counter-clockwise`.
const DIRECTION_COLUMNS: u16 = 17;

/// Draws one row of small words and the large type under them; returns the rows used.
pub(super) fn draw(canvas: &mut Canvas, place: Rect, step: &Step) -> u16 {
    let count = step.reading.map(|reading| format!("{reading}/{}", step.readings));
    let fits = |large: &str, with_count: bool| {
        let aside = direction_columns(step.direction)
            + if with_count { columns(count.as_deref(), Size::LEAST) } else { 0 };
        Size::largest(large, place.width.saturating_sub(aside), place.height.saturating_sub(1))
    };
    let number = step.target.split(' ').next().unwrap_or_default();
    let choices =
        [(step.target.as_str(), true), (step.target.as_str(), false), (number, true), (number, false)];
    let chosen =
        choices.into_iter().find_map(|(large, count)| fits(large, count).map(|size| (large, count, size)));
    let Some((large, has_count, size)) = chosen.filter(|(large, ..)| !large.is_empty()) else {
        return plain(canvas, place, step);
    };

    let caption =
        if large.len() == step.target.len() { "TARGET".into() } else { format!("TARGET {}", step.target) };
    let wide = big::width(large, size).unwrap_or(0);
    canvas.put(place.x, place.y, place.width, &caption, Paint::Strong);
    big::put(canvas, place.x, place.y + 1, large, size, Paint::Target);
    let caption_wide = u16::try_from(text::width(&caption)).unwrap_or(u16::MAX);
    let mut x = place.x.saturating_add(wide.max(caption_wide)).saturating_add(GAP);
    if let Some(direction) = step.direction {
        let room = place.right().saturating_sub(x);
        // Beside a large count the arrow is no wider than the column of its word.
        let room = if has_count { room.min(DIRECTION_COLUMNS) } else { room };
        turn(canvas, Rect { x, width: room, ..place }, direction, size);
        // Without a large count its words stand beside the arrow, under the word for the direction.
        x = x.saturating_add(if has_count { direction_columns(step.direction) } else { arrow_columns(size) });
    }
    if let Some(count) = &count {
        let room = Rect { x, width: place.right().saturating_sub(x), ..place };
        reading(canvas, room, step, has_count.then_some((count.as_str(), size)));
    }
    1 + size.rows()
}

fn columns(large: Option<&str>, size: Size) -> u16 {
    large.and_then(|large| big::width(large, size)).map_or(0, |wide| wide.max(14) + GAP)
}

fn direction_columns(direction: Option<Direction>) -> u16 {
    // Both words get the room of the longer one, so that nothing moves when the sense changes.
    direction.map_or(0, |_| DIRECTION_COLUMNS + GAP)
}

fn arrow_columns(size: Size) -> u16 {
    big::width("↻", size).unwrap_or(0).min(8 * size.across) + 2
}

const fn arrow(direction: Direction) -> &'static str {
    match direction {
        Direction::Clockwise => "↻",
        Direction::CounterClockwise => "↺",
    }
}

/// The arrow in large type with the word over it.
fn turn(canvas: &mut Canvas, place: Rect, direction: Direction, size: Size) {
    let large = arrow(direction);
    let size = Size::largest(large, place.width, size.rows()).unwrap_or(Size::LEAST);
    canvas.put(place.x, place.y, place.width, direction.word(), Paint::Strong);
    big::put(canvas, place.x, place.y + 1, large, size, Paint::Strong);
}

fn reading(canvas: &mut Canvas, place: Rect, step: &Step, large: Option<(&str, Size)>) {
    let words = step.reading.map(|reading| format!("reading {reading} of {}", step.readings));
    let words = words.unwrap_or_default();
    if let Some((large, size)) = large {
        canvas.put(place.x, place.y, place.width, &words, Paint::Strong);
        let size = Size::largest(large, place.width, size.rows()).unwrap_or(Size::LEAST);
        big::put(canvas, place.x, place.y + 1, large, size, Paint::Strong);
    } else {
        // Beside the arrow; the row of words above is the direction's.
        let (first, rest) = words.split_once(' ').unwrap_or_default();
        canvas.put(place.x, place.y + 2, place.width, first, Paint::Strong);
        canvas.put(place.x, place.y + 3, place.width, rest, Paint::Strong);
    }
}

/// All of it in one row, where there is no room for large type or it lacks a letter.
fn plain(canvas: &mut Canvas, place: Rect, step: &Step) -> u16 {
    let mut words = format!("TARGET {}", step.target);
    if let Some(direction) = step.direction {
        let sign = canvas.look.pick(arrow(direction), "");
        words.push_str(&format!("  {sign} {}", direction.word()));
    }
    if let Some(reading) = step.reading {
        words.push_str(&format!("  reading {reading} of {}", step.readings));
    }
    let mut lines = text::wrap(&words, usize::from(place.width), canvas.look);
    super::head::shorten(canvas, &mut lines, usize::from(place.height.min(2)));
    canvas.put_lines(place, &lines, Paint::Target)
}
