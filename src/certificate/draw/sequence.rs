//! Readings in the order in which they were recorded, so that a drift or a
//! disturbance shows, and voided ones stay to be seen.

use super::DrawError;
use super::axis::Scale;
use super::pen::{Align, At, INK, Pen, RULE, WIDTH, share, sheet, text_width};
use crate::certificate::chart::{Ends, SequenceChart, SequenceGroup, SequenceMark};

const LEFT: i32 = 130;
const RIGHT: i32 = WIDTH - 10;
const LINE: i32 = 34;
const TITLE: i32 = 60;
const PLOT: i32 = 250;

pub(super) fn draw(chart: &SequenceChart) -> Result<String, DrawError> {
    let total: usize = chart.groups.iter().map(|group| group.marks.len()).sum();
    if total == 0 {
        return Err(DrawError::Empty);
    }
    let tiers = tiers(chart, total);
    let top = TITLE + LINE * (tiers.iter().copied().max().unwrap_or(0) + 1);
    let bottom = top + PLOT;
    let deviations = chart.groups.iter().flat_map(|g| &g.marks).filter_map(|mark| match mark {
        SequenceMark::Counts(deviation) => Some(*deviation),
        SequenceMark::Void => None,
    });
    let scale = Scale::holding(deviations.chain(chart.limits.each()), top, bottom)?;
    sheet(bottom + 122, |pen| {
        pen.text(&chart.axis, (0, 24), Align::Left)?;
        scale.draw(pen, LEFT, RIGHT)?;
        for limit in chart.limits.each() {
            let y = scale.y(limit);
            pen.line((LEFT, y), (RIGHT, y), INK, 6)?;
        }
        let mut before = 0;
        for (group, tier) in chart.groups.iter().zip(&tiers) {
            let place = Place { before, total, top, bottom, label_y: TITLE + tier * LINE + 8 };
            draw_group(pen, &scale, group, &place, chart.limits)?;
            before += group.marks.len();
        }
        key(pen, chart, bottom + 84)
    })
}

/// Where a group stands among all readings.
struct Place {
    before: usize,
    total: usize,
    top: i32,
    bottom: i32,
    label_y: i32,
}

fn x_of(index: usize, total: usize) -> i32 {
    LEFT + share(2 * index as u64 + 1, 2 * total as u64, RIGHT - LEFT)
}

/// Left edge of the readings from `index` on.
fn edge(index: usize, total: usize) -> i32 {
    LEFT + share(index as u64, total as u64, RIGHT - LEFT)
}

/// Puts labels that would collide one below the other.
fn tiers(chart: &SequenceChart, total: usize) -> Vec<i32> {
    let mut ends: Vec<i32> = Vec::new();
    let mut before = 0;
    let mut tiers = Vec::new();
    for group in &chart.groups {
        let start = edge(before, total);
        let free = ends.iter().position(|end| *end <= start).unwrap_or(ends.len());
        let end = start + text_width(&group.label) + 30;
        match ends.get_mut(free) {
            Some(slot) => *slot = end,
            None => ends.push(end),
        }
        tiers.push(i32::try_from(free).unwrap_or(0));
        before += group.marks.len();
    }
    tiers
}

fn draw_group(
    pen: &mut Pen<'_>,
    scale: &Scale,
    group: &SequenceGroup,
    place: &Place,
    limits: Ends,
) -> Result<(), DrawError> {
    let left = edge(place.before, place.total);
    let foot = if place.before == 0 { place.top } else { place.bottom };
    pen.line((left, place.label_y - 12), (left, foot), RULE, 2)?;
    pen.text(&group.label, (left + 14, place.label_y), Align::Left)?;
    let mut used: Vec<(At, bool)> = Vec::new();
    let mut struck: Vec<At> = Vec::new();
    for (mark, index) in group.marks.iter().zip(place.before..) {
        let x = x_of(index, place.total);
        match mark {
            SequenceMark::Counts(deviation) => {
                used.push(((x, scale.y(*deviation)), limits.exclude(*deviation)));
            }
            SequenceMark::Void => struck.push((x, place.bottom + 24)),
        }
    }
    if used.len() > 1 {
        let path: Vec<At> = used.iter().map(|(at, _)| *at).collect();
        pen.polyline(&path, RULE, 2)?;
    }
    for (at, outside) in used {
        if outside {
            pen.diamond(at, 16)?;
        } else {
            pen.disc(at, 8)?;
        }
    }
    for point in struck {
        pen.cross(point, 12)?;
        pen.text("void", (point.0 + 18, point.1), Align::Left)?;
    }
    Ok(())
}

/// One line that says what each mark means, with only what the chart shows.
fn key(pen: &mut Pen<'_>, chart: &SequenceChart, y: i32) -> Result<(), DrawError> {
    let mut marks = chart.groups.iter().flat_map(|group| &group.marks);
    let voids = marks.clone().any(|mark| *mark == SequenceMark::Void);
    let outside = marks.any(|mark| matches!(mark, SequenceMark::Counts(d) if chart.limits.exclude(*d)));
    pen.disc((LEFT + 10, y), 8)?;
    let mut x = entry(pen, LEFT + 32, y, if voids { "reading that counts" } else { "reading" })?;
    if outside {
        pen.diamond((x + 14, y), 16)?;
        x = entry(pen, x + 40, y, "beyond the limit")?;
    }
    if voids {
        pen.cross((x + 12, y), 12)?;
        x = entry(pen, x + 38, y, "struck out: its place in the order, no deviation")?;
    }
    pen.line((x, y), (x + 70, y), INK, 6)?;
    pen.text("limit", (x + 84, y), Align::Left)
}

fn entry(pen: &mut Pen<'_>, x: i32, y: i32, text: &str) -> Result<i32, DrawError> {
    pen.text(text, (x, y), Align::Left)?;
    Ok(x + text_width(text) + 40)
}
