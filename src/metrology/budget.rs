//! The uncertainty budget of a test point: lines, their combination, the expanded uncertainty.
//!
//! A line says whether its error is drawn anew at each reading or is one error common to all
//! readings and points of a run: a common line is never divided by √n, and counts as fully
//! correlated wherever two points or two runs with one reference are compared.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::coverage::{CoverageError, Freedom, coverage_factor, welch_satterthwaite};
use crate::quantity::Percent;
use crate::rulebook::CoverageRule;

/// An effect of the tool and its handling that is found as a difference of means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Variation {
    /// b_rep: the tool taken off and put back
    Reproducibility,
    /// b_od: the output drive turned in the device
    Drive,
    /// b_int: the adaptor of the device turned
    Interface,
    /// b_l: the hand before and behind the mark on the grip
    LoadingPoint,
}

impl Variation {
    /// Every variation.
    pub const ALL: [Variation; 4] =
        [Variation::Reproducibility, Variation::Drive, Variation::Interface, Variation::LoadingPoint];

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Variation::Reproducibility => "reproducibility",
            Variation::Drive => "output drive",
            Variation::Interface => "interface",
            Variation::LoadingPoint => "loading point",
        }
    }
}

/// What a budget line is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Influence {
    /// the calibration of the reference
    Reference,
    /// the step of the reference's own display, where its certificate leaves it out
    ReferenceResolution,
    /// what the reference may have drifted since its calibration
    ReferenceDrift,
    /// what a straight line between its calibration points may miss
    ReferenceInterpolation,
    /// the reference at another temperature than that of its calibration
    Temperature,
    /// the lag of a low-pass between the transducer and the reading
    Filter,
    /// the tool's own scale or display
    Resolution,
    /// the tool taken off and put back
    Reproducibility,
    /// the output drive turned
    Drive,
    /// the adaptor turned
    Interface,
    /// the hand before and behind the mark
    LoadingPoint,
    /// the scatter of the readings at the point
    Repeatability,
}

impl Influence {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Influence::Reference => "reference, calibration",
            Influence::ReferenceResolution => "reference, resolution",
            Influence::ReferenceDrift => "reference, drift",
            Influence::ReferenceInterpolation => "reference, interpolation",
            Influence::Temperature => "reference, temperature",
            Influence::Filter => "low-pass filter",
            Influence::Resolution => "resolution of the tool",
            Influence::Reproducibility => "reproducibility",
            Influence::Drive => "output drive",
            Influence::Interface => "interface",
            Influence::LoadingPoint => "loading point",
            Influence::Repeatability => "repeatability",
        }
    }

    /// The symbol of its standard uncertainty.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Influence::Reference => "w_ref",
            Influence::ReferenceResolution => "w_rr",
            Influence::ReferenceDrift => "w_dr",
            Influence::ReferenceInterpolation => "w_ip",
            Influence::Temperature => "w_T",
            Influence::Filter => "w_f",
            Influence::Resolution => "w_r",
            Influence::Reproducibility => "w_rep",
            Influence::Drive => "w_od",
            Influence::Interface => "w_int",
            Influence::LoadingPoint => "w_l",
            Influence::Repeatability => "w_s",
        }
    }

    /// The line that a variation makes.
    #[must_use]
    pub const fn of_variation(variation: Variation) -> Influence {
        match variation {
            Variation::Reproducibility => Influence::Reproducibility,
            Variation::Drive => Influence::Drive,
            Variation::Interface => Influence::Interface,
            Variation::LoadingPoint => Influence::LoadingPoint,
        }
    }
}

impl fmt::Display for Influence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// The probability distribution that a line's error is taken to have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Distribution {
    /// normal; the value is an expanded uncertainty or a standard deviation
    Normal,
    /// rectangular; the value is its half width
    Rectangular,
}

/// Whether an error is drawn anew at each reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Scope {
    /// anew at each reading
    PerReading,
    /// one error for all readings and points of the run
    Common,
}

/// One line of a budget, relative to the reference torque at the point.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetLine {
    /// what it is about
    pub influence: Influence,
    /// the value that it starts from: expanded uncertainty, half width or standard deviation
    pub value: Percent,
    /// its distribution
    pub distribution: Distribution,
    /// what the value is divided by
    pub divisor: f64,
    /// how well the standard uncertainty is known
    pub freedom: Freedom,
    /// whether it is one error for all readings
    pub scope: Scope,
    /// where the value comes from: a certificate, this run, a study
    pub source: String,
}

impl BudgetLine {
    /// A rectangular line from its half width (GUM 4.3.7: divisor √3). Its bounds are taken as
    /// known, so its degrees of freedom are infinite (GUM G.4.3).
    #[must_use]
    pub fn rectangular(
        influence: Influence,
        half_width: Percent,
        scope: Scope,
        source: impl Into<String>,
    ) -> BudgetLine {
        BudgetLine {
            influence,
            value: half_width,
            distribution: Distribution::Rectangular,
            divisor: 3.0_f64.sqrt(),
            freedom: Freedom::Infinite,
            scope,
            source: source.into(),
        }
    }

    /// A normal line from an expanded uncertainty or a standard deviation and its divisor.
    #[must_use]
    pub fn normal(
        influence: Influence,
        value: Percent,
        divisor: f64,
        freedom: Freedom,
        scope: Scope,
        source: impl Into<String>,
    ) -> BudgetLine {
        BudgetLine {
            influence,
            value,
            distribution: Distribution::Normal,
            divisor,
            freedom,
            scope,
            source: source.into(),
        }
    }

    /// Its relative standard uncertainty.
    #[must_use]
    pub fn standard(&self) -> Percent {
        Percent::new(self.value.value() / self.divisor)
    }
}

/// The budget of one test point.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Budget {
    /// its lines
    pub lines: Vec<BudgetLine>,
    /// what the rulebook asks for and nobody measured: a budget that misses a line is not complete,
    /// and its sum is a lower bound only
    pub missing: Vec<Influence>,
}

/// A budget, combined.
#[derive(Debug, Clone, PartialEq)]
pub struct Combined {
    /// combined relative standard uncertainty w
    pub standard: Percent,
    /// effective degrees of freedom
    pub freedom: Freedom,
    /// share of each line in the variance, 0 to 1, in the order of the lines
    pub shares: Vec<f64>,
}

/// A combined budget, expanded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expanded {
    /// the coverage factor that was used
    pub k: f64,
    /// the coverage factor that the effective degrees of freedom ask for
    pub k_effective: f64,
    /// expanded relative uncertainty W = k w
    pub expanded: Percent,
}

impl Budget {
    /// Whether every line that the rulebook asks for is there.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.missing.is_empty()
    }

    /// Root sum of squares of the lines, which are independent of each other, and the effective
    /// degrees of freedom (GUM 5.1.2 and G.4.1).
    #[must_use]
    pub fn combine(&self) -> Combined {
        let contributions: Vec<(f64, Freedom)> =
            self.lines.iter().map(|line| (line.standard().value(), line.freedom)).collect();
        let variance: f64 = contributions.iter().map(|(u, _)| u * u).sum();
        let shares =
            contributions.iter().map(|(u, _)| if variance > 0.0 { u * u / variance } else { 0.0 }).collect();
        Combined {
            standard: Percent::new(variance.sqrt()),
            freedom: welch_satterthwaite(&contributions),
            shares,
        }
    }
}

impl Combined {
    /// The expanded uncertainty for a coverage probability in percent.
    ///
    /// # Errors
    /// [`CoverageError`] when there is no coverage factor for these degrees of freedom.
    pub fn expand(&self, probability: f64, rule: CoverageRule) -> Result<Expanded, CoverageError> {
        let k_effective = coverage_factor(probability, self.freedom)?;
        let k = match rule {
            CoverageRule::Fixed(k) => k,
            CoverageRule::Effective => k_effective,
        };
        Ok(Expanded { k, k_effective, expanded: Percent::new(k * self.standard.value()) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(percent: f64) -> BudgetLine {
        BudgetLine::normal(
            Influence::Reference,
            Percent::new(percent),
            1.0,
            Freedom::Infinite,
            Scope::Common,
            "test",
        )
    }

    #[test]
    fn shares_sum_to_one() {
        let budget = Budget { lines: vec![line(3.0), line(4.0)], missing: vec![] };
        let combined = budget.combine();
        assert!((combined.standard.value() - 5.0).abs() < 1e-12);
        assert!((combined.shares[0] - 0.36).abs() < 1e-12);
        assert!((combined.shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn an_empty_budget_has_no_uncertainty_and_no_shares() {
        let combined = Budget::default().combine();
        assert_eq!(combined.standard, Percent::ZERO);
        assert_eq!(combined.freedom, Freedom::Infinite);
        assert!(combined.shares.is_empty());
    }
}
