//! GUM (JCGM 100:2008), H.5: a voltage standard on ten days, five readings a day; analysis of variance.
//!
//! Marks: inputs and printed results R. The guide prints means and standard deviations only, not
//! the readings. An analysis of variance depends on nothing else, so each day is rebuilt as five
//! readings with exactly that mean and standard deviation.

use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::statistics::{Anova, Sample, anova};

use crate::printed::{agrees, differs};

/// Mean of a day less 10 V, and standard deviation of its readings, in µV.
const DAYS: [(f64, f64); 10] = [
    (172.0, 60.0),
    (116.0, 77.0),
    (13.0, 111.0),
    (144.0, 101.0),
    (106.0, 67.0),
    (31.0, 93.0),
    (60.0, 80.0),
    (125.0, 73.0),
    (163.0, 88.0),
    (41.0, 86.0),
];

/// Mean 0 and standard deviation 1.
const PATTERN: [f64; 5] = [-1.0, -1.0, 0.0, 1.0, 1.0];

fn days() -> Vec<Sample> {
    DAYS.iter()
        .map(|(mean, s)| Sample::new(PATTERN.iter().map(|p| mean + p * s).collect()).unwrap())
        .collect()
}

fn means() -> Sample {
    Sample::new(days().iter().map(Sample::mean).collect()).unwrap()
}

fn table() -> Anova {
    anova(&days()).unwrap()
}

#[test]
fn the_rebuilt_days_have_the_published_statistics() {
    for (day, (mean, s)) in days().iter().zip(DAYS) {
        assert!((day.mean() - mean).abs() < 1e-9);
        assert!((day.standard_deviation().unwrap() - s).abs() < 1e-9);
    }
}

#[test]
fn mean_of_the_days() {
    agrees(10.0 + means().mean() * 1e-6, "10.000097");
    agrees(means().standard_deviation().unwrap(), "57");
    agrees(means().standard_deviation().unwrap(), "57.1");
    agrees(means().standard_deviation_of_mean().unwrap(), "18");
    assert_eq!(means().freedom(), Freedom::Finite(9.0));
}

#[test]
fn between_and_within() {
    let table = table();
    agrees(table.between_mean_square().sqrt(), "128");
    agrees(table.between_mean_square().sqrt(), "127.7");
    agrees(table.within_mean_square().sqrt(), "85");
    agrees(table.within_mean_square().sqrt(), "84.9");
    agrees(table.between_freedom, "9");
    agrees(table.within_freedom, "40");
}

#[test]
fn ratio_of_the_variances() {
    // The guide prints 2.25, from its rounded 57 and 85: 5 × 57²/85² = 2.248.
    agrees(5.0 * 57f64.powi(2) / 85f64.powi(2), "2.25");
    differs(table().f(), "2.25");
    agrees(table().f(), "2.2615");
}

#[test]
fn component_between_the_days() {
    let table = table();
    let between = (table.between_mean_square() - table.within_mean_square()) / 5.0;
    agrees(between.sqrt(), "43");
}
