//! What must hold between the rows of a rulebook: one limit for every tool that has test points,
//! no class in two rows, points in the order of the work, a budget where there is a calibration.

use std::ops::Range;

use super::parse::Reader;
use super::problem::{RulebookProblem, Sizes};
use super::{LimitRow, PointsRow, PullRow, Purpose, TestPoint};
use crate::reading::Recorded;
use crate::tool::ToolClass;

type Spans = [Range<usize>];

fn same(a: Recorded, b: Recorded) -> bool {
    a.torque().same_as(b.torque())
}

/// A row must be for some size of tool.
pub(super) fn sizes(
    reader: &mut Reader,
    above: Option<Recorded>,
    up_to: Option<Recorded>,
    span: Range<usize>,
) {
    if let (Some(low), Some(high)) = (above, up_to)
        && (same(low, high) || low.torque() > high.torque())
    {
        reader.report(Some(span), RulebookProblem::NoSizes { sizes: Sizes { above, up_to } });
    }
}

/// The points of a row: rising, the lower limit first; the set value alone and for fixed tools.
pub(super) fn point_order(
    reader: &mut Reader,
    points: &[TestPoint],
    classes: &[ToolClass],
    span: Range<usize>,
) {
    if points.is_empty() {
        reader.report(Some(span), RulebookProblem::NoPoints);
        return;
    }
    for pair in points.windows(2) {
        let rises = match (pair[0], pair[1]) {
            (TestPoint::LowerLimit, TestPoint::OfMaximum(_)) => true,
            (TestPoint::OfMaximum(a), TestPoint::OfMaximum(b)) => a < b,
            _ => false,
        };
        if !rises {
            let given = pair[1].to_string();
            reader.report(Some(span.clone()), RulebookProblem::PointOrder { given });
        }
    }
    if points.contains(&TestPoint::SetValue) {
        for class in classes.iter().copied().filter(|class| !class.is_fixed()) {
            reader.report(Some(span.clone()), RulebookProblem::SetValueOfRange { class });
        }
    }
}

/// A class stands in one row of a table only.
pub(super) fn once<'a>(
    table: &'static str,
    reader: &mut Reader,
    rows: impl Iterator<Item = &'a Vec<ToolClass>>,
    spans: &Spans,
) {
    let mut seen: Vec<ToolClass> = Vec::new();
    for (classes, span) in rows.zip(spans) {
        for class in classes {
            if seen.contains(class) {
                reader.report(Some(span.clone()), RulebookProblem::ClassTwice { table, class: *class });
            }
        }
        seen.extend(classes);
    }
}

/// Each class with test points has one limit, and only one, for every size of tool.
pub(super) fn limits(reader: &mut Reader, limits: (&[LimitRow], &Spans), points: (&[PointsRow], &Spans)) {
    once("points", reader, points.0.iter().map(|row| &row.classes), points.1);
    if points.0.is_empty() {
        reader.report(None, RulebookProblem::NoPointRows);
    }
    for class in ToolClass::ALL {
        let place = points
            .0
            .iter()
            .zip(points.1)
            .find(|(row, _)| row.classes.contains(&class))
            .map(|(_, span)| span.clone());
        let mut rows: Vec<(Sizes, &Range<usize>)> = limits
            .0
            .iter()
            .zip(limits.1)
            .filter(|(row, _)| row.classes.contains(&class))
            .map(|(row, span)| (Sizes { above: row.above, up_to: row.up_to }, span))
            .collect();
        let low = |sizes: &Sizes| sizes.above.map_or(0.0, |above| above.torque().newton_metres());
        rows.sort_by(|(a, _), (b, _)| low(a).total_cmp(&low(b)));
        walk(reader, class, &rows, place);
    }
}

/// Goes up the sizes of one class and reports what is left out or covered twice.
fn walk(reader: &mut Reader, class: ToolClass, rows: &[(Sizes, &Range<usize>)], place: Option<Range<usize>>) {
    let missing = |reader: &mut Reader, sizes: Sizes| {
        if let Some(span) = place.clone() {
            reader.report(Some(span), RulebookProblem::LimitMissing { class, sizes });
        }
    };
    let Some((first, _)) = rows.first() else {
        missing(reader, Sizes { above: None, up_to: None });
        return;
    };
    if first.above.is_some() {
        missing(reader, Sizes { above: None, up_to: first.above });
    }
    let mut reached = *first;
    for (next, span) in &rows[1..] {
        let overlap = match (reached.up_to, next.above) {
            (Some(end), Some(begin)) if same(end, begin) => false,
            (Some(end), Some(begin)) if end.torque() < begin.torque() => {
                missing(reader, Sizes { above: Some(end), up_to: Some(begin) });
                false
            }
            _ => true,
        };
        if overlap {
            let problem = RulebookProblem::LimitsOverlap { class, first: reached, second: *next };
            reader.report(Some((*span).clone()), problem);
        }
        let further = match (reached.up_to, next.up_to) {
            (None, _) => false,
            (Some(_), None) => true,
            (Some(end), Some(new)) => new.torque() > end.torque(),
        };
        if further {
            reached = *next;
        }
    }
    if reached.up_to.is_some() {
        missing(reader, Sizes { above: reached.up_to, up_to: None });
    }
}

/// No two times of pull for one tool.
pub(super) fn pulls(reader: &mut Reader, pulls: &[PullRow], spans: &Spans) {
    for (i, (row, span)) in pulls.iter().zip(spans).enumerate() {
        for earlier in &pulls[..i] {
            let same_sizes = match (row.up_to, earlier.up_to) {
                (None, None) => true,
                (Some(a), Some(b)) => same(a, b),
                _ => false,
            };
            if !same_sizes {
                continue;
            }
            for class in row.classes.iter().copied().filter(|class| earlier.classes.contains(class)) {
                let sizes = Sizes { above: None, up_to: row.up_to };
                reader.report(Some(span.clone()), RulebookProblem::PullTwice { class, sizes });
            }
        }
    }
}

/// A calibration has a budget, a conformance test has none.
pub(super) fn purpose(reader: &mut Reader, purpose: Purpose, budget: Option<Range<usize>>) {
    match (purpose, budget) {
        (Purpose::Calibration, None) => reader.report(None, RulebookProblem::BudgetMissing),
        (Purpose::Conformance, Some(span)) => reader.report(Some(span), RulebookProblem::BudgetUnexpected),
        _ => {}
    }
}
