//! Grubbs' test for one outlier.

use leverarm_metrology::statistics::{Sample, grubbs, grubbs_critical};

use super::{Mark, Planned, STATISTICS};
use crate::selftest::case::{Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "grubbs-table",
        source: "ISO 5725-2:1994, table 5",
        about: "Critical values of Grubbs' test, two-sided.",
        exercises: STATISTICS,
        mark: Mark::Reproduced,
        compute: critical_values,
    },
    Planned {
        id: "grubbs-uranium",
        source: "NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1",
        about: "Eight measurements of uranium, one of them an outlier.",
        exercises: STATISTICS,
        mark: Mark::Seen,
        compute: uranium,
    },
];

fn critical_values(case: &mut Case) -> Result<(), Stopped> {
    let table = [(4, "1.481", "1.496"), (5, "1.715", "1.764"), (10, "2.290", "2.482")];
    for (n, five, one) in table {
        case.printed(&format!("{n} readings, 5 %"), five, grubbs_critical(n, 2.5)?);
        case.printed(&format!("{n} readings, 1 %"), one, grubbs_critical(n, 0.5)?);
    }
    Ok(())
}

fn uranium(case: &mut Case) -> Result<(), Stopped> {
    let sample = Sample::new(vec![199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])?;
    case.printed("standard deviation", "15.85256", sample.standard_deviation());
    // The example tests the greatest alone at 5 %, which is the two-sided test at 10 %.
    let found = grubbs(&sample, 10.0)?.ok_or("the test does not apply")?;
    case.printed("statistic", "2.468765", found.statistic);
    case.printed("critical value", "2.031652", found.critical);
    case.reads("the eighth is an outlier", "true", &(found.is_outlier() && found.index == 7).to_string());
    Ok(())
}
