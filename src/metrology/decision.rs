//! Decision rules and verdicts (ISO/IEC 17025:2017, 7.8.6; JCGM 106; ILAC-G8:09/2019).
//!
//! Verdicts are taken from unrounded values. A deviation that lies exactly on a limit conforms
//! (ISO 6789-1 states limits that are included; JCGM 106:2012, notes to 3.3.5 and 3.3.9: limits belong
//! to the interval; from memory).

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use statrs::function::erf::erf;

use crate::quantity::Percent;

/// The kinds of decision rules that a rulebook may allow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RuleKind {
    /// the mean deviation of each point within the limits, uncertainty not considered
    Simple,
    /// the mean deviation of each point within the limits less the expanded uncertainty
    Guarded,
    /// every single reading within the limits (the rule of ISO 6789-1)
    EachReading,
}

impl RuleKind {
    /// Every kind.
    pub const ALL: [RuleKind; 3] = [RuleKind::Simple, RuleKind::Guarded, RuleKind::EachReading];

    /// The word that asks for it in `run.toml`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            RuleKind::Simple => "simple",
            RuleKind::Guarded => "guarded",
            RuleKind::EachReading => "each-reading",
        }
    }
}

impl fmt::Display for RuleKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A decision rule, agreed with the customer before the readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DecisionRule {
    /// ILAC-G8 4.2.1: binary, guard band zero, on the mean deviation
    Simple,
    /// ILAC-G8 4.2.2: binary, guard band w = U, on the mean deviation
    Guarded,
    /// ISO 6789-1: every single reading within the limits; the accuracy of the reference is held
    /// by the demand that it be a quarter of the limit or better
    EachReading,
}

impl DecisionRule {
    /// Its kind.
    #[must_use]
    pub const fn kind(self) -> RuleKind {
        match self {
            DecisionRule::Simple => RuleKind::Simple,
            DecisionRule::Guarded => RuleKind::Guarded,
            DecisionRule::EachReading => RuleKind::EachReading,
        }
    }

    /// Reads the word of `run.toml`.
    #[must_use]
    pub fn parse(word: &str) -> Option<DecisionRule> {
        match word.trim().to_ascii_lowercase().replace([' ', '_'], "-").as_str() {
            "simple" => Some(DecisionRule::Simple),
            "guarded" => Some(DecisionRule::Guarded),
            "each-reading" => Some(DecisionRule::EachReading),
            _ => None,
        }
    }

    /// Whether the expanded uncertainty takes part in the verdict.
    #[must_use]
    pub const fn needs_uncertainty(self) -> bool {
        matches!(self, DecisionRule::Guarded)
    }

    /// The rule in words, as the certificate prints it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            DecisionRule::Simple => {
                "Simple acceptance: a test point passes when its mean deviation lies within the limits, \
                 limits included. The expanded uncertainty is stated and takes no part in the verdict; \
                 at the limit itself the probability of a wrong acceptance is up to 50 %."
            }
            DecisionRule::Guarded => {
                "Guarded acceptance: a test point passes when its mean deviation lies within the limits \
                 reduced on both sides by a guard band equal to the expanded uncertainty, w = U. The \
                 probability of a wrong acceptance is under 2.5 % at each point."
            }
            DecisionRule::EachReading => {
                "Each reading: a test point passes when every single valid reading deviates by no more \
                 than the limits, limits included. Measurement uncertainty takes no part in the verdict; \
                 the reference is held to its required share of the limit."
            }
        }
    }

    /// The guard band on each side.
    #[must_use]
    pub fn guard_band(self, expanded: Percent) -> Percent {
        match self {
            DecisionRule::Guarded => expanded,
            DecisionRule::Simple | DecisionRule::EachReading => Percent::ZERO,
        }
    }
}

impl fmt::Display for DecisionRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.kind().word())
    }
}

/// What a rule says of a reading, a point or a tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// conformity is stated
    Pass,
    /// conformity is not stated
    Fail,
    /// the rule needs an uncertainty and the budget is not complete
    NotJudged,
}

impl Verdict {
    /// The word that is printed.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::Fail => "FAIL",
            Verdict::NotJudged => "not judged",
        }
    }

    /// The verdict of a whole from those of its parts: any failure fails it, else anything not
    /// judged leaves it not judged. A whole without parts is not judged.
    pub fn of_all(parts: impl IntoIterator<Item = Verdict>) -> Verdict {
        parts
            .into_iter()
            .reduce(|so_far, next| match (so_far, next) {
                (Verdict::Fail, _) | (_, Verdict::Fail) => Verdict::Fail,
                (Verdict::NotJudged, _) | (_, Verdict::NotJudged) => Verdict::NotJudged,
                (Verdict::Pass, Verdict::Pass) => Verdict::Pass,
            })
            .unwrap_or(Verdict::NotJudged)
    }
}

/// Where a deviation lies between the limits and the guard band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Zone {
    /// inside the acceptance limits
    Accepted,
    /// inside the tolerance limits and outside the acceptance limits: not shown to conform, not
    /// shown not to
    GuardBand,
    /// outside the tolerance limits
    Outside,
}

/// Where a deviation lies. The acceptance limit may be below zero, when the guard band is wider
/// than the tolerance: then nothing is accepted.
#[must_use]
pub fn zone(deviation: Percent, limit: Percent, acceptance: Percent) -> Zone {
    let magnitude = deviation.value().abs();
    if magnitude <= acceptance.value() {
        Zone::Accepted
    } else if magnitude <= limit.value() {
        Zone::GuardBand
    } else {
        Zone::Outside
    }
}

/// Probability that the true deviation lies within ±limit, for a normal state of knowledge with
/// the measured deviation and its standard uncertainty (JCGM 106:2012, 7.2, equation for a
/// two-sided interval). `None` when the uncertainty is not a positive number.
#[must_use]
pub fn conformity_probability(
    deviation: Percent,
    limit: Percent,
    standard_uncertainty: Percent,
) -> Option<f64> {
    let u = standard_uncertainty.value();
    if !(u > 0.0 && u.is_finite()) {
        return None;
    }
    let scale = u * std::f64::consts::SQRT_2;
    let upper = (limit.value() - deviation.value()) / scale;
    let lower = (-limit.value() - deviation.value()) / scale;
    Some(((erf(upper) - erf(lower)) / 2.0).clamp(0.0, 1.0))
}
