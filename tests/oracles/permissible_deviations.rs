//! Source: published summaries of ISO 6789:2003 and of JIS B 4652 (type I and II A); ISO 6789-1:2017, 5.1.5, from memory (II B to II G).
//!
//! Maximum permissible deviation by type, class and maximum torque of the tool, in percent. The
//! boundary of 10 N·m belongs to the smaller tools.

#![allow(clippy::expect_used)]

use leverarm_metrology::quantity::{Percent, Torque, TorqueUnit};
use leverarm_metrology::rulebook::{Certainty, Rulebook, embedded};
use leverarm_metrology::tool::ToolClass;

use Certainty::{Confirmed, FromMemory};

/// Class, limit up to 10 N·m, limit above 10 N·m, how sure we are.
const TABLE: [(&str, f64, f64, Certainty); 12] = [
    ("I A", 6.0, 6.0, Confirmed),
    ("I B", 6.0, 4.0, Confirmed),
    ("I C", 6.0, 4.0, Confirmed),
    ("I D", 6.0, 6.0, Confirmed),
    ("I E", 6.0, 4.0, Confirmed),
    ("II A", 6.0, 4.0, Confirmed),
    ("II B", 6.0, 4.0, FromMemory),
    ("II C", 6.0, 4.0, FromMemory),
    ("II D", 6.0, 6.0, FromMemory),
    ("II E", 6.0, 6.0, FromMemory),
    ("II F", 6.0, 6.0, FromMemory),
    ("II G", 6.0, 6.0, FromMemory),
];

fn limit(book: &Rulebook, class: ToolClass, maximum: Torque) -> (Percent, Certainty) {
    let row = book.permissible(class, maximum).expect("every class and size has a limit");
    (row.permissible, row.from.certainty)
}

#[test]
fn iso_6789_1_permissible_deviation_of_each_type_and_class() {
    for name in ["iso-6789-1", "iso-6789-2"] {
        let text = embedded(name).expect("built in").text;
        let book = Rulebook::parse(text).expect("a built-in rulebook is sound");
        for (code, small, large, certainty) in TABLE {
            let class = ToolClass::parse(code).expect("a class");
            let at = |value, unit| limit(&book, class, Torque::new(value, unit));
            let (small, large) = ((Percent::new(small), certainty), (Percent::new(large), certainty));
            for maximum in [0.5, 9.999, 10.0] {
                assert_eq!(at(maximum, TorqueUnit::NewtonMetre), small, "{name}, {code}, {maximum} N·m");
            }
            for maximum in [10.001, 30.0, 1000.0] {
                assert_eq!(at(maximum, TorqueUnit::NewtonMetre), large, "{name}, {code}, {maximum} N·m");
            }
            // The boundary, written in other units.
            assert_eq!(at(1000.0, TorqueUnit::CentinewtonMetre), small, "{name}, {code}, 1000 cN·m");
            assert_eq!(at(0.01, TorqueUnit::KilonewtonMetre), small, "{name}, {code}, 0.01 kN·m");
            // 88 lbf·in = 9.943 N·m, 89 lbf·in = 10.056 N·m
            assert_eq!(at(88.0, TorqueUnit::PoundForceInch), small, "{name}, {code}, 88 lbf·in");
            assert_eq!(at(89.0, TorqueUnit::PoundForceInch), large, "{name}, {code}, 89 lbf·in");
        }
    }
}

/// ±4 % for mechanical wrenches: published summaries of ASME B107.300. Screwdrivers: from memory.
#[test]
fn asme_b107_300_limits_do_not_depend_on_size() {
    let text = embedded("asme-b107-300").expect("built in").text;
    let book = Rulebook::parse(text).expect("a built-in rulebook is sound");
    for class in ToolClass::ALL {
        let wanted = Percent::new(if class.is_screwdriver() { 6.0 } else { 4.0 });
        for maximum in [1.0, 10.0, 500.0] {
            assert_eq!(limit(&book, class, Torque::from_newton_metres(maximum)).0, wanted, "{class}");
        }
    }
}
