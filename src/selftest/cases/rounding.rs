//! Rounding: GUM 7.2.6 and ISO 80000-1, annex B.

use leverarm_metrology::rounding::{
    Figures, Mode, ResultMode, RoundingRule, round_result, round_uncertainty,
};

use super::{Mark, Planned, ROUNDING};
use crate::selftest::case::{Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "gum-7-2-6",
        source: "JCGM 100:2008 (GUM), 7.2.6",
        about: "How many digits an uncertainty keeps, and its result with it.",
        exercises: ROUNDING,
        mark: Mark::Seen,
        compute: uncertainty,
    },
    Planned {
        id: "iso-80000-1",
        source: "ISO 80000-1:2009, annex B",
        about: "Rules A (halves to the even digit) and B (halves away from zero).",
        exercises: ROUNDING,
        mark: Mark::FromMemory,
        compute: halves,
    },
];

fn uncertainty(case: &mut Case) -> Result<(), Stopped> {
    let up = RoundingRule { uncertainty: Mode::Up, result: ResultMode::HalfUp, figures: Figures::Two };
    case.reads("10.47 mΩ, rounded up", "11", &round_uncertainty(10.47, up)?.to_string());
    let nearest = RoundingRule::default();
    case.reads("28.05 kHz, nearest", "28", &round_uncertainty(28.05, nearest)?.to_string());
    let both = round_result(10.057_62, 0.027, nearest)?;
    case.reads("10.057 62 Ω with 27 mΩ, Ω", "10.058", &both.result.to_string());
    case.reads("its uncertainty, Ω", "0.027", &both.expanded.to_string());
    Ok(())
}

fn halves(case: &mut Case) -> Result<(), Stopped> {
    let rounded = |value: f64, uncertainty: f64, result: ResultMode| {
        let rule = RoundingRule { uncertainty: Mode::HalfUp, result, figures: Figures::Two };
        round_result(value, uncertainty, rule).map(|both| both.result.to_string())
    };
    let (even, away) = (ResultMode::HalfEven, ResultMode::HalfUp);
    case.reads("12.223 to tenths", "12.2", &rounded(12.223, 1.2, even)?);
    case.reads("12.251 to tenths, in one step", "12.3", &rounded(12.251, 1.2, even)?);
    case.reads("1225.1 to tens", "1230", &rounded(1225.1, 120.0, even)?);
    case.reads("12.25 to tenths, rule A", "12.2", &rounded(12.25, 1.2, even)?);
    case.reads("12.35 to tenths, rule A", "12.4", &rounded(12.35, 1.2, even)?);
    case.reads("12.25 to tenths, rule B", "12.3", &rounded(12.25, 1.2, away)?);
    case.reads("12.35 to tenths, rule B", "12.4", &rounded(12.35, 1.2, away)?);
    case.reads("−12.25 to tenths, rule B", "-12.3", &rounded(-12.25, 1.2, away)?);
    case.reads("1225.0 to tens, rule B", "1230", &rounded(1225.0, 120.0, away)?);
    case.note("leverarm rounds by rule B unless it is told otherwise.");
    Ok(())
}
