//! The Digital Calibration Certificate: its signature, and every quantity in it.

use leverarm_dcc::Dcc;
use leverarm_dcc::read::{Column, Table};
use leverarm_dcc::sign::SignError;
use leverarm_seal::Verification;

use super::parts::Parts;
use super::rebuild::Rebuilt;
use super::report::{Difference, Outcome, Report};
use crate::certificate::proof::{XmlFault, verify_xml};

const PART: &str = "certificate.xml";

pub(super) fn compare(
    verification: &Verification,
    parts: &Parts<'_>,
    rebuilt: &Rebuilt,
    report: &mut Report,
) {
    let (computed, found) = match (&rebuilt.xml, parts.xml) {
        (Ok(computed), Some(found)) => (computed, found),
        (Err(error), None) => return report.say(PART, Outcome::Note, format!("there is none: {error}")),
        (Ok(_), None) => return report.say(PART, Outcome::Missing, "is not there, though the run gives one"),
        (Err(error), Some(_)) => {
            return report.say(PART, Outcome::Differs, format!("does not follow from the run: {error}"));
        }
    };
    let unsigned = match verify_xml(found) {
        Ok(signature) => {
            let same = verification.signer.as_ref().is_some_and(|s| s.fingerprint == signature.signer);
            match same {
                true => report.say(PART, Outcome::Agrees, "its signature holds, by the same signer"),
                false => report.say(PART, Outcome::Differs, "it was not signed by the signer of the PDF"),
            }
            signature.unsigned
        }
        Err(XmlFault::Open(SignError::Unsigned)) if verification.signer.is_none() => found.to_vec(),
        Err(error) => {
            report.say(PART, Outcome::Differs, format!("its signature: {error}"));
            found.to_vec()
        }
    };
    let (count, differences) = differences(computed, &unsigned);
    report.compare(PART, format!("{count} values agree, to the last digit"), differences);
}

/// How many values the computed certificate has, and what differs.
fn differences(computed: &[u8], found: &[u8]) -> (usize, Vec<Difference>) {
    let (ours, theirs) = match (leverarm_dcc::read(computed), leverarm_dcc::read(found)) {
        (Ok(ours), Ok(theirs)) => (ours, theirs),
        (Err(error), _) => return (0, vec![Difference::new("what was computed", "XML", &error.to_string())]),
        (_, Err(error)) => return (0, vec![Difference::new(PART, "XML", &error.to_string())]),
    };
    let mut all = Vec::new();
    let mut count = values(&ours, &theirs, &mut all);
    count += admin(&ours, &theirs, &mut all);
    if all.is_empty() && computed != found {
        all.push(first_line(computed, found));
    }
    (count, all)
}

fn same(path: String, computed: &str, found: &str, all: &mut Vec<Difference>) -> usize {
    if computed != found {
        all.push(Difference::new(path, computed, found));
    }
    1
}

/// Who, for whom, what, when.
fn admin(ours: &Dcc, theirs: &Dcc, all: &mut Vec<Difference>) -> usize {
    let (a, b) = (&ours.admin, &theirs.admin);
    let texts = [
        ("uniqueIdentifier", &a.unique_identifier, &b.unique_identifier),
        ("countryCodeISO3166_1", &a.country, &b.country),
    ];
    let mut count = 0;
    for (what, a, b) in texts {
        count += same(what.to_owned(), a, b, all);
    }
    let debug = [
        (
            "dates",
            format!("{:?}", (a.received, a.begin, a.end, a.issued)),
            format!("{:?}", (b.received, b.begin, b.end, b.issued)),
        ),
        ("replaced certificate", format!("{:?}", a.replaces), format!("{:?}", b.replaces)),
        ("laboratory", a.laboratory.words().to_owned(), b.laboratory.words().to_owned()),
        ("customer", a.customer.words().to_owned(), b.customer.words().to_owned()),
        ("items", format!("{:?}", a.items), format!("{:?}", b.items)),
    ];
    for (what, a, b) in debug {
        count += same(what.to_owned(), &a, &b, all);
    }
    for place in 0..a.statements.len().max(b.statements.len()) {
        let words = |list: &[leverarm_dcc::read::Statement]| {
            let found = list.get(place);
            found.map_or_else(
                || "nothing".to_owned(),
                |s| format!("{} {}", s.conformity.as_deref().unwrap_or_default(), s.declaration.words()),
            )
        };
        count += same(format!("statement {}", place + 1), &words(&a.statements), &words(&b.statements), all);
    }
    count
}

/// Every table, and the conditions in the room.
fn values(ours: &Dcc, theirs: &Dcc, all: &mut Vec<Difference>) -> usize {
    let mut count = 0;
    for place in 0..ours.conditions.len().max(theirs.conditions.len()) {
        let columns = |dcc: &Dcc| dcc.conditions.get(place).map_or(Vec::new(), |c| c.columns.clone());
        count += table(&format!("condition {}", place + 1), &columns(ours), &columns(theirs), all);
    }
    for place in 0..ours.tables.len().max(theirs.tables.len()) {
        let name = |table: &Table| {
            let names: Vec<&str> = table.context.iter().map(|c| c.name.words()).collect();
            names.into_iter().filter(|name| !name.is_empty()).collect::<Vec<_>>().join(", ")
        };
        let (a, b) = (ours.tables.get(place), theirs.tables.get(place));
        let path = a.or(b).map(name).unwrap_or_default();
        let columns = |table: Option<&Table>| table.map_or(Vec::new(), |table| table.columns.clone());
        let unreadable = |table: Option<&Table>| table.map_or(0, |table| table.unreadable.len());
        count += same(
            format!("{path}: unreadable quantities"),
            &unreadable(a).to_string(),
            &unreadable(b).to_string(),
            all,
        );
        count += table(&path, &columns(a), &columns(b), all);
    }
    count
}

fn table(path: &str, ours: &[Column], theirs: &[Column], all: &mut Vec<Difference>) -> usize {
    let mut count = 0;
    for place in 0..ours.len().max(theirs.len()) {
        let (a, b) = (ours.get(place), theirs.get(place));
        let name = a.or(b).map(|column| column.name.words().to_owned()).unwrap_or_default();
        let (a, b) = (a.map(facts).unwrap_or_default(), b.map(facts).unwrap_or_default());
        for fact in 0..a.len().max(b.len()) {
            let of = |list: &[(String, String)]| list.get(fact).cloned().unwrap_or_default();
            let ((what, a), (other, b)) = (of(&a), of(&b));
            let what = if what.is_empty() { other } else { what };
            count += same(format!("{path}, {name}, {what}"), &a, &b, all);
        }
    }
    count
}

/// Everything that is said of a quantity, as names and texts.
fn facts(column: &Column) -> Vec<(String, String)> {
    let mut facts =
        vec![("terms".to_owned(), column.terms.join(" ")), ("unit".to_owned(), column.units.join(" "))];
    let list = |what: &str, values: &[leverarm_dcc::Digits]| -> Vec<(String, String)> {
        values.iter().enumerate().map(|(row, v)| (format!("{what} {}", row + 1), v.to_string())).collect()
    };
    facts.extend(list("value", &column.values));
    if let Some(expanded) = &column.expanded {
        facts.extend(list("expanded uncertainty", &expanded.values));
        facts.extend(list("k", &expanded.k));
        facts.extend(list("coverage probability", &expanded.probability));
    }
    for beside in &column.beside {
        facts.push(("unit beside".to_owned(), beside.units.join(" ")));
        facts.extend(list("value beside", &beside.values));
    }
    for meta in &column.meta {
        facts.push(("rule".to_owned(), meta.declaration.words().to_owned()));
        let verdicts = meta.conformity.iter().enumerate();
        facts.extend(verdicts.map(|(row, word)| (format!("conformity {}", row + 1), word.clone())));
        for limit in &meta.columns {
            facts.extend(list(&limit.terms.join(" "), &limit.values));
        }
    }
    facts
}

/// Where two texts part, each with what stands there.
fn first_line(computed: &[u8], found: &[u8]) -> Difference {
    let at = computed.iter().zip(found).take_while(|(a, b)| a == b).count();
    let before = computed.get(..at).unwrap_or_default();
    let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
    let around = |bytes: &[u8]| {
        let from = at.saturating_sub(20);
        String::from_utf8_lossy(bytes.get(from..(at + 40).min(bytes.len())).unwrap_or_default()).into_owned()
    };
    Difference::new(format!("line {line}"), &around(computed), &around(found))
}
