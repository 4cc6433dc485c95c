//! Customers, tools, references and check standards.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::FileRef;
use crate::text::{Decimal, Id, Text};

/// What is known of a thing takes the place of what was known before, under the same name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Superseded<T> {
    /// as it is known now
    pub now: T,
    /// why
    pub why: Text,
}

/// A customer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Customer {
    /// the laboratory's name for it
    pub id: Id,
    /// as certificates print it
    pub name: Text,
    /// where letters go
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<Text>,
    /// whom to speak to
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact: Option<Text>,
}

/// A tool: by maker, model and serial number. Texts are as in `run.toml`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tool {
    /// the laboratory's name for it
    pub id: Id,
    /// whose it is
    pub customer: Id,
    /// maker
    pub maker: Text,
    /// model
    pub model: Text,
    /// serial number
    pub serial: Text,
    /// type and class, as ISO 6789 names them ("II A"), or the kind in words
    pub kind: Text,
    /// range with its unit
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<Text>,
    /// the maker's own tolerance, tighter than the class
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub claim: Option<Text>,
    /// heads it is used with
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub heads: Vec<Text>,
    /// recall interval agreed with the customer, in months; none was agreed: none
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval_months: Option<u32>,
}

/// A reference of the laboratory.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// the laboratory's name for it
    pub id: Id,
    /// maker
    pub maker: Text,
    /// model
    pub model: Text,
    /// serial number
    pub serial: Text,
    /// range with its unit
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<Text>,
    /// after how many uses it is due, where the laboratory counts them
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval_uses: Option<u64>,
}

/// A reference came back from its calibration.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReferenceCalibrated {
    /// which
    pub reference: Id,
    /// number of the certificate
    pub certificate: Id,
    /// who calibrated it
    pub laboratory: Text,
    /// day of the calibration
    pub date: NaiveDate,
    /// last day on which it may be used
    pub due: NaiveDate,
    /// the reference file, and the certificate itself
    pub files: Vec<FileRef>,
}

/// A check standard.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckStandard {
    /// the laboratory's name for it
    pub id: Id,
    /// what it is
    pub description: Text,
}

/// A check standard was measured between calibrations (ISO/IEC 17025:2017, 7.7.1).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckStandardMeasured {
    /// which
    pub standard: Id,
    /// with which reference
    pub reference: Id,
    /// day
    pub performed: NaiveDate,
    /// what came out
    pub value: Decimal,
    /// in which unit
    pub unit: Id,
    /// the run behind it
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub files: Vec<FileRef>,
}
