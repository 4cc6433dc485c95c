//! A certificate of any laboratory, read from hostile bytes.
//!
//! The whole file is bounded in size, depth and count of everything; a document type declaration is
//! refused, and no entity is expanded but the five of XML itself. The order of elements is not insisted
//! on: whether a file is valid is for a schema validator to say. A quantity that cannot be read does not
//! make the others unreadable; it is told to whoever needs it.

mod admin;
mod fault;
mod label;
mod quantity;
mod table;
pub(crate) mod tree;

pub use admin::{Admin, Identification, Item, Statement};
pub use fault::{Place, ReadError, ReadFault};
pub use label::Label;
pub use quantity::MAX_VALUES;
pub use table::{Beside, Column, Context, Expanded, MAX_ALL_VALUES, MAX_TABLES, Meta, Table, Unreadable};
pub use tree::{MAX_ATTRIBUTES, MAX_BYTES, MAX_DEPTH, MAX_ELEMENTS};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use tree::{Space, Spot, Tree};

/// A certificate that was read.
#[derive(Debug, Clone)]
pub struct Dcc {
    /// version of its schema
    pub schema_version: String,
    /// who, for whom, what, when
    pub admin: Admin,
    /// influence conditions, each with its state (`beforeAdjustment` …) where one is said
    pub conditions: Vec<Condition>,
    /// every table of its results
    pub tables: Vec<Table>,
    /// how many XML signatures it carries; reading verifies none
    pub signatures: usize,
    tree: Tree,
}

/// An influence condition.
#[derive(Debug, Clone)]
pub struct Condition {
    /// its terms and name
    pub context: Context,
    /// the state of the item
    pub state: Option<String>,
    /// its values
    pub columns: Vec<Column>,
}

/// The file that a certificate holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Embedded {
    /// its name, as the file says it: not to be used as a path
    pub file_name: String,
    /// its media type
    pub media_type: String,
    /// its bytes
    pub bytes: Vec<u8>,
}

/// Reads a certificate of schema 3.2 or 3.3.
///
/// # Errors
/// [`ReadError`], which names the element by its path and line, what stands there and what was expected.
pub fn read(bytes: &[u8]) -> Result<Dcc, ReadError> {
    let tree = Tree::parse(bytes)?;
    let root = tree.root();
    if !root.is(Space::Dcc, "digitalCalibrationCertificate") {
        return Err(root.fault(ReadFault::Root { given: root.name() }));
    }
    let version = root.attribute("schemaVersion").unwrap_or_default();
    if !(version.starts_with("3.2.") || version.starts_with("3.3.")) {
        return Err(root.fault(ReadFault::Version { given: tree::cut(version) }));
    }
    let results = root.need(Space::Dcc, "measurementResults")?;
    Ok(Dcc {
        schema_version: tree::cut(version),
        admin: admin::read(root)?,
        conditions: conditions(results)?,
        tables: table::tables(results)?,
        signatures: root.all(Space::Ds, "Signature").count(),
        tree,
    })
}

fn conditions(results: tree::At<'_>) -> Result<Vec<Condition>, ReadError> {
    let mut budget = quantity::Budget(MAX_ALL_VALUES);
    let mut all = Vec::new();
    for holder in std::iter::once(results).chain(results.all(Space::Dcc, "measurementResult")) {
        let list = holder.dcc("influenceConditions");
        for at in list.into_iter().flat_map(|list| list.all(Space::Dcc, "influenceCondition")) {
            let mut columns = Vec::new();
            for quantity in at.dcc("data").into_iter().flat_map(|data| data.all(Space::Dcc, "quantity")) {
                match quantity::column(quantity, &mut budget) {
                    Ok(column) => columns.extend(column),
                    Err(error) if matches!(error.fault, ReadFault::Limit { .. }) => return Err(error),
                    // a temperature that cannot be read hinders nothing here
                    Err(_) => {}
                }
            }
            let name = at.dcc("name").map_or_else(Label::default, label::label);
            let state = at.dcc("status").map(|status| tree::cut(status.text()));
            all.push(Condition { context: Context { name, terms: label::terms(at) }, state, columns });
        }
    }
    Ok(all)
}

impl Dcc {
    /// The file that the certificate holds, where it holds one.
    ///
    /// # Errors
    /// [`ReadError`] where it lacks a name or is not base64.
    pub fn document(&self) -> Result<Option<Embedded>, ReadError> {
        let Some(at) = self.tree.root().dcc("document") else { return Ok(None) };
        let text = |name: &'static str| at.need(Space::Dcc, name).map(|at| label::one_line(at.text()));
        let data = at.need(Space::Dcc, "dataBase64")?;
        let letters: String = data.text().split_ascii_whitespace().collect();
        let bytes = STANDARD.decode(letters).map_err(|error| {
            data.fault(ReadFault::Text { given: error.to_string(), wanted: "base64 (RFC 4648, 4)" })
        })?;
        Ok(Some(Embedded { file_name: text("fileName")?, media_type: text("mimeType")?, bytes }))
    }

    pub(crate) fn place(&self, spot: Spot) -> Place {
        self.tree.at(spot).place()
    }
}
