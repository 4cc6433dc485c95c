//! Prose in lines of a bounded width, and tables, as every command prints them.

use std::fmt::Write;
use std::ops::Range;

use comfy_table::{CellAlignment, ContentLineStyle, LineStyle, Table, TableStyle};
use unicode_width::UnicodeWidthStr;

/// A quiet table: one rule under the header, nothing else. Columns of numbers are set to the right.
#[must_use]
pub fn table(header: Vec<String>, rows: Vec<Vec<String>>, right: Range<usize>) -> String {
    let mut table = Table::new();
    let line = LineStyle::none().fill('─').junction('─');
    let content = ContentLineStyle::none().junction(' ');
    table.load_style(TableStyle::new().header_lines(content).content_lines(content).header_separator(line));
    table.set_header(header);
    table.add_rows(rows);
    for index in right {
        if let Some(column) = table.column_mut(index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table.trim_fmt()
}

/// Words in lines of at most `width` columns; the first line begins with `first`, the others with
/// `next`. A word that is longer than a line stands alone in it. What a no-break space joins stays
/// together.
pub fn wrapped(out: &mut String, first: &str, next: &str, text: &str, width: usize) {
    let mut line = first.to_owned();
    let mut empty = true;
    for word in text.split([' ', '\n', '\t']).filter(|word| !word.is_empty()) {
        if !empty && line.width() + 1 + word.width() > width {
            end(out, &line);
            next.clone_into(&mut line);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    end(out, &line);
}

fn end(out: &mut String, line: &str) {
    // Writing to a string does not fail.
    let _ = writeln!(out, "{}", line.trim_end());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_hold_what_fits_and_keep_together_what_belongs() {
        let mut out = String::new();
        wrapped(&mut out, "- ", "  ", "one two\u{a0}three  four", 11);
        assert_eq!(out, "- one\n  two\u{a0}three\n  four\n");
    }

    #[test]
    fn nothing_is_an_empty_line_and_a_long_word_stands_alone() {
        let mut out = String::new();
        wrapped(&mut out, "", "", "", 10);
        wrapped(&mut out, "", "", "a incomprehensibility b", 10);
        assert_eq!(out, "\na\nincomprehensibility\nb\n");
    }
}
