//! Decision rules and verdicts (ISO/IEC 17025:2017, 7.8.6; JCGM 106; ILAC-G8:09/2019).
//!
//! Verdicts are taken from unrounded values. A deviation that lies exactly on a limit conforms
//! (ISO 6789-1 states limits that are included; JCGM 106:2012, notes to 3.3.5 and 3.3.9: limits belong
//! to the interval; from memory).

mod judge;
mod rule;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::Percent;
use crate::risk::{self, Limits};

pub use judge::{Guard, Judgement, Measured, Uncertainty, VerdictRisks};
pub use rule::{DecisionRule, RuleKind};

/// What a rule says of a reading, a point or a tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// conformity is stated
    Pass,
    /// within the limits, and nearer to one than the guard band (four states)
    ConditionalPass,
    /// outside the limits, and nearer to one than the guard band (four states)
    ConditionalFail,
    /// conformity is not stated
    Fail,
    /// the rule needs what is not on record
    NotJudged,
}

impl Verdict {
    /// The words that are printed.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::ConditionalPass => "conditional pass",
            Verdict::ConditionalFail => "conditional FAIL",
            Verdict::Fail => "FAIL",
            Verdict::NotJudged => "not judged",
        }
    }

    const fn gravity(self) -> u8 {
        match self {
            Verdict::Pass => 0,
            Verdict::ConditionalPass => 1,
            Verdict::ConditionalFail => 2,
            Verdict::NotJudged => 3,
            Verdict::Fail => 4,
        }
    }

    /// The verdict of a whole: the gravest of its parts. Any failure fails it, else anything not
    /// judged leaves it not judged. A whole without parts is not judged.
    pub fn of_all(parts: impl IntoIterator<Item = Verdict>) -> Verdict {
        parts.into_iter().max_by_key(|verdict| verdict.gravity()).unwrap_or(Verdict::NotJudged)
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

/// Where the magnitude of a deviation lies. The acceptance limit may be below zero, when the guard
/// band is wider than the tolerance: then nothing is accepted.
#[must_use]
pub fn zone(deviation: Percent, limit: Percent, acceptance: Percent) -> Zone {
    let magnitude = deviation.value().abs();
    zone_of(magnitude, limit, acceptance)
}

/// What binary arithmetic may add to a deviation that was exactly on a limit, in percent: 104 over
/// 100 deviates by 4 %, and by 4.000 000 000 000 003 6 % in doubles. Ten orders of magnitude below
/// any digit that is measured.
const ARITHMETIC: f64 = 1e-10;

/// Whether a deviation is not beyond a limit, limits included. Every comparison of a deviation with
/// a limit is this one.
#[must_use]
pub fn not_beyond(toward_limit: f64, limit: Percent) -> bool {
    toward_limit <= limit.value() + ARITHMETIC
}

/// The same for a deviation whose sign has been dealt with.
fn zone_of(toward_limit: f64, limit: Percent, acceptance: Percent) -> Zone {
    if not_beyond(toward_limit, acceptance) {
        Zone::Accepted
    } else if not_beyond(toward_limit, limit) {
        Zone::GuardBand
    } else {
        Zone::Outside
    }
}

/// On which sides a permissible deviation limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Sides {
    /// ± about zero
    #[default]
    Both,
    /// only upward: deviation at most the permissible one
    Upper,
    /// only downward: deviation at least minus the permissible one
    Lower,
}

impl Sides {
    /// Every case.
    pub const ALL: [Sides; 3] = [Sides::Both, Sides::Upper, Sides::Lower];

    /// The word of `run.toml`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Sides::Both => "both",
            Sides::Upper => "upper",
            Sides::Lower => "lower",
        }
    }

    /// The side that a word names.
    #[must_use]
    pub fn parse(word: &str) -> Option<Sides> {
        Sides::ALL.into_iter().find(|sides| sides.word() == word.trim().to_ascii_lowercase())
    }

    /// How far a deviation lies toward the limit; below zero, away from the only one.
    #[must_use]
    pub fn toward_limit(self, deviation: Percent) -> f64 {
        match self {
            Sides::Both => deviation.value().abs(),
            Sides::Upper => deviation.value(),
            Sides::Lower => -deviation.value(),
        }
    }

    /// Whether a deviation lies within the limits, limits included.
    #[must_use]
    pub fn contain(self, deviation: Percent, permissible: Percent) -> bool {
        not_beyond(self.toward_limit(deviation), permissible)
    }

    /// The limits in percent; `None` for a permissible deviation that is not above zero.
    #[must_use]
    pub fn limits(self, permissible: Percent) -> Option<Limits> {
        let value = permissible.value();
        let (lower, upper) = match self {
            Sides::Both => (Some(-value), Some(value)),
            Sides::Upper => (None, Some(value)),
            Sides::Lower => (Some(-value), None),
        };
        Limits::new(lower, upper).ok().filter(|_| value > 0.0)
    }

    /// Permissible deviation in words: `±4 %`, `at most +4 %`, `at least −4 %`.
    #[must_use]
    pub fn words(self, percent: &str) -> String {
        let (bare, below_zero) = bare(percent);
        match (self, below_zero) {
            (Sides::Both, _) => format!("±{percent}"),
            (Sides::Upper, false) => format!("at most +{bare}"),
            (Sides::Upper, true) => format!("at most \u{2212}{bare}"),
            (Sides::Lower, false) => format!("at least \u{2212}{bare}"),
            (Sides::Lower, true) => format!("at least +{bare}"),
        }
    }
}

/// Digits without their sign, and whether it was a minus: an acceptance limit on one side may lie
/// beyond zero.
#[must_use]
pub fn bare(digits: &str) -> (&str, bool) {
    match digits.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (rest, true),
        None => (digits, false),
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
    let limits = Limits::symmetric(limit).ok()?;
    risk::conformity_probability(deviation.value(), standard_uncertainty.value(), &limits).ok()
}
