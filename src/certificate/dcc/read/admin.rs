//! The administrative data of a certificate that is read.

use chrono::NaiveDate;

use super::fault::{ReadError, ReadFault};
use super::label::{Label, label, one_line, terms};
use super::tree::{At, Space, cut};

/// Who, for whom, what, when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Admin {
    /// the number of the certificate
    pub unique_identifier: String,
    /// country of the laboratory
    pub country: String,
    /// languages of the texts
    pub languages: Vec<String>,
    /// when the item came in
    pub received: Option<NaiveDate>,
    /// first day of the work
    pub begin: NaiveDate,
    /// last day of the work
    pub end: NaiveDate,
    /// day of issue
    pub issued: Option<NaiveDate>,
    /// number of the certificate that this one amends or replaces
    pub replaces: Option<String>,
    /// name of the laboratory
    pub laboratory: Label,
    /// its code with an accreditation body
    pub laboratory_code: Option<String>,
    /// name of the customer
    pub customer: Label,
    /// what was calibrated; one or more
    pub items: Vec<Item>,
    /// statements on the whole
    pub statements: Vec<Statement>,
}

/// What was calibrated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// what it is
    pub name: Label,
    /// who made it
    pub maker: Label,
    /// the maker's name of the model
    pub model: Option<String>,
    /// its numbers: who gave it, the number, what kind of number
    pub identifications: Vec<Identification>,
}

/// A number or mark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identification {
    /// who gave it, in the word of the schema: `manufacturer`, `calibrationLaboratory` …
    pub issuer: String,
    /// the number
    pub value: String,
    /// what kind of number it is
    pub name: Label,
}

/// A statement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Statement {
    /// its terms
    pub terms: Vec<String>,
    /// its words
    pub declaration: Label,
    /// its references
    pub references: Vec<String>,
    /// the verdict that it gives
    pub conformity: Option<String>,
}

pub(super) fn read(root: At<'_>) -> Result<Admin, ReadError> {
    let admin = root.need(Space::Dcc, "administrativeData")?;
    let core = admin.need(Space::Dcc, "coreData")?;
    let laboratory = admin.need(Space::Dcc, "calibrationLaboratory")?;
    let day = |name: &'static str| core.need(Space::Dcc, name).and_then(date);
    let maybe = |name: &'static str| core.dcc(name).map(date).transpose();
    let replaced = core.dcc("reportAmendedSubstituted");
    let items = admin.need(Space::Dcc, "items")?;
    Ok(Admin {
        unique_identifier: word(core, "uniqueIdentifier")?,
        country: word(core, "countryCodeISO3166_1")?,
        languages: core.all(Space::Dcc, "usedLangCodeISO639_1").map(|at| cut(at.text())).collect(),
        received: maybe("receiptDate")?,
        begin: day("beginPerformanceDate")?,
        end: day("endPerformanceDate")?,
        issued: maybe("issueDate")?,
        replaces: replaced.map(|at| word(at, "replacedUniqueIdentifier")).transpose()?,
        laboratory: named(laboratory.need(Space::Dcc, "contact")?)?,
        laboratory_code: laboratory.dcc("calibrationLaboratoryCode").map(|at| one_line(at.text())),
        customer: named(admin.need(Space::Dcc, "customer")?)?,
        items: items.all(Space::Dcc, "item").map(item).collect::<Result<_, _>>()?,
        statements: admin
            .dcc("statements")
            .into_iter()
            .flat_map(|at| at.all(Space::Dcc, "statement"))
            .map(statement)
            .collect(),
    })
}

fn named(at: At<'_>) -> Result<Label, ReadError> {
    at.need(Space::Dcc, "name").map(label)
}

fn word(at: At<'_>, name: &'static str) -> Result<String, ReadError> {
    let child = at.need(Space::Dcc, name)?;
    let text = one_line(child.text());
    if text.is_empty() {
        return Err(child.fault(ReadFault::Text { given: text, wanted: "a text that says something" }));
    }
    Ok(text)
}

/// A day; the zone that `xs:date` allows is passed over.
fn date(at: At<'_>) -> Result<NaiveDate, ReadError> {
    let text = at.text();
    let day = text.get(..10).unwrap_or(text);
    let rest = text.get(10..).unwrap_or_default();
    let zone = rest.is_empty() || rest == "Z" || (rest.len() == 6 && rest.starts_with(['+', '-']));
    let parsed = NaiveDate::parse_from_str(day, "%Y-%m-%d").ok().filter(|_| zone);
    let wanted = "a date such as 2026-11-18";
    parsed.ok_or_else(|| at.fault(ReadFault::Text { given: cut(text), wanted }))
}

fn item(at: At<'_>) -> Result<Item, ReadError> {
    let maker = at.dcc("manufacturer").and_then(|maker| maker.dcc("name"));
    let identifications = at.need(Space::Dcc, "identifications")?.all(Space::Dcc, "identification");
    Ok(Item {
        name: named(at)?,
        maker: maker.map_or_else(Label::default, label),
        model: at.dcc("model").map(|model| one_line(model.text())),
        identifications: identifications.map(identification).collect::<Result<_, _>>()?,
    })
}

fn identification(at: At<'_>) -> Result<Identification, ReadError> {
    let name = at.dcc("name").map_or_else(Label::default, label);
    Ok(Identification { issuer: word(at, "issuer")?, value: word(at, "value")?, name })
}

fn statement(at: At<'_>) -> Statement {
    Statement {
        terms: terms(at),
        declaration: at.dcc("declaration").map_or_else(Label::default, label),
        references: at.all(Space::Dcc, "reference").map(|at| one_line(at.text())).collect(),
        conformity: at.dcc("conformity").map(|at| cut(at.text())),
    }
}
