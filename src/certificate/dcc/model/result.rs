//! The results: with what, in what air, and what came out.

use super::{Identification, Text};
use crate::digits::Digits;
use crate::unit::{NonSiUnit, Unit};

/// One tool in one condition, measured once through.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MeasurementResult {
    /// what it is
    pub name: Text,
    /// which of the items, from 0
    pub item: usize,
    /// as found or as left
    pub state: Option<State>,
    /// how it was done; one or more
    pub methods: Vec<Method>,
    /// with which programs
    pub software: Vec<super::Software>,
    /// with which equipment
    pub equipment: Vec<Equipment>,
    /// in what air; one or more
    pub conditions: Vec<Condition>,
    /// one entry a direction; one or more
    pub directions: Vec<DirectionResult>,
}

/// State of the tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// as found, before an adjustment
    BeforeAdjustment,
    /// as left, after an adjustment
    AfterAdjustment,
    /// before a repair
    BeforeRepair,
    /// after a repair
    AfterRepair,
}

/// A method.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Method {
    /// its term
    pub ref_type: Option<String>,
    /// its name
    pub name: Text,
    /// more of it in words
    pub description: Option<Text>,
    /// the standards
    pub norms: Vec<String>,
    /// the clauses
    pub references: Vec<String>,
}

/// A measurement standard or other equipment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Equipment {
    /// its term, such as [`crate::terms::STANDARD_USED`]
    pub ref_type: Option<String>,
    /// what it is
    pub name: Text,
    /// its certificate, by number and hash
    pub certificate: Option<super::PreviousReport>,
    /// who made it
    pub maker: Option<String>,
    /// the maker's name of the model
    pub model: Option<String>,
    /// its numbers
    pub identifications: Vec<Identification>,
}

/// An influence: temperature, humidity.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    /// its term
    pub ref_type: Option<String>,
    /// what it is
    pub name: Text,
    /// its values, such as at the start and at the end
    pub values: Vec<Named>,
}

/// Values of one quantity with one unit: a single value, or one a test point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Series {
    /// the unit
    pub unit: Unit,
    /// the values, as they are printed
    pub values: Vec<Digits>,
    /// the same values in a unit beside the SI
    pub beside: Option<Beside>,
}

impl Series {
    /// Values without a second unit.
    #[must_use]
    pub fn new(unit: Unit, values: Vec<Digits>) -> Series {
        Series { unit, values, beside: None }
    }
}

/// The values of a series once more, in the unit in which the tool shows them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Beside {
    /// the unit
    pub unit: NonSiUnit,
    /// as many values as the series has
    pub values: Vec<Digits>,
}

/// Expanded uncertainties, in the unit of their series.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expanded {
    /// one for all values, or one a value; not negative
    pub values: Vec<Digits>,
    /// coverage factor, one for all or one a value; the schema wants 1 or more
    pub k: Vec<Digits>,
    /// coverage probability, one for all or one a value; 0 to 1
    pub probability: Vec<Digits>,
    /// the distribution in one word
    pub distribution: Option<String>,
}

/// A series with its name and term.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// its terms
    pub ref_types: Vec<String>,
    /// what it is
    pub name: Text,
    /// its values
    pub series: Series,
}

/// In which direction torque was applied.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Direction {
    /// tightening a right-hand thread
    Clockwise,
    /// loosening a right-hand thread
    CounterClockwise,
}

/// The results of a direction; every series has one value a test point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DirectionResult {
    /// the direction
    pub direction: Direction,
    /// the test points
    pub nominal: Series,
    /// the mean torque of the reference
    pub reference: Series,
    /// what the tool was set to or showed
    pub indicated: Option<Series>,
    /// the deviation and what follows from it
    pub deviation: Deviation,
    /// standard deviation, spread, interval W′ …
    pub further: Vec<Named>,
    /// the single readings
    pub readings: Vec<ReadingsAt>,
    /// remarks
    pub remark: Option<Text>,
}

/// The relative deviation, its uncertainty, its limits and what the rule says of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deviation {
    /// indicated less reference, relative to reference; in % or as a ratio
    pub series: Series,
    /// its expanded uncertainty; none under a procedure of conformance testing
    pub expanded: Option<Expanded>,
    /// the limits
    pub limits: Limits,
    /// the verdicts; none where no rule was agreed
    pub conformity: Option<Conformities>,
}

/// Limits of the deviation, in its unit; a limit on one side lacks the other.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Limits {
    /// lower tolerance limit
    pub tolerance_lower: Option<Vec<Digits>>,
    /// upper tolerance limit
    pub tolerance_upper: Option<Vec<Digits>>,
    /// lower acceptance limit
    pub acceptance_lower: Option<Vec<Digits>>,
    /// upper acceptance limit
    pub acceptance_upper: Option<Vec<Digits>>,
}

/// The verdict at each test point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conformities {
    /// the decision rule in words (ISO/IEC 17025:2017, 7.8.6)
    pub rule: Text,
    /// standards that it rests on
    pub norms: Vec<String>,
    /// one a test point
    pub values: Vec<Conformity>,
}

/// A verdict as the schema knows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Conformity {
    /// conforms
    Pass,
    /// does not conform
    Fail,
    /// within the limit, not within the guard band
    ConditionalPass,
    /// beyond the limit, not beyond the guard band
    ConditionalFail,
    /// conformity could not be shown
    NoPass,
    /// non-conformity could not be shown
    NoFail,
}

/// The single readings at one test point, in the order of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingsAt {
    /// which test point, from 0
    pub point: usize,
    /// what the tool was set to or showed
    pub indicated: Option<Series>,
    /// what the reference showed, corrected
    pub reference: Series,
}

impl Conformity {
    /// Every verdict.
    pub const ALL: [Conformity; 6] = [
        Conformity::Pass,
        Conformity::Fail,
        Conformity::ConditionalPass,
        Conformity::ConditionalFail,
        Conformity::NoPass,
        Conformity::NoFail,
    ];

    /// As the schema writes it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Conformity::Pass => "pass",
            Conformity::Fail => "fail",
            Conformity::ConditionalPass => "conditionalPass",
            Conformity::ConditionalFail => "conditionalFail",
            Conformity::NoPass => "noPass",
            Conformity::NoFail => "noFail",
        }
    }

    /// The verdict of a word.
    #[must_use]
    pub fn parse(word: &str) -> Option<Conformity> {
        Conformity::ALL.into_iter().find(|conformity| conformity.word() == word)
    }
}

impl State {
    /// Every state.
    pub const ALL: [State; 4] =
        [State::BeforeAdjustment, State::AfterAdjustment, State::BeforeRepair, State::AfterRepair];

    /// As the schema writes it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            State::BeforeAdjustment => "beforeAdjustment",
            State::AfterAdjustment => "afterAdjustment",
            State::BeforeRepair => "beforeRepair",
            State::AfterRepair => "afterRepair",
        }
    }
}

impl Direction {
    /// As a reference file writes it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Direction::Clockwise => "clockwise",
            Direction::CounterClockwise => "counter-clockwise",
        }
    }

    /// Its term in a certificate.
    #[must_use]
    pub fn term(self) -> &'static str {
        match self {
            Direction::Clockwise => crate::terms::CLOCKWISE,
            Direction::CounterClockwise => crate::terms::COUNTER_CLOCKWISE,
        }
    }
}
