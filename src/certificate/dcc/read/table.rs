//! The tables of a certificate: what stands together in a list.

use std::sync::Arc;

use super::fault::{ReadError, ReadFault};
use super::label::{Label, label, terms};
use super::quantity::{self, Budget};
use super::tree::{At, Space, Spot};
use crate::digits::Digits;

/// Tables of a certificate.
pub const MAX_TABLES: usize = 2_000;
/// Quantities that cannot be read, of all tables.
const MAX_UNREADABLE: usize = 1_000;
/// Numbers, units and verdicts of all tables.
pub const MAX_ALL_VALUES: usize = 500_000;

/// Quantities that belong together, one value a row.
#[derive(Debug, Clone)]
pub struct Table {
    /// its number in the file, from 1
    pub number: usize,
    /// what holds it: the measurement result, the result, the lists
    pub context: Vec<Arc<Context>>,
    /// its quantities
    pub columns: Vec<Column>,
    /// its quantities that cannot be read
    pub unreadable: Vec<Unreadable>,
    pub(crate) spot: Spot,
}

/// An element that holds a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Context {
    /// its name
    pub name: Label,
    /// its terms
    pub terms: Vec<String>,
}

/// A quantity.
#[derive(Debug, Clone)]
pub struct Column {
    /// its `id`
    pub id: Option<String>,
    /// its terms
    pub terms: Vec<String>,
    /// its name
    pub name: Label,
    /// its values; one or more
    pub values: Vec<Digits>,
    /// its unit as written, one for all or one a value
    pub units: Vec<String>,
    /// its expanded uncertainty
    pub expanded: Option<Expanded>,
    /// the element of an uncertainty of another kind, which is not read
    pub other_uncertainty: Option<String>,
    /// the same values in other units
    pub beside: Vec<Beside>,
    /// verdicts and limits
    pub meta: Vec<Meta>,
    pub(crate) spot: Spot,
    pub(crate) unit_spot: Spot,
}

/// A quantity that cannot be read, and why.
#[derive(Debug, Clone)]
pub struct Unreadable {
    /// its `id`
    pub id: Option<String>,
    /// its terms
    pub terms: Vec<String>,
    /// its name
    pub name: Label,
    /// why
    pub error: ReadError,
}

/// An expanded uncertainty, in the unit of its values (`expandedMU`, or the older `expandedUnc`).
#[derive(Debug, Clone)]
pub struct Expanded {
    /// one for all, or one a value; 0 or more
    pub values: Vec<Digits>,
    /// coverage factor, likewise; 1 or more
    pub k: Vec<Digits>,
    /// coverage probability, likewise; 0 to 1
    pub probability: Vec<Digits>,
    /// the distribution, where it is said
    pub distribution: Option<String>,
    pub(crate) spot: Spot,
}

/// Values in another unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Beside {
    /// the unit
    pub units: Vec<String>,
    /// the values
    pub values: Vec<Digits>,
}

/// Verdicts and limits of a quantity.
#[derive(Debug, Clone)]
pub struct Meta {
    /// its terms
    pub terms: Vec<String>,
    /// its words: the decision rule
    pub declaration: Label,
    /// the verdicts, as written
    pub conformity: Vec<String>,
    /// the limits
    pub columns: Vec<Column>,
}

/// Every table of the measurement results.
pub(super) fn tables(results: At<'_>) -> Result<Vec<Table>, ReadError> {
    let mut tables = Tables { all: Vec::new(), budget: Budget(MAX_ALL_VALUES), unreadable: 0 };
    for measured in results.all(Space::Dcc, "measurementResult") {
        let outer = vec![context(measured)];
        for result in measured.need(Space::Dcc, "results")?.all(Space::Dcc, "result") {
            let mut inner = outer.clone();
            inner.push(context(result));
            tables.collect(result.need(Space::Dcc, "data")?, &inner)?;
        }
    }
    for (index, table) in tables.all.iter_mut().enumerate() {
        table.number = index + 1;
    }
    Ok(tables.all)
}

fn context(at: At<'_>) -> Arc<Context> {
    Arc::new(Context { name: at.dcc("name").map_or_else(Label::default, label), terms: terms(at) })
}

struct Tables {
    all: Vec<Table>,
    budget: Budget,
    unreadable: usize,
}

impl Tables {
    /// The quantities of an element are one table, those of each list in it another. Recursion is bounded
    /// by the depth of the tree.
    fn collect(&mut self, at: At<'_>, context_of: &[Arc<Context>]) -> Result<(), ReadError> {
        let (mut columns, mut unreadable) = (Vec::new(), Vec::new());
        for quantity in at.all(Space::Dcc, "quantity") {
            match quantity::column(quantity, &mut self.budget) {
                Ok(Some(column)) => columns.push(column),
                Ok(None) => {}
                // what is too large is no matter of one quantity
                Err(error) if matches!(error.fault, ReadFault::Limit { .. }) => return Err(error),
                Err(error) => {
                    self.unreadable += 1;
                    if self.unreadable > MAX_UNREADABLE {
                        return Err(error);
                    }
                    unreadable.push(Unreadable {
                        id: quantity.attribute("id").map(str::to_owned),
                        terms: terms(quantity),
                        name: quantity.dcc("name").map_or_else(Label::default, label),
                        error,
                    });
                }
            }
        }
        let own = !columns.is_empty() || !unreadable.is_empty();
        if own {
            if self.all.len() >= MAX_TABLES {
                let (given, limit) = (self.all.len() + 1, MAX_TABLES);
                return Err(at.fault(ReadFault::Limit { what: "tables", given, limit }));
            }
            let context = context_of.to_vec();
            self.all.push(Table { number: 0, context, columns, unreadable, spot: at.spot() });
        }
        let first = self.all.len();
        let mut lists = 0;
        for list in at.all(Space::Dcc, "list") {
            let mut inner = context_of.to_vec();
            inner.push(context(list));
            self.collect(list, &inner)?;
            lists += 1;
        }
        let children = self.all.get(first..).unwrap_or_default();
        if !own && lists > 1 && children.len() == lists && alike(children) {
            let rows = self.all.split_off(first);
            self.all.extend(merge(rows, context_of, at.spot()));
        }
        Ok(())
    }
}

/// Whether lists are the rows of one table: the same quantities in each, one value of each.
fn alike(rows: &[Table]) -> bool {
    let kind =
        |c: &Column| (c.terms.clone(), c.name.clone(), c.expanded.is_some(), c.other_uncertainty.clone());
    let Some(first) = rows.first() else { return false };
    rows.iter().all(|row| {
        row.unreadable.is_empty()
            && row.columns.len() == first.columns.len()
            && row.columns.iter().zip(&first.columns).all(|(a, b)| a.values.len() == 1 && kind(a) == kind(b))
    })
}

fn merge(rows: Vec<Table>, context: &[Arc<Context>], spot: Spot) -> Option<Table> {
    let mut rows = rows.into_iter();
    let mut joined = rows.next()?;
    joined.context = context.to_vec();
    joined.spot = spot;
    for row in rows {
        for (column, next) in joined.columns.iter_mut().zip(row.columns) {
            column.values.extend(next.values);
            column.units.extend(next.units);
            column.expanded =
                quantity::join(column.expanded.take().into_iter().chain(next.expanded).collect());
            // verdicts and second units of single rows do not make a list
            column.meta.clear();
            column.beside.clear();
        }
    }
    Some(joined)
}
