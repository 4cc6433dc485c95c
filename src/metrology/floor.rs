//! The floor: the lowest torque from which on this tool can be shown to conform at all under the
//! chosen rule. It is the highest of several floors, each with its own cause.
//!
//! - **step**: one step of the display is at most the rulebook's share of the permissible deviation
//!   (ISO 6789-1:2017: a quarter);
//! - **scatter**: what scatter alone takes stays inside the limit: of single readings, or under a
//!   guard band of their mean;
//! - **reference**: its expanded uncertainty is at most its share of the limit, inside its range;
//! - **guard band**: under a rule with a guard band, that band is no wider than the limit, so that a
//!   tool without any deviation would pass.
//!
//! Below the lowest test point the scatter and the steps are taken as the same torque, and the
//! variations (reproducibility, drive, interface, loading point) as the rulebook carries them; the lag
//! of a low-pass keeps its percentage, as a pull of the same duration gives it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::budget::{Influence, Scope};
use crate::coverage::coverage_factor;
use crate::decision::{DecisionRule, Uncertainty};
use crate::evaluate::{PointResult, PointUncertainty};
use crate::quantity::{Percent, Torque};
use crate::reading::Direction;
use crate::reference::Reference;
use crate::risk::Prior;
use crate::rulebook::{Carried, Rulebook};
use crate::run::Run;

/// What sets a floor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FloorCause {
    /// one step of the tool's display or scale
    Step,
    /// the scatter of its readings
    Scatter,
    /// the reference
    Reference,
    /// the guard band of the rule
    GuardBand,
}

impl FloorCause {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            FloorCause::Step => "the step of the tool's scale or display",
            FloorCause::Scatter => "the scatter of the readings",
            FloorCause::Reference => "the reference",
            FloorCause::GuardBand => "the guard band of the decision rule",
        }
    }
}

/// How high a floor is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Height {
    /// it does not bind anywhere in the range
    BelowRange,
    /// from this torque on, in newton metres
    From(Torque),
    /// not even at the maximum of the tool
    AboveRange,
}

impl Height {
    fn rank(self) -> f64 {
        match self {
            Height::BelowRange => 0.0,
            Height::From(torque) => torque.newton_metres(),
            Height::AboveRange => f64::INFINITY,
        }
    }
}

/// One floor.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FloorPart {
    /// what sets it
    pub cause: FloorCause,
    /// how high it is
    pub height: Height,
}

/// The floor of a tool.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Floor {
    /// the highest of the parts
    pub height: Height,
    /// which part that is; `None` when none binds in the range
    pub binding: Option<FloorCause>,
    /// every floor that was looked at
    pub parts: Vec<FloorPart>,
}

/// Finds the floor from the evaluated points.
#[must_use]
pub fn floor(
    run: &Run,
    rulebook: &Rulebook,
    reference: &Reference,
    limit: Percent,
    rule: Option<DecisionRule>,
    prior: Option<&Prior>,
    points: &[PointResult],
) -> Floor {
    let span = Span {
        lower: run.tool.range.lower.torque().newton_metres(),
        upper: run.tool.range.upper.torque().newton_metres(),
    };
    let of_mean = rule.is_some_and(DecisionRule::needs_uncertainty);
    let mut parts = Vec::new();
    if let Some(resolution) = run.tool.resolution {
        let share = limit.fraction() * rulebook.resolution_share.value / 100.0;
        let torque = resolution.torque().newton_metres() / share;
        parts.push(FloorPart { cause: FloorCause::Step, height: span.height(torque) });
    }
    let probability = rulebook.budget.as_ref().map_or(95.45, |plan| plan.probability.value);
    let carried = rulebook.budget.as_ref().map_or(Carried::Relative, |plan| plan.carried.value);
    let scatter = span.lowest(|x| scatter_at(points, x, of_mean, probability) <= limit.value());
    parts.push(FloorPart { cause: FloorCause::Scatter, height: scatter });
    let share = Percent::new(limit.value() * rulebook.reference_share.value / 100.0);
    let directions = run.directions();
    let fit = |x: f64| directions.iter().all(|d| reference_fits(reference, *d, x, share));
    parts.push(FloorPart { cause: FloorCause::Reference, height: span.lowest(fit) });
    if let Some(rule) = rule.filter(|rule| rule.needs_uncertainty()) {
        let fits = |x: f64| {
            points
                .iter()
                .filter_map(|p| p.uncertainty.as_ref().map(|u| (p, u)))
                .filter(|(p, _)| is_nearest(points, p, x))
                .all(|(p, u)| {
                    let standard = standard_at(p, u, reference, carried, x);
                    let known = Uncertainty {
                        expanded: Percent::new(u.expanded.k * standard),
                        standard: Percent::new(standard),
                        freedom: u.combined.freedom,
                    };
                    let guard = rule.guard(limit, run.sides, Some(known), prior);
                    guard.and_then(|g| g.acceptance(limit)).is_some_and(|a| a.value() >= 0.0)
                })
        };
        parts.push(FloorPart { cause: FloorCause::GuardBand, height: span.lowest(fits) });
    }
    let highest = parts.iter().copied().reduce(|a, b| if b.height.rank() > a.height.rank() { b } else { a });
    let height = highest.map_or(Height::BelowRange, |part| part.height);
    let binding = highest.filter(|part| part.height != Height::BelowRange).map(|part| part.cause);
    Floor { height, binding, parts }
}

/// The tool's range in newton metres.
#[derive(Clone, Copy)]
struct Span {
    lower: f64,
    upper: f64,
}

impl Span {
    fn height(self, torque: f64) -> Height {
        // A millionth is forgiven, as everywhere where torques are compared.
        if torque <= self.lower * (1.0 + 1e-6) {
            Height::BelowRange
        } else if torque <= self.upper * (1.0 + 1e-6) {
            Height::From(Torque::from_newton_metres(torque))
        } else {
            Height::AboveRange
        }
    }

    /// The lowest torque from which on the condition holds up to the maximum: walked down from the
    /// maximum in even ratios, then closed in by halving.
    fn lowest(self, holds: impl Fn(f64) -> bool) -> Height {
        const STEPS: u32 = 64;
        if !holds(self.upper) {
            return Height::AboveRange;
        }
        if !(self.lower > 0.0 && self.lower < self.upper) {
            return Height::BelowRange;
        }
        let ratio = (self.lower / self.upper).powf(1.0 / f64::from(STEPS));
        let mut good = self.upper;
        for step in 1..=STEPS {
            let x = if step == STEPS { self.lower } else { good * ratio };
            if holds(x) {
                good = x;
                continue;
            }
            let mut bad = x;
            for _ in 0..60 {
                let middle = f64::midpoint(bad, good);
                if holds(middle) { good = middle } else { bad = middle }
            }
            return self.height(good);
        }
        Height::BelowRange
    }
}

/// Largest share of the limit that scatter takes at a torque, in percent of it: the coverage factor
/// of the rulebook's probability (95.45 % where it states none) at n − 1 degrees of freedom times the standard deviation, of single readings or,
/// under a guard band, of their mean.
fn scatter_at(points: &[PointResult], x: f64, of_mean: bool, probability: f64) -> f64 {
    points
        .iter()
        .filter(|p| is_nearest(points, p, x))
        .filter_map(|p| {
            let s = p.standard_deviation?.fraction() * p.mean_reference.newton_metres();
            let n = p.readings.len() as f64;
            let k = coverage_factor(probability, crate::coverage::Freedom::Finite(n - 1.0)).ok()?;
            let divisor = if of_mean { n.sqrt() } else { 1.0 };
            Some(k * s / divisor / x * 100.0)
        })
        .fold(0.0, f64::max)
}

/// Whether a point is the one that speaks for a torque: the highest at or below it in its
/// direction, or the lowest of all when the torque is below every point.
fn is_nearest(points: &[PointResult], point: &PointResult, x: f64) -> bool {
    let of_direction = || {
        points.iter().filter(|p| p.direction == point.direction).map(|p| p.target.torque().newton_metres())
    };
    let below = of_direction().filter(|t| *t <= x * (1.0 + 1e-6)).fold(f64::NEG_INFINITY, f64::max);
    let speaks = if below.is_finite() { below } else { of_direction().fold(f64::INFINITY, f64::min) };
    Torque::from_newton_metres(speaks).same_as(point.target.torque())
}

fn reference_fits(reference: &Reference, direction: Direction, x: f64, share: Percent) -> bool {
    let torque = Torque::from_newton_metres(x);
    reference.range.contains(torque)
        && reference.relative_expanded(direction, torque).is_ok_and(|w| w <= share)
}

/// The combined standard uncertainty that a point's budget would have at another torque: steps and scatter
/// keep their torque, the reference follows its curve, everything else keeps its percentage.
fn standard_at(
    point: &PointResult,
    uncertainty: &PointUncertainty,
    reference: &Reference,
    carried: Carried,
    x: f64,
) -> f64 {
    let scale = point.mean_reference.newton_metres() / x;
    let variance: f64 = uncertainty
        .budget
        .lines
        .iter()
        .map(|line| {
            let standard = line.standard().value();
            let moved = match line.influence {
                Influence::Reference => reference
                    .relative_expanded(point.direction, Torque::from_newton_metres(x))
                    .map_or(f64::INFINITY, |w| w.value() / 2.0),
                Influence::ReferenceResolution => standard * scale,
                Influence::Reproducibility
                | Influence::Drive
                | Influence::Interface
                | Influence::LoadingPoint
                    if carried == Carried::Absolute =>
                {
                    standard * scale
                }
                _ if line.scope == Scope::PerReading => standard * scale,
                _ => standard,
            };
            moved * moved
        })
        .sum();
    variance.sqrt()
}
