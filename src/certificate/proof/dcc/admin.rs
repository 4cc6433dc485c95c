//! Who, for whom, what, and the statements on the whole.

use leverarm_dcc::model::{
    Amendment, Change, Conformity, Contact, Identification, Issuer, Item, Laboratory, Location, Person,
    Software, Statement, Text,
};
use leverarm_dcc::terms;
use leverarm_metrology::decision::Verdict;
use leverarm_metrology::run::Run;
use leverarm_metrology::tool::Tool;

use super::{DccError, PRINTED, quantities};
use crate::certificate::CertificateView;
use crate::certificate::compose::Judged;

/// A text in English with its space collapsed, as the schema's texts are.
pub(super) fn text(words: &str) -> Text {
    Text::en(one_line(words))
}

pub(super) fn one_line(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub(super) fn software() -> Software {
    Software { name: text("leverarm"), release: format!("v{}", env!("CARGO_PKG_VERSION")) }
}

fn number(issuer: Issuer, value: &str, name: &str) -> Identification {
    Identification { issuer, value: one_line(value), name: Some(text(name)) }
}

/// Each job, and the customer's order.
pub(super) fn numbers(runs: &[Judged<'_>]) -> Vec<Identification> {
    let mut numbers: Vec<Identification> = Vec::new();
    for judged in runs {
        let job = number(Issuer::Laboratory, &judged.run.job, "Job");
        let order = judged.run.customer.order.as_ref();
        let order = order.map(|order| number(Issuer::Customer, order, "Order"));
        for found in std::iter::once(job).chain(order) {
            if !numbers.contains(&found) {
                numbers.push(found);
            }
        }
    }
    numbers
}

pub(super) fn amendment(judged: &Judged<'_>) -> Option<Amendment> {
    let replaced = one_line(judged.run.terms.replaces.as_ref()?);
    Some(Amendment { change: Change::Substituted, replaced })
}

pub(super) fn item(tool: &Tool) -> Result<Item, DccError> {
    let mut identifications = vec![number(Issuer::Manufacturer, &tool.serial, "Serial number")];
    identifications.extend(tool.owner_mark.as_ref().map(|mark| number(Issuer::Owner, mark, "Owner’s mark")));
    let mut quantities = vec![
        quantities::named("basic_measurementRangeMin", "Least torque of the range", &tool.range.lower)?,
        quantities::named("basic_measurementRangeMax", "Greatest torque of the range", &tool.range.upper)?,
    ];
    if let Some(step) = &tool.resolution {
        quantities.push(quantities::named("leverarm_resolution", "Resolution", step)?);
    }
    let further = [("head", &tool.head), ("drive", &tool.drive)];
    let further: Vec<String> =
        further.iter().filter_map(|(what, value)| Some(format!("{what}: {}", value.as_ref()?))).collect();
    Ok(Item {
        name: text(&format!("{} ({})", tool.class.words(), tool.class.code())),
        description: (!further.is_empty()).then(|| text(&further.join("; "))),
        maker: Some(one_line(&tool.maker)),
        model: Some(one_line(&tool.model)),
        identifications,
        quantities,
    })
}

pub(super) fn laboratory(run: &Run, country: &str) -> Laboratory {
    let known = &run.laboratory;
    let contact = known.contact.as_deref().map(one_line);
    let (mail, phone) = match contact {
        Some(contact) if contact.contains('@') => (Some(contact), None),
        other => (None, other),
    };
    Laboratory {
        code: None,
        contact: Contact {
            name: one_line(known.name.as_deref().unwrap_or_default()),
            mail,
            phone,
            location: Location {
                country: Some(country.to_owned()),
                further: known.address.as_deref().map(text),
                ..Location::default()
            },
        },
    }
}

pub(super) fn customer(run: &Run) -> Result<Contact, DccError> {
    let missing = |what| DccError::Missing { what, remedy: "say it under [customer]" };
    let known = &run.customer;
    let name = known.name.as_deref().ok_or_else(|| missing("the customer's name"))?;
    let address = known.address.as_deref().ok_or_else(|| missing("the customer's address"))?;
    let location = Location { further: Some(text(address)), ..Location::default() };
    Ok(Contact { name: one_line(name), mail: None, phone: None, location })
}

/// Who authorises it, then everybody who measured.
pub(super) fn persons(runs: &[Judged<'_>]) -> Result<Vec<Person>, DccError> {
    let approver = runs.iter().rev().find_map(|judged| judged.run.people.approver.as_deref());
    let approver = approver.ok_or(DccError::Missing {
        what: "who authorises the certificate",
        remedy: "say approver = \"…\" under [people], or give --approver",
    })?;
    let person = |name: &str, role: &str, main_signer| Person {
        name: one_line(name),
        role: Some(role.to_owned()),
        main_signer,
    };
    let mut persons = vec![person(approver, "authorised the certificate", true)];
    for technician in runs.iter().filter_map(|judged| judged.run.people.technician.as_deref()) {
        let found = person(technician, "measured", false);
        if !persons.contains(&found) {
            persons.push(found);
        }
    }
    Ok(persons)
}

/// The verdict of each run, traceability, and which file is the printed certificate.
pub(super) fn statements(runs: &[Judged<'_>], view: &CertificateView) -> Vec<Statement> {
    let mut statements: Vec<Statement> = runs
        .iter()
        .zip(&view.verdicts)
        .map(|(judged, words)| Statement {
            ref_type: Some(terms::CONFORMITY.to_owned()),
            norms: vec![judged.rulebook.certificate.method.clone()],
            declaration: Some(text(&format!("{}: {}. {}", words.condition, words.words, words.statement))),
            conformity: conformity(judged.evaluation.verdict),
            ..Statement::default()
        })
        .collect();
    statements.extend(view.references.iter().map(|reference| Statement {
        traceable: Some(true),
        norms: vec!["ISO/IEC 17025:2017".to_owned()],
        references: vec!["7.8.4.1 c".to_owned()],
        declaration: Some(text(&reference.traceability)),
        ..Statement::default()
    }));
    statements.extend(
        view.amendment
            .iter()
            .map(|words| Statement { declaration: Some(text(words)), ..Statement::default() }),
    );
    statements.push(Statement {
        declaration: Some(text(&format!(
            "The printed certificate is the file {PRINTED}. It holds this file, every reading and what it \
             was computed from."
        ))),
        ..Statement::default()
    });
    statements
}

/// A verdict in the words of the schema. What fails under a guard band is said to fail, as on paper:
/// the rule that was agreed says so.
pub(super) fn conformity(verdict: Verdict) -> Option<Conformity> {
    Some(match verdict {
        Verdict::Pass => Conformity::Pass,
        Verdict::ConditionalPass => Conformity::ConditionalPass,
        Verdict::ConditionalFail => Conformity::ConditionalFail,
        Verdict::Fail => Conformity::Fail,
        Verdict::NotJudged => return None,
    })
}
