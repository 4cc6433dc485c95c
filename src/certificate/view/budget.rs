//! Uncertainty budgets.

use serde::Serialize;

use super::Fact;

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
