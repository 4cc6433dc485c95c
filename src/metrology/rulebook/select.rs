//! What a rulebook says of one tool: its limit, its points, its preloads, its pulls.

use thiserror::Error;

use super::{
    Denominator, DeviationDefinition, DeviationSign, LimitRow, PointsRow, PreloadRow, PullRow, Rulebook,
    Source, TestPoint, VariationPlan,
};
use crate::budget::Variation;
use crate::quantity::{Percent, Torque};
use crate::reading::Recorded;
use crate::tool::{Tool, ToolClass};

/// The limit that holds for one tool.
#[derive(Debug, Clone, PartialEq)]
pub struct GoverningLimit {
    /// the permissible deviation that the tool is judged by
    pub permissible: Percent,
    /// the permissible deviation of its class and size
    pub class_permissible: Percent,
    /// whether the maker's tighter claim governs
    pub by_claim: bool,
    /// a claim of the maker that does not govern, because it is looser than the class or because
    /// the rulebook lets no claim govern
    pub idle_claim: Option<IdleClaim>,
    /// where the limit comes from, in words
    pub source: String,
    /// where the limit of the class comes from
    pub class_from: Source,
}

/// Why a maker's claim does not govern.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum IdleClaim {
    /// It is looser than the limit of the class.
    Looser {
        /// the claim
        claim: Percent,
    },
    /// It is tighter, and the rulebook judges by the class alone.
    NotAllowed {
        /// the claim
        claim: Percent,
    },
}

/// Why there is no limit for a tool.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum LimitError {
    /// The rulebook has none for this class and size.
    #[error("the rulebook has no permissible deviation for class {class} with a maximum of {maximum}")]
    NoLimit {
        /// the class
        class: ToolClass,
        /// the tool's maximum
        maximum: Recorded,
    },
    /// The claim is zero, negative or no number.
    #[error("a maker's claim of {claim} is not a tolerance")]
    Claim {
        /// the claim
        claim: Percent,
    },
}

impl LimitError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            LimitError::NoLimit { .. } => {
                "choose a rulebook that covers this tool, or correct its class or range"
            }
            LimitError::Claim { .. } => {
                "write the claim as a percentage above zero, such as 2 %, or leave it out"
            }
        }
    }
}

/// At most, with a millionth forgiven for unit conversion. Its contrary is `above`, so that a tool
/// on a boundary has exactly one limit.
fn at_most(torque: Torque, bound: Torque) -> bool {
    torque <= bound || torque.same_as(bound)
}

impl LimitRow {
    /// Whether the row is for tools of this class and maximum.
    #[must_use]
    pub fn applies(&self, class: ToolClass, maximum: Torque) -> bool {
        self.classes.contains(&class)
            && self.above.is_none_or(|above| !at_most(maximum, above.torque()))
            && self.up_to.is_none_or(|up_to| at_most(maximum, up_to.torque()))
    }
}

impl DeviationDefinition {
    /// The relative deviation of a tool's value from a reference torque; `None` where there is no
    /// finite one, or where what it would be divided by is not above zero.
    #[must_use]
    pub fn relative(&self, tool: Torque, reference: Torque) -> Option<Percent> {
        let difference = match self.sign {
            DeviationSign::ToolMinusReference => tool - reference,
            DeviationSign::ReferenceMinusTool => reference - tool,
        };
        let whole = match self.denominator {
            Denominator::Reference => reference,
            Denominator::Tool => tool,
        };
        let percent = difference.percent_of(whole);
        (whole > Torque::ZERO && percent.value().is_finite()).then_some(percent)
    }
}

impl TestPoint {
    /// The torque that it means for a tool.
    #[must_use]
    pub fn torque(self, tool: &Tool) -> Torque {
        match self {
            TestPoint::LowerLimit => tool.range.lower.torque(),
            TestPoint::OfMaximum(share) => tool.range.upper.torque().share(share),
            TestPoint::SetValue => tool.range.upper.torque(),
        }
    }

    /// Whether it is an end of the range, which is approached closer than a point between.
    #[must_use]
    pub fn is_end(self) -> bool {
        match self {
            TestPoint::LowerLimit | TestPoint::SetValue => true,
            TestPoint::OfMaximum(share) => share >= Percent::new(100.0),
        }
    }
}

impl PointsRow {
    /// How far a target may lie from a point, in percent of the point.
    #[must_use]
    pub fn tolerance_at(&self, point: TestPoint) -> Percent {
        if point.is_end() { self.tolerance_ends } else { self.tolerance }
    }

    /// Whether a target is near enough to a point of a tool to count as it.
    #[must_use]
    pub fn accepts(&self, point: TestPoint, tool: &Tool, target: Torque) -> bool {
        let wanted = point.torque(tool);
        let room = wanted.share(self.tolerance_at(point)).abs();
        let off = (target - wanted).abs();
        target.same_as(wanted) || at_most(off, room)
    }
}

impl Rulebook {
    /// The permissible deviation of a class for a tool of this maximum.
    #[must_use]
    pub fn permissible(&self, class: ToolClass, maximum: Torque) -> Option<&LimitRow> {
        self.limits.iter().find(|row| row.applies(class, maximum))
    }

    /// Test points and counts of a class.
    #[must_use]
    pub fn points_for(&self, class: ToolClass) -> Option<&PointsRow> {
        self.points.iter().find(|row| row.classes.contains(&class))
    }

    /// Preloads of a class.
    #[must_use]
    pub fn preload_for(&self, class: ToolClass) -> Option<&PreloadRow> {
        self.preloads.iter().find(|row| row.classes.contains(&class))
    }

    /// The time of a pull for a class and maximum: the row with the lowest bound that holds.
    #[must_use]
    pub fn pull_for(&self, class: ToolClass, maximum: Torque) -> Option<&PullRow> {
        let bound = |row: &PullRow| row.up_to.map_or(f64::INFINITY, |up_to| up_to.torque().newton_metres());
        self.pulls
            .iter()
            .filter(|row| row.classes.contains(&class))
            .filter(|row| row.up_to.is_none_or(|up_to| at_most(maximum, up_to.torque())))
            .min_by(|a, b| bound(a).total_cmp(&bound(b)))
    }

    /// How a variation is measured for a class; `None` where the rulebook asks for no such
    /// measurement (a screwdriver has no loading point on a grip).
    #[must_use]
    pub fn variation_plan(&self, variation: Variation, class: ToolClass) -> Option<&VariationPlan> {
        if variation == Variation::LoadingPoint && class.is_screwdriver() {
            return None;
        }
        self.budget.as_ref()?.variations.iter().find(|plan| plan.variation == variation)
    }

    /// The limit that a tool is judged by: that of its class and size, or its maker's claim where
    /// that is tighter and the rulebook lets it govern.
    ///
    /// # Errors
    /// [`LimitError`] when the rulebook has no limit for the tool, or the claim is not a tolerance.
    pub fn governing_limit(&self, tool: &Tool) -> Result<GoverningLimit, LimitError> {
        let maximum = tool.range.upper;
        let row = self
            .permissible(tool.class, maximum.torque())
            .ok_or(LimitError::NoLimit { class: tool.class, maximum })?;
        let class_permissible = row.permissible;
        let by_class = GoverningLimit {
            permissible: class_permissible,
            class_permissible,
            by_claim: false,
            idle_claim: None,
            source: row.from.source.clone(),
            class_from: row.from.clone(),
        };
        let Some(claim) = tool.claim else { return Ok(by_class) };
        if !(claim > Percent::ZERO && claim.value().is_finite()) {
            return Err(LimitError::Claim { claim });
        }
        if claim > class_permissible {
            return Ok(GoverningLimit { idle_claim: Some(IdleClaim::Looser { claim }), ..by_class });
        }
        if claim == class_permissible {
            return Ok(by_class);
        }
        if !self.claim_governs.value {
            return Ok(GoverningLimit { idle_claim: Some(IdleClaim::NotAllowed { claim }), ..by_class });
        }
        Ok(GoverningLimit {
            permissible: claim,
            by_claim: true,
            source: format!(
                "maker's claim of ±{claim}, tighter than ±{class_permissible} of class {} ({})",
                tool.class, row.from.source
            ),
            ..by_class
        })
    }
}
