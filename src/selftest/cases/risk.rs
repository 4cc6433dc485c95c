//! JCGM 106, 9.5: global risks by the double integrals, and guard bands for a risk.

use leverarm_metrology::quantity::Percent;
use leverarm_metrology::risk::{
    Limits, Prior, global_guard_band, global_risk, managed_guard_band, specific_guard_band,
};

use super::{Mark, Planned, RISK};
use crate::selftest::case::{Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "jcgm-106-9",
        source: "JCGM 106:2012, 9.5, integrated apart from this program",
        about: "Global consumer's and producer's risk under simple acceptance, by TUR: a normal prior in the \
                middle of the limits, 90 % or 95 % of tools in tolerance.",
        exercises: RISK,
        mark: Mark::Derivable,
        compute: global,
    },
    Planned {
        id: "guard-bands",
        source: "Normal distribution; M. Dobbert, NCSL International workshop 2008 (method 6 of the handbook to \
                 ANSI/NCSL Z540.3)",
        about: "Guard bands for a specific risk of 5 %, for a global risk of 2 %, and the managed one.",
        exercises: RISK,
        mark: Mark::Derivable,
        compute: guard_bands,
    },
];

/// In-tolerance probability, TUR, false acceptance, false rejection.
const TABLE: [(f64, f64, &str, &str); 8] = [
    (0.90, 1.0, "0.032509", "0.136452"),
    (0.90, 2.0, "0.022638", "0.050834"),
    (0.90, 4.0, "0.013741", "0.020888"),
    (0.90, 10.0, "0.006220", "0.007367"),
    (0.95, 1.0, "0.018012", "0.129572"),
    (0.95, 2.0, "0.013373", "0.041775"),
    (0.95, 4.0, "0.008583", "0.015537"),
    (0.95, 10.0, "0.004060", "0.005162"),
];

fn global(case: &mut Case) -> Result<(), Stopped> {
    let limits = Limits::symmetric(Percent::new(4.0))?;
    for (in_tolerance, ratio, consumer, producer) in TABLE {
        let prior = Prior::from_in_tolerance(&limits, in_tolerance)?;
        let found = global_risk(&prior, 4.0 / ratio / 2.0, &limits, &limits.guarded(0.0))?;
        let about = format!("{:.0} % in tolerance, TUR {ratio}", in_tolerance * 100.0);
        case.printed(&format!("{about}: consumer"), consumer, found.consumer);
        case.printed(&format!("{about}: producer"), producer, found.producer);
    }
    let off_centre = Prior::normal(0.7, 1.3)?;
    let found = global_risk(&off_centre, 0.45, &limits, &limits.guarded(0.7))?;
    case.printed("prior off centre, guarded: consumer", "0.00010797005", found.consumer);
    case.printed("prior off centre, guarded: producer", "0.02559259110", found.producer);
    case.note("The worked example of 9.5.4, whose prior is a gamma distribution, is not computed.");
    Ok(())
}

fn guard_bands(case: &mut Case) -> Result<(), Stopped> {
    let limits = Limits::symmetric(Percent::new(4.0))?;
    let band = specific_guard_band(0.05, 0.4, &limits)?;
    case.printed("specific risk 5 %: width over u", "1.644854", band.width().map(|w| w / 0.4));
    for ratio in [1.0, 2.0] {
        let prior = Prior::from_in_tolerance(&limits, 0.90)?;
        let u = 4.0 / ratio / 2.0;
        let width = global_guard_band(0.02, &prior, u, &limits)?;
        let kept = global_risk(&prior, u, &limits, &limits.guarded(width))?.consumer;
        case.printed(&format!("global risk held at 2 %, TUR {ratio}"), "0.020000", kept);
    }
    case.mark(Mark::Reproduced);
    for (ratio, printed) in [(1.0, "0.4573"), (2.0, "0.2816"), (3.0, "0.1553"), (4.0, "0.0531")] {
        let expanded = 4.0 / ratio;
        let factor = managed_guard_band(&limits, expanded)? / expanded;
        case.printed(&format!("managed: width over U, TUR {ratio}"), printed, factor);
    }
    Ok(())
}
