//! A run: one tool, on one bench, in one condition, measured once through.

use std::fmt;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::decision::{DecisionRule, Sides};
use crate::low_pass::SignalChain;
use crate::quantity::{Celsius, Percent, Torque};
use crate::reading::{Direction, Reading, Series};
use crate::risk::{Limits, Prior};
use crate::study::TypeStudy;
use crate::tool::Tool;

/// In which state the tool was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Condition {
    /// as the customer sent it
    #[serde(rename = "as found")]
    AsFound,
    /// after adjustment or repair
    #[serde(rename = "as left")]
    AsLeft,
    /// before first use
    New,
}

impl Condition {
    /// The words that are printed.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Condition::AsFound => "as found",
            Condition::AsLeft => "as left",
            Condition::New => "new",
        }
    }

    /// Reads the words.
    #[must_use]
    pub fn parse(text: &str) -> Option<Condition> {
        match text.trim().to_ascii_lowercase().replace('-', " ").as_str() {
            "as found" => Some(Condition::AsFound),
            "as left" => Some(Condition::AsLeft),
            "new" => Some(Condition::New),
            _ => None,
        }
    }
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// The decision rule and when the customer agreed to it (ISO/IEC 17025:2017, 7.1.3).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// the rule
    pub rule: DecisionRule,
    /// the day of the agreement, which must not come after the first reading
    pub agreed: Option<NaiveDate>,
}

/// What is known of the deviations of tools like this one, and from where.
#[derive(Debug, Clone, PartialEq)]
pub struct StatedPrior {
    /// the statement
    pub statement: PriorStatement,
    /// where it comes from: the laboratory's own history of the model, a study, an agreement
    pub source: String,
}

/// The ways to state a prior.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PriorStatement {
    /// normal and centred in the limits, this share of the tools within them, %
    InTolerance(Percent),
    /// normal, with this mean and standard deviation
    Normal {
        /// mean deviation of such tools
        mean: Percent,
        /// standard deviation of their deviations
        standard_deviation: Percent,
    },
}

impl PriorStatement {
    /// The distribution, for these limits; `None` where the statement makes none.
    #[must_use]
    pub fn prior(&self, limits: &Limits) -> Option<Prior> {
        match self {
            PriorStatement::InTolerance(share) => Prior::from_in_tolerance(limits, share.fraction()).ok(),
            PriorStatement::Normal { mean, standard_deviation } => {
                Prior::normal(mean.value(), standard_deviation.value()).ok()
            }
        }
    }
}

/// Temperature and humidity around the bench.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Environment {
    /// temperature before the first reading
    pub temperature_start: Option<Celsius>,
    /// temperature after the last reading
    pub temperature_end: Option<Celsius>,
    /// relative humidity before the first reading
    pub humidity_start: Option<Percent>,
    /// relative humidity after the last reading
    pub humidity_end: Option<Percent>,
}

/// Who the certificate is for, as the customer said it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Customer {
    /// name
    pub name: Option<String>,
    /// postal address
    pub address: Option<String>,
    /// the customer's own order number
    pub order: Option<String>,
}

/// Who measures.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Laboratory {
    /// name
    pub name: Option<String>,
    /// postal address
    pub address: Option<String>,
    /// telephone or mail
    pub contact: Option<String>,
}

/// Who did what.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct People {
    /// who took the readings
    pub technician: Option<String>,
    /// who answers for the certificate
    pub approver: Option<String>,
}

/// What a certificate of this run must say beyond the results.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CertificateTerms {
    /// its unique number
    pub number: Option<String>,
    /// the number of the certificate that it replaces
    pub replaces: Option<String>,
    /// what changed and why, where it replaces one
    pub change: Option<String>,
    /// a recalibration interval, only where the customer agreed to have one printed
    pub interval: Option<String>,
    /// deviations from the method, in words
    pub method_deviations: Vec<String>,
    /// what was done between as found and as left
    pub adjustment: Option<String>,
    /// remarks
    pub remarks: Vec<String>,
}

/// One tool, on one bench, in one condition, measured once through.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// the laboratory's own number for the job
    pub job: String,
    /// state of the tool
    pub condition: Condition,
    /// day of the readings
    pub performed: NaiveDate,
    /// day on which the tool came in
    pub received: Option<NaiveDate>,
    /// where the work was done
    pub place: Option<String>,
    /// the rulebook's name or path, as asked
    pub rulebook: String,
    /// the decision rule; `None` where nobody agreed on one
    pub agreement: Option<Agreement>,
    /// on which sides the permissible deviation limits
    pub sides: Sides,
    /// what is known of the deviations of such tools before this one was measured
    pub prior: Option<StatedPrior>,
    /// the tool
    pub tool: Tool,
    /// the customer
    pub customer: Customer,
    /// the laboratory
    pub laboratory: Laboratory,
    /// technician and approver
    pub people: People,
    /// temperature and humidity
    pub environment: Environment,
    /// what the certificate must say
    pub terms: CertificateTerms,
    /// what stood between the transducer and the readings, where the bench states it
    pub chain: Option<SignalChain>,
    /// a study of the model, where one is on record
    pub study: Option<TypeStudy>,
    /// every reading, in the order of recording, voided ones too
    pub readings: Vec<Reading>,
}

impl Run {
    /// The readings of a series in one direction that count.
    pub fn valid(&self, series: Series, direction: Direction) -> impl Iterator<Item = &Reading> {
        self.readings.iter().filter(move |r| r.series == series && r.direction == direction && r.is_valid())
    }

    /// The directions in which there are valid readings at test points, clockwise first.
    #[must_use]
    pub fn directions(&self) -> Vec<Direction> {
        [Direction::Clockwise, Direction::CounterClockwise]
            .into_iter()
            .filter(|d| self.valid(Series::Points, *d).next().is_some())
            .collect()
    }

    /// The test points of a direction that have a valid reading, rising, each once.
    #[must_use]
    pub fn targets(&self, direction: Direction) -> Vec<Torque> {
        let mut targets: Vec<Torque> = Vec::new();
        for reading in self.valid(Series::Points, direction) {
            let target = reading.target.torque();
            if !targets.iter().any(|known| known.same_as(target)) {
                targets.push(target);
            }
        }
        targets.sort_by(|a, b| a.newton_metres().total_cmp(&b.newton_metres()));
        targets
    }

    /// How far the temperature was from another one during the work, in kelvin: the larger of the
    /// differences at start and end, so that a room that passed through that temperature does not
    /// count as one that kept it. `None` where no temperature is on record.
    #[must_use]
    pub fn farthest_from(&self, temperature: Celsius) -> Option<f64> {
        [self.environment.temperature_start, self.environment.temperature_end]
            .into_iter()
            .flatten()
            .map(|at| (at.0 - temperature.0).abs())
            .reduce(f64::max)
    }
}
