//! Student's t: the table of the GUM, G.2, as NIST prints it.

use leverarm_metrology::coverage::{Freedom, coverage_factor};

use super::{Mark, Planned, QUANTILES};
use crate::selftest::case::{Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "t-table",
        source: "NIST Technical Note 1297 (1994), table B.1 = JCGM 100:2008 (GUM), table G.2",
        about: "Coverage factors for 95 %, 95.45 % and 99 % by degrees of freedom ν.",
        exercises: QUANTILES,
        mark: Mark::Seen,
        compute: table,
    },
    Planned {
        id: "t-three-decimals",
        source: "Student's t distribution, by an independent calculation",
        about: "Coverage factors for 95.45 %, as certificates state them.",
        exercises: QUANTILES,
        mark: Mark::Derivable,
        compute: three_decimals,
    },
];

/// By the table's footnote its 95.45 stands for two standard deviations of a normal distribution.
const FRACTIONS: [(&str, f64); 3] = [("95 %", 95.0), ("95.45 %", 95.449_973_610_4), ("99 %", 99.0)];

const TABLE: [(f64, [&str; 3]); 15] = [
    (1.0, ["12.71", "13.97", "63.66"]),
    (2.0, ["4.30", "4.53", "9.92"]),
    (3.0, ["3.18", "3.31", "5.84"]),
    (4.0, ["2.78", "2.87", "4.60"]),
    (5.0, ["2.57", "2.65", "4.03"]),
    (6.0, ["2.45", "2.52", "3.71"]),
    (7.0, ["2.36", "2.43", "3.50"]),
    (8.0, ["2.31", "2.37", "3.36"]),
    (9.0, ["2.26", "2.32", "3.25"]),
    (10.0, ["2.23", "2.28", "3.17"]),
    (15.0, ["2.13", "2.18", "2.95"]),
    (20.0, ["2.09", "2.13", "2.85"]),
    (30.0, ["2.04", "2.09", "2.75"]),
    (50.0, ["2.01", "2.05", "2.68"]),
    (100.0, ["1.984", "2.025", "2.626"]),
];

const INFINITE: [&str; 3] = ["1.960", "2.000", "2.576"];

fn table(case: &mut Case) -> Result<(), Stopped> {
    for (nu, row) in TABLE {
        for ((name, percent), printed) in FRACTIONS.into_iter().zip(row) {
            let k = coverage_factor(percent, Freedom::Finite(nu))?;
            case.printed(&format!("{name}, ν = {nu}"), printed, k);
        }
    }
    for ((name, percent), printed) in FRACTIONS.into_iter().zip(INFINITE) {
        let k = coverage_factor(percent, Freedom::Infinite)?;
        case.printed(&format!("{name}, ν = ∞"), printed, k);
    }
    Ok(())
}

fn three_decimals(case: &mut Case) -> Result<(), Stopped> {
    let rows = [(1.0, "13.968"), (4.0, "2.869"), (9.0, "2.320"), (20.0, "2.133"), (50.0, "2.051")];
    for (nu, printed) in rows {
        let k = coverage_factor(95.45, Freedom::Finite(nu))?;
        case.printed(&format!("95.45 %, ν = {nu}"), printed, k);
    }
    case.printed("95.45 %, ν = ∞", "2.000", coverage_factor(95.45, Freedom::Infinite)?);
    Ok(())
}
