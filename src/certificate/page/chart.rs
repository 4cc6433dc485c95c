//! The deviations of one direction as rows that the pointer and the keyboard can reach.
//!
//! Each row is a link to its line of the table, so that a keyboard stops there without any script; what it
//! says to a screen reader is shown below the chart while the row is pointed at or focused. Places are in
//! percent of the width: the drawing grows with the page and its text does not.

use super::Page;
use super::markup::Html;
use super::results::{Line, Place};
use super::sign;
use crate::certificate::chart::{Chart, DeviationChart, DeviationPoint, Ends};
use crate::certificate::view::DirectionView;

/// Height of a row's drawing, in pixels of the style sheet.
const HEIGHT: &str = "48";
/// The hatching of a guard band, defined with the ruler at the head of the page.
const HATCH: &str = "url(#hatch)";

impl Page<'_> {
    /// The chart of a direction; nothing where the certificate has none.
    pub(super) fn chart(&self, out: &mut Html, place: &Place<'_>, direction: &DirectionView) {
        let Some(figure) = &direction.deviation else { return };
        let Chart::Deviation(chart) = &figure.chart else { return };
        let lines = place.lines(direction);
        if lines.len() != chart.points.len() {
            return;
        }
        out.node("figure", &[("class", "chart")], |out| {
            out.leaf("figcaption", &[], &figure.caption);
            let label = format!("Chart, one link a test point: {}", figure.caption);
            out.node("ol", &[("class", "plot"), ("aria-label", &label)], |out| {
                for (line, point) in lines.iter().zip(&chart.points) {
                    out.node("li", &[], |out| self.row(out, line, point));
                }
            });
            out.node("div", &[("class", "scale"), ("aria-hidden", "true")], |out| self.axis(out));
            out.leaf("p", &[("class", "axis-title")], &chart.axis);
            legend(out, chart);
            out.leaf(
                "p",
                &[("class", "hint")],
                "Point at a row, or reach it with the Tab key: its numbers appear here. Enter leads to its line of the table.",
            );
        });
    }

    fn row(&self, out: &mut Html, line: &Line<'_>, point: &DeviationPoint) {
        let target = format!("#{}", line.id);
        out.node("a", &[("class", "row"), ("href", &target)], |out| {
            out.leaf("span", &[("class", "at"), ("aria-hidden", "true")], &point.label);
            let attributes = [
                ("class", "strip"),
                ("width", "100%"),
                ("height", HEIGHT),
                ("aria-hidden", "true"),
                ("focusable", "false"),
            ];
            out.node("svg", &attributes, |out| self.strip(out, point));
            out.node("span", &[("class", "result"), ("aria-hidden", "true")], |out| {
                sign::draw(out, line.row.sign);
                out.leaf("span", &[], &point.result);
            });
            out.leaf("span", &[("class", "tip")], &line.spoken(&point.label, &point.result));
        });
    }

    fn strip(&self, out: &mut Html, point: &DeviationPoint) {
        let scale = self.scale;
        for (from, to) in hatched(point) {
            let (x, width) = scale.stretch(from, to);
            out.empty(
                "rect",
                &[("fill", HATCH), ("x", &x), ("y", "0"), ("width", &width), ("height", HEIGHT)],
            );
        }
        for (value, _) in scale.ticks() {
            upright(out, if value == 0.0 { "zero" } else { "grid" }, &scale.x(value), "0", HEIGHT);
        }
        let room = |ends: &Ends| ends.low.zip(ends.high).is_none_or(|(low, high)| low <= high);
        for end in point.acceptance.filter(room).into_iter().flat_map(Ends::each) {
            upright(out, "accepted", &scale.x(end), "0", HEIGHT);
        }
        for end in point.limits.each() {
            upright(out, "limit", &scale.x(end), "0", HEIGHT);
        }
        for reading in &point.readings {
            let x = scale.x(*reading);
            if point.limits.exclude(*reading) {
                diamond(out, &x, "35");
            } else {
                out.empty("circle", &[("class", "reading"), ("cx", &x), ("cy", "35"), ("r", "3")]);
            }
        }
        if let Some(expanded) = point.expanded {
            let (low, high) = (scale.x(point.mean - expanded), scale.x(point.mean + expanded));
            out.empty("line", &[("class", "bar"), ("x1", &low), ("x2", &high), ("y1", "16"), ("y2", "16")]);
            upright(out, "bar", &low, "10", "22");
            upright(out, "bar", &high, "10", "22");
        }
        square(out, &scale.x(point.mean), "11");
    }

    fn axis(&self, out: &mut Html) {
        let attributes = [("class", "axis"), ("width", "100%"), ("height", "26"), ("focusable", "false")];
        out.node("svg", &attributes, |out| {
            for (value, label) in self.scale.ticks() {
                let x = self.scale.x(value);
                upright(out, "tick", &x, "0", "6");
                out.leaf("text", &[("x", &x), ("y", "21"), ("text-anchor", "middle")], &label);
            }
        });
    }
}

/// The guard band: between what is accepted and what is permitted. One that is wider than the tolerance
/// leaves nothing to accept, and all is hatched.
fn hatched(point: &DeviationPoint) -> Vec<(f64, f64)> {
    let Some(acceptance) = point.acceptance else { return vec![] };
    let limits = point.limits;
    let upper = limits
        .high
        .zip(acceptance.high)
        .map(|(limit, accepted)| (limits.low.map_or(accepted, |low| accepted.max(low)), limit));
    let lower = limits
        .low
        .zip(acceptance.low)
        .map(|(limit, accepted)| (limit, limits.high.map_or(accepted, |high| accepted.min(high))));
    upper.into_iter().chain(lower).collect()
}

fn upright(out: &mut Html, class: &str, x: &str, from: &str, to: &str) {
    out.empty("line", &[("class", class), ("x1", x), ("x2", x), ("y1", from), ("y2", to)]);
}

fn square(out: &mut Html, x: &str, y: &str) {
    out.empty(
        "rect",
        &[
            ("class", "mean"),
            ("x", x),
            ("y", y),
            ("width", "10"),
            ("height", "10"),
            ("transform", "translate(-5)"),
        ],
    );
}

/// A drawing within the drawing, since a path knows no percent.
fn diamond(out: &mut Html, x: &str, y: &str) {
    out.node("svg", &[("class", "inner"), ("x", x), ("y", y), ("width", "1"), ("height", "1")], |out| {
        out.empty("path", &[("class", "outside"), ("d", "M0 -5.4 L5.4 0 L0 5.4 L-5.4 0 Z")]);
    });
}

/// What each stroke means, with only what the chart shows.
fn legend(out: &mut Html, chart: &DeviationChart) {
    let any = |has: fn(&DeviationPoint) -> bool| chart.points.iter().any(has);
    out.node("ul", &[("class", "legend")], |out| {
        let expanded = any(|p| p.expanded.is_some());
        let mean = if expanded { "mean, with its expanded uncertainty" } else { "mean" };
        key(out, mean, |out| {
            if expanded {
                out.empty("line", &[("class", "bar"), ("x1", "2"), ("x2", "30"), ("y1", "8"), ("y2", "8")]);
                upright(out, "bar", "2", "3", "13");
                upright(out, "bar", "30", "3", "13");
            }
            square(out, "16", "3");
        });
        if any(|p| !p.readings.is_empty()) {
            key(out, "a reading", |out| {
                out.empty("circle", &[("class", "reading"), ("cx", "16"), ("cy", "8"), ("r", "3")]);
            });
        }
        if any(|p| p.readings.iter().any(|r| p.limits.exclude(*r))) {
            key(out, "a reading beyond the limit", |out| diamond(out, "16", "8"));
        }
        key(out, "limit", |out| upright(out, "limit", "16", "0", "16"));
        if any(|p| p.acceptance.is_some()) {
            key(out, "guard band, up to the acceptance limit", |out| {
                out.empty(
                    "rect",
                    &[("fill", HATCH), ("x", "4"), ("y", "0"), ("width", "20"), ("height", "16")],
                );
                upright(out, "accepted", "24", "0", "16");
            });
        }
    });
}

fn key(out: &mut Html, words: &str, drawing: impl FnOnce(&mut Html)) {
    out.node("li", &[], |out| {
        let attributes = [
            ("class", "key"),
            ("width", "32"),
            ("height", "16"),
            ("aria-hidden", "true"),
            ("focusable", "false"),
        ];
        out.node("svg", &attributes, drawing);
        out.leaf("span", &[], words);
    });
}
