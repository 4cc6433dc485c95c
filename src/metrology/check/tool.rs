//! Checks of the tool as the record describes it.

use super::Rule;
use super::bench::Bench;
use super::words::{blank, clause, list, unsaid};
use crate::finding::{Check, Finding, Place, Severity};
use crate::rulebook::IdleClaim;

static RANGE: Check = Check {
    name: "tool-range",
    severity: Severity::Error,
    about: "The range of the tool starts above zero and rises; a fixed tool has one torque only.",
    source: "leverarm",
};
static RESOLUTION: Check = Check {
    name: "tool-resolution",
    severity: Severity::Error,
    about: "The resolution of the tool is above zero and no larger than its maximum.",
    source: "leverarm",
};
static RESOLUTION_MISSING: Check = Check {
    name: "tool-resolution-missing",
    severity: Severity::Error,
    about: "A tool with a scale or a display has a resolution on record.",
    source: "ISO 6789-2:2017, 6.2.1 (from memory)",
};
static RESOLUTION_UNEXPECTED: Check = Check {
    name: "tool-resolution-unexpected",
    severity: Severity::Error,
    about: "A tool on which nothing can be read (II B, C, E, F) has no resolution on record.",
    source: "ISO 6789-2:2017, 6.2.1 (from memory)",
};
static CLAIM: Check = Check {
    name: "tool-claim",
    severity: Severity::Error,
    about: "The permissible deviation that the maker claims is above zero.",
    source: "leverarm",
};
static LENGTH: Check = Check {
    name: "tool-length",
    severity: Severity::Error,
    about: "The lever length on record is above zero.",
    source: "leverarm",
};
static CLASS: Check = Check {
    name: "tool-class-not-in-rulebook",
    severity: Severity::Error,
    about: "The rulebook has a permissible deviation and test points for the class and size of the tool.",
    source: "leverarm",
};
static IDENTITY: Check = Check {
    name: "tool-identity",
    severity: Severity::Gap,
    about: "Maker, model and serial number identify the tool without doubt.",
    source: "ISO/IEC 17025:2017, 7.8.2.1 g",
};
static HEAD: Check = Check {
    name: "tool-head",
    severity: Severity::Gap,
    about: "For a wrench the drive or the head with which it was calibrated is named, since the result holds for that one only.",
    source: "ISO/IEC 17025:2017, 7.8.2.1 g",
};
static CLAIM_IDLE: Check = Check {
    name: "tool-claim-not-governing",
    severity: Severity::Warning,
    about: "The maker's claim is tighter than the class, so that it has an effect.",
    source: "ISO 6789-1:2017, 5.1.5 (from memory)",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &RANGE, look: range },
    Rule { check: &RESOLUTION, look: resolution },
    Rule { check: &RESOLUTION_MISSING, look: resolution_missing },
    Rule { check: &RESOLUTION_UNEXPECTED, look: resolution_unexpected },
    Rule { check: &CLAIM, look: claim },
    Rule { check: &LENGTH, look: length },
    Rule { check: &CLASS, look: class },
    Rule { check: &IDENTITY, look: identity },
    Rule { check: &HEAD, look: head },
    Rule { check: &CLAIM_IDLE, look: claim_idle },
];

/// Whether the range can be taken at its word. Where it cannot, that alone is reported, not also
/// every target that lies outside it.
pub(super) fn has_sound_range(bench: &Bench) -> bool {
    range(bench).is_empty()
}

fn range(bench: &Bench) -> Vec<Finding> {
    let tool = &bench.run.tool;
    let (lower, upper) = (tool.range.lower, tool.range.upper);
    let (low, high) = (lower.torque(), upper.torque());
    let found = |message: String, wanted: &str, remedy: &str| {
        vec![
            Finding::new(&RANGE, Place::run("tool.range"), message)
                .given(format!("{lower} .. {upper}"))
                .wanted(wanted)
                .remedy(remedy),
        ]
    };
    if low.newton_metres() <= 0.0 {
        return found(
            format!("the range starts at {lower}, where no relative deviation exists"),
            "a lower limit above zero",
            "write the lowest value at which the tool may be used: the lowest marked one, or the one that its maker states",
        );
    }
    if tool.class.is_fixed() {
        if low.same_as(high) {
            return vec![];
        }
        return found(
            format!("a fixed tool ({}) has one torque, the range goes from {lower} to {upper}", tool.class),
            "both ends at the set value",
            "write the set value at both ends of the range, or mend tool.kind",
        );
    }
    if low < high && !low.same_as(high) {
        return vec![];
    }
    found(
        format!("the range starts at {lower} and ends at {upper}"),
        "a lower limit below the upper limit",
        "write the range from the lower to the upper limit, each with its unit",
    )
}

fn resolution(bench: &Bench) -> Vec<Finding> {
    let tool = &bench.run.tool;
    let Some(resolution) = tool.resolution else { return vec![] };
    let found = |message: String| {
        vec![
            Finding::new(&RESOLUTION, Place::run("tool.resolution"), message)
                .given(resolution.to_string())
                .wanted(format!("more than zero, at most {}", tool.range.upper))
                .remedy("write one step of the display, or the part of a division that can be read, with its unit"),
        ]
    };
    if resolution.torque().newton_metres() <= 0.0 {
        found(format!("the resolution is {resolution}, and must be above zero"))
    } else if resolution.torque() > tool.range.upper.torque() {
        found(format!(
            "the resolution {resolution} is larger than the tool's maximum of {}",
            tool.range.upper
        ))
    } else {
        vec![]
    }
}

fn resolution_missing(bench: &Bench) -> Vec<Finding> {
    let class = bench.run.tool.class;
    if !class.has_scale() || bench.run.tool.resolution.is_some() {
        return vec![];
    }
    vec![
        Finding::new(
            &RESOLUTION_MISSING,
            Place::run("tool.resolution"),
            format!(
                "a tool of class {class} ({}) is read, and its resolution is not on record",
                class.words()
            ),
        )
        .given("nothing")
        .wanted("one step of the display, or the part of a division that can be read")
        .remedy("add resolution = \"…\" with its unit to [tool]"),
    ]
}

fn resolution_unexpected(bench: &Bench) -> Vec<Finding> {
    let class = bench.run.tool.class;
    let Some(resolution) = bench.run.tool.resolution.filter(|_| !class.has_scale()) else { return vec![] };
    vec![
        Finding::new(
            &RESOLUTION_UNEXPECTED,
            Place::run("tool.resolution"),
            format!("nothing can be read on a tool of class {class} ({}), yet a resolution of {resolution} is on record", class.words()),
        )
        .given(resolution.to_string())
        .wanted("no resolution")
        .remedy("take the resolution out, or mend tool.kind if the tool has a scale"),
    ]
}

fn claim(bench: &Bench) -> Vec<Finding> {
    let Some(claim) = bench.run.tool.claim else { return vec![] };
    if claim.value() > 0.0 && claim.value() < 100.0 {
        return vec![];
    }
    vec![
        Finding::new(
            &CLAIM,
            Place::run("tool.tolerance"),
            format!("a permissible deviation of {claim} is claimed; it lies between 0 % and 100 %"),
        )
        .given(claim.to_string())
        .wanted("more than 0 % and less than 100 %")
        .remedy("write the maker's claim without a sign, such as \"2 %\", or take it out"),
    ]
}

fn length(bench: &Bench) -> Vec<Finding> {
    let Some(length) = bench.run.tool.length else { return vec![] };
    if length.0 > 0.0 && length.0.is_finite() {
        return vec![];
    }
    vec![
        Finding::new(
            &LENGTH,
            Place::run("tool.length"),
            format!("the lever is {length} long, and must be above zero"),
        )
        .given(length.to_string())
        .wanted("more than 0 mm")
        .remedy("measure from the middle of the grip to the axis of the drive"),
    ]
}

fn class(bench: &Bench) -> Vec<Finding> {
    let (tool, rulebook) = (&bench.run.tool, bench.rulebook);
    let mut missing = Vec::new();
    if rulebook.permissible(tool.class, tool.range.upper.torque()).is_none() {
        missing.push(format!("permissible deviation at a maximum of {}", tool.range.upper));
    }
    if rulebook.points_for(tool.class).is_none() {
        missing.push("test points".to_owned());
    }
    if missing.is_empty() {
        return vec![];
    }
    vec![
        Finding::new(
            &CLASS,
            Place::run("tool.kind"),
            format!(
                "rulebook {} has no {} for class {} ({})",
                rulebook.name,
                list(&missing),
                tool.class,
                tool.class.words()
            ),
        )
        .given(tool.class.code())
        .wanted("a class that the rulebook covers")
        .remedy("choose a rulebook that covers this class, or mend tool.kind"),
    ]
}

fn identity(bench: &Bench) -> Vec<Finding> {
    let tool = &bench.run.tool;
    [
        ("tool.maker", "maker", &tool.maker),
        ("tool.model", "model", &tool.model),
        ("tool.serial", "serial number", &tool.serial),
    ]
    .into_iter()
    .filter(|(_, _, text)| blank(text))
    .map(|(key, what, text)| {
        Finding::new(&IDENTITY, Place::run(key), format!("the {what} of the tool is not on record"))
            .given(if text.trim().is_empty() { "nothing" } else { text.trim() })
            .wanted(format!("the {what} as it stands on the tool"))
            .remedy("copy it from the tool; where the tool bears none, mark the tool and write that mark")
    })
    .collect()
}

fn head(bench: &Bench) -> Vec<Finding> {
    let tool = &bench.run.tool;
    if tool.class.is_screwdriver() || !(unsaid(tool.drive.as_ref()) && unsaid(tool.head.as_ref())) {
        return vec![];
    }
    vec![
        Finding::new(
            &HEAD,
            Place::run("tool.drive"),
            "neither the drive nor the head of the wrench is on record, and the result holds only for the one that was used",
        )
        .given("nothing")
        .wanted("the drive, such as 1/2 in, or the head, such as ratchet 14x18")
        .remedy("add drive = \"…\" or head = \"…\" to [tool]"),
    ]
}

fn claim_idle(bench: &Bench) -> Vec<Finding> {
    let tool = &bench.run.tool;
    let Ok(governing) = bench.rulebook.governing_limit(tool) else { return vec![] };
    let class = governing.class_permissible;
    let (claim, message, from) = match governing.idle_claim {
        Some(IdleClaim::Looser { claim }) => (
            claim,
            format!(
                "the claim of ±{claim} is looser than the ±{class} of class {}, so the class governs",
                tool.class
            ),
            &governing.class_from,
        ),
        Some(IdleClaim::NotAllowed { claim }) => (
            claim,
            format!(
                "the claim of ±{claim} has no effect: under rulebook {} the class governs with ±{class}",
                bench.rulebook.name
            ),
            &bench.rulebook.claim_governs.from,
        ),
        None => return vec![],
    };
    vec![
        Finding::new(&CLAIM_IDLE, Place::run("tool.tolerance"), message)
            .given(claim.to_string())
            .wanted("a claim that is tighter than the class, under a rulebook that lets it govern")
            .remedy("take the claim out, or check it against the maker's data sheet")
            .clause(clause(from)),
    ]
}
