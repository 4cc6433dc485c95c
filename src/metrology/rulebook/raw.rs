//! The shape of a rulebook's TOML, before anything is checked.

use serde::Deserialize;
use toml::Spanned;

use super::{Carried, Certainty, Denominator, DeviationSign, Purpose, ResolutionReads};
use crate::budget::Variation;
use crate::decision::RuleKind;

/// A text with its place.
pub(super) type Text = Spanned<String>;

/// `{ value = …, source = "…", certainty = "…", note = "…" }`
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawValue<T> {
    pub value: Spanned<T>,
    pub source: Text,
    pub certainty: Certainty,
    pub note: Option<String>,
}

/// Only the version, so that another version is named as such and not by its unknown keys.
#[derive(Deserialize)]
pub(super) struct RawVersion {
    pub format: Option<Spanned<i64>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawRulebook {
    #[serde(rename = "format")]
    _format: i64,
    pub name: Text,
    pub title: Text,
    pub standard: Text,
    pub edition: Text,
    pub purpose: Purpose,
    pub certificate: Option<RawCertificate>,
    #[serde(default)]
    pub remarks: Vec<String>,
    #[serde(default)]
    pub cautions: Vec<String>,
    pub deviation: RawDeviation,
    pub acceptance: RawAcceptance,
    pub equipment: RawEquipment,
    pub environment: RawEnvironment,
    #[serde(default)]
    pub limits: Vec<RawLimit>,
    #[serde(default)]
    pub points: Vec<RawPoints>,
    #[serde(default)]
    pub preloads: Vec<RawPreload>,
    #[serde(default)]
    pub pulls: Vec<RawPull>,
    pub budget: Option<Spanned<RawBudget>>,
    pub recall: Option<RawRecall>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawDeviation {
    pub sign: DeviationSign,
    pub denominator: Denominator,
    pub source: Text,
    pub certainty: Certainty,
    pub note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAcceptance {
    pub claim_governs: RawValue<bool>,
    pub decisions: RawValue<Vec<Spanned<RuleKind>>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawEquipment {
    pub reference_share_percent: RawValue<f64>,
    pub resolution_share_percent: RawValue<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawEnvironment {
    pub temperature_min_celsius: RawWritten,
    pub temperature_max_celsius: RawWritten,
    pub temperature_change_kelvin: RawWritten,
    pub humidity_max_percent: RawWritten,
}

/// `{ value = …, as_written = "…", source = "…", certainty = "…", note = "…" }`
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawWritten {
    pub value: Spanned<f64>,
    pub as_written: Option<Text>,
    pub source: Text,
    pub certainty: Certainty,
    pub note: Option<String>,
}

/// What a certificate says of the rulebook.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawCertificate {
    pub method: Text,
    pub statement: Text,
    pub specification: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawLimit {
    pub classes: Spanned<Vec<Text>>,
    pub above: Option<Text>,
    pub up_to: Option<Text>,
    pub permissible_percent: Spanned<f64>,
    pub source: Text,
    pub certainty: Certainty,
    pub note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawPoints {
    pub classes: Spanned<Vec<Text>>,
    pub points: RawValue<Vec<Text>>,
    pub readings: RawValue<i64>,
    pub tolerance_percent: RawValue<f64>,
    pub tolerance_ends_percent: RawValue<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawPreload {
    pub classes: Spanned<Vec<Text>>,
    pub count: Spanned<i64>,
    pub source: Text,
    pub certainty: Certainty,
    pub note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawPull {
    pub classes: Spanned<Vec<Text>>,
    pub up_to: Option<Text>,
    pub seconds_min: Spanned<f64>,
    pub seconds_max: Option<Spanned<f64>>,
    pub source: Text,
    pub certainty: Certainty,
    pub note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawBudget {
    pub carried: RawValue<Carried>,
    pub resolution_reads: RawValue<ResolutionReads>,
    pub coverage_factor: RawValue<RawCoverage>,
    pub probability_percent: RawValue<f64>,
    pub study_tools_min: Option<RawValue<i64>>,
    #[serde(default)]
    pub variations: Vec<RawVariation>,
}

/// A number, or the word `effective`.
#[derive(Deserialize)]
#[serde(untagged)]
pub(super) enum RawCoverage {
    Number(f64),
    Word(String),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawVariation {
    pub variation: Spanned<Variation>,
    pub positions: Spanned<i64>,
    pub readings: Spanned<i64>,
    pub source: Text,
    pub certainty: Certainty,
    pub note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawRecall {
    pub months: RawValue<i64>,
    pub uses: RawValue<i64>,
}
