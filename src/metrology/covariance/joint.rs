//! The joint budget of several results: their errors, each with its size in every result.

use super::{CovarianceError, CovarianceMatrix, share};
use crate::budget::{Budget, Influence};
use crate::coverage::{Freedom, welch_satterthwaite};
use crate::evaluate::PointResult;
use crate::quantity::{Percent, Torque};
use crate::reading::Direction;
use crate::reference::Reference;

/// One result of a joint budget: the mean deviation of a point in a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Member<'a> {
    /// a number for the run: results of one run have the same
    pub run: usize,
    /// the reference, by the laboratory's name for it
    pub reference: &'a str,
    /// its calibration certificate: a calibration anew is another error
    pub certificate: &'a str,
    /// the direction
    pub direction: Direction,
    /// the test point
    pub torque: Torque,
    /// the budget of the mean deviation
    pub budget: &'a Budget,
}

impl<'a> Member<'a> {
    /// The points of an evaluated run.
    ///
    /// # Errors
    /// [`CovarianceError::NoBudget`] for a point without a complete budget.
    pub fn of_run(
        run: usize,
        reference: &'a Reference,
        points: &'a [PointResult],
    ) -> Result<Vec<Member<'a>>, CovarianceError> {
        points
            .iter()
            .map(|point| {
                let (direction, torque) = (point.direction, point.target.torque());
                let budget =
                    point.uncertainty.as_ref().map(|u| &u.budget).filter(|budget| budget.is_complete());
                let budget = budget.ok_or(CovarianceError::NoBudget { torque, direction })?;
                let (reference, certificate) = (reference.id.as_str(), reference.certificate.as_str());
                Ok(Member { run, reference, certificate, direction, torque, budget })
            })
            .collect()
    }
}

/// One error, independent of all others, and its standard uncertainty in each result: zero where it
/// plays no part. Where it plays a part in several, it is the same error there, of equal sign.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorSource {
    /// what it is about
    pub influence: Influence,
    /// its relative standard uncertainty in each result, percent
    pub parts: Vec<f64>,
    /// how well they are known: the least of its lines
    pub freedom: Freedom,
    /// the first result that it belongs to, and which of its lines of that influence it is
    origin: (usize, usize),
}

/// Results with all their errors.
#[derive(Debug, Clone, PartialEq)]
pub struct JointBudget {
    size: usize,
    sources: Vec<ErrorSource>,
}

/// A weighted sum of results, with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Combination {
    /// standard uncertainty
    pub standard: Percent,
    /// effective degrees of freedom: errors that are shared are summed first, so that what goes
    /// into the Welch-Satterthwaite formula is independent (GUM G.4.1)
    pub freedom: Freedom,
    /// share of each influence in the variance, 0 to 1; those that cancel have none
    pub shares: Vec<(Influence, f64)>,
}

impl JointBudget {
    /// The joint budget of several results.
    ///
    /// Every line becomes an error; lines of two results become one error where it is the same one
    /// for both (GUM 5.2.4 and F.1.2.3): the reference's calibration and drift under one
    /// certificate, temperature within a run, interpolation at one torque, the tool's variations
    /// within a run and direction. Repeatability and resolution belong to one result.
    ///
    /// # Errors
    /// [`CovarianceError::Empty`] when there is none.
    pub fn new(members: &[Member]) -> Result<JointBudget, CovarianceError> {
        if members.is_empty() {
            return Err(CovarianceError::Empty);
        }
        let mut joint = JointBudget { size: members.len(), sources: Vec::new() };
        for (index, member) in members.iter().enumerate() {
            joint.add(index, member, members);
        }
        Ok(joint)
    }

    fn add(&mut self, index: usize, member: &Member, members: &[Member]) {
        for (place, line) in member.budget.lines.iter().enumerate() {
            let standard = line.standard().value();
            let earlier = member.budget.lines.iter().take(place);
            let occurrence = earlier.filter(|other| other.influence == line.influence).count();
            let same = self.sources.iter_mut().find(|source| {
                let (first, of_it) = source.origin;
                source.influence == line.influence
                    && of_it == occurrence
                    && first != index
                    && members.get(first).is_some_and(|other| share::is_shared(line, member, other))
            });
            if let Some(source) = same {
                source.freedom = lesser(source.freedom, line.freedom);
                if let Some(part) = source.parts.get_mut(index) {
                    *part = standard;
                }
            } else {
                let parts = (0..self.size).map(|i| if i == index { standard } else { 0.0 }).collect();
                let (influence, freedom) = (line.influence, line.freedom);
                self.sources.push(ErrorSource { influence, parts, freedom, origin: (index, occurrence) });
            }
        }
    }

    /// How many results.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.size
    }

    /// The errors.
    #[must_use]
    pub fn sources(&self) -> &[ErrorSource] {
        &self.sources
    }

    /// The covariance matrix of the results, in percent squared: Σ over errors of u_i u_j, since an
    /// error that two results share correlates them fully (GUM F.1.2.3, equation F.1).
    ///
    /// # Errors
    /// [`CovarianceError::NotFinite`] when a line is not finite.
    pub fn covariance(&self) -> Result<CovarianceMatrix, CovarianceError> {
        CovarianceMatrix::from_fn(self.size, |i, j| {
            let part = |source: &ErrorSource, at: usize| source.parts.get(at).copied().unwrap_or_default();
            self.sources.iter().map(|source| part(source, i) * part(source, j)).sum()
        })
    }

    /// The uncertainty of a weighted sum of the results (GUM 5.2.2, equation 13).
    ///
    /// # Errors
    /// [`CovarianceError::Length`] when there is not one weight a result.
    pub fn combine(&self, weights: &[f64]) -> Result<Combination, CovarianceError> {
        if weights.len() != self.size {
            return Err(CovarianceError::Length { given: weights.len(), wanted: self.size });
        }
        let contributions: Vec<(f64, Freedom)> = self
            .sources
            .iter()
            .map(|source| (source.parts.iter().zip(weights).map(|(u, c)| c * u).sum::<f64>(), source.freedom))
            .collect();
        let variance: f64 = contributions.iter().map(|(u, _)| u * u).sum();
        let mut shares: Vec<(Influence, f64)> = Vec::new();
        for (source, (u, _)) in self.sources.iter().zip(&contributions) {
            let share = if variance > 0.0 { u * u / variance } else { 0.0 };
            match shares.iter_mut().find(|(influence, _)| *influence == source.influence) {
                Some((_, sum)) => *sum += share,
                None => shares.push((source.influence, share)),
            }
        }
        let freedom = welch_satterthwaite(&contributions);
        Ok(Combination { standard: Percent::new(variance.sqrt()), freedom, shares })
    }

    /// The uncertainty of the difference of two results, counted from 0.
    ///
    /// # Errors
    /// [`CovarianceError::NoSuchQuantity`] when there is no such result.
    pub fn difference(&self, of: usize, from: usize) -> Result<Combination, CovarianceError> {
        for index in [of, from] {
            if index >= self.size {
                return Err(CovarianceError::NoSuchQuantity { index, count: self.size });
            }
        }
        let weight = |i: usize| f64::from(u8::from(i == of)) - f64::from(u8::from(i == from));
        self.combine(&(0..self.size).map(weight).collect::<Vec<f64>>())
    }
}

fn lesser(one: Freedom, other: Freedom) -> Freedom {
    match (one, other) {
        (Freedom::Finite(a), Freedom::Finite(b)) => Freedom::Finite(a.min(b)),
        (Freedom::Finite(a), Freedom::Infinite) | (Freedom::Infinite, Freedom::Finite(a)) => {
            Freedom::Finite(a)
        }
        (Freedom::Infinite, Freedom::Infinite) => Freedom::Infinite,
    }
}
