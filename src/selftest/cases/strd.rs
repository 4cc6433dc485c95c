//! NIST Statistical Reference Datasets: certified to fifteen digits.

use leverarm_metrology::curve::{CurvePoint, Degree, Fit};
use leverarm_metrology::statistics::{Sample, anova};

use super::{CURVE, Mark, Planned, STATISTICS};
use crate::selftest::case::{Agreement, Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "strd-numacc1",
        source: "NIST StRD, univariate, NumAcc1",
        about: "Three numbers of eight digits.",
        exercises: STATISTICS,
        mark: Mark::Seen,
        compute: num_acc_1,
    },
    Planned {
        id: "strd-michelso",
        source: "NIST StRD, univariate, Michelso",
        about: "One hundred measurements of the speed of light.",
        exercises: STATISTICS,
        mark: Mark::Seen,
        compute: michelso,
    },
    Planned {
        id: "strd-lew",
        source: "NIST StRD, univariate, Lew",
        about: "Two hundred deflections of a beam.",
        exercises: STATISTICS,
        mark: Mark::Seen,
        compute: lew,
    },
    Planned {
        id: "strd-silver",
        source: "NIST StRD, analysis of variance, AtmWtAg",
        about: "Atomic weight of silver by two instruments.",
        exercises: STATISTICS,
        mark: Mark::Seen,
        compute: silver,
    },
    Planned {
        id: "strd-norris",
        source: "NIST StRD, linear regression, Norris",
        about: "Calibration of ozone monitors: a straight line through 36 points.",
        exercises: CURVE,
        mark: Mark::Seen,
        compute: norris,
    },
];

const SETS: &str = include_str!("../data/nist-strd.txt");

/// The numbers of a block of the data file.
fn observed(name: &str) -> Result<Vec<f64>, Stopped> {
    let head = format!("[{name}]");
    let block = SETS.lines().skip_while(|line| !line.starts_with(&head)).skip(1);
    let numbers = block.take_while(|line| !line.is_empty()).flat_map(str::split_whitespace);
    Ok(numbers.map(str::parse).collect::<Result<_, _>>()?)
}

/// Mean, standard deviation and autocorrelation as certified.
fn hold(case: &mut Case, values: Vec<f64>, certified: [&str; 3]) -> Result<(), Stopped> {
    let sample = Sample::new(values)?;
    let [mean, deviation, autocorrelation] = certified;
    case.holds("mean", mean, Agreement::Relative(1e-14), sample.mean());
    case.holds("standard deviation", deviation, Agreement::Relative(1e-13), sample.standard_deviation());
    let lag_one = sample.lag_one_autocorrelation();
    case.holds("autocorrelation", autocorrelation, Agreement::Relative(1e-13), lag_one);
    Ok(())
}

fn num_acc_1(case: &mut Case) -> Result<(), Stopped> {
    hold(case, vec![10_000_001.0, 10_000_003.0, 10_000_002.0], ["10000002", "1", "-0.5"])
}

fn michelso(case: &mut Case) -> Result<(), Stopped> {
    hold(case, observed("Michelso")?, ["299.8524", "0.0790105478190518", "0.535199668621283"])
}

fn lew(case: &mut Case) -> Result<(), Stopped> {
    hold(case, observed("Lew")?, ["-177.435", "277.332168044316", "-0.307304800605679"])
}

fn silver(case: &mut Case) -> Result<(), Stopped> {
    let groups = [Sample::new(observed("AtmWtAg-1")?)?, Sample::new(observed("AtmWtAg-2")?)?];
    let table = anova(&groups).ok_or("no table")?;
    let close = Agreement::Relative(1e-10);
    case.holds("sum of squares between", "3.63834187500000e-9", close, table.between_squares);
    case.holds("sum of squares within", "1.04951729166667e-8", close, table.within_squares);
    case.holds("F", "15.9467335677930", close, table.f());
    case.note("A double holds the ninth decimal of 107.868 to about ten digits of these squares.");
    Ok(())
}

fn norris(case: &mut Case) -> Result<(), Stopped> {
    let numbers = observed("Norris")?;
    let points: Vec<CurvePoint> = numbers
        .chunks_exact(2)
        .filter_map(|pair| if let [y, x] = pair { Some(CurvePoint { x: *x, y: *y }) } else { None })
        .collect();
    let fit = Fit::ordinary(&points, Degree::Line)?;
    let (parameters, covariance) = fit.parameters_about(0.0)?;
    let close = Agreement::Relative(1e-12);
    case.holds("intercept", "-0.262323073774029", close, parameters.first().copied());
    case.holds("slope", "1.00211681802045", close, parameters.get(1).copied());
    case.holds("u of the intercept", "0.232818234301152", close, covariance.standard_uncertainty(0));
    case.holds("u of the slope", "0.000429796848199937", close, covariance.standard_uncertainty(1));
    let residual = fit.residual_standard_deviation();
    case.holds("residual standard deviation", "0.884796396144373", close, residual);
    Ok(())
}
