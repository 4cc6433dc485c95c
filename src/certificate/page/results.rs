//! The results, point by point: a chart and a table for each direction, then what changed and what is on
//! the record.

use super::Page;
use super::markup::Html;
use super::sign;
use crate::certificate::view::{ConditionView, DirectionView, ResultRow};
use crate::export::json::{PointRecord, RunRecord};

/// Where a table stands: its condition and direction.
pub(super) struct Place<'a> {
    condition: &'a ConditionView,
    run: &'a RunRecord,
    /// "point-1-1"
    id: String,
}

/// A test point as the view prints it and as the record keeps it.
pub(super) struct Line<'a> {
    pub(super) row: &'a ResultRow,
    record: &'a PointRecord,
    pub(super) id: String,
}

/// The test points of a direction, in the order of the work.
pub(super) fn points_of<'a>(run: &'a RunRecord, heading: &str) -> Vec<&'a PointRecord> {
    run.points.iter().filter(|point| point.printed.direction.eq_ignore_ascii_case(heading)).collect()
}

impl<'a> Place<'a> {
    pub(super) fn lines(&self, direction: &'a DirectionView) -> Vec<Line<'a>> {
        let rows = direction.results.iter().zip(points_of(self.run, &direction.heading));
        rows.zip(1..).map(|((row, record), i)| Line { row, record, id: format!("{}-{i}", self.id) }).collect()
    }
}

impl Line<'_> {
    /// The point in one sentence: what a screen reader says of a row of the chart, and what appears below it.
    pub(super) fn spoken(&self, label: &str, result: &str) -> String {
        let row = self.row;
        let mut parts = vec![format!("{label}, mean deviation {result}"), format!("limit {} %", row.limit)];
        parts.extend(row.acceptance.as_ref().map(|limit| match limit.as_str() {
            "none" => "no result would be accepted".to_owned(),
            limit => format!("acceptance limit {limit} %"),
        }));
        parts.push(format!("{} readings outside the limit", row.outside));
        let zone = self.record.printed.zone.as_ref().map(|zone| format!(", {zone}"));
        format!("{}. Verdict: {}{}.", parts.join("; "), row.verdict, zone.unwrap_or_default())
    }
}

/// A column of the table of results.
struct Column {
    title: &'static str,
    /// the cell of a row; the column stands where some row has one
    cell: fn(&ResultRow) -> Option<&str>,
    /// what else has to hold of some row
    shown: fn(&ResultRow) -> bool,
}

impl Column {
    const fn new(title: &'static str, cell: fn(&ResultRow) -> Option<&str>) -> Column {
        Column { title, cell, shown: |_| true }
    }
}

const COLUMNS: [Column; 6] = [
    Column::new("Mean deviation, %", |row| Some(&row.deviation)),
    Column::new("Expanded uncertainty U, %", |row| row.expanded.as_deref()),
    Column::new("Limit, %", |row| Some(&row.limit)),
    Column::new("Acceptance limit, %", |row| row.acceptance.as_deref()),
    Column::new("Readings", |row| Some(&row.n)),
    Column { title: "Readings outside", cell: |row| Some(&row.outside), shown: |row| row.any_outside },
];

impl Page<'_> {
    pub(super) fn results(&self, out: &mut Html) {
        out.section("results", "Point by point", |out| {
            for ((condition, run), number) in self.view.conditions.iter().zip(&self.record.runs).zip(1..) {
                self.condition(out, condition, run, number);
            }
            self.changes(out);
        });
    }

    fn condition(&self, out: &mut Html, condition: &ConditionView, run: &RunRecord, number: u32) {
        for (direction, i) in condition.directions.iter().zip(1_u32..) {
            if direction.results.is_empty() {
                continue;
            }
            let place = Place { condition, run, id: format!("point-{number}-{i}") };
            let name = format!("{}, {}", condition.heading, direction.heading.to_lowercase());
            out.leaf("h3", &[], &name);
            self.chart(out, &place, direction);
            table(out, &place, direction, &name);
        }
        if !condition.voids.is_empty() {
            let count = condition.voids.len();
            let (were, stay) =
                if count == 1 { ("reading was", "It stays") } else { ("readings were", "They stay") };
            out.paragraph(&format!(
                "{}: {count} {were} struck out. {stay} on the record with the reason and enter no result: see “Readings struck out” in the certificate.",
                condition.heading
            ));
        }
        if !condition.warnings.is_empty() {
            out.paragraph(&format!("{}: this was noticed and changed no number.", condition.heading));
            out.list(&condition.warnings);
        }
    }

    fn changes(&self, out: &mut Html) {
        let changes = &self.view.changes;
        if changes.is_empty() {
            return;
        }
        out.leaf("h3", &[], "What changed: as left less as found");
        let titles =
            ["Test point", "Change of the mean deviation, %", "Expanded uncertainty of the change, %"];
        let caption = "Change from as found to as left at each test point";
        let lines: Vec<[&str; 3]> = changes
            .iter()
            .map(|change| [change.point.as_str(), change.change.as_str(), change.expanded.as_str()])
            .collect();
        grid(out, caption, &titles, |out| {
            for [point, change, expanded] in lines {
                out.node("tr", &[("role", "row")], |out| {
                    row_head(out, |out| out.text(point));
                    cell(out, titles[1], "number", |out| out.text(change));
                    cell(out, titles[2], "number", |out| out.text(expanded));
                });
            }
        });
    }
}

fn table(out: &mut Html, place: &Place<'_>, direction: &DirectionView, name: &str) {
    let columns: Vec<Column> = COLUMNS
        .into_iter()
        .filter(|column| {
            let rows = &direction.results;
            rows.iter().any(|row| (column.cell)(row).is_some()) && rows.iter().any(column.shown)
        })
        .collect();
    let mut titles = vec!["Test point"];
    titles.extend(columns.iter().map(|column| column.title));
    titles.push("Verdict");
    let caption = format!("{name}: result at each test point. {}", place.condition.verdict.words);
    let lines = place.lines(direction);
    grid(out, &caption, &titles, |out| {
        for line in &lines {
            out.node(
                "tr",
                &[("role", "row"), ("id", &line.id), ("class", sign::class(line.row.sign))],
                |out| {
                    row_head(out, |out| out.text(&line.row.name));
                    for column in &columns {
                        let text = (column.cell)(line.row).unwrap_or("–");
                        cell(out, column.title, "number", |out| out.text(text));
                    }
                    cell(out, "Verdict", "verdict", |out| {
                        sign::draw(out, line.row.sign);
                        out.node("span", &[], |out| {
                            out.leaf("b", &[], &line.row.verdict);
                            if let Some(zone) = &line.record.printed.zone {
                                out.leaf("span", &[("class", "zone")], zone);
                            }
                        });
                    });
                },
            );
        }
    });
}

/// A table that a narrow screen may set as a list. The roles say again what the elements say, because some
/// readers forget it once the style sheet makes them blocks.
fn grid(out: &mut Html, caption: &str, titles: &[&str], body: impl FnOnce(&mut Html)) {
    out.node("table", &[("role", "table")], |out| {
        out.leaf("caption", &[], caption);
        out.node("thead", &[("role", "rowgroup")], |out| {
            out.node("tr", &[("role", "row")], |out| {
                for title in titles {
                    out.leaf("th", &[("scope", "col"), ("role", "columnheader")], title);
                }
            });
        });
        out.node("tbody", &[("role", "rowgroup")], body);
    });
}

fn row_head(out: &mut Html, body: impl FnOnce(&mut Html)) {
    out.node("th", &[("scope", "row"), ("role", "rowheader")], body);
}

fn cell(out: &mut Html, title: &str, class: &str, body: impl FnOnce(&mut Html)) {
    out.node("td", &[("role", "cell"), ("class", class), ("data-title", title)], |out| {
        out.node("span", &[("class", "value")], body);
    });
}
