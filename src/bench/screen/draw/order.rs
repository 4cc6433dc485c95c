//! What to do now, in a sentence.

use leverarm_session::view::Step;
use ratatui::layout::Rect;

use crate::canvas::Canvas;
use crate::draw::head;
use crate::look::Paint;
use crate::text;

/// Draws the order and how the position is made; returns the rows it took, always two at least, so that
/// what is below stays in its place from step to step.
pub(super) fn draw(canvas: &mut Canvas, place: Rect, step: Option<&Step>) -> u16 {
    const ROWS_MIN: u16 = 2;
    let Some(step) = step else { return ROWS_MIN };
    let most = (place.height / 4).max(ROWS_MIN);
    let columns = usize::from(place.width);
    let title = format!("{}: ", step.title);
    let mut lines = text::wrap(&format!("{title}{}", step.order), columns, canvas.look);
    let how = step.how.as_deref().map(|how| text::wrap(how, columns, canvas.look)).unwrap_or_default();
    head::shorten(canvas, &mut lines, usize::from(most));
    let used = canvas.put_lines(Rect { height: most, ..place }, &lines, Paint::Strong);
    let mut rest = how;
    head::shorten(canvas, &mut rest, usize::from(most.saturating_sub(used)));
    let below = Rect { y: place.y + used, height: most.saturating_sub(used), ..place };
    let used = used + canvas.put_lines(below, &rest, Paint::Plain);
    used.max(ROWS_MIN)
}
