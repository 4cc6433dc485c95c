//! Questions and answers of the differential tests, answered by the pure core. Compiled twice: into
//! the program that a script asks 2,000 budgets, and into the test of the committed sample.

use std::num::NonZeroUsize;

use leverarm_metrology::budget::{Budget, BudgetLine, Combined, Influence, Scope};
use leverarm_metrology::covariance::{CovarianceMatrix, JointBudget, Member, propagate};
use leverarm_metrology::coverage::{Freedom, coverage_factor, welch_satterthwaite};
use leverarm_metrology::curve::{CurvePoint, Degree, Fit};
use leverarm_metrology::monte_carlo::{
    Distribution, FunctionModel, Input, JointNormal, LinearModel, Run, Simulation, Source, simulate,
};
use leverarm_metrology::quantity::{Percent, Torque};
use leverarm_metrology::reading::Direction;
use leverarm_metrology::risk::{Belief, Limits, Prior, global_risk};
use leverarm_metrology::rulebook::CoverageRule;
use serde::Deserialize;
use serde_json::{Value, json};

/// The coverage probability of every budget, percent.
const PERCENT: f64 = 95.45;

/// A question. Degrees of freedom that are left out, or null, are infinite.
#[derive(Debug, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Question {
    /// a measurand from correlated inputs; each group is one contribution to the effective freedom
    Budget { inputs: Vec<Line>, correlation: Vec<Vec<f64>>, groups: Vec<Vec<usize>> },
    /// a weighted sum of the points of a run
    Joint { points: Vec<Vec<Part>>, weights: Vec<f64> },
    /// a coverage factor
    Quantile { percent: f64, freedom: Option<f64> },
    /// the probability inside and outside limits
    Conformity { value: f64, u: f64, freedom: Option<f64>, lower: Option<f64>, upper: Option<f64> },
    /// a polynomial by generalised least squares
    Fit { x: Vec<f64>, y: Vec<f64>, covariance: Vec<Vec<f64>>, degree: usize, origin: f64, at: Vec<f64> },
    /// the global risks of a rule
    Risk {
        normal: Option<[f64; 2]>,
        rectangular: Option<[f64; 2]>,
        u: f64,
        lower: Option<f64>,
        upper: Option<f64>,
        guard: f64,
    },
    /// Monte Carlo trials; correlated normal inputs come as a block
    Trials {
        inputs: Vec<Line>,
        joint: Option<Block>,
        function: bool,
        trials: usize,
        seed: u64,
        percents: Vec<f64>,
    },
}

/// An input of a measurand: a standard deviation, scale or half width about a centre.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    shape: Shape,
    #[serde(default)]
    centre: f64,
    width: f64,
    #[serde(default)]
    top: f64,
    sensitivity: f64,
    freedom: Option<f64>,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Shape {
    Normal,
    StudentT,
    Rectangular,
    Triangular,
    Trapezoidal,
    ArcSine,
}

/// A line of the budget of a point.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    influence: String,
    u: f64,
    freedom: Option<f64>,
}

/// Jointly normal inputs.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Block {
    means: Vec<f64>,
    covariance: Vec<Vec<f64>>,
    sensitivities: Vec<f64>,
}

/// The answer to a question, or what the pure core says against it.
pub fn answer(question: Question) -> Result<Value, String> {
    match question {
        Question::Budget { inputs, correlation, groups } => budget(&inputs, &correlation, &groups),
        Question::Joint { points, weights } => joint(&points, &weights),
        Question::Quantile { percent, freedom } => {
            Ok(json!({ "k": coverage_factor(percent, infinite(freedom)).map_err(words)? }))
        }
        Question::Conformity { value, u, freedom, lower, upper } => {
            let belief = Belief::new(u, infinite(freedom)).map_err(words)?;
            let limits = Limits::new(lower, upper).map_err(words)?;
            let inside = belief.inside(value, &limits).map_err(words)?;
            let outside = belief.outside(value, &limits).map_err(words)?;
            Ok(json!({ "inside": inside, "outside": outside }))
        }
        Question::Fit { x, y, covariance, degree, origin, at } => {
            fit(&x, &y, &covariance, degree, origin, &at)
        }
        Question::Risk { normal, rectangular, u, lower, upper, guard } => {
            let prior = match (normal, rectangular) {
                (Some([mean, sd]), None) => Prior::normal(mean, sd),
                (None, Some([lower, upper])) => Prior::rectangular(lower, upper),
                _ => return Err("one prior is wanted".to_owned()),
            };
            let limits = Limits::new(lower, upper).map_err(words)?;
            let prior = prior.map_err(words)?;
            let risk = global_risk(&prior, u, &limits, &limits.guarded(guard)).map_err(words)?;
            Ok(json!({
                "consumer": risk.consumer, "producer": risk.producer, "conforming": risk.conforming,
            }))
        }
        Question::Trials { inputs, joint, function, trials, seed, percents } => {
            let run = Run { seed, threads: NonZeroUsize::MIN };
            let drawn = if function {
                by_function(&inputs, joint.as_ref(), trials, run)?
            } else {
                by_sum(&inputs, joint.as_ref(), trials, run)?
            };
            summary(&drawn, &percents)
        }
    }
}

fn words(error: impl std::fmt::Display) -> String {
    error.to_string()
}

fn infinite(freedom: Option<f64>) -> Freedom {
    freedom.map_or(Freedom::Infinite, Freedom::Finite)
}

/// Null for infinite, as in the questions.
fn finite(freedom: Freedom) -> Option<f64> {
    match freedom {
        Freedom::Finite(freedom) => Some(freedom),
        Freedom::Infinite => None,
    }
}

impl Line {
    fn distribution(&self) -> Result<Distribution, String> {
        let (low, high) = (self.centre - self.width, self.centre + self.width);
        match self.shape {
            Shape::Normal => Distribution::normal(self.centre, self.width),
            Shape::StudentT => {
                let freedom = self.freedom.ok_or("a t wants degrees of freedom")?;
                Distribution::student_t(self.centre, self.width, freedom)
            }
            Shape::Rectangular => Distribution::rectangular(low, high),
            Shape::Triangular => Distribution::triangular(low, high),
            Shape::Trapezoidal => Distribution::trapezoidal(low, high, self.top),
            Shape::ArcSine => Distribution::arc_sine(low, high),
        }
        .map_err(words)
    }

    /// As a line of a budget, with the sensitivity in its value. The GUM takes the scale of a t for
    /// its standard uncertainty; shapes that a line does not know come as the normal line that has
    /// their standard deviation.
    fn line(&self) -> Result<BudgetLine, String> {
        let normal = |standard: f64| {
            let (value, freedom) = (Percent::new(self.sensitivity * standard), infinite(self.freedom));
            BudgetLine::normal(Influence::Reference, value, 1.0, freedom, Scope::Common, "drawn")
        };
        Ok(match self.shape {
            Shape::Normal | Shape::StudentT => normal(self.width),
            Shape::Rectangular => {
                let half_width = Percent::new(self.sensitivity * self.width);
                let plain =
                    BudgetLine::rectangular(Influence::Resolution, half_width, Scope::Common, "drawn");
                BudgetLine { freedom: infinite(self.freedom), ..plain }
            }
            _ => normal(self.distribution()?.standard_deviation().ok_or("no standard deviation")?),
        })
    }
}

fn budget(inputs: &[Line], correlation: &[Vec<f64>], groups: &[Vec<usize>]) -> Result<Value, String> {
    let lines: Vec<BudgetLine> = inputs.iter().map(Line::line).collect::<Result<_, _>>()?;
    let signs: Vec<f64> = inputs.iter().map(|input| input.sensitivity.signum()).collect();
    // Propagated from |c| u with the sign as the sensitivity: the inputs' own u may not be negative.
    let standard: Vec<f64> = lines.iter().map(|line| line.standard().value().abs()).collect();
    let covariance = CovarianceMatrix::correlated(&standard, correlation).map_err(words)?;
    let u = propagate(&signs, &covariance).map_err(words)?;
    let mut contributions = Vec::new();
    for group in groups {
        let inside = |i: usize, sign: &f64| if group.contains(&i) { *sign } else { 0.0 };
        let sensitivities: Vec<f64> = signs.iter().enumerate().map(|(i, sign)| inside(i, sign)).collect();
        let first = group.first().and_then(|i| lines.get(*i)).ok_or("a group without an input")?;
        contributions.push((propagate(&sensitivities, &covariance).map_err(words)?, first.freedom));
    }
    let freedom = welch_satterthwaite(&contributions);
    let combined = Combined { standard: Percent::new(u), freedom, shares: vec![] };
    let k = match combined.expand(PERCENT, CoverageRule::Effective) {
        Ok(expanded) => json!(expanded.k_effective),
        Err(error) => json!(words(error)),
    };
    let mut found = json!({ "u": u, "freedom": finite(freedom), "k": k });
    if groups.len() == inputs.len()
        && let Some(found) = found.as_object_mut()
    {
        let plain = Budget { lines, missing: vec![] }.combine();
        found.insert("plain_u".to_owned(), json!(plain.standard.value()));
        found.insert("plain_freedom".to_owned(), json!(finite(plain.freedom)));
        found.insert("shares".to_owned(), json!(plain.shares));
    }
    Ok(found)
}

fn joint(points: &[Vec<Part>], weights: &[f64]) -> Result<Value, String> {
    let line = |part: &Part| {
        let (influence, scope) = match part.influence.as_str() {
            "reference" => (Influence::Reference, Scope::Common),
            "drift" => (Influence::ReferenceDrift, Scope::Common),
            "temperature" => (Influence::Temperature, Scope::Common),
            "drive" => (Influence::Drive, Scope::Common),
            "resolution" => (Influence::Resolution, Scope::PerReading),
            "repeatability" => (Influence::Repeatability, Scope::PerReading),
            other => return Err(format!("no influence is called {other}")),
        };
        let (value, freedom) = (Percent::new(part.u), infinite(part.freedom));
        Ok(BudgetLine::normal(influence, value, 1.0, freedom, scope, "drawn"))
    };
    let mut budgets = Vec::new();
    for parts in points {
        budgets.push(Budget { lines: parts.iter().map(line).collect::<Result<_, _>>()?, missing: vec![] });
    }
    let members: Vec<Member> = budgets
        .iter()
        .enumerate()
        .map(|(i, budget)| Member {
            run: 1,
            reference: "R",
            certificate: "C",
            direction: Direction::Clockwise,
            torque: Torque::from_newton_metres(10.0 * (i + 1) as f64),
            budget,
        })
        .collect();
    let joint = JointBudget::new(&members).map_err(words)?;
    let sum = joint.combine(weights).map_err(words)?;
    let covariance = rows(&joint.covariance().map_err(words)?);
    Ok(json!({
        "u": sum.standard.value(), "freedom": finite(sum.freedom), "covariance": covariance,
    }))
}

fn rows(matrix: &CovarianceMatrix) -> Vec<Vec<Option<f64>>> {
    (0..matrix.size()).map(|i| (0..matrix.size()).map(|j| matrix.covariance(i, j)).collect()).collect()
}

fn fit(
    x: &[f64],
    y: &[f64],
    covariance: &[Vec<f64>],
    degree: usize,
    origin: f64,
    at: &[f64],
) -> Result<Value, String> {
    let points: Vec<CurvePoint> = x.iter().zip(y).map(|(x, y)| CurvePoint { x: *x, y: *y }).collect();
    let degree = Degree::ALL
        .into_iter()
        .find(|known| known.parameters() == degree + 1)
        .ok_or("a degree of 1, 2 or 3 is wanted")?;
    let covariance = CovarianceMatrix::from_rows(covariance).map_err(words)?;
    let fit = Fit::generalised(&points, &covariance, degree).map_err(words)?;
    let (parameters, covariance) = fit.parameters_about(origin).map_err(words)?;
    let lack = fit.lack_of_fit();
    Ok(json!({
        "parameters": parameters,
        "covariance": rows(&covariance),
        "values": at.iter().map(|x| fit.at(*x).value).collect::<Vec<f64>>(),
        "standards": at.iter().map(|x| fit.at(*x).standard).collect::<Vec<f64>>(),
        "weights": at.iter().map(|x| fit.weights(*x)).collect::<Vec<Vec<f64>>>(),
        "chi_square": lack.map(|lack| lack.chi_square),
        "p_value": lack.map(|lack| lack.p_value),
    }))
}

fn by_sum(inputs: &[Line], joint: Option<&Block>, trials: usize, run: Run) -> Result<Simulation, String> {
    let mut model = LinearModel::default();
    for input in inputs {
        let distribution = input.distribution()?;
        model = model.and(Input { distribution, sensitivity: input.sensitivity });
    }
    if let Some(block) = joint {
        let normal = JointNormal::new(block.means.clone(), &block.covariance).map_err(words)?;
        model = model.and_joint(&normal, &block.sensitivities).ok_or("a sensitivity is missing")?;
    }
    simulate(&model, trials, run).map_err(words)
}

/// The same by a function of the inputs, which draws the block in full and not only its sum.
fn by_function(
    inputs: &[Line],
    joint: Option<&Block>,
    trials: usize,
    run: Run,
) -> Result<Simulation, String> {
    let mut sources = Vec::new();
    let mut sensitivities = Vec::new();
    for input in inputs {
        sources.push(Source::Alone(input.distribution()?));
        sensitivities.push(input.sensitivity);
    }
    if let Some(block) = joint {
        let normal = JointNormal::new(block.means.clone(), &block.covariance).map_err(words)?;
        sources.push(Source::Joint(normal));
        sensitivities.extend(&block.sensitivities);
    }
    let sum = |x: &[f64]| x.iter().zip(&sensitivities).map(|(x, c)| x * c).sum();
    simulate(&FunctionModel::new(sources, sum), trials, run).map_err(words)
}

fn summary(drawn: &Simulation, percents: &[f64]) -> Result<Value, String> {
    let mut intervals = Vec::new();
    for percent in percents {
        let coverage = drawn.coverage(*percent, NonZeroUsize::MIN).map_err(words)?;
        let (symmetric, shortest) = (coverage.symmetric, coverage.shortest);
        intervals.push(json!({
            "low": symmetric.low,
            "high": symmetric.high,
            "shortest": shortest.length(),
            "shortest_is_no_longer": shortest.length() <= symmetric.length(),
        }));
    }
    Ok(json!({
        "mean": drawn.estimate(), "sd": drawn.standard_uncertainty(), "intervals": intervals,
    }))
}
