//! The cells of a sheet.

use quick_xml::events::{BytesStart, Event};

use super::error::{StoredError, WorkbookFault};
use super::table::{COLUMNS_MAX, Cell, ROWS_MAX, Table, reference};
use super::xml::{Xml, add_text, attribute};

/// So much of a shared text is kept; no name of a column and no number is longer.
const CHARS_MAX: usize = 400;

struct Open {
    row: u32,
    column: u32,
    kind: String,
    is_date: bool,
    content: String,
}

/// Reads the cells of a sheet into a table.
pub(super) fn read(
    part: &str,
    text: &str,
    shared: &[String],
    dates: &[bool],
    table: &mut Table,
) -> Result<(), StoredError> {
    let file = table.file.clone();
    let fault = |fault| StoredError::Workbook { file: file.clone(), fault };
    let mut xml = Xml::of(part, text);
    let (mut row, mut column) = (0_u32, 0_u32);
    let mut open: Option<Open> = None;
    let mut in_content = false;
    while let Some(event) = xml.next().map_err(fault)? {
        match &event {
            Event::Start(element) => match element.local_name().as_ref() {
                "row" => {
                    let said = attribute(element, "r").and_then(|r| r.parse().ok());
                    row = said.unwrap_or_else(|| row.saturating_add(1));
                    column = 0;
                }
                "c" => {
                    let cell = begin(element, row, column, dates);
                    column = cell.column;
                    open = Some(cell);
                }
                "v" | "t" => in_content = true,
                _ => {}
            },
            Event::End(element) => match element.local_name().as_ref() {
                "v" | "t" => in_content = false,
                "c" => {
                    if let Some(cell) = open.take() {
                        place(cell, shared, table)?;
                    }
                }
                "sheetData" => return Ok(()),
                _ => {}
            },
            other if in_content => {
                if let Some(cell) = open.as_mut() {
                    add_text(&mut cell.content, other);
                }
            }
            _ => {}
        }
    }
    Err(fault(WorkbookFault::Damaged { part: part.to_owned() }))
}

fn begin(element: &BytesStart<'_>, row: u32, column: u32, dates: &[bool]) -> Open {
    let style = attribute(element, "s").and_then(|s| s.parse::<usize>().ok());
    let (row, column) =
        attribute(element, "r").and_then(|r| reference(&r)).unwrap_or((row.max(1), column.saturating_add(1)));
    Open {
        row,
        column,
        kind: attribute(element, "t").unwrap_or_default(),
        is_date: style.and_then(|style| dates.get(style)).copied().unwrap_or(false),
        content: String::new(),
    }
}

fn place(cell: Open, shared: &[String], table: &mut Table) -> Result<(), StoredError> {
    let Open { row, column, kind, is_date, content } = cell;
    let value = match kind.as_str() {
        "s" => {
            let text = content.trim().parse::<usize>().ok().and_then(|at| shared.get(at));
            let missing = || StoredError::Workbook {
                file: table.file.clone(),
                fault: WorkbookFault::Damaged { part: "the shared texts".to_owned() },
            };
            // A text that a million cells share is not copied a million times at its full length.
            Cell::Text(text.ok_or_else(missing)?.chars().take(CHARS_MAX).collect())
        }
        "str" | "inlineStr" | "d" | "b" => Cell::Text(content),
        "e" => Cell::Fault(content),
        _ => Cell::Number { digits: content.trim().to_owned(), is_date },
    };
    if value.text().is_empty() {
        return Ok(());
    }
    if column > COLUMNS_MAX {
        return Err(StoredError::TooWide { file: table.file.clone(), row, limit: COLUMNS_MAX });
    }
    table.rows.entry(row).or_default().insert(column, value);
    if table.rows.len() > ROWS_MAX {
        return Err(StoredError::TooLong { file: table.file.clone(), limit: ROWS_MAX });
    }
    Ok(())
}
