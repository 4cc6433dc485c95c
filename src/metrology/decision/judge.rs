//! How a rule judges a test point.

use super::{DecisionRule, Sides, Verdict, Zone, not_beyond, zone_of};
use crate::coverage::Freedom;
use crate::quantity::Percent;
use crate::risk::{
    Acceptance, Belief, GlobalRisk, GuardBand, Limits, Prior, SpecificRisk, global_guard_band, global_risk,
};

/// What was measured at a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// mean deviation
    pub mean: Percent,
    /// the single deviation that lies farthest toward a limit
    pub farthest: Percent,
    /// how well the mean deviation is known; `None` without a whole budget
    pub uncertainty: Option<Uncertainty>,
}

/// How well a mean deviation is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// expanded uncertainty
    pub expanded: Percent,
    /// combined standard uncertainty
    pub standard: Percent,
    /// effective degrees of freedom
    pub freedom: Freedom,
}

/// How far the acceptance limits lie inside the tolerance limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Guard {
    /// so far on each side
    Width(Percent),
    /// no result is accepted
    NothingAccepted,
}

impl Guard {
    /// The width; `None` where nothing is accepted by any width.
    #[must_use]
    pub const fn width(self) -> Option<Percent> {
        match self {
            Guard::Width(width) => Some(width),
            Guard::NothingAccepted => None,
        }
    }

    /// Limit less guard band; `None` where nothing is accepted.
    #[must_use]
    pub fn acceptance(self, limit: Percent) -> Option<Percent> {
        self.width().map(|width| Percent::new(limit.value() - width.value()))
    }
}

/// What a rule says of a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judgement {
    /// the guard band; `None` when the point was not judged
    pub guard: Option<Guard>,
    /// where the judged deviation lies; `None` when the point was not judged
    pub zone: Option<Zone>,
    /// the verdict
    pub verdict: Verdict,
}

impl Judgement {
    /// Of a point that cannot be judged.
    pub const NONE: Judgement = Judgement { guard: None, zone: None, verdict: Verdict::NotJudged };
}

/// How likely a verdict is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct VerdictRisks {
    /// of this result
    pub specific: Option<SpecificRisk>,
    /// over all such tools, where a prior is known
    pub global: Option<GlobalRisk>,
}

impl DecisionRule {
    /// How likely a judgement is wrong. None under `each-reading`: that rule judges single readings,
    /// and these risks are of the mean.
    #[must_use]
    pub fn risks(
        self,
        judgement: &Judgement,
        mean: Percent,
        known: Uncertainty,
        limits: &Limits,
        prior: Option<&Prior>,
    ) -> VerdictRisks {
        let (y, u) = (mean.value(), known.standard.value());
        let Ok(belief) = Belief::new(u, known.freedom) else { return VerdictRisks::default() };
        if self == DecisionRule::EachReading {
            return VerdictRisks::default();
        }
        let specific = match judgement.verdict {
            Verdict::Pass | Verdict::ConditionalPass => {
                belief.outside(y, limits).ok().map(SpecificRisk::Consumer)
            }
            Verdict::Fail | Verdict::ConditionalFail => {
                belief.inside(y, limits).ok().map(SpecificRisk::Producer)
            }
            Verdict::NotJudged => None,
        };
        let acceptance = judgement.guard.map(|guard| match guard {
            Guard::Width(width) => limits.guarded(width.value()),
            Guard::NothingAccepted => Acceptance::Nothing,
        });
        let global = prior
            .zip(acceptance)
            .and_then(|(prior, acceptance)| global_risk(prior, u, limits, &acceptance).ok());
        VerdictRisks { specific, global }
    }

    /// The guard band of the rule for this uncertainty; `None` where the rule needs an uncertainty
    /// or a prior that is not there.
    #[must_use]
    pub fn guard(
        self,
        limit: Percent,
        sides: Sides,
        uncertainty: Option<Uncertainty>,
        prior: Option<&Prior>,
    ) -> Option<Guard> {
        let width = |value: f64| Some(Guard::Width(Percent::new(value)));
        match self {
            DecisionRule::Simple | DecisionRule::EachReading => width(0.0),
            DecisionRule::Guarded { ratio } => width(ratio * uncertainty?.expanded.value()),
            DecisionRule::FourState => width(uncertainty?.expanded.value()),
            DecisionRule::Risk { percent_max } => {
                let known = uncertainty?;
                if known.standard.value() <= 0.0 {
                    return width(0.0);
                }
                let belief = Belief::new(known.standard.value(), known.freedom).ok()?;
                match belief.guard_band(percent_max / 100.0, &sides.limits(limit)?).ok()? {
                    GuardBand::Width(value) => width(value),
                    GuardBand::Unreachable { .. } => Some(Guard::NothingAccepted),
                }
            }
            DecisionRule::Capped { percent_max } => {
                let u = uncertainty?.standard.value();
                if u <= 0.0 {
                    return width(0.0);
                }
                let limits = sides.limits(limit)?;
                width(global_guard_band(percent_max / 100.0, prior?, u, &limits).ok()?)
            }
        }
    }

    /// Judges a point against ±limit, or one side of it.
    #[must_use]
    pub fn judge(
        self,
        measured: &Measured,
        limit: Percent,
        sides: Sides,
        prior: Option<&Prior>,
    ) -> Judgement {
        let Some(guard) = self.guard(limit, sides, measured.uncertainty, prior) else {
            return Judgement::NONE;
        };
        let judged = match self {
            DecisionRule::EachReading => measured.farthest,
            _ => measured.mean,
        };
        let toward = sides.toward_limit(judged);
        let zone = match guard.acceptance(limit) {
            Some(acceptance) => zone_of(toward, limit, acceptance),
            None if not_beyond(toward, limit) => Zone::GuardBand,
            None => Zone::Outside,
        };
        let verdict = match (self, zone) {
            (_, Zone::Accepted) => Verdict::Pass,
            (DecisionRule::FourState, Zone::GuardBand) => Verdict::ConditionalPass,
            (DecisionRule::FourState, Zone::Outside)
                if guard
                    .width()
                    .is_some_and(|w| not_beyond(toward, Percent::new(limit.value() + w.value()))) =>
            {
                Verdict::ConditionalFail
            }
            (_, Zone::GuardBand | Zone::Outside) => Verdict::Fail,
        };
        Judgement { guard: Some(guard), zone: Some(zone), verdict }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn known(expanded: f64) -> Uncertainty {
        Uncertainty {
            expanded: Percent::new(expanded),
            standard: Percent::new(expanded / 2.0),
            freedom: Freedom::Infinite,
        }
    }

    fn verdict(rule: DecisionRule, mean: f64, sides: Sides) -> Verdict {
        let measured = Measured {
            mean: Percent::new(mean),
            farthest: Percent::new(mean),
            uncertainty: Some(known(0.8)),
        };
        let prior = Prior::normal(0.0, 2.0).unwrap();
        rule.judge(&measured, Percent::new(4.0), sides, Some(&prior)).verdict
    }

    #[test]
    fn four_states_about_each_limit() {
        let of = |mean| verdict(DecisionRule::FourState, mean, Sides::Both);
        assert_eq!(of(-3.2), Verdict::Pass);
        assert_eq!(of(3.21), Verdict::ConditionalPass);
        assert_eq!(of(-4.0), Verdict::ConditionalPass);
        assert_eq!(of(4.01), Verdict::ConditionalFail);
        assert_eq!(of(-4.8), Verdict::ConditionalFail);
        assert_eq!(of(4.81), Verdict::Fail);
    }

    #[test]
    fn one_side_lets_the_other_go() {
        for rule in DecisionRule::COMPARED {
            assert_eq!(verdict(rule, -30.0, Sides::Upper), Verdict::Pass, "{rule}");
            assert_eq!(verdict(rule, 30.0, Sides::Upper), Verdict::Fail, "{rule}");
            assert_eq!(verdict(rule, 30.0, Sides::Lower), Verdict::Pass, "{rule}");
            assert_eq!(verdict(rule, -30.0, Sides::Both), Verdict::Fail, "{rule}");
        }
    }

    #[test]
    fn a_rule_without_what_it_needs_does_not_judge() {
        let measured = Measured { mean: Percent::ZERO, farthest: Percent::ZERO, uncertainty: None };
        for rule in DecisionRule::COMPARED {
            let verdict = rule.judge(&measured, Percent::new(4.0), Sides::Both, None).verdict;
            let wanted = if rule.needs_uncertainty() { Verdict::NotJudged } else { Verdict::Pass };
            assert_eq!(verdict, wanted, "{rule}");
        }
        let with = Measured { uncertainty: Some(known(0.8)), ..measured };
        let capped = DecisionRule::Capped { percent_max: 2.0 };
        assert_eq!(capped.judge(&with, Percent::new(4.0), Sides::Both, None), Judgement::NONE);
    }

    #[test]
    fn an_uncertainty_beyond_the_limit_lets_nothing_be_accepted() {
        let measured =
            Measured { mean: Percent::ZERO, farthest: Percent::ZERO, uncertainty: Some(known(10.0)) };
        for rule in [DecisionRule::GUARDED, DecisionRule::Risk { percent_max: 5.0 }] {
            let judged = rule.judge(&measured, Percent::new(4.0), Sides::Both, None);
            assert_eq!((judged.zone, judged.verdict), (Some(Zone::GuardBand), Verdict::Fail), "{rule}");
        }
    }
}
