//! JCGM 106, clause 7, and ILAC-G8: probability of conformity, specific risk at a guard band.

use leverarm_metrology::risk::{Limits, conformity_probability, nonconformity_probability, specific_risk};

use super::{Mark, Planned, RISK};
use crate::selftest::case::{Agreement, Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "jcgm-106-7",
        source: "JCGM 106:2012, clause 7",
        about: "Probability of conformity with one limit and with two.",
        exercises: RISK,
        mark: Mark::Reproduced,
        compute: conformity,
    },
    Planned {
        id: "ilac-g8",
        source: "ILAC-G8:09/2019, table 1",
        about: "Specific risk of false acceptance at the acceptance limit, for a guard band of r times U.",
        exercises: RISK,
        mark: Mark::Reproduced,
        compute: guard_bands,
    },
];

fn conformity(case: &mut Case) -> Result<(), Stopped> {
    let voltage = Limits::at_most(-5.40)?;
    case.printed(
        "at most −5.40 V: −5.47 V, u 0.05 V",
        "0.92",
        conformity_probability(-5.47, 0.05, &voltage)?,
    );
    let viscosity = Limits::new(Some(12.5), Some(16.3))?;
    case.printed("12.5 to 16.3 mm²/s: 13.6, u 1.8", "0.66", conformity_probability(13.6, 1.8, &viscosity)?);
    let speed = Limits::at_most(100.0)?;
    let slow_enough = 1.0 - nonconformity_probability(107.0, 2.14, &speed)?;
    case.holds("107 km/h, limit 100, u 2 %", "0.001", Agreement::AtMost, slow_enough);
    case.mark(Mark::Derivable);
    case.printed("on the limit", "0.500000", conformity_probability(-5.40, 0.05, &voltage)?);
    let four = Limits::new(Some(-4.0), Some(4.0))?;
    case.printed("outside of ±4: 3.2, U 0.8", "0.022750", nonconformity_probability(3.2, 0.4, &four)?);
    Ok(())
}

/// Guard band over expanded uncertainty, the table's bound, the exact risk.
const TABLE: [(f64, &str, &str); 5] = [
    (0.0, "0.5", "0.500000"),
    (0.83, "0.05", "0.048457"),
    (1.0, "0.025", "0.022750"),
    (1.5, "0.0016", "0.001350"),
    (3.0, "0.000001", "0.000000"),
];

fn guard_bands(case: &mut Case) -> Result<(), Stopped> {
    let (limit, u_expanded) = (Limits::at_most(4.0)?, 0.8);
    let risk = |r: f64| {
        // A reading on the acceptance limit is accepted: a hair below it, for rounding.
        let reading = 4.0 - r * u_expanded - 1e-12;
        specific_risk(reading, u_expanded / 2.0, &limit, &limit.guarded(r * u_expanded))
    };
    for (r, bound, exact) in TABLE {
        let found = risk(r)?.probability();
        case.mark(Mark::Reproduced);
        case.holds(&format!("r = {r}, bound"), bound, Agreement::AtMost, found);
        case.mark(Mark::Derivable);
        case.printed(&format!("r = {r}"), exact, found);
    }
    let found = nonconformity_probability(4.0 - 3.0 * u_expanded, u_expanded / 2.0, &limit)?;
    case.holds("r = 3, all digits", "9.865876450376981e-10", Agreement::Relative(1e-9), found);
    Ok(())
}
