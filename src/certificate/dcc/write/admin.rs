//! The administrative data.

use std::collections::BTreeSet;

use chrono::{Datelike, NaiveDate};

use super::emitter::Emitter;
use super::problem::Fault;
use super::quantity;
use crate::model::{
    Certificate, Change, Contact, Core, Document, Identification, Issuer, Item, Laboratory, Person, Place,
    PreviousReport, Software, Statement, Text,
};
use crate::terms;
use crate::unit::NonSiUnit;

pub(super) fn write(x: &mut Emitter<'_>, certificate: &Certificate) {
    x.element("dcc:administrativeData", |x| {
        software(x, "dcc:dccSoftware", &certificate.software);
        definitions(x, &certificate.core.languages);
        core(x, &certificate.core);
        x.element("dcc:items", |x| {
            if certificate.items.is_empty() {
                x.fault(Fault::Nothing { what: "item" });
            }
            for (index, item) in certificate.items.iter().enumerate() {
                write_item(x, index, item);
            }
        });
        laboratory(x, &certificate.laboratory);
        persons(x, &certificate.persons);
        contact(x, "dcc:customer", &certificate.customer);
        statements(x, certificate);
    });
}

/// A list of programs; none is an error, as the caller leaves an optional list out.
pub(super) fn software(x: &mut Emitter<'_>, name: &'static str, programs: &[Software]) {
    x.element(name, |x| {
        if programs.is_empty() {
            x.fault(Fault::Nothing { what: "software" });
        }
        for program in programs {
            x.element("dcc:software", |x| {
                x.text("dcc:name", &program.name);
                if !is_release(&program.release) {
                    let given = program.release.clone();
                    x.fault_at("dcc:release", Fault::Code { given, what: "version such as v1.2.3" });
                }
                x.word("dcc:release", &program.release);
                x.word("dcc:type", "application");
            });
        }
    });
}

/// A letter, perhaps a space, one to four numbers of up to three digits (rule of the DCC on `release`).
fn is_release(text: &str) -> bool {
    let mut chars = text.chars();
    let letter = chars.next().is_some_and(|c| c.is_ascii_alphabetic());
    let rest = chars.as_str();
    let numbers: Vec<&str> = rest.strip_prefix(' ').unwrap_or(rest).split('.').collect();
    let number = |n: &&str| (1..=3).contains(&n.len()) && n.bytes().all(|byte| byte.is_ascii_digit());
    letter && numbers.len() <= 4 && numbers.iter().all(number)
}

fn definitions(x: &mut Emitter<'_>, languages: &[String]) {
    let words: Vec<String> = terms::OWN.iter().map(|(term, words)| format!("{term}: {words}")).collect();
    // the definitions are in English whatever the language of the certificate
    let all = words.join("; ");
    let by_language = languages.iter().map(|language| (language.clone(), all.clone())).collect();
    x.element("dcc:refTypeDefinitions", |x| {
        x.element("dcc:refTypeDefinition", |x| {
            x.name("dcc:name", "Terms of the calibration of hand torque tools");
            x.text("dcc:description", &Text { by_language });
            x.word("dcc:namespace", terms::NAMESPACE);
            x.word("dcc:link", terms::LINK);
        });
    });
}

fn core(x: &mut Emitter<'_>, core: &Core) {
    x.element("dcc:coreData", |x| {
        country(x, "dcc:countryCodeISO3166_1", &core.country);
        languages(x, core);
        x.word("dcc:uniqueIdentifier", &core.unique_identifier);
        identifications(x, &core.identifications);
        let received = core.received.iter().map(|day| ("dcc:receiptDate", *day));
        let work = [("dcc:beginPerformanceDate", core.begin), ("dcc:endPerformanceDate", core.end)];
        let issued = core.issued.iter().map(|day| ("dcc:issueDate", *day));
        let mut before: Option<NaiveDate> = None;
        for (name, day) in received.chain(work).chain(issued) {
            if let Some(earlier) = before.filter(|earlier| *earlier > day) {
                x.fault_at(name, Fault::Order { earlier, later: day });
            }
            before = Some(day);
            if name == "dcc:issueDate" {
                x.word("dcc:performanceLocation", place(core.place));
            }
            date(x, name, day);
        }
        if core.issued.is_none() {
            x.word("dcc:performanceLocation", place(core.place));
        }
        if let Some(amendment) = &core.amendment {
            x.element("dcc:reportAmendedSubstituted", |x| {
                let change = match amendment.change {
                    Change::Amended => "amended",
                    Change::Substituted => "substituted",
                };
                x.word("dcc:typeOfChange", change);
                x.word("dcc:replacedUniqueIdentifier", &amendment.replaced);
            });
        }
        if let Some(previous) = &core.previous {
            report(x, "dcc:previousReport", previous);
        }
    });
}

fn languages(x: &mut Emitter<'_>, core: &Core) {
    if core.languages.is_empty() {
        x.fault(Fault::Nothing { what: "language" });
    }
    if core.binding_languages.is_empty() {
        x.fault(Fault::Nothing { what: "binding language" });
    }
    let mut seen = BTreeSet::new();
    for language in &core.languages {
        if language.len() != 2 || !language.bytes().all(|b| b.is_ascii_lowercase()) || !seen.insert(language)
        {
            let what = "language code (ISO 639-1), each once";
            x.fault_at("dcc:usedLangCodeISO639_1", Fault::Code { given: language.clone(), what });
        }
        x.word("dcc:usedLangCodeISO639_1", language);
    }
    for language in &core.binding_languages {
        if !core.languages.contains(language) {
            let what = "language of the certificate";
            x.fault_at("dcc:mandatoryLangCodeISO639_1", Fault::Code { given: language.clone(), what });
        }
        x.word("dcc:mandatoryLangCodeISO639_1", language);
    }
}

fn country(x: &mut Emitter<'_>, name: &'static str, code: &str) {
    if code.len() != 2 || !code.bytes().all(|byte| byte.is_ascii_uppercase()) {
        x.fault_at(name, Fault::Code { given: code.to_owned(), what: "country code (ISO 3166-1)" });
    }
    x.word(name, code);
}

fn date(x: &mut Emitter<'_>, name: &'static str, day: NaiveDate) {
    if !(1000..=9999).contains(&day.year()) {
        x.fault_at(name, Fault::Date { given: day });
    }
    x.word(name, &day.format("%Y-%m-%d").to_string());
}

fn place(place: Place) -> &'static str {
    match place {
        Place::Laboratory => "laboratory",
        Place::Customer => "customer",
        Place::LaboratoryBranch => "laboratoryBranch",
        Place::CustomerBranch => "customerBranch",
        Place::Other => "other",
    }
}

/// A certificate by number and hash (`dcc:hashType`).
pub(super) fn report(x: &mut Emitter<'_>, name: &'static str, report: &PreviousReport) {
    x.element(name, |x| {
        x.text("dcc:referral", &report.referral);
        x.word("dcc:referralID", &report.number);
        x.word("dcc:procedure", "SHA-256");
        hash(x, "dcc:value", &report.sha256);
        x.word("dcc:value", &report.sha256);
    });
}

fn hash(x: &mut Emitter<'_>, name: &'static str, hex: &str) {
    if hex.len() != 64 || !hex.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        x.fault_at(name, Fault::Code { given: hex.to_owned(), what: "SHA-256 in hexadecimal" });
    }
}

/// A list of numbers and marks; nothing where there are none.
pub(super) fn identifications(x: &mut Emitter<'_>, identifications: &[Identification]) {
    if identifications.is_empty() {
        return;
    }
    x.element("dcc:identifications", |x| {
        for identification in identifications {
            x.element("dcc:identification", |x| {
                let issuer = match identification.issuer {
                    Issuer::Manufacturer => "manufacturer",
                    Issuer::Laboratory => "calibrationLaboratory",
                    Issuer::Customer => "customer",
                    Issuer::Owner => "owner",
                    Issuer::Other => "other",
                };
                x.word("dcc:issuer", issuer);
                x.word("dcc:value", &identification.value);
                x.maybe_text("dcc:name", identification.name.as_ref());
            });
        }
    });
}

/// The name by which results refer to an item.
pub(super) fn item_id(index: usize) -> String {
    format!("item_{}", index + 1)
}

fn write_item(x: &mut Emitter<'_>, index: usize, item: &Item) {
    x.with("dcc:item", &[("id", &item_id(index))], |x| {
        x.text("dcc:name", &item.name);
        x.maybe_text("dcc:description", item.description.as_ref());
        maker(x, item.maker.as_deref());
        x.maybe_word("dcc:model", item.model.as_ref());
        if item.identifications.is_empty() {
            x.fault(Fault::Nothing { what: "number or mark" });
        }
        identifications(x, &item.identifications);
        if !item.quantities.is_empty() {
            x.element("dcc:itemQuantities", |x| {
                for named in &item.quantities {
                    quantity::named(x, "dcc:itemQuantity", named);
                }
            });
        }
    });
}

pub(super) fn maker(x: &mut Emitter<'_>, maker: Option<&str>) {
    if let Some(maker) = maker {
        x.element("dcc:manufacturer", |x| x.name("dcc:name", maker));
    }
}

fn laboratory(x: &mut Emitter<'_>, laboratory: &Laboratory) {
    x.element("dcc:calibrationLaboratory", |x| {
        x.maybe_word("dcc:calibrationLaboratoryCode", laboratory.code.as_ref());
        contact(x, "dcc:contact", &laboratory.contact);
    });
}

fn contact(x: &mut Emitter<'_>, name: &'static str, contact: &Contact) {
    x.element(name, |x| {
        x.name("dcc:name", &contact.name);
        x.maybe_word("dcc:eMail", contact.mail.as_ref());
        x.maybe_word("dcc:phone", contact.phone.as_ref());
        x.element("dcc:location", |x| {
            let location = &contact.location;
            if *location == crate::model::Location::default() {
                x.fault(Fault::Nothing { what: "address" });
            }
            x.maybe_word("dcc:city", location.city.as_ref());
            if let Some(code) = &location.country {
                country(x, "dcc:countryCode", code);
            }
            x.maybe_word("dcc:postCode", location.post_code.as_ref());
            x.maybe_word("dcc:street", location.street.as_ref());
            x.maybe_text("dcc:further", location.further.as_ref());
        });
    });
}

fn persons(x: &mut Emitter<'_>, persons: &[Person]) {
    x.element("dcc:respPersons", |x| {
        let signers = persons.iter().filter(|person| person.main_signer).count();
        if signers != 1 {
            x.fault(Fault::Once { what: "main signer", given: signers });
        }
        for person in persons {
            x.element("dcc:respPerson", |x| {
                x.element("dcc:person", |x| x.name("dcc:name", &person.name));
                x.maybe_word("dcc:role", person.role.as_ref());
                x.word("dcc:mainSigner", if person.main_signer { "true" } else { "false" });
            });
        }
    });
}

fn statements(x: &mut Emitter<'_>, certificate: &Certificate) {
    let units = quantity::units_beside(certificate);
    let printed = match &certificate.document {
        Some(Document::Referred { file_name, sha256 }) => Some((file_name, sha256)),
        _ => None,
    };
    if certificate.statements.is_empty() && units.is_empty() && printed.is_none() {
        return;
    }
    x.element("dcc:statements", |x| {
        for stated in &certificate.statements {
            statement(x, stated);
        }
        for unit in units {
            non_si(x, unit);
        }
        if let Some((file_name, sha256)) = printed {
            x.with("dcc:statement", &[("refType", terms::PRINTED)], |x| {
                hash(x, "dcc:reference", sha256);
                x.word("dcc:reference", file_name);
                x.word("dcc:reference", &format!("SHA-256:{sha256}"));
            });
        }
    });
}

fn statement(x: &mut Emitter<'_>, statement: &Statement) {
    let attributes: Vec<(&str, &str)> =
        statement.ref_type.iter().map(|term| ("refType", term.as_str())).collect();
    x.with("dcc:statement", &attributes, |x| {
        if let Some(traceable) = statement.traceable {
            x.word("dcc:traceable", if traceable { "true" } else { "false" });
        }
        for norm in &statement.norms {
            x.word("dcc:norm", norm);
        }
        for reference in &statement.references {
            x.word("dcc:reference", reference);
        }
        x.maybe_text("dcc:declaration", statement.declaration.as_ref());
        if let Some(day) = statement.date {
            date(x, "dcc:date", day);
        }
        if let Some(conformity) = statement.conformity {
            x.word("dcc:conformity", conformity.word());
        }
    });
}

fn non_si(x: &mut Emitter<'_>, unit: NonSiUnit) {
    x.element("dcc:statement", |x| {
        x.name("dcc:declaration", "A unit beside the SI, which stands next to the same value in an SI unit");
        x.word("dcc:nonSIDefinition", unit.definition());
        x.word("dcc:nonSIUnit", unit.mark());
    });
}
