//! What can be wrong with a rulebook: each with its data, what was wanted, and how to mend it.

use std::fmt;
use std::ops::Range;

use thiserror::Error;

use crate::budget::Variation;
use crate::decision::RuleKind;
use crate::reading::{Recorded, RecordedError};
use crate::tool::ToolClass;

/// Something wrong with the text of a rulebook, and where.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{problem}")]
pub struct RulebookError {
    /// the bytes of the text that it is about, where they are known
    pub span: Option<Range<usize>>,
    /// what is wrong
    pub problem: RulebookProblem,
}

/// The sizes of tool for which a limit holds: above one maximum, up to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sizes {
    /// maximum above this
    pub above: Option<Recorded>,
    /// maximum at most this
    pub up_to: Option<Recorded>,
}

impl fmt::Display for Sizes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.above, self.up_to) {
            (None, None) => f.write_str("every size"),
            (Some(above), None) => write!(f, "a maximum above {above}"),
            (None, Some(up_to)) => write!(f, "a maximum up to {up_to}"),
            (Some(above), Some(up_to)) => write!(f, "a maximum above {above} and up to {up_to}"),
        }
    }
}

/// What is wrong with a rulebook.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RulebookProblem {
    /// The text is not TOML, or not of the shape of a rulebook.
    #[error("{message}")]
    Toml {
        /// what the reader of TOML says
        message: String,
    },
    /// Another version of the format.
    #[error("format {given} is not one that this version reads")]
    Format {
        /// the version that was given
        given: i64,
    },
    /// A text that says nothing.
    #[error("{key} is empty")]
    Empty {
        /// the key
        key: &'static str,
    },
    /// A placeholder that stands for nothing.
    #[error("the specification '{given}' holds a brace that is neither {{class}} nor {{kind}}")]
    Placeholder {
        /// the specification
        given: String,
    },
    /// A name that could not be typed or be a file.
    #[error("'{given}' cannot be the name of a rulebook")]
    Name {
        /// the name that was given
        given: String,
    },
    /// A class that ISO 6789 does not know.
    #[error("'{given}' is not a class of hand torque tool")]
    Class {
        /// what was written
        given: String,
    },
    /// A row for nothing.
    #[error("a row of {table} is for no class")]
    NoClasses {
        /// the table
        table: &'static str,
    },
    /// Two rows, or one row twice, for one class.
    #[error("{table} has class {class} twice")]
    ClassTwice {
        /// the table
        table: &'static str,
        /// the class
        class: ToolClass,
    },
    /// A torque that cannot be read.
    #[error("{cause}")]
    Torque {
        /// what was written
        given: String,
        /// why it cannot be read
        cause: RecordedError,
    },
    /// A boundary that is zero or less.
    #[error("a boundary between sizes of tool must be above zero, {given} is not")]
    TorqueNotPositive {
        /// the boundary
        given: Recorded,
    },
    /// A row whose sizes are empty.
    #[error("no tool has {sizes}")]
    NoSizes {
        /// the sizes of the row
        sizes: Sizes,
    },
    /// A test point that cannot be read.
    #[error("'{given}' is not a test point")]
    Point {
        /// what was written
        given: String,
    },
    /// A row without test points.
    #[error("a row of points has no test point")]
    NoPoints,
    /// Test points that are not in the order of the work.
    #[error("test point '{given}' does not come after the one before it")]
    PointOrder {
        /// the point
        given: String,
    },
    /// `set value` for a tool that has a range.
    #[error("class {class} has a range, so 'set value' is no test point of it")]
    SetValueOfRange {
        /// the class
        class: ToolClass,
    },
    /// A number outside what it can be.
    #[error("{key} = {given} is not {wanted}")]
    Number {
        /// the key
        key: &'static str,
        /// the number that was given
        given: f64,
        /// what was wanted
        wanted: Bounds,
    },
    /// A count outside what it can be.
    #[error("{key} = {given} is not a whole number from {lowest} to {highest}")]
    Count {
        /// the key
        key: &'static str,
        /// the number that was given
        given: i64,
        /// the lowest that it can be
        lowest: u32,
        /// the highest that it can be
        highest: u32,
    },
    /// No test points at all.
    #[error("the rulebook has test points for no class")]
    NoPointRows,
    /// A class with test points and without a limit for some tools.
    #[error("class {class} has test points and no permissible deviation for {sizes}")]
    LimitMissing {
        /// the class
        class: ToolClass,
        /// the sizes without a limit
        sizes: Sizes,
    },
    /// Two limits for one tool.
    #[error("class {class} has two permissible deviations: for {first}, and for {second}")]
    LimitsOverlap {
        /// the class
        class: ToolClass,
        /// sizes of one row
        first: Sizes,
        /// sizes of the other row
        second: Sizes,
    },
    /// Two pull rows of the same sizes for one class.
    #[error("class {class} has two times of pull for {sizes}")]
    PullTwice {
        /// the class
        class: ToolClass,
        /// sizes of both rows
        sizes: Sizes,
    },
    /// A pull that must last longer than it may.
    #[error("a pull of at least {seconds_min} s cannot last at most {seconds_max} s")]
    PullTimes {
        /// at least so long
        seconds_min: f64,
        /// at most so long
        seconds_max: f64,
    },
    /// An empty range of temperature.
    #[error("no temperature is both at least {min} °C and at most {max} °C")]
    Temperatures {
        /// the lowest
        min: f64,
        /// the highest
        max: f64,
    },
    /// A calibration without a budget.
    #[error("a calibration needs an uncertainty budget, and [budget] is missing")]
    BudgetMissing,
    /// A conformance test with a budget.
    #[error("a conformance test states no uncertainty, and there is a [budget]")]
    BudgetUnexpected,
    /// Nothing to judge by.
    #[error("the rulebook allows no decision rule")]
    NoDecision,
    /// One rule named twice.
    #[error("the decision rule '{rule}' is named twice")]
    DecisionTwice {
        /// the rule
        rule: RuleKind,
    },
    /// A rule that needs an uncertainty, in a rulebook that states none.
    #[error("the decision rule '{rule}' needs an uncertainty, and a conformance test states none")]
    DecisionNeedsBudget {
        /// the rule
        rule: RuleKind,
    },
    /// One variation planned twice.
    #[error("the variation '{}' is planned twice", .variation.words())]
    VariationTwice {
        /// the variation
        variation: Variation,
    },
    /// A coverage factor that is neither a number nor the word.
    #[error("'{given}' is not a rule for the coverage factor")]
    Coverage {
        /// what was written
        given: String,
    },
}

/// What a number may be. The lower bound is outside when `above` is set, the upper when `below` is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// the lower bound
    pub lower: f64,
    /// whether the number must be above it, not only at it
    pub above: bool,
    /// the upper bound, where there is one
    pub upper: Option<f64>,
    /// whether the number must be below it, not only at it
    pub below: bool,
}

impl Bounds {
    /// Whether a number is within them. What is not a number never is.
    #[must_use]
    pub fn hold(&self, number: f64) -> bool {
        let low = if self.above { number > self.lower } else { number >= self.lower };
        let high = match self.upper {
            None => number.is_finite(),
            Some(upper) if self.below => number < upper,
            Some(upper) => number <= upper,
        };
        low && high
    }
}

impl fmt::Display for Bounds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", if self.above { "above" } else { "at least" }, self.lower)?;
        match self.upper {
            None => Ok(()),
            Some(upper) => write!(f, " and {} {upper}", if self.below { "below" } else { "at most" }),
        }
    }
}

impl RulebookProblem {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        use RulebookProblem as P;
        match self {
            P::Toml { .. } => "compare with one of the built-in rulebooks, which have the same keys",
            P::Format { .. } => "write format = 1",
            P::Empty { .. } => "write it out; a value without a source cannot be checked by anybody",
            P::Placeholder { .. } => {
                "write {class} for type and class of the tool, {kind} for its kind in words"
            }
            P::Name { .. } => "use small letters, digits, hyphens and points, such as iso-6789-2",
            P::Class { .. } => "write a type and a class of ISO 6789, from I A to I E or from II A to II G",
            P::NoClasses { .. } => "name the classes that the row is for, or take the row out",
            P::ClassTwice { .. } => "leave the class in one row only",
            P::Torque { cause, .. } => cause.remedy(),
            P::TorqueNotPositive { .. } => "write the boundary as a torque above zero, or leave it out",
            P::NoSizes { .. } => "write the smaller torque after above and the larger after up_to",
            P::Point { .. } => "write 'lower limit', 'set value', or a share of the maximum such as '60 %'",
            P::NoPoints => "name at least one test point",
            P::PointOrder { .. } => "name the points rising, 'lower limit' first; 'set value' stands alone",
            P::SetValueOfRange { .. } => "use 'set value' for the fixed classes II B and II E only",
            P::Number { .. } | P::Count { .. } => "correct the number; its unit is the last word of its key",
            P::NoPointRows => "add a [[points]] row for each group of classes",
            P::LimitMissing { .. } => {
                "add a [[limits]] row for those sizes, or leave above or up_to out of one"
            }
            P::LimitsOverlap { .. } => "let one row end where the other begins: up_to = above",
            P::PullTwice { .. } => "leave one of the two [[pulls]] rows",
            P::PullTimes { .. } => "exchange the two times, or leave the longest out",
            P::Temperatures { .. } => "exchange the two temperatures",
            P::BudgetMissing => "add a [budget], or say purpose = \"conformance\"",
            P::BudgetUnexpected => "take [budget] out, or say purpose = \"calibration\"",
            P::NoDecision => "name at least one of simple, guarded, each-reading",
            P::DecisionTwice { .. } => "name it once",
            P::DecisionNeedsBudget { .. } => "take the rule out, or make it a calibration with a [budget]",
            P::VariationTwice { .. } => "leave one of the two rows",
            P::Coverage { .. } => "write a number such as 2, or \"effective\"",
        }
    }
}
