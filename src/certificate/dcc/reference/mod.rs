//! What a reference file needs, from the certificate of a reference transducer.
//!
//! Nothing is guessed. A table is taken where its terms say what it is; where a certificate leaves two
//! ways open, it is refused, and a [`Selection`] says which one is meant. Every conversion of a unit is a
//! move of the decimal point: the digits are those of the certificate.

mod curve;
mod fault;
mod select;
mod toml;

pub use fault::{ReferenceError, Role};
pub use select::{CurveSelection, Selection};
pub use toml::{Own, to_toml};

use chrono::NaiveDate;

use crate::digits::Digits;
use crate::model::Direction;
use crate::read::{Dcc, Identification, Item};

/// What the certificate says of a reference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReferenceData {
    /// number of the certificate
    pub certificate: String,
    /// name of the laboratory
    pub calibrated_by: String,
    /// last day of the work
    pub calibrated_on: NaiveDate,
    /// what the reference is
    pub description: String,
    /// who made it
    pub maker: Option<String>,
    /// the maker's name of the model
    pub model: Option<String>,
    /// its serial number
    pub serial: String,
    /// one curve a direction; one or two
    pub curves: Vec<Curve>,
    /// what was done to the numbers, in words; to be read by a person
    pub notes: Vec<String>,
}

/// The calibration in one direction.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Curve {
    /// the direction
    pub direction: Direction,
    /// two or more points, rising
    pub points: Vec<Point>,
}

/// A calibration point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Point {
    /// the torque that was applied, N·m
    pub applied: Digits,
    /// what the reference showed
    pub shown: Shown,
    /// expanded uncertainty; over zero
    pub expanded: Amount,
    /// its coverage factor; 1 or more
    pub k: Digits,
    /// its coverage probability
    pub probability: Digits,
}

/// What the reference showed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shown {
    /// the torque, N·m
    Indicated(Digits),
    /// indicated less applied
    Deviation(Amount),
}

/// A torque, or a part of the applied torque.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Amount {
    /// N·m
    Torque(Digits),
    /// % of the applied torque
    Percent(Digits),
}

/// What a reference file needs, from a certificate.
///
/// # Errors
/// [`ReferenceError`] where the certificate does not say it, says it in two ways, or says what cannot be.
pub fn as_reference(dcc: &Dcc, selection: &Selection) -> Result<ReferenceData, ReferenceError> {
    let item = item(dcc, selection)?;
    let serial = serial(item, selection)?;
    let mut notes = Vec::new();
    let mut curves = Vec::new();
    for chosen in select::choose(dcc, selection)? {
        curves.push(curve::read(dcc, &chosen, &mut notes)?);
    }
    curves.sort_by_key(|curve| curve.direction.word());
    let maker = item.maker.words();
    Ok(ReferenceData {
        certificate: dcc.admin.unique_identifier.clone(),
        calibrated_by: dcc.admin.laboratory.words().to_owned(),
        calibrated_on: dcc.admin.end,
        description: item.name.words().to_owned(),
        maker: (!maker.is_empty()).then(|| maker.to_owned()),
        model: item.model.clone(),
        serial,
        curves,
        notes,
    })
}

fn item<'d>(dcc: &'d Dcc, selection: &Selection) -> Result<&'d Item, ReferenceError> {
    let items = &dcc.admin.items;
    let none =
        || ReferenceError::Items { names: items.iter().map(|item| item.name.words().to_owned()).collect() };
    match (selection.item, items.as_slice()) {
        (None, [only]) => Ok(only),
        (None, _) => Err(none()),
        (Some(number), items) => number.checked_sub(1).and_then(|index| items.get(index)).ok_or_else(none),
    }
}

/// The maker's number; the only number where the maker gave none.
fn serial(item: &Item, selection: &Selection) -> Result<String, ReferenceError> {
    let given: Vec<&Identification> = match &selection.serial {
        Some(wanted) => item.identifications.iter().filter(|known| known.value == *wanted).take(1).collect(),
        None => {
            let maker: Vec<_> =
                item.identifications.iter().filter(|id| id.issuer == "manufacturer").collect();
            if maker.is_empty() { item.identifications.iter().collect() } else { maker }
        }
    };
    match given.as_slice() {
        [one] => Ok(one.value.clone()),
        _ => Err(ReferenceError::Serial {
            numbers: item.identifications.iter().map(|id| format!("{} ({})", id.value, id.issuer)).collect(),
        }),
    }
}
