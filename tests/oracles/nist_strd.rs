//! NIST Statistical Reference Datasets (StRD): univariate summary statistics and analysis of variance.
//!
//! Marks: observations and certified values S, recomputed in exact rational arithmetic; the tables
//! of SmLs08 and SmLs09 D, exact by construction. Not covered: Lottery, PiDigits (whose 5000
//! observations are not those that a computation of π gives) and SiRstv.
//!
//! How many digits agree is said as a log relative error, LRE = −log₁₀(|computed − certified| /
//! |certified|), at most 15. Where it is low, it is the double that has lost the digits before the
//! first sum: 1 000 000 000 000.4 is held to 1.2e-4 only.

use leverarm_metrology::statistics::{Anova, Sample, anova};

const DATA: &str = include_str!("data/nist-strd.txt");

/// The observations of a block of the data file.
fn observed(name: &str) -> Vec<f64> {
    let head = format!("[{name}]");
    DATA.lines()
        .skip_while(|line| !line.starts_with(&head))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .flat_map(str::split_whitespace)
        .map(|number| number.parse().unwrap())
        .collect()
}

/// Log relative error, at most 15.
fn lre(computed: f64, certified: f64) -> f64 {
    let error = (computed - certified).abs() / certified.abs();
    if error > 0.0 { (-error.log10()).min(15.0) } else { 15.0 }
}

#[track_caller]
fn reaches(what: &str, computed: f64, certified: f64, digits: f64) {
    let reached = lre(computed, certified);
    assert!(reached >= digits, "{what}: {computed} for {certified}, LRE {reached:.2}");
}

struct Certified {
    n: usize,
    mean: f64,
    deviation: f64,
    autocorrelation: f64,
    /// LRE of mean, standard deviation and autocorrelation
    digits: [f64; 3],
}

#[track_caller]
fn hold(name: &str, values: Vec<f64>, certified: &Certified) {
    let sample = Sample::new(values).unwrap();
    assert_eq!(sample.n(), certified.n, "{name}");
    let [mean, deviation, autocorrelation] = certified.digits;
    reaches(name, sample.mean(), certified.mean, mean);
    reaches(name, sample.standard_deviation().unwrap(), certified.deviation, deviation);
    let computed = sample.lag_one_autocorrelation().unwrap();
    reaches(name, computed, certified.autocorrelation, autocorrelation);
}

/// One value, then 500 pairs a tenth below and above it; written as decimals are.
fn num_acc(whole: u32) -> Vec<f64> {
    let number = |tenths: u32| format!("{whole}.{tenths}").parse::<f64>().unwrap();
    let pair = [number(1), number(3)];
    std::iter::once(number(2)).chain(pair.into_iter().cycle().take(1000)).collect()
}

#[test]
fn lew() {
    let certified = Certified {
        n: 200,
        mean: -177.435,
        deviation: 277.332_168_044_316,
        autocorrelation: -0.307_304_800_605_679,
        digits: [15.0, 14.0, 14.0],
    };
    hold("Lew", observed("Lew"), &certified);
}

#[test]
fn mavro() {
    let certified = Certified {
        n: 50,
        mean: 2.001_856,
        deviation: 0.000_429_123_454_003_053,
        autocorrelation: 0.937_989_183_438_248,
        digits: [15.0, 13.0, 13.0],
    };
    hold("Mavro", observed("Mavro"), &certified);
}

#[test]
fn michelso() {
    let certified = Certified {
        n: 100,
        mean: 299.8524,
        deviation: 0.079_010_547_819_051_8,
        autocorrelation: 0.535_199_668_621_283,
        digits: [15.0, 13.0, 13.0],
    };
    hold("Michelso", observed("Michelso"), &certified);
}

#[test]
fn num_acc_1() {
    let certified = Certified {
        n: 3,
        mean: 10_000_002.0,
        deviation: 1.0,
        autocorrelation: -0.5,
        digits: [15.0, 15.0, 15.0],
    };
    hold("NumAcc1", vec![10_000_001.0, 10_000_003.0, 10_000_002.0], &certified);
}

#[test]
fn num_acc_2_to_4() {
    let sets = [
        ("NumAcc2", 1, [15.0, 14.0, 14.0]),
        ("NumAcc3", 1_000_000, [15.0, 9.0, 9.0]),
        ("NumAcc4", 10_000_000, [15.0, 8.0, 8.0]),
    ];
    for (name, whole, digits) in sets {
        let mean = f64::from(whole) + 0.2;
        let certified = Certified { n: 1001, mean, deviation: 0.1, autocorrelation: -0.999, digits };
        hold(name, num_acc(whole), &certified);
    }
}

/// The constructed sets of Simon and Lesage: nine treatments about 0.4, 0.3 and 0.5 above a whole
/// number, each one value and then pairs a tenth below and above it.
fn constructed(whole: u64, pairs: usize) -> Vec<Sample> {
    let number = |tenths: u64| format!("{whole}.{tenths}").parse::<f64>().unwrap();
    [4, 3, 5, 3, 5, 3, 5, 3, 5]
        .into_iter()
        .map(|tenths| {
            let pair = [number(tenths - 1), number(tenths + 1)];
            let rest = pair.into_iter().cycle().take(2 * pairs);
            Sample::new(std::iter::once(number(tenths)).chain(rest).collect()).unwrap()
        })
        .collect()
}

/// A certified table: degrees of freedom, sums of squares, F.
struct Table {
    freedom: [f64; 2],
    squares: [f64; 2],
    f: f64,
}

#[track_caller]
fn hold_table(name: &str, computed: &Anova, certified: &Table, digits: f64) {
    let [between, within] = certified.freedom;
    reaches(name, computed.between_freedom, between, 15.0);
    reaches(name, computed.within_freedom, within, 15.0);
    reaches(name, computed.between_squares, certified.squares[0], digits);
    reaches(name, computed.within_squares, certified.squares[1], digits);
    reaches(name, computed.between_mean_square(), certified.squares[0] / between, digits);
    reaches(name, computed.within_mean_square(), certified.squares[1] / within, digits);
    reaches(name, computed.f(), certified.f, digits);
}

#[test]
fn silver() {
    let groups: Vec<Sample> =
        ["AtmWtAg-1", "AtmWtAg-2"].map(|name| Sample::new(observed(name)).unwrap()).to_vec();
    assert_eq!(groups.iter().map(Sample::n).collect::<Vec<_>>(), [24, 24]);
    let certified = Table {
        freedom: [1.0, 46.0],
        squares: [3.638_341_875e-9, 1.049_517_291_666_67e-8],
        f: 15.946_733_567_793,
    };
    hold_table("AtmWtAg", &anova(&groups).unwrap(), &certified, 10.0);
}

#[test]
fn constructed_sets() {
    let table = |within, squares, f| Table { freedom: [8.0, within], squares, f };
    let small = || table(180.0, [1.68, 1.8], 21.0);
    let medium = || table(1800.0, [16.08, 18.0], 201.0);
    let large = || table(18_000.0, [160.08, 180.0], 2001.0);
    let sets = [
        ("SmLs01", 1, 10, small(), 14.5),
        ("SmLs02", 1, 100, medium(), 14.5),
        ("SmLs03", 1, 1000, large(), 13.5),
        ("SmLs04", 1_000_000, 10, small(), 10.0),
        ("SmLs05", 1_000_000, 100, medium(), 9.9),
        ("SmLs06", 1_000_000, 1000, large(), 9.9),
        ("SmLs07", 1_000_000_000_000, 10, small(), 4.0),
        ("SmLs08", 1_000_000_000_000, 100, medium(), 3.9),
        ("SmLs09", 1_000_000_000_000, 1000, large(), 3.9),
    ];
    for (name, whole, pairs, certified, digits) in sets {
        let computed = anova(&constructed(whole, pairs)).unwrap();
        hold_table(name, &computed, &certified, digits);
    }
}
