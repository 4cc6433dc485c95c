//! A rulebook's choices in words, as certificates and listings print them.

use std::fmt;

use super::{
    Carried, Certainty, CoverageRule, Denominator, DeviationDefinition, DeviationSign, PointsRow, Purpose,
    ResolutionReads, Rulebook, Source, TestPoint,
};
use crate::decision::RuleKind;

impl Purpose {
    /// In words: what the paper is.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Purpose::Conformance => "conformance testing, which leads to a declaration of conformance",
            Purpose::Calibration => "calibration with uncertainty, which leads to a calibration certificate",
        }
    }
}

impl DeviationDefinition {
    /// The definition as a sentence, with what its sign means at the joint.
    #[must_use]
    pub const fn words(&self) -> &'static str {
        match (self.sign, self.denominator) {
            (DeviationSign::ToolMinusReference, Denominator::Reference) => {
                "Deviation: the value of the tool minus the reference torque, divided by the reference torque, \
                 in percent. A negative deviation means that more torque is applied than the tool says."
            }
            (DeviationSign::ToolMinusReference, Denominator::Tool) => {
                "Deviation: the value of the tool minus the reference torque, divided by the value of the tool, \
                 in percent. A negative deviation means that more torque is applied than the tool says."
            }
            (DeviationSign::ReferenceMinusTool, Denominator::Reference) => {
                "Deviation: the reference torque minus the value of the tool, divided by the reference torque, \
                 in percent. A positive deviation means that more torque is applied than the tool says."
            }
            (DeviationSign::ReferenceMinusTool, Denominator::Tool) => {
                "Deviation: the reference torque minus the value of the tool, divided by the value of the tool, \
                 in percent. A positive deviation means that more torque is applied than the tool says."
            }
        }
    }
}

impl Carried {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Carried::Relative => "the same percentage at every test point",
            Carried::Absolute => "the same torque at every test point",
        }
    }
}

impl ResolutionReads {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            ResolutionReads::Once => "once, for the value",
            ResolutionReads::Twice => "twice, for zero and for the value",
        }
    }
}

impl CoverageRule {
    /// In words.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            CoverageRule::Fixed(k) => format!("k = {k}, whatever the degrees of freedom"),
            CoverageRule::Effective => "k from Student's t at the effective degrees of freedom".to_owned(),
        }
    }
}

impl fmt::Display for TestPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TestPoint::LowerLimit => f.write_str("lower limit"),
            TestPoint::OfMaximum(share) => write!(f, "{share}"),
            TestPoint::SetValue => f.write_str("set value"),
        }
    }
}

impl PointsRow {
    /// The points as a list, such as `lower limit, 60 %, 100 % of the maximum`.
    #[must_use]
    pub fn words(&self) -> String {
        let list: Vec<String> = self.points.iter().map(TestPoint::to_string).collect();
        let tail =
            if matches!(self.points.last(), Some(TestPoint::OfMaximum(_))) { " of the maximum" } else { "" };
        format!("{}{tail}", list.join(", "))
    }
}

impl Rulebook {
    /// Standard and edition, such as `ISO 6789-2:2017`.
    #[must_use]
    pub fn document(&self) -> String {
        format!("{}:{}", self.standard, self.edition)
    }

    /// The decision rules that it allows, as a list of their words.
    #[must_use]
    pub fn decision_words(&self) -> String {
        self.decisions.value.iter().map(|rule: &RuleKind| rule.word()).collect::<Vec<_>>().join(", ")
    }

    /// Where each of its values comes from, in the order of the book.
    #[must_use]
    pub fn sources(&self) -> Vec<&Source> {
        let mut all = vec![&self.deviation.from, &self.claim_governs.from, &self.decisions.from];
        all.extend(self.limits.iter().map(|row| &row.from));
        all.extend(
            self.points.iter().flat_map(|row| {
                [&row.from, &row.readings_from, &row.tolerance_from, &row.tolerance_ends_from]
            }),
        );
        all.extend(self.preloads.iter().map(|row| &row.from));
        all.extend(self.pulls.iter().map(|row| &row.from));
        let room = &self.environment;
        all.extend([
            &room.temperature_min.from,
            &room.temperature_max.from,
            &room.temperature_change.from,
            &room.humidity_max.from,
            &self.reference_share.from,
            &self.resolution_share.from,
        ]);
        if let Some(budget) = &self.budget {
            all.extend(budget.variations.iter().map(|plan| &plan.from));
            all.extend([
                &budget.carried.from,
                &budget.resolution_reads.from,
                &budget.coverage.from,
                &budget.probability.from,
            ]);
            all.extend(budget.study_tools_min.iter().map(|tools| &tools.from));
        }
        if let Some(recall) = &self.recall {
            all.extend([&recall.months.from, &recall.uses.from]);
        }
        all
    }

    /// How many of its values have this certainty.
    #[must_use]
    pub fn count_of(&self, certainty: Certainty) -> usize {
        self.sources().into_iter().filter(|source| source.certainty == certainty).count()
    }
}
