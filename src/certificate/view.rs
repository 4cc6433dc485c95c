//! What a certificate prints, and nothing else: text that has been rounded
//! already, in the order in which it stands on the page.
//!
//! The template only lays out. Whoever builds a [`CertificateView`] has taken
//! every number through `leverarm_metrology::rounding`; from here on a number
//! is a string and cannot lose or gain a digit.

use serde::Serialize;

use super::chart::Chart;

/// A whole certificate, ready to be laid out.
#[derive(Debug, Clone, Serialize)]
pub struct CertificateView {
    /// "Calibration certificate" or "Declaration of conformance".
    pub title: String,
    /// The certificate's unique number, printed on every page.
    pub number: String,
    /// Date of issue; also the time stamp inside the PDF.
    pub issued: IssueDate,
    /// Name and version of the program, for the file's own record.
    pub software: String,
    /// What was changed, in which certificate, and why; only in an amendment.
    pub amendment: Option<String>,
    /// Who calibrated.
    pub laboratory: PartyView,
    /// For whom. Printed as supplied by the customer.
    pub customer: PartyView,
    /// One line that names the tool: type, maker, model, serial.
    pub item_line: String,
    /// The item, unambiguously.
    pub item: Vec<Fact>,
    /// Place and dates of the work.
    pub work: Vec<Fact>,
    /// Conditions in the room.
    pub environment: Vec<EnvironmentRow>,
    /// The verdict of each condition, as the front page says it.
    pub verdicts: Vec<VerdictView>,
    /// The procedure.
    pub method: MethodView,
    /// The references used and what they are traceable to.
    pub references: Vec<ReferenceView>,
    /// The decision rule, in words.
    pub decision: DecisionView,
    /// How a deviation is defined: its sign and its denominator.
    pub deviation_definition: String,
    /// What the expanded uncertainty means: k, coverage, and what k would have
    /// been where the rulebook fixes it.
    pub uncertainty: Vec<String>,
    /// As found, as left: one each, in the order of the work.
    pub conditions: Vec<ConditionView>,
    /// What changed between them; empty for one condition.
    pub changes: Vec<ChangeRow>,
    /// Who measured and who approved.
    pub people: Vec<PersonView>,
    /// Next calibration, only where the customer agreed to its being printed.
    pub interval: Option<String>,
    /// What the certificate does and does not say: relates only to the item,
    /// reproduction in full, and the like.
    pub statements: Vec<String>,
    /// How not to be hurt, and the limits of what was shown.
    pub cautions: Vec<String>,
    /// Hash of every input, so that the certificate can be checked again.
    pub inputs: Vec<Fact>,
}

impl CertificateView {
    /// Every figure of the certificate, in order of appearance.
    pub fn figures(&self) -> impl Iterator<Item = &Figure> {
        self.conditions.iter().flat_map(|condition| {
            let directions = condition.directions.iter().flat_map(|d| {
                let curve = d.curve.as_ref().and_then(|curve| curve.figure.as_ref());
                d.deviation.iter().chain(curve).chain(&d.shares)
            });
            directions.chain(&condition.sequence)
        })
    }
}

/// The date of issue, for the eye and for the file.
#[derive(Debug, Clone, Serialize)]
pub struct IssueDate {
    /// As it is printed.
    pub text: String,
    /// Year.
    pub year: i32,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month.
    pub day: u8,
}

/// A laboratory or a customer.
#[derive(Debug, Clone, Serialize)]
pub struct PartyView {
    /// Name.
    pub name: String,
    /// Address and whatever else stands below the name, a line each.
    pub lines: Vec<String>,
}

/// One labelled value.
#[derive(Debug, Clone, Serialize)]
pub struct Fact {
    /// What it is.
    pub label: String,
    /// Its value.
    pub value: String,
    /// True where the customer supplied it: printed with a mark that says so.
    pub by_customer: bool,
}

impl Fact {
    /// A fact that the laboratory itself established.
    pub fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        Self { label: label.into(), value: value.into(), by_customer: false }
    }

    /// A fact that the customer supplied.
    pub fn from_customer(label: impl Into<String>, value: impl Into<String>) -> Self {
        Self { by_customer: true, ..Self::new(label, value) }
    }
}

/// One quantity of the room.
#[derive(Debug, Clone, Serialize)]
pub struct EnvironmentRow {
    /// "Air temperature", and whose run it belongs to where there are two.
    pub quantity: String,
    /// At the start, with its unit.
    pub start: String,
    /// At the end, with its unit.
    pub end: String,
    /// What the procedure allows.
    pub allowed: String,
}

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

/// The procedure that was followed.
#[derive(Debug, Clone, Serialize)]
pub struct MethodView {
    /// Rulebook with its edition.
    pub name: String,
    /// What was done, in a sentence or two.
    pub statement: String,
    /// Each deviation from the procedure. Empty is printed as "none recorded".
    pub deviations: Vec<String>,
}

/// One reference.
#[derive(Debug, Clone, Serialize)]
pub struct ReferenceView {
    /// Its facts: identification, serial, certificate, laboratory, dates.
    pub facts: Vec<Fact>,
    /// To what it is traceable, and whether its deviation was corrected.
    pub traceability: String,
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

/// The uncertainty budget of one test point.
#[derive(Debug, Clone, Serialize)]
pub struct BudgetView {
    /// "Clockwise, 40 N·m".
    pub caption: String,
    /// The lines.
    pub lines: Vec<BudgetRow>,
    /// Combined standard uncertainty, effective degrees of freedom, k and
    /// expanded uncertainty.
    pub totals: Vec<Fact>,
}

/// One line of a budget.
#[derive(Debug, Clone, Serialize)]
pub struct BudgetRow {
    /// What it is.
    pub name: String,
    /// Its symbol; an underscore begins a subscript.
    pub symbol: String,
    /// Where the value comes from: a certificate, this run, a study.
    pub source: String,
    /// The value that it starts from, percent.
    pub value: String,
    /// Distribution.
    pub distribution: String,
    /// Divisor.
    pub divisor: String,
    /// Degrees of freedom.
    pub dof: String,
    /// Standard uncertainty, percent.
    pub standard: String,
    /// Share of the variance, percent.
    pub share: String,
}

/// From where on a tool can be shown to conform at all.
#[derive(Debug, Clone, Serialize)]
pub struct FloorView {
    /// The sentence, naming the floor that binds.
    pub statement: String,
    /// Each floor by name.
    pub floors: Vec<Fact>,
}

/// Somebody who answers for the certificate.
#[derive(Debug, Clone, Serialize)]
pub struct PersonView {
    /// "Measured by".
    pub role: String,
    /// Name, and function where it is known.
    pub name: String,
    /// Date.
    pub date: String,
}

/// A chart with the words that stand for it.
#[derive(Debug, Clone, Serialize)]
pub struct Figure {
    /// Unique within the certificate.
    pub name: String,
    /// Printed below.
    pub caption: String,
    /// What the chart shows, with its numbers, for whoever cannot see it.
    pub alt: String,
    /// What is drawn.
    #[serde(skip)]
    pub chart: Chart,
}
