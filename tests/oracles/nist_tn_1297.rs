//! NIST Technical Note 1297 (1994), table B.1, which is GUM (JCGM 100:2008), table G.2: t-quantiles.
//!
//! Marks: every value of the table S (nist.gov); three decimals for 95.45 % from an independent
//! calculation.

use leverarm_metrology::coverage::{Freedom, coverage_factor};

use crate::printed::{agrees, differs};

/// The fractions of the columns in percent. By the table's footnote those printed 68.27, 95.45 and
/// 99.73 stand for one, two and three standard deviations of a normal distribution.
const FRACTIONS: [f64; 6] = [68.268_949_213_7, 90.0, 95.0, 95.449_973_610_4, 99.0, 99.730_020_393_7];

/// Degrees of freedom and the row as printed.
const TABLE: [(f64, [&str; 6]); 27] = [
    (1.0, ["1.84", "6.31", "12.71", "13.97", "63.66", "235.80"]),
    (2.0, ["1.32", "2.92", "4.30", "4.53", "9.92", "19.21"]),
    (3.0, ["1.20", "2.35", "3.18", "3.31", "5.84", "9.22"]),
    (4.0, ["1.14", "2.13", "2.78", "2.87", "4.60", "6.62"]),
    (5.0, ["1.11", "2.02", "2.57", "2.65", "4.03", "5.51"]),
    (6.0, ["1.09", "1.94", "2.45", "2.52", "3.71", "4.90"]),
    (7.0, ["1.08", "1.89", "2.36", "2.43", "3.50", "4.53"]),
    (8.0, ["1.07", "1.86", "2.31", "2.37", "3.36", "4.28"]),
    (9.0, ["1.06", "1.83", "2.26", "2.32", "3.25", "4.09"]),
    (10.0, ["1.05", "1.81", "2.23", "2.28", "3.17", "3.96"]),
    (11.0, ["1.05", "1.80", "2.20", "2.25", "3.11", "3.85"]),
    (12.0, ["1.04", "1.78", "2.18", "2.23", "3.05", "3.76"]),
    (13.0, ["1.04", "1.77", "2.16", "2.21", "3.01", "3.69"]),
    (14.0, ["1.04", "1.76", "2.14", "2.20", "2.98", "3.64"]),
    (15.0, ["1.03", "1.75", "2.13", "2.18", "2.95", "3.59"]),
    (16.0, ["1.03", "1.75", "2.12", "2.17", "2.92", "3.54"]),
    (17.0, ["1.03", "1.74", "2.11", "2.16", "2.90", "3.51"]),
    (18.0, ["1.03", "1.73", "2.10", "2.15", "2.88", "3.48"]),
    (19.0, ["1.03", "1.73", "2.09", "2.14", "2.86", "3.45"]),
    (20.0, ["1.03", "1.72", "2.09", "2.13", "2.85", "3.42"]),
    (25.0, ["1.02", "1.71", "2.06", "2.11", "2.79", "3.33"]),
    (30.0, ["1.02", "1.70", "2.04", "2.09", "2.75", "3.27"]),
    (35.0, ["1.01", "1.70", "2.03", "2.07", "2.72", "3.23"]),
    (40.0, ["1.01", "1.68", "2.02", "2.06", "2.70", "3.20"]),
    (45.0, ["1.01", "1.68", "2.01", "2.06", "2.69", "3.18"]),
    (50.0, ["1.01", "1.68", "2.01", "2.05", "2.68", "3.16"]),
    (100.0, ["1.005", "1.660", "1.984", "2.025", "2.626", "3.077"]),
];

const TABLE_INFINITE: [&str; 6] = ["1.000", "1.645", "1.960", "2.000", "2.576", "3.000"];

/// For 95.45 %: degrees of freedom and k.
const THREE_DECIMALS: [(f64, &str); 16] = [
    (1.0, "13.968"),
    (2.0, "4.527"),
    (3.0, "3.307"),
    (4.0, "2.869"),
    (5.0, "2.649"),
    (6.0, "2.517"),
    (7.0, "2.429"),
    (8.0, "2.366"),
    (9.0, "2.320"),
    (10.0, "2.284"),
    (12.0, "2.231"),
    (15.0, "2.181"),
    (20.0, "2.133"),
    (30.0, "2.087"),
    (50.0, "2.051"),
    (100.0, "2.025"),
];

fn k(percent: f64, nu: f64) -> f64 {
    coverage_factor(percent, Freedom::Finite(nu)).unwrap()
}

#[test]
fn every_value_of_the_table() {
    for (nu, row) in TABLE {
        for (percent, printed) in FRACTIONS.into_iter().zip(row) {
            if (nu, printed) == (35.0, "1.70") {
                // DIFFERENCE: a slip of the table, the quantile is 1.690.
                differs(k(percent, nu), printed);
                agrees(k(percent, nu), "1.690");
            } else {
                agrees(k(percent, nu), printed);
            }
        }
    }
}

#[test]
fn infinite_degrees_of_freedom() {
    for (percent, printed) in FRACTIONS.into_iter().zip(TABLE_INFINITE) {
        agrees(coverage_factor(percent, Freedom::Infinite).unwrap(), printed);
    }
    agrees(coverage_factor(95.45, Freedom::Infinite).unwrap(), "2.000");
}

#[test]
fn three_decimals_for_95_45_percent() {
    for (nu, printed) in THREE_DECIMALS {
        agrees(k(95.45, nu), printed);
    }
}
