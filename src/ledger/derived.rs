//! Tables for questions, each line a function of the [`State`]: a store keeps them beside the
//! entries, changes them in the same transaction, and can throw them away and make them anew.

use crate::state::{State, Touched};
use crate::text::Id;

/// A derived table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // the names say it
pub enum Table {
    Customers,
    Tools,
    References,
    Jobs,
    Certificates,
}

/// The type of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnType {
    /// text
    Text,
    /// a whole number
    Integer,
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cell {
    /// nothing
    Null,
    /// a whole number
    Integer(i64),
    /// text; days as 2026-11-25
    Text(String),
}

/// A line: the key's columns come first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Line {
    /// of which table
    pub table: Table,
    /// one cell a column
    pub cells: Vec<Cell>,
}

use ColumnType::{Integer, Text};

impl Table {
    /// Every one.
    pub const ALL: [Table; 5] =
        [Table::Customers, Table::Tools, Table::References, Table::Jobs, Table::Certificates];

    /// Its name in a database.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Table::Customers => "customers",
            Table::Tools => "tools",
            Table::References => "reference_standards",
            Table::Jobs => "jobs",
            Table::Certificates => "certificates",
        }
    }

    /// How many of its first columns are the key.
    #[must_use]
    pub fn key_columns(self) -> usize {
        match self {
            Table::Certificates => 2,
            _ => 1,
        }
    }

    /// Its columns.
    #[must_use]
    pub fn columns(self) -> &'static [(&'static str, ColumnType)] {
        match self {
            Table::Customers => &[("id", Text), ("name", Text)],
            Table::Tools => &[
                ("id", Text),
                ("customer", Text),
                ("maker", Text),
                ("model", Text),
                ("serial", Text),
                ("kind", Text),
                ("last_performed", Text),
                ("due", Text),
            ],
            Table::References => &[
                ("id", Text),
                ("certificate", Text),
                ("calibrated", Text),
                ("due", Text),
                ("uses", Integer),
                ("uses_allowed", Integer),
            ],
            Table::Jobs => &[
                ("id", Text),
                ("state", Text),
                ("customer", Text),
                ("tool", Text),
                ("rulebook", Text),
                ("received", Text),
                ("runs", Integer),
                ("verdict", Text),
                ("certificate", Text),
            ],
            Table::Certificates => &[
                ("series", Text),
                ("number", Integer),
                ("job", Text),
                ("tool", Text),
                ("state", Text),
                ("issued", Text),
                ("author", Text),
                ("replaces", Text),
            ],
        }
    }
}

fn text(value: impl ToString) -> Cell {
    Cell::Text(value.to_string())
}

fn option(value: Option<impl ToString>) -> Cell {
    value.map_or(Cell::Null, text)
}

fn integer(value: impl TryInto<i64>) -> Cell {
    Cell::Integer(value.try_into().unwrap_or(i64::MAX))
}

impl State {
    /// The line of a thing, as the record stands.
    #[must_use]
    pub fn line(&self, touched: &Touched) -> Option<Line> {
        match touched {
            Touched::Customer(id) => {
                let customer = self.customers.get(id)?;
                Some(Line { table: Table::Customers, cells: vec![text(id), text(&customer.name)] })
            }
            Touched::Tool(id) => self.tool_line(id),
            Touched::Reference(id) => {
                let record = self.references.get(id)?;
                let latest = record.latest();
                let cells = vec![
                    text(id),
                    option(latest.map(|latest| &latest.certificate)),
                    option(latest.map(|latest| latest.date)),
                    option(latest.map(|latest| latest.due)),
                    integer(record.uses_since_latest()),
                    record.reference.interval_uses.map_or(Cell::Null, integer),
                ];
                Some(Line { table: Table::References, cells })
            }
            Touched::Job(id) => self.job_line(id),
            Touched::Certificate(number) => {
                let certificate = self.certificates.get(number)?;
                let tool = self.jobs.get(&certificate.job).map(|job| &job.received.tool);
                let cells = vec![
                    text(&number.series),
                    integer(number.number),
                    text(&certificate.job),
                    option(tool),
                    text(certificate.state.as_str()),
                    text(certificate.issued),
                    text(&certificate.author),
                    option(certificate.replaces.as_ref()),
                ];
                Some(Line { table: Table::Certificates, cells })
            }
        }
    }

    fn tool_line(&self, id: &Id) -> Option<Line> {
        let tool = self.tools.get(id)?;
        let cells = vec![
            text(id),
            text(&tool.customer),
            text(&tool.maker),
            text(&tool.model),
            text(&tool.serial),
            text(&tool.kind),
            option(self.measured.get(id)),
            option(self.tool_due(tool)),
        ];
        Some(Line { table: Table::Tools, cells })
    }

    fn job_line(&self, id: &Id) -> Option<Line> {
        let job = self.jobs.get(id)?;
        let cells = vec![
            text(id),
            text(job.state),
            text(&job.received.customer),
            text(&job.received.tool),
            text(&job.received.rulebook),
            text(job.received.received),
            integer(job.runs.len()),
            option(job.verdict()),
            option(job.certificate.as_ref()),
        ];
        Some(Line { table: Table::Jobs, cells })
    }

    /// Every line of a table, in the order of its key.
    #[must_use]
    pub fn lines(&self, table: Table) -> Vec<Line> {
        let touched: Vec<Touched> = match table {
            Table::Customers => self.customers.keys().cloned().map(Touched::Customer).collect(),
            Table::Tools => self.tools.keys().cloned().map(Touched::Tool).collect(),
            Table::References => self.references.keys().cloned().map(Touched::Reference).collect(),
            Table::Jobs => self.jobs.keys().cloned().map(Touched::Job).collect(),
            Table::Certificates => self.certificates.keys().cloned().map(Touched::Certificate).collect(),
        };
        touched.iter().filter_map(|touched| self.line(touched)).collect()
    }
}
