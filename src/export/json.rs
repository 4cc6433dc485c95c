//! `result.json`: everything that the certificate prints, and every number behind it, unrounded.
//! Its JSON Schema comes from the same types ([`schema`]).

mod run;

use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::decision::{Sides, Verdict, Zone};
use leverarm_metrology::evaluate::{MonteCarloCheck, ReportedInterval};
use leverarm_metrology::finding::Severity;
use leverarm_metrology::floor::Floor;
use leverarm_metrology::quantity::Percent;
use leverarm_metrology::rulebook::Purpose;
use leverarm_metrology::run::Condition;
use schemars::JsonSchema;
use serde::Serialize;

use super::curve::{ChangeRecord, CurveRecord};
use crate::printed::{PrintedLine, PrintedPoint};

pub use run::{RunParts, run_record};

/// Version of the shape of `result.json`; a change that a reader could trip over raises it.
pub const RESULT_VERSION: u32 = 1;

/// The whole file.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ResultFile {
    /// always `leverarm result`
    pub format: &'static str,
    /// version of this shape
    pub version: u32,
    /// version of the program that computed it
    pub program: &'static str,
    /// the certificate; absent when a run was only evaluated
    pub certificate: Option<CertificateRecord>,
    /// one entry a run: as found, then as left
    pub runs: Vec<RunRecord>,
    /// what changed from as found to as left; empty for a single run
    pub changes: Vec<ChangeRecord>,
}

/// Of the certificate.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CertificateRecord {
    /// its unique number
    pub number: String,
    /// date of issue, `YYYY-MM-DD`
    pub issued: String,
    /// which paper it is
    pub purpose: Purpose,
    /// who answers for it
    pub approver: Option<String>,
    /// the number that it replaces
    pub replaces: Option<String>,
}

/// Of one run.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RunRecord {
    /// the laboratory's number for the job
    pub job: String,
    /// state of the tool
    pub condition: Condition,
    /// day of the readings
    pub performed: String,
    /// the tool
    pub tool: ToolRecord,
    /// the reference
    pub reference: ReferenceRecord,
    /// the rulebook
    pub rulebook: RulebookRecord,
    /// the decision rule
    pub decision: DecisionRecord,
    /// every test point
    pub points: Vec<PointRecord>,
    /// every reading that was struck out, of whatever series
    pub voids: Vec<VoidRecord>,
    /// the variations that were measured
    pub variations: Vec<VariationRecord>,
    /// the deviation curve over the range, one a direction
    pub curves: Vec<CurveRecord>,
    /// what the rule says of the tool
    pub verdict: Verdict,
    /// whether nothing that a certificate needs is missing: the verdict of a run with gaps is worth
    /// no more than its record
    pub certifiable: bool,
    /// from which torque on the tool can be shown to conform
    pub floor: Floor,
    /// every finding on the record
    pub findings: Vec<FindingRecord>,
    /// every input with its hash
    pub inputs: Vec<InputRecord>,
    /// every trace that was kept, of readings of whatever series, those struck out too; absent where
    /// none was
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    pub traces: Vec<KeptTraceRecord>,
}

/// Of the tool.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ToolRecord {
    /// type and class
    pub class: String,
    /// maker
    pub maker: String,
    /// model
    pub model: String,
    /// serial number
    pub serial: String,
    /// range
    pub range: String,
    /// one step of its display, or what can be read of a division
    pub resolution: Option<String>,
    /// the head it was calibrated with
    pub head: Option<String>,
}

/// Of the reference.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReferenceRecord {
    /// the laboratory's name for it
    pub id: String,
    /// serial number
    pub serial: String,
    /// number of its certificate
    pub certificate: String,
    /// date of its calibration
    pub calibrated_on: String,
    /// last day on which it may be used
    pub due: String,
}

/// Of the rulebook.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RulebookRecord {
    /// its name
    pub name: String,
    /// the document
    pub standard: String,
    /// the edition
    pub edition: String,
    /// the deviation in words
    pub deviation: String,
}

/// Of the decision.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DecisionRecord {
    /// the rule's word; absent where none was agreed
    pub rule: Option<String>,
    /// the rule in words
    pub words: Option<String>,
    /// the day of the agreement
    pub agreed: Option<String>,
    /// the permissible deviation, %
    pub limit: Percent,
    /// what the class alone would permit, %
    pub class_limit: Percent,
    /// whether the maker's tighter claim governs
    pub by_claim: bool,
    /// the prior in words, where one was stated
    pub prior: Option<String>,
}

/// Of one test point. Numbers are not rounded.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PointRecord {
    /// as it is printed
    pub printed: PrintedPoint,
    /// the test point, N·m
    pub target_newton_metres: f64,
    /// the readings
    pub readings: Vec<ReadingRecord>,
    /// number of valid readings
    pub n: usize,
    /// mean of the corrected reference torques, N·m
    pub mean_reference_newton_metres: f64,
    /// mean deviation, %
    pub mean_deviation: Percent,
    /// experimental standard deviation of a deviation, %
    pub standard_deviation: Option<Percent>,
    /// greatest less least deviation, %
    pub spread: Percent,
    /// the uncertainty; absent under a rulebook of conformance testing
    pub uncertainty: Option<UncertaintyRecord>,
    /// permissible deviation, %
    pub limit: Percent,
    /// guard band on each side, %
    pub guard_band: Option<Percent>,
    /// whether the rule would accept no result at all
    pub nothing_accepted: bool,
    /// on which sides the permissible deviation limits
    pub sides: Sides,
    /// limit less guard band, %
    pub acceptance_limit: Option<Percent>,
    /// where the judged deviation lies
    pub zone: Option<Zone>,
    /// what the rule says
    pub verdict: Verdict,
    /// probability that the true deviation is within the limits
    pub conformity_probability: Option<f64>,
    /// probability that an acceptance is wrong
    pub false_acceptance: Option<f64>,
    /// probability that a rejection is wrong
    pub false_rejection: Option<f64>,
    /// risks over all such tools, where a prior was stated
    pub global_risk: Option<GlobalRiskRecord>,
    /// half the tolerance over the expanded uncertainty; absent for a limit on one side
    pub uncertainty_ratio: Option<f64>,
}

/// Joint probabilities over all tools under the stated prior (JCGM 106:2012, 9.5).
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GlobalRiskRecord {
    /// not conforming and accepted
    pub consumer: f64,
    /// conforming and rejected
    pub producer: f64,
}

/// Of one reading.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReadingRecord {
    /// row of the record
    pub row: u32,
    /// `valid` or `void`
    pub status: &'static str,
    /// why it does not count
    pub reason: Option<String>,
    /// what the tool said or was set to, as written
    pub indicated: String,
    /// what the reference showed, as written
    pub shown: String,
    /// corrected reference torque, N·m; absent for a void reading
    pub reference_newton_metres: Option<f64>,
    /// relative deviation, %; absent for a void reading
    pub deviation: Option<Percent>,
    /// whether it lies within the limits
    pub within: Option<bool>,
    /// loading time from 80 % to 100 % of the target, s; absent where it was not measured
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seconds: Option<f64>,
    /// the trace of the pull; absent where none was kept
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trace: Option<TraceRecord>,
}

/// The trace of a pull: torque against time, as a file of the run folder.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TraceRecord {
    /// its name, relative to the run folder
    pub file: String,
    /// SHA-256 of its bytes, in hexadecimal
    pub sha256: String,
}

/// A trace with the reading that it is of.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct KeptTraceRecord {
    /// row of the record
    pub row: u32,
    /// the trace
    #[serde(flatten)]
    pub trace: TraceRecord,
}

/// A reading that was struck out.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct VoidRecord {
    /// row of the record
    pub row: u32,
    /// its series
    pub series: leverarm_metrology::reading::Series,
    /// the test point
    pub target: String,
    /// what the reference showed, as written
    pub shown: String,
    /// why it does not count
    pub reason: String,
}

/// Of the uncertainty at a point.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UncertaintyRecord {
    /// its lines
    pub lines: Vec<LineRecord>,
    /// lines that the rulebook asks for and nobody measured
    pub missing: Vec<leverarm_metrology::budget::Influence>,
    /// combined standard uncertainty, %
    pub combined: Percent,
    /// effective degrees of freedom
    pub freedom: Freedom,
    /// coverage factor that was used
    pub k: f64,
    /// coverage factor that the effective degrees of freedom ask for
    pub k_effective: f64,
    /// expanded uncertainty W, %
    pub expanded: Percent,
    /// relative uncertainty interval W′, %
    pub interval: Percent,
    /// what Monte Carlo says; absent where it was not asked for
    pub monte_carlo: Option<MonteCarloCheck>,
    /// the interval that holds the true deviation with the coverage probability
    pub reported: ReportedInterval,
}

/// Of one budget line. Numbers are not rounded.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LineRecord {
    /// what it is about
    pub influence: leverarm_metrology::budget::Influence,
    /// symbol of its standard uncertainty
    pub symbol: &'static str,
    /// the value it starts from, %
    pub value: Percent,
    /// its distribution
    pub distribution: leverarm_metrology::budget::Distribution,
    /// what the value is divided by
    pub divisor: f64,
    /// degrees of freedom
    pub freedom: Freedom,
    /// standard uncertainty, %
    pub standard: Percent,
    /// share of the variance, 0 to 1
    pub share: f64,
    /// whether it is one error for all readings
    pub scope: leverarm_metrology::budget::Scope,
    /// where the value comes from
    pub source: String,
    /// as it is printed
    pub printed: PrintedLine,
}

/// Of a variation.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct VariationRecord {
    /// which
    pub variation: leverarm_metrology::budget::Variation,
    /// in which direction
    pub direction: leverarm_metrology::reading::Direction,
    /// the point
    pub target: String,
    /// position and mean reference torque, N·m
    pub means: Vec<(String, f64)>,
    /// full width b, N·m
    pub width_newton_metres: f64,
    /// b relative to the mean, %
    pub relative_width: Percent,
}

/// A finding, as `result.json` keeps it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FindingRecord {
    /// name of the check
    pub check: &'static str,
    /// how grave
    pub severity: Severity,
    /// what is wrong
    pub message: String,
}

/// An input file.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct InputRecord {
    /// its name, relative to the run folder
    pub file: String,
    /// SHA-256 of its bytes, in hexadecimal
    pub sha256: String,
}

/// The file as bytes: indented, with a newline at its end.
///
/// # Errors
/// [`serde_json::Error`] when a number is not finite.
pub fn to_bytes(result: &ResultFile) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec_pretty(result)?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// The JSON Schema of `result.json`.
#[must_use]
pub fn schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(ResultFile);
    schema.insert("title".to_owned(), "leverarm result".into());
    schema.to_value()
}
