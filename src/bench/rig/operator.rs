//! The person who pulls.

/// What may be wrong with a pull on purpose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mistake {
    /// far too fast
    TooFast,
    /// in jerks, between which the torque falls
    Jerky,
    /// let go before the target
    StopsShort,
    /// pulled a second time without letting go
    PullsTwice,
}

/// How often what goes wrong, as probabilities of a pull; together at most 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Mistakes {
    /// of [`Mistake::TooFast`]
    pub too_fast: f64,
    /// of [`Mistake::Jerky`]
    pub jerky: f64,
    /// of [`Mistake::StopsShort`]
    pub stops_short: f64,
    /// of [`Mistake::PullsTwice`]
    pub pulls_twice: f64,
}

impl Mistakes {
    /// Each with the same probability.
    #[must_use]
    pub fn each(probability: f64) -> Mistakes {
        Mistakes {
            too_fast: probability,
            jerky: probability,
            stops_short: probability,
            pulls_twice: probability,
        }
    }

    /// The mistake that a number from 0 to 1 stands for.
    pub(crate) fn pick(&self, unit: f64) -> Option<Mistake> {
        let mut below = 0.0;
        for (share, mistake) in self.shares() {
            below += share;
            if unit < below {
                return Some(mistake);
            }
        }
        None
    }

    pub(crate) fn shares(&self) -> [(f64, Mistake); 4] {
        [
            (self.too_fast, Mistake::TooFast),
            (self.jerky, Mistake::Jerky),
            (self.stops_short, Mistake::StopsShort),
            (self.pulls_twice, Mistake::PullsTwice),
        ]
    }
}

/// A person at the bench. Common practice, no published source; the tremor of 8 Hz to 12 Hz is that of
/// physiology textbooks, from memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Operator {
    /// what the profile is called
    pub name: &'static str,
    /// from the start to 80 % of the target, s
    pub approach_s: f64,
    /// from 80 % to 100 %, s
    pub loading_s: f64,
    /// spread of all times from pull to pull, % (standard deviation)
    pub spread_percent: f64,
    /// the hand changes its speed with this time constant, s
    pub smoothing_s: f64,
    /// from the release until the hand has noticed it, s
    pub reaction_s: f64,
    /// how far the hand means to go on, % of the target
    pub over_pull_percent: f64,
    /// how long it holds before it lets go, s
    pub hold_s: f64,
    /// how long letting go takes, s
    pub let_go_s: f64,
    /// amplitude of the tremor, % of the torque
    pub tremor_percent: f64,
    /// its lowest and highest frequency, Hz
    pub tremor_hz: (f64, f64),
    /// amplitude of the slow unsteadiness (0.5 Hz to 3 Hz), % of the torque
    pub wobble_percent: f64,
    /// the point at which this hand grips changes the release torque by so much, %
    pub grip_percent: f64,
    /// how often what goes wrong
    pub mistakes: Mistakes,
}

impl Operator {
    /// A person with practice.
    #[must_use]
    pub fn steady() -> Operator {
        Operator {
            name: "steady",
            approach_s: 1.0,
            loading_s: 2.2,
            spread_percent: 12.0,
            smoothing_s: 0.06,
            reaction_s: 0.18,
            over_pull_percent: 0.0,
            hold_s: 0.3,
            let_go_s: 0.25,
            tremor_percent: 0.03,
            tremor_hz: (8.0, 12.0),
            wobble_percent: 0.15,
            grip_percent: 0.0,
            mistakes: Mistakes::default(),
        }
    }

    /// A person in a hurry.
    #[must_use]
    pub fn hasty() -> Operator {
        Operator {
            name: "hasty",
            approach_s: 0.5,
            loading_s: 1.2,
            spread_percent: 20.0,
            smoothing_s: 0.04,
            reaction_s: 0.22,
            over_pull_percent: 0.5,
            hold_s: 0.1,
            let_go_s: 0.12,
            tremor_percent: 0.06,
            grip_percent: 0.15,
            mistakes: Mistakes { too_fast: 0.06, jerky: 0.01, stops_short: 0.01, pulls_twice: 0.01 },
            ..Operator::steady()
        }
    }

    /// A person who pulls on after the click.
    #[must_use]
    pub fn heavy_handed() -> Operator {
        Operator {
            name: "heavy-handed",
            reaction_s: 0.3,
            over_pull_percent: 8.0,
            hold_s: 0.5,
            tremor_percent: 0.05,
            grip_percent: -0.1,
            mistakes: Mistakes { too_fast: 0.01, jerky: 0.01, stops_short: 0.0, pulls_twice: 0.04 },
            ..Operator::steady()
        }
    }

    /// A person who trembles.
    #[must_use]
    pub fn unsteady() -> Operator {
        Operator {
            name: "unsteady",
            spread_percent: 25.0,
            reaction_s: 0.25,
            over_pull_percent: 1.0,
            tremor_percent: 0.2,
            wobble_percent: 0.8,
            grip_percent: 0.1,
            mistakes: Mistakes { too_fast: 0.01, jerky: 0.06, stops_short: 0.03, pulls_twice: 0.01 },
            ..Operator::steady()
        }
    }

    /// All profiles.
    #[must_use]
    pub fn all() -> [Operator; 4] {
        [Operator::steady(), Operator::hasty(), Operator::heavy_handed(), Operator::unsteady()]
    }

    /// The profile of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<Operator> {
        Operator::all().into_iter().find(|operator| operator.name == name)
    }
}
