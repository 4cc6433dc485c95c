//! Propagation of distributions by Monte Carlo, beside the GUM (JCGM 101).
//!
//! A model draws trials from its inputs: [`LinearModel`] for a budget, [`FunctionModel`] for any
//! function. [`simulate`] makes a fixed number of them, [`adaptive`] as many as two digits need
//! (7.9). The values give an estimate, a standard uncertainty and coverage intervals (7.6, 7.7),
//! and [`validate`] judges the interval of the GUM by them (clause 8).
//!
//! The seed is an input and the number of threads changes no bit. Trials are drawn in blocks of a
//! fixed size, each from a stream of its own, and sums are merged in the order of the blocks.
//!
//! Values are made by + − × ÷ and square roots, which are the same on every machine. A logarithm or
//! an exponential of the machine's library comes in at few places: one normal draw in a hundred is
//! kept or rejected by it, one in four thousand made by it, and one t draw in ten kept or rejected
//! by it (none with four degrees of freedom). Two machines whose libraries differ in the last bit
//! may therefore differ in a trial, and hardly ever do.

mod adaptive;
mod coverage;
mod distribution;
mod joint;
mod model;
mod moments;
mod of_budget;
mod shape;
mod simulation;
mod stream;
mod tails;
#[cfg(test)]
mod tests;
mod tolerance;
mod workers;

pub use adaptive::{Adaptive, AdaptiveError, AdaptiveResult, Outcome, Stability, adaptive};
pub use coverage::{Coverage, Interval, IntervalKind, TrialsError};
pub use distribution::{Distribution, DistributionError};
pub use joint::{JointError, JointNormal};
pub use model::{FunctionModel, Input, LinearModel, Model, Source};
pub use moments::Exist;
pub use simulation::{Run, Simulation, SimulationError, simulate};
pub use stream::Stream;
pub use tolerance::{Comparison, GumResult, ToleranceError, Validation, numerical_tolerance, validate};
