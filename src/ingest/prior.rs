//! `[prior]` of `run.toml`: what is known of such tools before this one was measured.

use leverarm_metrology::run::{PriorStatement, StatedPrior};

use super::checks;
use super::page::Sink;
use super::table::Table;
use super::value::{Fault, percent};

/// Either `in_tolerance`, or `mean` and `standard_deviation`; and `source` always.
pub(super) fn prior(table: &Table<'_, '_>, sink: &mut Sink) -> Option<StatedPrior> {
    table.only(sink);
    let source = table.need_text(
        sink,
        "source",
        "where it comes from, such as the laboratory's own history of the model",
    );
    let in_tolerance = table.value(sink, "in_tolerance", "90 %", percent);
    let mean = table.value(sink, "mean", "0.2 %", percent);
    let deviation = table.value(sink, "standard_deviation", "1.1 %", percent);
    if let (true, Some(entry)) =
        (table.has("in_tolerance"), table.entry("mean").or_else(|| table.entry("standard_deviation")))
    {
        let fault = Fault::new(
            &checks::SAID_TWICE,
            "the prior is stated in two ways",
            "in_tolerance, or mean and standard_deviation",
            "remove one of them",
        );
        sink.fault(&entry.path, &entry.span, "both", fault);
        return None;
    }
    if !table.has("in_tolerance") {
        let half = ["mean", "standard_deviation"].into_iter().filter(|key| table.has(key)).count() == 1;
        let absent = ["mean", "standard_deviation"].into_iter().find(|key| !table.has(key));
        if let Some(absent) = absent {
            sink.missing(
                &table.path(if half { absent } else { "in_tolerance" }),
                "in_tolerance, or mean and standard_deviation",
                "write in_tolerance = \"90 %\", or mean = \"0.2 %\" and standard_deviation = \"1.1 %\"",
            );
        }
    }
    let statement = match (in_tolerance, mean, deviation) {
        (Some(share), _, _) => PriorStatement::InTolerance(share),
        (None, Some(mean), Some(standard_deviation)) => PriorStatement::Normal { mean, standard_deviation },
        _ => return None,
    };
    Some(StatedPrior { statement, source: source?.to_owned() })
}
