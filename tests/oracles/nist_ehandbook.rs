//! NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1: Grubbs' test on eight measurements of uranium.
//!
//! Marks: measurements, statistic and critical value S, in the documentation of two statistics
//! packages that repeat the example.

use leverarm_metrology::statistics::{Sample, grubbs, grubbs_critical};

use crate::printed::agrees;

const MEASUREMENTS: [f64; 8] = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];

#[test]
fn the_greatest_is_an_outlier() {
    let sample = Sample::new(MEASUREMENTS.to_vec()).unwrap();
    agrees(sample.standard_deviation().unwrap(), "15.85256");
    let found = grubbs(&sample, 10.0).unwrap().unwrap();
    agrees(found.statistic, "2.468765");
    // The example tests the maximum alone at 5 %, which is the two-sided test at 10 %.
    agrees(found.critical, "2.031652");
    agrees(grubbs_critical(8, 5.0).unwrap(), "2.032");
    assert_eq!(found.index, 7);
    assert!(found.is_outlier());
}

#[test]
fn without_it_there_is_none() {
    let sample = Sample::new(MEASUREMENTS[..7].to_vec()).unwrap();
    assert!(!grubbs(&sample, 5.0).unwrap().unwrap().is_outlier());
}
