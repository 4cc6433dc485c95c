//! A rulebook: a procedure as data. Which classes, which permissible deviation, which points, how
//! many readings, which environment, which decision rules; and for each value the clause that it
//! comes from and whether it is confirmed or from memory.
//!
//! Rulebooks are TOML. Three are embedded ([`EMBEDDED`]); a laboratory's own is read from its path
//! by the edge and parsed by the same [`Rulebook::parse`].

mod consistent;
mod embedded;
mod parse;
mod problem;
mod raw;
mod select;
#[cfg(test)]
mod tests;
mod words;
mod written;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::budget::Variation;
use crate::decision::RuleKind;
use crate::quantity::Percent;
use crate::reading::Recorded;
use crate::tool::ToolClass;

pub use embedded::{EMBEDDED, EmbeddedRulebook, embedded};
pub use problem::{Bounds, RulebookError, RulebookProblem, Sizes};
pub use select::{GoverningLimit, IdleClaim, LimitError};
pub use written::{CertificateWords, Written};

/// How sure leverarm is of a value of a standard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Certainty {
    /// seen in a published source that is named, or derivable exactly
    Confirmed,
    /// remembered; each laboratory checks it against its own licensed copy
    FromMemory,
    /// a fact of the trade without a published source
    CommonPractice,
    /// a decision of the laboratory whose rulebook it is
    Laboratory,
}

impl Certainty {
    /// The words that are printed.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Certainty::Confirmed => "confirmed",
            Certainty::FromMemory => "from memory",
            Certainty::CommonPractice => "common practice, no published source",
            Certainty::Laboratory => "laboratory's own",
        }
    }
}

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// standard and clause, or paper
    pub source: String,
    /// how sure we are
    pub certainty: Certainty,
    /// a remark, such as where documents differ
    #[serde(default)]
    pub note: Option<String>,
}

/// A value with its source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sourced<T> {
    /// the value
    pub value: T,
    /// where it comes from
    #[serde(flatten)]
    pub from: Source,
}

/// What paper a rulebook leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Purpose {
    /// a comparison with limits: a declaration of conformance
    Conformance,
    /// a measurement with uncertainty: a calibration certificate
    Calibration,
}

/// Sign of the deviation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DeviationSign {
    /// the tool's value less the reference torque
    ToolMinusReference,
    /// the reference torque less the tool's value
    ReferenceMinusTool,
}

/// What a deviation is divided by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Denominator {
    /// the reference torque
    Reference,
    /// the tool's indicated or set value
    Tool,
}

/// How this rulebook defines a deviation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviationDefinition {
    /// its sign
    pub sign: DeviationSign,
    /// its denominator
    pub denominator: Denominator,
}

/// A permissible deviation for some classes and sizes.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitRow {
    /// the classes that it is for
    pub classes: Vec<ToolClass>,
    /// only tools whose maximum is above this
    pub above: Option<Recorded>,
    /// only tools whose maximum is at most this
    pub up_to: Option<Recorded>,
    /// the maximum permissible deviation, symmetric about zero
    pub permissible: Percent,
    /// where it comes from
    pub from: Source,
}

/// A test point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TestPoint {
    /// the lower end of the tool's range
    LowerLimit,
    /// a share of the tool's maximum
    OfMaximum(Percent),
    /// the one value of a fixed tool
    SetValue,
}

/// Test points and number of readings for some classes.
#[derive(Debug, Clone, PartialEq)]
pub struct PointsRow {
    /// the classes that it is for
    pub classes: Vec<ToolClass>,
    /// the points, in the order of the work
    pub points: Vec<TestPoint>,
    /// where the points come from
    pub from: Source,
    /// how far a reading's target may lie from a point between the ends of the range, in percent of
    /// the point ("about 60 %")
    pub tolerance: Percent,
    /// where that tolerance comes from
    pub tolerance_from: Source,
    /// how far a reading's target may lie from an end of the range, in percent of the point
    pub tolerance_ends: Percent,
    /// where that tolerance comes from
    pub tolerance_ends_from: Source,
    /// readings at each point in each direction
    pub readings: u32,
    /// where the number of readings comes from
    pub readings_from: Source,
}

/// Loadings before the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct PreloadRow {
    /// the classes that it is for
    pub classes: Vec<ToolClass>,
    /// how many at the tool's maximum, in each direction
    pub count: u32,
    /// where it comes from
    pub from: Source,
}

/// How long a pull may last from 80 % to 100 % of the target.
#[derive(Debug, Clone, PartialEq)]
pub struct PullRow {
    /// the classes that it is for
    pub classes: Vec<ToolClass>,
    /// only tools whose maximum is at most this
    pub up_to: Option<Recorded>,
    /// at least so many seconds
    pub seconds_min: f64,
    /// at most so many seconds
    pub seconds_max: Option<f64>,
    /// where it comes from
    pub from: Source,
}

/// What the surroundings must be.
#[derive(Debug, Clone, PartialEq)]
pub struct EnvironmentLimits {
    /// lowest temperature, °C
    pub temperature_min: Written,
    /// highest temperature, °C
    pub temperature_max: Written,
    /// largest change of temperature during the work, K (the whole change, end less start)
    pub temperature_change: Written,
    /// highest relative humidity, %
    pub humidity_max: Written,
}

/// How a variation line of the budget is measured.
#[derive(Debug, Clone, PartialEq)]
pub struct VariationPlan {
    /// which variation
    pub variation: Variation,
    /// sequences or positions
    pub positions: u32,
    /// readings in each
    pub readings: u32,
    /// where it comes from
    pub from: Source,
}

/// How a variation that was found at the lowest point is carried to the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Carried {
    /// the same percentage at every point
    Relative,
    /// the same torque at every point
    Absolute,
}

/// How often the resolution enters the budget.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum ResolutionReads {
    /// once, for the value
    Once,
    /// twice, for zero and value
    Twice,
}

/// Where the coverage factor comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum CoverageRule {
    /// this value, whatever the degrees of freedom
    Fixed(f64),
    /// Student's t at the effective degrees of freedom
    Effective,
}

/// What the budget of a calibration rests on; absent from a rulebook of conformance testing.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetPlan {
    /// how each variation is measured
    pub variations: Vec<VariationPlan>,
    /// how a variation is carried from the lowest point to the others
    pub carried: Sourced<Carried>,
    /// how often the resolution counts
    pub resolution_reads: Sourced<ResolutionReads>,
    /// the coverage factor
    pub coverage: Sourced<CoverageRule>,
    /// the coverage probability, %
    pub probability: Sourced<f64>,
    /// fewest tools of a type study that may stand in for a measurement; `None` where the rulebook
    /// allows no study
    pub study_tools_min: Option<Sourced<u32>>,
}

/// How often to recalibrate when nobody says otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct RecallInterval {
    /// months
    pub months: Sourced<u32>,
    /// uses
    pub uses: Sourced<u32>,
}

/// A procedure as data.
#[derive(Debug, Clone, PartialEq)]
pub struct Rulebook {
    /// the word that asks for it, such as `iso-6789-2`
    pub name: String,
    /// what it is, in words
    pub title: String,
    /// the document, such as `ISO 6789-2`
    pub standard: String,
    /// the edition
    pub edition: String,
    /// which paper it leads to
    pub purpose: Purpose,
    /// what a certificate says of it
    pub certificate: CertificateWords,
    /// remarks for its listing, never printed on a certificate
    pub remarks: Vec<String>,
    /// how a deviation is defined
    pub deviation: Sourced<DeviationDefinition>,
    /// permissible deviations
    pub limits: Vec<LimitRow>,
    /// whether a maker's tighter claim governs
    pub claim_governs: Sourced<bool>,
    /// test points and counts
    pub points: Vec<PointsRow>,
    /// preloads
    pub preloads: Vec<PreloadRow>,
    /// pulls
    pub pulls: Vec<PullRow>,
    /// surroundings
    pub environment: EnvironmentLimits,
    /// the reference's expanded uncertainty may be this share of the permissible deviation, %
    pub reference_share: Sourced<f64>,
    /// the resolution may be this share of the permissible deviation, %
    pub resolution_share: Sourced<f64>,
    /// the budget, for a calibration
    pub budget: Option<BudgetPlan>,
    /// the decision rules that it allows
    pub decisions: Sourced<Vec<RuleKind>>,
    /// how often to recalibrate
    pub recall: Option<RecallInterval>,
    /// what to mind at the bench
    pub cautions: Vec<String>,
}
