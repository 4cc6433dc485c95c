//! The permissible deviations in the built-in rulebooks: a check of data.

use leverarm_metrology::quantity::{Percent, Torque};
use leverarm_metrology::rulebook::{Rulebook, embedded};
use leverarm_metrology::tool::ToolClass;

use super::{DATA, Mark, Planned};
use crate::selftest::case::{Agreement, Case, Stopped};

pub(super) const CASES: &[Planned] = &[
    Planned {
        id: "iso-6789-1-limits",
        source: "ISO 6789-1:2017, 5.1.5; published summaries of ISO 6789:2003 and of JIS B 4652 (types I and II A)",
        about: "Permissible deviation by type and class, up to and above 10 N·m, as rulebook iso-6789-1 holds it.",
        exercises: DATA,
        mark: Mark::Seen,
        compute: permissible,
    },
    Planned {
        id: "asme-b107-300-limits",
        source: "Published summaries of ASME B107.300; of screwdrivers from memory",
        about: "Permissible deviation whatever the size, as rulebook asme-b107-300 holds it.",
        exercises: DATA,
        mark: Mark::Seen,
        compute: american,
    },
];

/// Class, limit up to 10 N·m, limit above 10 N·m, how sure.
const TABLE: [(&str, &str, &str, Mark); 12] = [
    ("I A", "6", "6", Mark::Seen),
    ("I B", "6", "4", Mark::Seen),
    ("I C", "6", "4", Mark::Seen),
    ("I D", "6", "6", Mark::Seen),
    ("I E", "6", "4", Mark::Seen),
    ("II A", "6", "4", Mark::Seen),
    ("II B", "6", "4", Mark::FromMemory),
    ("II C", "6", "4", Mark::FromMemory),
    ("II D", "6", "6", Mark::FromMemory),
    ("II E", "6", "6", Mark::FromMemory),
    ("II F", "6", "6", Mark::FromMemory),
    ("II G", "6", "6", Mark::FromMemory),
];

fn limit(book: &Rulebook, class: ToolClass, newton_metres: f64) -> Option<f64> {
    let row = book.permissible(class, Torque::from_newton_metres(newton_metres));
    row.map(|row| row.permissible).map(Percent::value)
}

fn book(name: &str) -> Result<Rulebook, Stopped> {
    let text = embedded(name).ok_or("there is no such rulebook")?.text;
    Ok(Rulebook::parse(text).map_err(|errors| format!("{} errors in rulebook {name}", errors.len()))?)
}

fn class(code: &str) -> Result<ToolClass, Stopped> {
    Ok(ToolClass::parse(code).ok_or("there is no such class")?)
}

fn permissible(case: &mut Case) -> Result<(), Stopped> {
    let (one, two) = (book("iso-6789-1")?, book("iso-6789-2")?);
    let mut same = 0.0;
    for (code, small, large, mark) in TABLE {
        case.mark(mark);
        for (size, newton_metres, printed) in [("10 N·m", 10.0, small), ("above 10 N·m", 10.001, large)] {
            let found = limit(&one, class(code)?, newton_metres);
            case.holds(&format!("type {code}, maximum {size}, %"), printed, Agreement::Exact, found);
            same += if found == limit(&two, class(code)?, newton_metres) { 1.0 } else { 0.0 };
        }
    }
    case.mark(Mark::Derivable);
    case.holds("values that are the same in iso-6789-2", "24", Agreement::Exact, same);
    Ok(())
}

fn american(case: &mut Case) -> Result<(), Stopped> {
    let book = book("asme-b107-300")?;
    let rows = [("II A", "4", Mark::Seen), ("I B", "4", Mark::Seen), ("II D", "6", Mark::FromMemory)];
    for (code, printed, mark) in rows {
        case.mark(mark);
        let found = limit(&book, class(code)?, 10.0);
        case.holds(&format!("type {code}, %"), printed, Agreement::Exact, found);
    }
    Ok(())
}
