//! The decision rules that laboratory and customer may agree on.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The kinds of decision rules that a rulebook may allow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RuleKind {
    /// the mean deviation of each point within the limits, uncertainty not considered
    Simple,
    /// the mean deviation of each point within the limits less r times the expanded uncertainty
    Guarded,
    /// every single reading within the limits (the rule of ISO 6789-1)
    EachReading,
    /// the specific risk of a wrong acceptance at most p
    Risk,
    /// pass, conditional pass, conditional fail, fail
    FourState,
    /// the probability of a false acceptance, over all tools under a stated prior, at most p
    Capped,
}

impl RuleKind {
    /// Every kind.
    pub const ALL: [RuleKind; 6] = [
        RuleKind::Simple,
        RuleKind::Guarded,
        RuleKind::EachReading,
        RuleKind::Risk,
        RuleKind::FourState,
        RuleKind::Capped,
    ];

    /// The word that asks for it in `run.toml`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            RuleKind::Simple => "simple",
            RuleKind::Guarded => "guarded",
            RuleKind::EachReading => "each-reading",
            RuleKind::Risk => "risk",
            RuleKind::FourState => "four-state",
            RuleKind::Capped => "capped",
        }
    }

    /// Whether the measurement uncertainty takes part in the verdict.
    #[must_use]
    pub const fn needs_uncertainty(self) -> bool {
        match self {
            RuleKind::Simple | RuleKind::EachReading => false,
            RuleKind::Guarded | RuleKind::Risk | RuleKind::FourState | RuleKind::Capped => true,
        }
    }
}

impl fmt::Display for RuleKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A decision rule, agreed with the customer before the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DecisionRule {
    /// ILAC-G8:09/2019, 4.2.1: binary, guard band zero, on the mean deviation
    Simple,
    /// ILAC-G8:09/2019, 4.2.2: binary, guard band w = r U, on the mean deviation
    Guarded {
        /// r; 1 where nothing else is said
        ratio: f64,
    },
    /// ISO 6789-1: every single reading within the limits; the accuracy of the reference is held
    /// by the demand that it be a quarter of the limit or better
    EachReading,
    /// JCGM 106:2012, 8.3.2: the specific consumer's risk of an accepted mean at most p
    Risk {
        /// p, in percent
        percent_max: f64,
    },
    /// ILAC-G8:09/2019, 4.2.3: four states with a guard band w = U on both sides of each limit
    FourState,
    /// JCGM 106:2012, 9.5: the joint probability of not conforming and being accepted, over all
    /// tools under a prior, at most p (2 % in ANSI/NCSL Z540.3-2006, 5.3 b)
    Capped {
        /// p, in percent
        percent_max: f64,
    },
}

/// Wider guard bands than ten times the uncertainty are slips of the pen.
const RATIO_MAX: f64 = 10.0;
/// A cap above one half protects nobody (and `risk` refuses it).
const PERCENT_MAX: f64 = 50.0;

impl DecisionRule {
    /// Guarded acceptance with w = U.
    pub const GUARDED: DecisionRule = DecisionRule::Guarded { ratio: 1.0 };

    /// The rules that `--under all` compares: one of each kind with its usual number, and the
    /// guard bands whose risks ILAC-G8 tabulates.
    pub const COMPARED: [DecisionRule; 8] = [
        DecisionRule::Simple,
        DecisionRule::EachReading,
        DecisionRule::Guarded { ratio: 0.83 },
        DecisionRule::GUARDED,
        DecisionRule::Guarded { ratio: 1.5 },
        DecisionRule::Risk { percent_max: 5.0 },
        DecisionRule::FourState,
        DecisionRule::Capped { percent_max: 2.0 },
    ];

    /// How `run.toml` may say it, one example a kind.
    pub const EXAMPLES: [&'static str; 7] =
        ["simple", "guarded", "guarded 0.83", "each-reading", "risk 5 %", "four-state", "capped 2 %"];

    /// Its kind.
    #[must_use]
    pub const fn kind(self) -> RuleKind {
        match self {
            DecisionRule::Simple => RuleKind::Simple,
            DecisionRule::Guarded { .. } => RuleKind::Guarded,
            DecisionRule::EachReading => RuleKind::EachReading,
            DecisionRule::Risk { .. } => RuleKind::Risk,
            DecisionRule::FourState => RuleKind::FourState,
            DecisionRule::Capped { .. } => RuleKind::Capped,
        }
    }

    /// Reads the words of `run.toml`: a kind, and its number where it has one. `guarded` alone is
    /// w = U, `capped` alone 2 %; `risk` needs its number.
    #[must_use]
    pub fn parse(words: &str) -> Option<DecisionRule> {
        let words = words.trim().to_ascii_lowercase().replace('_', "-");
        let split = words.find(|c: char| c.is_ascii_digit()).unwrap_or(words.len());
        let (kind, number) = words.split_at(split);
        let kind = kind.trim().trim_end_matches('=').trim_end();
        let kind = kind.strip_suffix(" r").unwrap_or(kind).trim_end().replace(' ', "-");
        let (digits, has_sign) = match number.trim().strip_suffix('%') {
            Some(digits) => (digits.trim(), true),
            None => (number.trim(), false),
        };
        let value = if digits.is_empty() { None } else { Some(digits.parse::<f64>().ok()?) };
        let percent = value.filter(|p| has_sign && *p > 0.0 && *p <= PERCENT_MAX);
        match (kind.as_str(), value) {
            ("simple", None) => Some(DecisionRule::Simple),
            ("each-reading", None) => Some(DecisionRule::EachReading),
            ("four-state", None) => Some(DecisionRule::FourState),
            ("guarded", None) => Some(DecisionRule::GUARDED),
            ("guarded", Some(ratio)) if !has_sign && ratio > 0.0 && ratio <= RATIO_MAX => {
                Some(DecisionRule::Guarded { ratio })
            }
            ("risk", Some(_)) => percent.map(|percent_max| DecisionRule::Risk { percent_max }),
            ("capped", None) => Some(DecisionRule::Capped { percent_max: 2.0 }),
            ("capped", Some(_)) => percent.map(|percent_max| DecisionRule::Capped { percent_max }),
            _ => None,
        }
    }

    /// Whether the measurement uncertainty takes part in the verdict.
    #[must_use]
    pub const fn needs_uncertainty(self) -> bool {
        self.kind().needs_uncertainty()
    }

    /// Whether it judges by a prior of the tools.
    #[must_use]
    pub const fn needs_prior(self) -> bool {
        matches!(self, DecisionRule::Capped { .. })
    }

    /// The rule in words, as the certificate prints it.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            DecisionRule::Simple => {
                "Simple acceptance: a test point passes when its mean deviation lies within the limits, \
                 limits included. The expanded uncertainty is stated and takes no part in the verdict; \
                 at the limit itself the probability of a wrong acceptance is up to 50 %."
                    .to_owned()
            }
            DecisionRule::Guarded { ratio } => format!(
                "Guarded acceptance: a test point passes when its mean deviation lies within the limits \
                 reduced on each side by a guard band {}. {}",
                if is_one(ratio) {
                    "equal to the expanded uncertainty, w = U".to_owned()
                } else {
                    format!("of {ratio} times the expanded uncertainty, w = {ratio} U")
                },
                if ratio >= 1.0 {
                    "Where the uncertainty is well known and small beside the limits, the probability \
                     of a wrong acceptance is then under 2.5 %; it is stated for each point."
                } else {
                    "The probability of a wrong acceptance is stated for each point."
                }
            ),
            DecisionRule::EachReading => {
                "Each reading: a test point passes when every single valid reading deviates by no more \
                 than the limits, limits included. Measurement uncertainty takes no part in the verdict; \
                 the reference is held to its required share of the limit."
                    .to_owned()
            }
            DecisionRule::Risk { percent_max } => format!(
                "Limited risk: a test point passes when the probability that its true deviation lies \
                 outside the limits, given this measurement, is at most {percent_max} %."
            ),
            DecisionRule::FourState => {
                "Four states, with a guard band equal to the expanded uncertainty, w = U, on both sides of \
                 each limit: pass, when the mean deviation lies within the limits by at least the guard \
                 band; conditional pass, when it lies within them by less; conditional fail, when it lies \
                 outside by no more than the guard band; fail, when it lies farther outside."
                    .to_owned()
            }
            DecisionRule::Capped { percent_max } => format!(
                "Capped false acceptance: a test point passes when its mean deviation lies within the \
                 limits reduced by the least guard band for which, over all tools under the stated prior, \
                 the probability of not conforming and being accepted is at most {percent_max} %."
            ),
        }
    }

    /// Its name on a line of its own, such as `guarded acceptance, w = U`.
    #[must_use]
    pub fn title(self) -> String {
        match self {
            DecisionRule::Simple => "simple acceptance".to_owned(),
            DecisionRule::Guarded { ratio } if is_one(ratio) => "guarded acceptance, w = U".to_owned(),
            DecisionRule::Guarded { ratio } => format!("guarded acceptance, w = {ratio} U"),
            DecisionRule::EachReading => "each reading".to_owned(),
            DecisionRule::Risk { percent_max } => format!("limited risk, at most {percent_max} %"),
            DecisionRule::FourState => "four states, w = U".to_owned(),
            DecisionRule::Capped { percent_max } => {
                format!("capped false acceptance, at most {percent_max} %")
            }
        }
    }
}

fn is_one(ratio: f64) -> bool {
    (ratio - 1.0).abs() < f64::EPSILON
}

impl fmt::Display for DecisionRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = self.kind().word();
        match self {
            DecisionRule::Guarded { ratio } if !is_one(*ratio) => write!(f, "{word} {ratio}"),
            DecisionRule::Risk { percent_max } | DecisionRule::Capped { percent_max } => {
                write!(f, "{word} {percent_max} %")
            }
            _ => f.write_str(word),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_example_is_read_and_comes_back() {
        for text in DecisionRule::EXAMPLES {
            let rule = DecisionRule::parse(text);
            assert_eq!(rule.map(|r| r.to_string()).as_deref(), Some(text), "{text}");
        }
        for rule in DecisionRule::COMPARED {
            assert_eq!(DecisionRule::parse(&rule.to_string()), Some(rule));
        }
    }

    #[test]
    fn it_is_read_as_people_write_it() {
        let guarded = DecisionRule::Guarded { ratio: 0.83 };
        assert_eq!(DecisionRule::parse("Guarded r = 0.83"), Some(guarded));
        assert_eq!(DecisionRule::parse("guarded, w = 0.83"), None);
        assert_eq!(DecisionRule::parse("Each reading"), Some(DecisionRule::EachReading));
        assert_eq!(DecisionRule::parse("four state"), Some(DecisionRule::FourState));
        assert_eq!(DecisionRule::parse("risk 2.5%"), Some(DecisionRule::Risk { percent_max: 2.5 }));
        assert_eq!(DecisionRule::parse("capped"), Some(DecisionRule::Capped { percent_max: 2.0 }));
    }

    #[test]
    fn nonsense_is_no_rule() {
        for text in [
            "",
            "guard",
            "guarded 0",
            "guarded 11",
            "guarded 5 %",
            "risk",
            "risk 5",
            "risk 60 %",
            "simple 1",
            "four-state 2",
            "risk 1e3 %",
        ] {
            assert_eq!(DecisionRule::parse(text), None, "{text}");
        }
    }
}
