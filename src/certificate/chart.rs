//! Charts as plain data. What draws them can change; these types stay.
//!
//! Values are in percent of the reference torque unless said otherwise. They
//! are positions on paper, so they are floats; every number that a reader is to
//! take from a chart is a string beside it.

/// Any chart of a certificate.
#[derive(Debug, Clone, PartialEq)]
pub enum Chart {
    /// Deviations per test point.
    Deviation(DeviationChart),
    /// Shares of the variance per test point.
    Budget(BudgetChart),
    /// Readings in order of recording.
    Sequence(SequenceChart),
    /// Probability density of a deviation over its limits.
    Density(DensityChart),
    /// The deviation curve over the range.
    Curve(CurveChart),
    /// Torque against time during a pull.
    Trace(TraceChart),
}

/// Torque against time during a pull, in seconds and in the unit of the trace.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceChart {
    /// What is shown, printed above and said as the title.
    pub title: String,
    /// The chart in words, with its numbers.
    pub alternative: String,
    /// Title of the axis of time.
    pub time_axis: String,
    /// Title of the axis of torque.
    pub torque_axis: String,
    /// Ends of the axis of time.
    pub time: (f64, f64),
    /// Ends of the axis of torque.
    pub torque: (f64, f64),
    /// Labelled ticks of the axis of time: place and digits.
    pub time_ticks: Vec<(f64, String)>,
    /// Labelled ticks of the axis of torque.
    pub torque_ticks: Vec<(f64, String)>,
    /// Time and torque, rising in time; one line for each stretch without a gap.
    pub strokes: Vec<Vec<(f64, f64)>>,
    /// Torques that are drawn as dashed lines: the target, 80 % of it.
    pub levels: Vec<(f64, String)>,
    /// The loading time.
    pub span: Option<TraceSpan>,
    /// Points of the pull, in the order of time.
    pub marks: Vec<TraceMark>,
}

/// A stretch of time under a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceSpan {
    /// When it begins, and the torque there.
    pub from: (f64, f64),
    /// When it ends, and the torque there.
    pub to: (f64, f64),
    /// What it is, with its digits.
    pub label: String,
}

/// A point of a pull.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceMark {
    /// When.
    pub time_s: f64,
    /// How much.
    pub torque: f64,
    /// What it is, with its digits.
    pub label: String,
    /// Whether it is the reading: then it is filled.
    pub is_reading: bool,
}

/// The deviation curve of one direction, with its band.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveChart {
    /// What the axis measures.
    pub axis: String,
    /// The test points, rising.
    pub points: Vec<CurveMark>,
    /// The curve and its band, rising.
    pub band: Vec<CurveMark>,
    /// Permissible deviation.
    pub limits: Ends,
}

/// A deviation with its expanded uncertainty at a torque.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveMark {
    /// The torque.
    pub torque: f64,
    /// Its label; empty for the points of a band.
    pub label: String,
    /// Deviation, percent.
    pub deviation: f64,
    /// Expanded uncertainty, percent.
    pub expanded: f64,
}

/// What limits a deviation, on one side or both, in percent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// From below.
    pub low: Option<f64>,
    /// From above.
    pub high: Option<f64>,
}

impl Ends {
    /// On both sides.
    pub const fn new(low: f64, high: f64) -> Self {
        Self { low: Some(low), high: Some(high) }
    }

    /// The ends that there are.
    pub fn each(self) -> impl Iterator<Item = f64> {
        self.low.into_iter().chain(self.high)
    }

    /// Whether a deviation lies outside. What binary arithmetic adds to one that lies on an end is
    /// forgiven.
    #[must_use]
    pub fn exclude(self, deviation: f64) -> bool {
        const ARITHMETIC: f64 = 1e-10;
        self.low.is_some_and(|low| deviation < low - ARITHMETIC)
            || self.high.is_some_and(|high| deviation > high + ARITHMETIC)
    }
}

/// Each reading's deviation at each test point, the mean with its expanded
/// uncertainty, the limits and what the guard band leaves of them.
#[derive(Debug, Clone, PartialEq)]
pub struct DeviationChart {
    /// Title of the axis, such as "Deviation, % of the reference torque".
    pub axis: String,
    /// Test points, ascending.
    pub points: Vec<DeviationPoint>,
}

/// One test point.
#[derive(Debug, Clone, PartialEq)]
pub struct DeviationPoint {
    /// "40 N·m".
    pub label: String,
    /// "+0.42 ± 0.61 %", printed below the label.
    pub result: String,
    /// Deviation of each reading that counts.
    pub readings: Vec<f64>,
    /// Mean deviation.
    pub mean: f64,
    /// Expanded uncertainty of the mean, where there is one.
    pub expanded: Option<f64>,
    /// Permissible deviation: lower and upper.
    pub limits: Ends,
    /// Limits after the guard band, where the rule has one.
    pub acceptance: Option<Ends>,
}

/// Which line of the budget contributes how much, point by point.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetChart {
    /// One column a test point.
    pub points: Vec<String>,
    /// One row a line of the budget.
    pub rows: Vec<BudgetShareRow>,
}

/// One line of the budget over all points.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetShareRow {
    /// Name of the line.
    pub label: String,
    /// One a point: `None` where the line has no part at that point.
    pub shares: Vec<Option<Share>>,
}

/// A share of the variance.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// From 0 to 1.
    pub fraction: f64,
    /// As printed.
    pub text: String,
}

/// Readings in the order in which they were taken.
#[derive(Debug, Clone, PartialEq)]
pub struct SequenceChart {
    /// Title of the axis.
    pub axis: String,
    /// Series after series.
    pub groups: Vec<SequenceGroup>,
    /// Permissible deviation: lower and upper.
    pub limits: Ends,
}

/// One series of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct SequenceGroup {
    /// Short name, printed above.
    pub label: String,
    /// Its readings.
    pub marks: Vec<SequenceMark>,
}

/// One reading in its place in the order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SequenceMark {
    /// It counts; its deviation.
    Counts(f64),
    /// It was struck out and has no deviation: it is marked in its place at the
    /// foot of the chart.
    Void,
}

/// Probability density of the deviation at each test point, over the limits and what a rule accepts.
#[derive(Debug, Clone, PartialEq)]
pub struct DensityChart {
    /// What is shown and under which rule, printed above and said as the title.
    pub title: String,
    /// The chart in words, with its numbers.
    pub alternative: String,
    /// Title of the axis.
    pub axis: String,
    /// One panel a test point.
    pub panels: Vec<DensityPanel>,
}

/// One test point.
#[derive(Debug, Clone, PartialEq)]
pub struct DensityPanel {
    /// "40 N·m clockwise".
    pub label: String,
    /// Its numbers in words, printed beside the label.
    pub caption: String,
    /// Deviation and density, rising; its ends are those of the axis.
    pub curve: Vec<(f64, f64)>,
    /// Mean deviation.
    pub mean: f64,
    /// Permissible deviation: lower and upper.
    pub limits: Ends,
    /// What the rule accepts.
    pub accepted: Accepted,
}

/// What a rule accepts at a test point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Accepted {
    /// What lies within these.
    Within(Ends),
    /// No result at all.
    Nothing,
    /// It does not judge.
    NotJudged,
}
