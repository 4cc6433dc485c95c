//! Checks of what the certificate must name: people, place, customer, laboratory, number.

use super::Rule;
use super::bench::Bench;
use super::words::{blank, unsaid};
use crate::finding::{Check, Finding, Place, Severity};
use crate::run::Condition;
use crate::study::same_name;

const fn gap(name: &'static str, about: &'static str, source: &'static str) -> Check {
    Check { name, severity: Severity::Gap, about, source }
}

static TECHNICIAN: Check =
    gap("technician-missing", "Whoever took the readings is named.", "ISO/IEC 17025:2017, 7.5.1");
static APPROVER: Check =
    gap("approver-missing", "Whoever answers for the certificate is named.", "ISO/IEC 17025:2017, 7.8.2.1 o");
static PLACE: Check =
    gap("place-missing", "The place where the work was done is named.", "ISO/IEC 17025:2017, 7.8.2.1 c");
static CUSTOMER: Check = gap(
    "customer-missing",
    "Name and address of the customer are on record.",
    "ISO/IEC 17025:2017, 7.8.2.1 e",
);
static LABORATORY: Check = gap(
    "laboratory-missing",
    "Name and address of the laboratory are on record.",
    "ISO/IEC 17025:2017, 7.8.2.1 b",
);
static NUMBER: Check = gap(
    "certificate-number-missing",
    "The certificate has a number of its own.",
    "ISO/IEC 17025:2017, 7.8.2.1 d",
);
static AMENDMENT: Check = gap(
    "amendment-change-missing",
    "A certificate that replaces another says what changed and why.",
    "ISO/IEC 17025:2017, 7.8.8.1",
);
static REPLACES_ITSELF: Check = Check {
    name: "amendment-replaces-itself",
    severity: Severity::Error,
    about: "A certificate that replaces another has a new number.",
    source: "ISO/IEC 17025:2017, 7.8.8.3",
};
static ADJUSTMENT: Check = Check {
    name: "adjustment-unsaid",
    severity: Severity::Warning,
    about: "A run as left says what was done to the tool since it was found.",
    source: "ISO/IEC 17025:2017, 7.8.4.1 d",
};
/// Asked of a run as left that is judged alone; it falls away where the run as found stands beside it.
pub static AS_FOUND_ABSENT: Check = Check {
    name: "as-found-absent",
    severity: Severity::Warning,
    about: "Results before an adjustment stand beside those after it, or it is said why there are none.",
    source: "ISO/IEC 17025:2017, 7.8.4.1 d",
};
static SAME_PERSON: Check = Check {
    name: "approver-is-technician",
    severity: Severity::Warning,
    about: "The certificate is approved by another person than the one who took the readings.",
    source: "common practice, no published source",
};

pub(super) static RULES: &[Rule] = &[
    Rule { check: &TECHNICIAN, look: technician },
    Rule { check: &APPROVER, look: approver },
    Rule { check: &PLACE, look: place },
    Rule { check: &CUSTOMER, look: customer },
    Rule { check: &LABORATORY, look: laboratory },
    Rule { check: &NUMBER, look: number },
    Rule { check: &AMENDMENT, look: amendment },
    Rule { check: &REPLACES_ITSELF, look: replaces_itself },
    Rule { check: &ADJUSTMENT, look: adjustment },
    Rule { check: &AS_FOUND_ABSENT, look: as_found_absent },
    Rule { check: &SAME_PERSON, look: same_person },
];

/// A finding where a text is missing or a mere placeholder.
fn needed(
    check: &'static Check,
    key: &str,
    what: &str,
    text: Option<&String>,
    remedy: &str,
) -> Option<Finding> {
    if !unsaid(text) {
        return None;
    }
    let given = text.map(|text| text.trim()).filter(|text| !text.is_empty()).unwrap_or("nothing");
    Some(
        Finding::new(check, Place::run(key), format!("{what} is not on record"))
            .given(given)
            .wanted(what)
            .remedy(remedy),
    )
}

fn technician(bench: &Bench) -> Vec<Finding> {
    let text = bench.run.people.technician.as_ref();
    let remedy = "add technician = \"…\" to [people]: whoever was at the bench";
    needed(&TECHNICIAN, "people.technician", "the name of whoever took the readings", text, remedy)
        .into_iter()
        .collect()
}

fn approver(bench: &Bench) -> Vec<Finding> {
    let text = bench.run.people.approver.as_ref();
    let remedy = "add approver = \"…\" to [people]: whoever is authorized to release the certificate";
    needed(&APPROVER, "people.approver", "the name of whoever answers for the certificate", text, remedy)
        .into_iter()
        .collect()
}

fn place(bench: &Bench) -> Vec<Finding> {
    let remedy = "add place = \"…\" to [run]: permanent laboratory, or on site and where";
    needed(&PLACE, "run.place", "the place of the work", bench.run.place.as_ref(), remedy)
        .into_iter()
        .collect()
}

fn customer(bench: &Bench) -> Vec<Finding> {
    let customer = &bench.run.customer;
    let remedy = "add name and address to [customer], as the customer gave them";
    [
        needed(&CUSTOMER, "customer.name", "the name of the customer", customer.name.as_ref(), remedy),
        needed(
            &CUSTOMER,
            "customer.address",
            "the address of the customer",
            customer.address.as_ref(),
            remedy,
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn laboratory(bench: &Bench) -> Vec<Finding> {
    let laboratory = &bench.run.laboratory;
    let remedy = "add name and address to [laboratory], or to the file that it names";
    [
        needed(
            &LABORATORY,
            "laboratory.name",
            "the name of the laboratory",
            laboratory.name.as_ref(),
            remedy,
        ),
        needed(
            &LABORATORY,
            "laboratory.address",
            "the address of the laboratory",
            laboratory.address.as_ref(),
            remedy,
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn number(bench: &Bench) -> Vec<Finding> {
    let text = bench.run.terms.number.as_ref();
    let remedy = "add number = \"…\" to [certificate]: one that no other certificate has";
    needed(&NUMBER, "certificate.number", "the number of the certificate", text, remedy).into_iter().collect()
}

fn amendment(bench: &Bench) -> Vec<Finding> {
    let terms = &bench.run.terms;
    let Some(replaced) = terms.replaces.as_ref().filter(|text| !text.trim().is_empty()) else {
        return vec![];
    };
    let what = format!("what changed since certificate {replaced} and why");
    let remedy = "add change = \"…\" to [certificate]: what was changed and why";
    needed(&AMENDMENT, "certificate.change", &what, terms.change.as_ref(), remedy).into_iter().collect()
}

fn replaces_itself(bench: &Bench) -> Vec<Finding> {
    let terms = &bench.run.terms;
    let (Some(number), Some(replaced)) = (&terms.number, &terms.replaces) else { return vec![] };
    if number.trim().is_empty() || number.trim() != replaced.trim() {
        return vec![];
    }
    vec![
        Finding::new(
            &REPLACES_ITSELF,
            Place::run("certificate.replaces"),
            format!("certificate {number} is said to replace certificate {replaced}, which is itself"),
        )
        .given(replaced.clone())
        .wanted("the number of the certificate that went out before")
        .remedy("give the new certificate a number of its own"),
    ]
}

fn adjustment(bench: &Bench) -> Vec<Finding> {
    if bench.run.condition != Condition::AsLeft {
        return vec![];
    }
    let text = bench.run.terms.adjustment.as_ref();
    let remedy = "add adjustment = \"…\" to [certificate]: what was adjusted or repaired";
    let what = "what was done to the tool between as found and as left";
    needed(&ADJUSTMENT, "certificate.adjustment", what, text, remedy).into_iter().collect()
}

fn as_found_absent(bench: &Bench) -> Vec<Finding> {
    let done = bench.run.terms.adjustment.as_ref().filter(|text| !blank(text));
    let said = bench.run.terms.remarks.iter().any(|remark| remark.to_lowercase().contains("as found"));
    let Some(done) = done.filter(|_| bench.run.condition == Condition::AsLeft && !said) else {
        return vec![];
    };
    vec![
        Finding::new(
            &AS_FOUND_ABSENT,
            Place::run("certificate.adjustment"),
            "the tool was adjusted or repaired, and this run has no results from before",
        )
        .given(format!("{}, and as left alone", done.trim()))
        .wanted("the run as found beside it")
        .remedy(
            "certify both together, as found first: 'leverarm certify AS_FOUND AS_LEFT'; where the tool could not be measured before, say why there is no result 'as found' in remarks of [certificate]",
        ),
    ]
}

fn same_person(bench: &Bench) -> Vec<Finding> {
    let people = &bench.run.people;
    let (Some(technician), Some(approver)) = (&people.technician, &people.approver) else { return vec![] };
    if !same_name(technician, approver) || unsaid(people.technician.as_ref()) {
        return vec![];
    }
    vec![
        Finding::new(
            &SAME_PERSON,
            Place::run("people.approver"),
            format!("the certificate is approved by {}, who also took the readings", approver.trim()),
        )
        .given(approver.trim())
        .wanted("a second pair of eyes")
        .remedy("have another authorized person look at the record, where the laboratory has one"),
    ]
}
