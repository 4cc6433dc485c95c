//! Models: how a trial of the measurand comes from a trial of its inputs.

use super::distribution::Distribution;
use super::joint::JointNormal;
use super::moments::Exist;
use super::shape::Shape;
use super::stream::Stream;

/// A measurand that trials can be drawn of.
pub trait Model: Sync {
    /// Overwrites every value with a trial. Equal streams and lengths give equal values.
    fn draw(&self, stream: &mut Stream, values: &mut [f64]);

    /// Which moments the measurand has.
    fn exist(&self) -> Exist;
}

/// An input of a linear model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    /// its distribution
    pub distribution: Distribution,
    /// its sensitivity coefficient c (GUM 5.1.3)
    pub sensitivity: f64,
}

/// y = offset + Σ cᵢxᵢ.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LinearModel {
    constant: f64,
    /// the standard form of each input that varies, and what a unit of it does to y
    terms: Vec<(f64, Shape)>,
}

impl LinearModel {
    /// From a constant and independent inputs.
    #[must_use]
    pub fn new(offset: f64, inputs: &[Input]) -> LinearModel {
        inputs
            .iter()
            .fold(LinearModel { constant: offset, terms: Vec::new() }, |model, input| model.and(*input))
    }

    /// With one input more.
    #[must_use]
    pub fn and(mut self, input: Input) -> LinearModel {
        self.constant += input.sensitivity * input.distribution.centre;
        let factor = input.sensitivity * input.distribution.spread;
        if factor != 0.0 {
            self.terms.push((factor, input.distribution.shape));
        }
        self
    }

    /// With correlated normal inputs more; `None` when there are not as many sensitivities as
    /// inputs. Only their sum reaches y, and that is one normal input ([`JointNormal::project`]).
    #[must_use]
    pub fn and_joint(mut self, joint: &JointNormal, sensitivities: &[f64]) -> Option<LinearModel> {
        let (mean, standard_deviation) = joint.project(sensitivities)?;
        self.constant += mean;
        if standard_deviation > 0.0 {
            self.terms.push((standard_deviation, Shape::Normal));
        }
        Some(self)
    }

    /// The standard deviation of y in closed form; `None` where an input has none.
    #[must_use]
    pub fn standard_deviation(&self) -> Option<f64> {
        let variance: Option<f64> =
            self.terms.iter().map(|(factor, shape)| shape.variance().map(|v| factor * factor * v)).sum();
        variance.map(f64::sqrt)
    }
}

impl Model for LinearModel {
    fn draw(&self, stream: &mut Stream, values: &mut [f64]) {
        values.fill(self.constant);
        for (factor, shape) in &self.terms {
            shape.add(*factor, &mut stream.generator, values);
        }
    }

    fn exist(&self) -> Exist {
        self.terms.iter().map(|(_, shape)| shape.exist()).min().unwrap_or(Exist::MeanAndVariance)
    }
}

/// Where one input, or several at once, come from.
#[derive(Debug, Clone, PartialEq)]
pub enum Source {
    /// one input, independent of all others
    Alone(Distribution),
    /// several inputs, jointly normal
    Joint(JointNormal),
}

/// y = f(x), for any f.
#[derive(Debug, Clone)]
pub struct FunctionModel<F> {
    sources: Vec<Source>,
    function: F,
}

impl<F: Fn(&[f64]) -> f64 + Sync> FunctionModel<F> {
    /// The function is handed the inputs in the order of their sources.
    pub fn new(sources: Vec<Source>, function: F) -> FunctionModel<F> {
        FunctionModel { sources, function }
    }
}

impl<F: Fn(&[f64]) -> f64 + Sync> Model for FunctionModel<F> {
    fn draw(&self, stream: &mut Stream, values: &mut [f64]) {
        let arity = self.sources.iter().map(|source| match source {
            Source::Alone(_) => 1,
            Source::Joint(joint) => joint.len(),
        });
        let mut inputs = vec![0.0; arity.sum()];
        for value in values {
            let mut at = 0;
            for source in &self.sources {
                match source {
                    Source::Alone(one) => {
                        inputs[at] = one.centre + one.spread * one.shape.draw(&mut stream.generator);
                        at += 1;
                    }
                    Source::Joint(joint) => {
                        joint.draw(stream, &mut inputs[at..at + joint.len()]);
                        at += joint.len();
                    }
                }
            }
            *value = (self.function)(&inputs);
        }
    }

    /// The least of the inputs': nobody knows what f makes of them.
    fn exist(&self) -> Exist {
        let least = self.sources.iter().filter_map(|source| match source {
            Source::Alone(one) => Some(one.exist()),
            Source::Joint(_) => None,
        });
        least.min().unwrap_or(Exist::MeanAndVariance)
    }
}
