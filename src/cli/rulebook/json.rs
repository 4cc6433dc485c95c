//! The rulebook as JSON.

use leverarm_metrology::rulebook::{Certainty, Rulebook, Source, TestPoint, Written};
use leverarm_metrology::tool::ToolClass;
use serde_json::{Value, json};

use super::memory_sentence;

/// The rulebook as JSON, each value with its source.
#[must_use]
pub fn render_json(book: &Rulebook) -> Value {
    let codes = |classes: &[ToolClass]| classes.iter().map(|class| class.code()).collect::<Vec<_>>();
    let room = &book.environment;
    json!({
        "name": book.name,
        "title": book.title,
        "standard": book.standard,
        "edition": book.edition,
        "purpose": book.purpose,
        "values": book.sources().len(),
        "values_from_memory": book.count_of(Certainty::FromMemory),
        "to_be_checked": memory_sentence(book),
        "certificate": {
            "method": book.certificate.method,
            "statement": book.certificate.statement,
            "specification": book.certificate.pattern(),
        },
        "deviation": with(json!({
            "sign": book.deviation.value.sign,
            "denominator": book.deviation.value.denominator,
            "words": book.deviation.value.words(),
        }), &book.deviation.from),
        "limits": book.limits.iter().map(|row| with(json!({
            "classes": codes(&row.classes),
            "above": row.above.map(|torque| torque.to_string()),
            "up_to": row.up_to.map(|torque| torque.to_string()),
            "permissible_percent": row.permissible,
        }), &row.from)).collect::<Vec<_>>(),
        "claim_governs": sourced(json!(book.claim_governs.value), &book.claim_governs.from),
        "preloads": book.preloads.iter().map(|row| with(json!({
            "classes": codes(&row.classes),
            "count": row.count,
        }), &row.from)).collect::<Vec<_>>(),
        "points": book.points.iter().map(|row| json!({
            "classes": codes(&row.classes),
            "points": sourced(json!(row.points.iter().map(TestPoint::to_string).collect::<Vec<_>>()), &row.from),
            "readings": sourced(json!(row.readings), &row.readings_from),
            "tolerance_percent": sourced(json!(row.tolerance), &row.tolerance_from),
            "tolerance_ends_percent": sourced(json!(row.tolerance_ends), &row.tolerance_ends_from),
        })).collect::<Vec<_>>(),
        "pulls": book.pulls.iter().map(|row| with(json!({
            "classes": codes(&row.classes),
            "up_to": row.up_to.map(|torque| torque.to_string()),
            "seconds_min": row.seconds_min,
            "seconds_max": row.seconds_max,
        }), &row.from)).collect::<Vec<_>>(),
        "environment": {
            "temperature_min_celsius": written(&room.temperature_min),
            "temperature_max_celsius": written(&room.temperature_max),
            "temperature_change_kelvin": written(&room.temperature_change),
            "humidity_max_percent": written(&room.humidity_max),
        },
        "reference_share_percent": sourced(json!(book.reference_share.value), &book.reference_share.from),
        "resolution_share_percent": sourced(json!(book.resolution_share.value), &book.resolution_share.from),
        "budget": budget_json(book),
        "decisions": sourced(json!(book.decisions.value), &book.decisions.from),
        "recall": book.recall.as_ref().map(|recall| json!({
            "months": sourced(json!(recall.months.value), &recall.months.from),
            "uses": sourced(json!(recall.uses.value), &recall.uses.from),
        })),
        "remarks": book.remarks,
        "cautions": book.cautions,
    })
}

fn budget_json(book: &Rulebook) -> Value {
    let Some(plan) = &book.budget else { return Value::Null };
    json!({
        "variations": plan.variations.iter().map(|row| with(json!({
            "variation": row.variation,
            "positions": row.positions,
            "readings": row.readings,
        }), &row.from)).collect::<Vec<_>>(),
        "carried": sourced(json!(plan.carried.value), &plan.carried.from),
        "resolution_reads": sourced(json!(plan.resolution_reads.value), &plan.resolution_reads.from),
        "coverage_factor": sourced(json!(plan.coverage.value), &plan.coverage.from),
        "probability_percent": sourced(json!(plan.probability.value), &plan.probability.from),
        "study_tools_min": plan.study_tools_min.as_ref().map(|tools| sourced(json!(tools.value), &tools.from)),
    })
}

/// A limit of the room, with its digits in the document where it was converted.
fn written(value: &Written) -> Value {
    with(json!({ "value": value.value, "as_written": value.as_written }), &value.from)
}

/// A value and where it comes from.
fn sourced(value: Value, from: &Source) -> Value {
    with(json!({ "value": value }), from)
}

/// A row and where it comes from.
fn with(mut row: Value, from: &Source) -> Value {
    if let Some(fields) = row.as_object_mut() {
        fields.insert("source".to_owned(), json!(from.source));
        fields.insert("certainty".to_owned(), json!(from.certainty));
        fields.insert("note".to_owned(), json!(from.note));
    }
    row
}
