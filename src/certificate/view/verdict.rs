//! What a certificate says of conformity: verdicts, the decision rule, the floor.

use serde::Serialize;

use super::Fact;

/// How a verdict is to be drawn. The words carry the meaning; the drawing
/// differs in shape as well, never in colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sign {
    /// Conforms.
    Pass,
    /// Passes or fails only on condition: nearer to a limit than the guard band.
    Conditional,
    /// Does not conform.
    Fail,
    /// No statement was asked for.
    None,
}

/// A verdict in words.
#[derive(Debug, Clone, Serialize)]
pub struct VerdictView {
    /// "As found".
    pub condition: String,
    /// How it is drawn.
    pub sign: Sign,
    /// "Conforms", "Does not conform".
    pub words: String,
    /// To which specification, which part of it, and at which points not.
    pub statement: String,
    /// What a reader of the verdict alone would miss.
    pub notes: Vec<String>,
}

/// The decision rule and what it was held against.
#[derive(Debug, Clone, Serialize)]
pub struct DecisionView {
    /// Name of the rule.
    pub rule: String,
    /// The rule in words, with limits, guard band and result.
    pub statement: Vec<String>,
    /// Guard band and risks, a row a point; empty where there are none.
    pub points: Vec<DecisionRow>,
    /// What the columns of these rows mean.
    pub note: Option<String>,
    /// Where a maker's claim replaced the limit of the class: said plainly.
    pub claim: Option<String>,
}

/// What the rule comes to at one test point.
#[derive(Debug, Clone, Serialize)]
pub struct DecisionRow {
    /// "As found", where there are two runs.
    pub condition: Option<String>,
    /// "40 N·m".
    pub point: String,
    /// Guard band on each side.
    pub guard: Option<String>,
    /// Probability that the verdict is wrong, given this measurement.
    pub wrong: Option<String>,
    /// Of all such tools, not conforming and accepted.
    pub consumer: Option<String>,
    /// Of all such tools, conforming and rejected.
    pub producer: Option<String>,
}

/// From where on a tool can be shown to conform at all.
#[derive(Debug, Clone, Serialize)]
pub struct FloorView {
    /// The sentence, naming the floor that binds.
    pub statement: String,
    /// Each floor by name.
    pub floors: Vec<Fact>,
}
