//! Results and readings of one condition of the tool.

use serde::Serialize;

use super::{BudgetView, Figure, FloorView, Sign, VerdictView};

/// Everything about one condition of the tool.
#[derive(Debug, Clone, Serialize)]
pub struct ConditionView {
    /// "As found".
    pub heading: String,
    /// The verdict of this condition.
    pub verdict: VerdictView,
    /// One a direction.
    pub directions: Vec<DirectionView>,
    /// From where on a tool like this can be shown to conform.
    pub floor: Option<FloorView>,
    /// Readings in the order in which they were recorded.
    pub sequence: Option<Figure>,
    /// Readings struck out, with their reasons.
    pub voids: Vec<VoidRow>,
    /// What is suspicious and not wrong.
    pub warnings: Vec<String>,
}

/// One direction of turning.
#[derive(Debug, Clone, Serialize)]
pub struct DirectionView {
    /// "Clockwise".
    pub heading: String,
    /// Unit of the torques of the table.
    pub unit: String,
    /// The results.
    pub results: Vec<ResultRow>,
    /// Chart of deviations.
    pub deviation: Option<Figure>,
    /// Every reading.
    pub readings: Vec<ReadingGroup>,
    /// What is to be said of the pulls behind them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pulls: Vec<String>,
    /// One budget a test point.
    pub budgets: Vec<BudgetView>,
    /// Chart of the shares of the variance.
    pub shares: Option<Figure>,
    /// The curve over the range, where it was asked for and the points make one.
    pub curve: Option<CurveView>,
}

/// The deviation curve of a direction.
#[derive(Debug, Clone, Serialize)]
pub struct CurveView {
    /// The curve, its test and its band, in words.
    pub statement: String,
    /// Its chart; `None` where no curve describes the points.
    pub figure: Option<Figure>,
}

/// What changed at a point from as found to as left.
#[derive(Debug, Clone, Serialize)]
pub struct ChangeRow {
    /// The test point.
    pub point: String,
    /// Mean deviation as left less as found, percent.
    pub change: String,
    /// Its expanded uncertainty, percent.
    pub expanded: String,
}

/// The result at one test point.
#[derive(Debug, Clone, Serialize)]
pub struct ResultRow {
    /// Target torque, in the unit of its table.
    pub target: String,
    /// The same with its unit.
    pub name: String,
    /// Number of readings used.
    pub n: String,
    /// "1 of 5": single readings beyond the permissible deviation.
    pub outside: String,
    /// Whether there are any.
    pub any_outside: bool,
    /// Mean of the reference torque.
    pub reference: String,
    /// Mean deviation, percent.
    pub deviation: String,
    /// Expanded uncertainty, percent; `None` where the procedure has none.
    pub expanded: Option<String>,
    /// Coverage factor.
    pub k: Option<String>,
    /// The interval W', percent.
    pub interval: Option<String>,
    /// Permissible deviation, percent.
    pub limit: String,
    /// Limit after the guard band, percent.
    pub acceptance: Option<String>,
    /// How the verdict is drawn.
    pub sign: Sign,
    /// The verdict in a word or two.
    pub verdict: String,
}

/// The readings of one series at one position.
#[derive(Debug, Clone, Serialize)]
pub struct ReadingGroup {
    /// "Test point", "Drive, 90°".
    pub label: String,
    /// Set or target torque.
    pub target: String,
    /// In order of recording.
    pub readings: Vec<ReadingCell>,
}

/// One reading.
#[derive(Debug, Clone, Serialize)]
pub struct ReadingCell {
    /// What the tool showed, where that is not the target itself.
    pub indicated: Option<String>,
    /// What the reference showed, as recorded.
    pub reference: String,
    /// The deviation, percent; `None` for preloads and zeros.
    pub deviation: Option<String>,
    /// "v1": the number under which the void list gives the reason.
    pub void: Option<String>,
    /// True where this reading alone lies outside the limits.
    pub outside: bool,
    /// Loading time with its unit, where it was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seconds: Option<String>,
}

/// A reading that was struck out.
#[derive(Debug, Clone, Serialize)]
pub struct VoidRow {
    /// "v1".
    pub mark: String,
    /// Series, position and target.
    pub place: String,
    /// What had been recorded.
    pub value: String,
    /// Why it does not count.
    pub reason: String,
}
