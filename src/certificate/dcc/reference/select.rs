//! Which table is a calibration curve, and which of its quantities is what.

use super::fault::{ReferenceError, Role};
use crate::model::Direction;
use crate::read::{Column, Dcc, Table};
use crate::terms;

/// What a certificate leaves open, said by a person.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Selection {
    /// which item, from 1, where there are several
    pub item: Option<usize>,
    /// which of its numbers is the serial number
    pub serial: Option<String>,
    /// which tables are the curves; empty: those that say so by their terms
    pub curves: Vec<CurveSelection>,
}

/// One curve. A quantity is named by its `id`, one of its terms or its name in any language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CurveSelection {
    /// number of the table, from 1
    pub table: usize,
    /// in which direction; none: as the table says
    pub direction: Option<Direction>,
    /// the applied torque; none: by its term
    pub applied: Option<String>,
    /// the indication; none: by its term
    pub indicated: Option<String>,
    /// the deviation; none: by its term
    pub deviation: Option<String>,
    /// whose uncertainty is that of the calibration; none: of the one that has one
    pub uncertainty: Option<String>,
}

impl CurveSelection {
    /// A table whose terms say everything else.
    #[must_use]
    pub fn table(table: usize) -> CurveSelection {
        CurveSelection {
            table,
            direction: None,
            applied: None,
            indicated: None,
            deviation: None,
            uncertainty: None,
        }
    }
}

/// A table with the roles of its quantities.
pub(super) struct Chosen<'d> {
    pub(super) table: &'d Table,
    pub(super) direction: Direction,
    pub(super) applied: &'d Column,
    pub(super) indicated: Option<&'d Column>,
    pub(super) deviation: Option<&'d Column>,
    pub(super) uncertainty: Option<&'d Column>,
}

pub(super) fn choose<'d>(dcc: &'d Dcc, selection: &Selection) -> Result<Vec<Chosen<'d>>, ReferenceError> {
    let curves = if selection.curves.is_empty() { plain(dcc)? } else { selection.curves.clone() };
    let mut chosen: Vec<Chosen<'d>> = Vec::new();
    for curve in &curves {
        let table = curve.table.checked_sub(1).and_then(|index| dcc.tables.get(index));
        let count = dcc.tables.len();
        let table = table.ok_or(ReferenceError::TableNumber { given: curve.table, count })?;
        let next = roles(dcc, table, curve)?;
        if let Some(twin) = chosen.iter().find(|other| other.direction == next.direction) {
            let tables = vec![twin.table.number, table.number];
            return Err(ReferenceError::Tables { direction: next.direction.word(), tables });
        }
        chosen.push(next);
    }
    Ok(chosen)
}

/// The tables that say by their terms that they are a calibration of more than one point.
fn plain(dcc: &Dcc) -> Result<Vec<CurveSelection>, ReferenceError> {
    let calibrates = |table: &&Table| {
        let has = |role| terms_of(table).any(|terms| has_role(terms, role));
        let readings =
            table.context.iter().any(|context| context.terms.iter().any(|term| term == terms::READINGS));
        let rows = table.columns.iter().map(|column| column.values.len()).max().unwrap_or(0);
        !readings && rows > 1 && has(Role::Applied) && (has(Role::Indicated) || has(Role::Deviation))
    };
    let found: Vec<&Table> = dcc.tables.iter().filter(calibrates).collect();
    if found.is_empty() {
        return Err(ReferenceError::NoTable { tables: dcc.tables.iter().take(50).map(describe).collect() });
    }
    for direction in [Direction::Clockwise, Direction::CounterClockwise] {
        let same = found.iter().filter(|table| direction_of(table) == Some(direction));
        let tables: Vec<usize> = same.map(|table| table.number).collect();
        if tables.len() > 1 {
            return Err(ReferenceError::Tables { direction: direction.word(), tables });
        }
    }
    Ok(found.iter().map(|table| CurveSelection::table(table.number)).collect())
}

fn terms_of(table: &Table) -> impl Iterator<Item = &[String]> {
    let columns = table.columns.iter().map(|column| column.terms.as_slice());
    columns.chain(table.unreadable.iter().map(|unreadable| unreadable.terms.as_slice()))
}

fn describe(table: &Table) -> String {
    format!("table {} with {}", table.number, names(table).join(", "))
}

fn names(table: &Table) -> Vec<String> {
    table.columns.iter().take(30).map(name).collect()
}

pub(super) fn name(column: &Column) -> String {
    let words = column.name.words();
    let named =
        if words.is_empty() { column.id.as_deref().unwrap_or("a quantity without name") } else { words };
    format!("'{named}' [{}]", column.terms.join(" "))
}

fn has_role(given: &[String], role: Role) -> bool {
    let has = |wanted: &str| given.iter().any(|term| term == wanted);
    match role {
        Role::Applied => has(terms::REFERENCE_VALUE),
        Role::Indicated => {
            has(terms::INDICATED) || (has(terms::MEASURED_VALUE) && !has(terms::REFERENCE_VALUE))
        }
        Role::Deviation => has(terms::DEVIATION) || has(terms::MEASUREMENT_ERROR),
    }
}

fn roles<'d>(dcc: &Dcc, table: &'d Table, curve: &CurveSelection) -> Result<Chosen<'d>, ReferenceError> {
    let direction = curve.direction.or_else(|| direction_of(table));
    let place = || dcc.place(table.spot);
    let direction =
        direction.ok_or_else(|| ReferenceError::Direction { place: place(), table: table.number })?;
    let find = |role, wanted: &Option<String>| one(dcc, table, role, wanted.as_deref());
    let none =
        |role| ReferenceError::NoColumn { place: place(), table: table.number, role, columns: names(table) };
    let applied = find(Role::Applied, &curve.applied)?.ok_or_else(|| none(Role::Applied))?;
    // one that is named rules out the other, which nobody named
    let named = |own: &Option<String>, other: &Option<String>| own.is_some() || other.is_none();
    let indicated = match named(&curve.indicated, &curve.deviation) {
        true => find(Role::Indicated, &curve.indicated)?,
        false => None,
    };
    let deviation = match named(&curve.deviation, &curve.indicated) {
        true => find(Role::Deviation, &curve.deviation)?,
        false => None,
    };
    if indicated.is_none() && deviation.is_none() {
        return Err(none(Role::Indicated));
    }
    let uncertainty = match &curve.uncertainty {
        Some(wanted) => {
            Some(one(dcc, table, Role::Deviation, Some(wanted))?.ok_or_else(|| none(Role::Deviation))?)
        }
        None => None,
    };
    Ok(Chosen { table, direction, applied, indicated, deviation, uncertainty })
}

/// The one quantity that is named, or that has the role by its terms.
fn one<'d>(
    dcc: &Dcc,
    table: &'d Table,
    role: Role,
    wanted: Option<&str>,
) -> Result<Option<&'d Column>, ReferenceError> {
    let fits = |id: &Option<String>, terms: &[String], label: &crate::read::Label| match wanted {
        Some(wanted) => {
            id.as_deref() == Some(wanted) || label.is(wanted) || terms.iter().any(|term| term == wanted)
        }
        None => has_role(terms, role),
    };
    if let Some(bad) = table.unreadable.iter().find(|bad| fits(&bad.id, &bad.terms, &bad.name)) {
        return Err(bad.error.clone().into());
    }
    let found: Vec<&Column> = table.columns.iter().filter(|c| fits(&c.id, &c.terms, &c.name)).collect();
    match (found.as_slice(), wanted) {
        ([one], _) => Ok(Some(one)),
        ([], None) => Ok(None),
        ([], Some(_)) => {
            let (place, columns) = (dcc.place(table.spot), names(table));
            Err(ReferenceError::NoColumn { place, table: table.number, role, columns })
        }
        (several, _) => {
            let (place, columns) =
                (dcc.place(table.spot), several.iter().take(30).map(|c| name(c)).collect());
            Err(ReferenceError::Columns { place, table: table.number, role, columns })
        }
    }
}

/// The direction that the terms or names of a table and of what holds it say, the innermost first; none
/// where they say both or neither. The German words are those of the trade (from memory).
fn direction_of(table: &Table) -> Option<Direction> {
    table.context.iter().rev().find_map(|context| {
        let term = |wanted: &str| context.terms.iter().any(|term| term == wanted);
        let word = |words: &[&str]| context.name.any_word(|word| words.contains(&word));
        let right = term(terms::CLOCKWISE) || word(&["clockwise", "rechtsdrehmoment"]);
        let left = term(terms::COUNTER_CLOCKWISE)
            || word(&[
                "counter-clockwise",
                "counterclockwise",
                "anti-clockwise",
                "anticlockwise",
                "linksdrehmoment",
            ]);
        match (right, left) {
            (true, false) => Some(Direction::Clockwise),
            (false, true) => Some(Direction::CounterClockwise),
            _ => None,
        }
    })
}
