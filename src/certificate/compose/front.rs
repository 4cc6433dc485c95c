//! The front page: who, what, where, when.

use super::pair::{each_run, in_words, which};
use super::words::{NO_BREAK, capital, class, day, digits, percent, torque};
use super::{Issue, Judged};
use crate::certificate::view::{EnvironmentRow, Fact, PartyView, PersonView, ReferenceView};
use crate::metrology::quantity::{Celsius, Percent};
use crate::metrology::rulebook::{EnvironmentLimits, Written};
use crate::metrology::run::Run;
use crate::metrology::tool::{Tool, TorqueRange};

/// What ISO/IEC 17025:2017, 7.8.2.1 and 7.8.4.1 ask for and nobody recorded.
pub(super) fn missing(runs: &[Judged<'_>]) -> Vec<&'static str> {
    let mut missing = Vec::new();
    let mut need = |there: bool, what| {
        if !there && !missing.contains(&what) {
            missing.push(what);
        }
    };
    for Judged { run, .. } in runs {
        need(run.laboratory.name.is_some(), "name of the laboratory");
        need(run.laboratory.address.is_some(), "address of the laboratory");
        need(run.customer.name.is_some(), "name of the customer");
        need(run.place.is_some(), "place of the work");
        need(run.people.technician.is_some(), "technician");
        need(run.people.approver.is_some(), "who authorises the certificate");
        let room = &run.environment;
        need(room.temperature_start.is_some() && room.temperature_end.is_some(), "air temperature");
        need(room.humidity_start.is_some() && room.humidity_end.is_some(), "relative humidity");
    }
    missing
}

/// Says what an amended certificate replaces and why.
pub(super) fn amendment(runs: &[Judged<'_>]) -> Option<String> {
    let terms = runs.iter().map(|r| &r.run.terms).find(|t| t.replaces.is_some())?;
    let replaced = terms.replaces.as_deref()?;
    let change = terms.change.as_deref().unwrap_or("no reason on record");
    Some(format!("This certificate replaces certificate {replaced}. What changed, and why: {change}"))
}

/// Lines of an address that was written with commas or line breaks.
fn lines(text: &str) -> impl Iterator<Item = String> + '_ {
    text.lines().map(|line| line.trim().to_owned()).filter(|line| !line.is_empty())
}

pub(super) fn laboratory(run: &Run) -> PartyView {
    let known = &run.laboratory;
    let below = [&known.address, &known.contact].into_iter().flatten();
    PartyView {
        name: known.name.clone().unwrap_or_default(),
        lines: below.flat_map(|text| lines(text)).collect(),
    }
}

pub(super) fn customer(run: &Run) -> PartyView {
    let known = &run.customer;
    let mut below: Vec<String> = known.address.iter().flat_map(|text| lines(text)).collect();
    below.extend(known.order.iter().map(|order| format!("Order {order}")));
    PartyView { name: known.name.clone().unwrap_or_default(), lines: below }
}

/// "40 N·m to 200 N·m", or the one value of a fixed tool.
pub(super) fn range(range: &TorqueRange) -> String {
    if range.lower.torque().same_as(range.upper.torque()) {
        return torque(&range.upper);
    }
    if range.lower.unit() == range.upper.unit() {
        return format!("{} to {}", digits(&range.lower), torque(&range.upper));
    }
    format!("{} to {}", torque(&range.lower), torque(&range.upper))
}

/// One line that names the tool.
pub(super) fn item_line(tool: &Tool) -> String {
    let kind = capital(tool.class.words());
    format!("{kind}; {}; serial number {}", range(&tool.range), tool.serial)
}

/// The item, unambiguously. What a repair may change is said of each run where it changed.
pub(super) fn item(runs: &[Judged<'_>]) -> Vec<Fact> {
    let Some(tool) = runs.first().map(|first| &first.run.tool) else { return vec![] };
    let mut facts = vec![
        Fact::new("Type and class", format!("{} ({})", capital(tool.class.words()), class(tool.class))),
        Fact::new("Maker", &tool.maker),
        Fact::new("Model", &tool.model),
        Fact::new("Serial number", &tool.serial),
        Fact::new("Range", range(&tool.range)),
    ];
    facts.extend(tool.resolution.as_ref().map(|r| Fact::new("Resolution", torque(r))));
    facts.extend(per_run(runs, "Drive", |run| run.tool.drive.clone()));
    facts.extend(per_run(runs, "Head", |run| run.tool.head.as_deref().map(capital)));
    facts.extend(per_run(runs, "Length", |run| {
        run.tool.length.map(|l| format!("{}{NO_BREAK}mm, drive to grip", l.0))
    }));
    facts.extend(per_run(runs, "Direction", |run| {
        let directions: Vec<&str> = run.tool.directions.iter().map(|d| d.word()).collect();
        (!directions.is_empty()).then(|| capital(&directions.join(", ")))
    }));
    facts.extend(tool.claim.map(|c| Fact::new("Maker’s claim", format!("±{}", percent(c)))));
    facts.extend(per_run(runs, "Use counter", |run| run.tool.uses.map(|n| n.to_string())));
    facts.extend(tool.owner_mark.as_ref().map(|m| Fact::from_customer("Owner’s mark", m)));
    facts
}

/// Adds which run a fact belongs to, where there are two that differ.
fn per_run(runs: &[Judged<'_>], label: &str, value: impl Fn(&Run) -> Option<String>) -> Vec<Fact> {
    each_run(runs, |judged| value(judged.run))
        .into_iter()
        .map(|said| Fact::new(said.label(label), said.text))
        .collect()
}

/// Place, dates and procedure of the work.
pub(super) fn work(runs: &[Judged<'_>], issue: &Issue) -> Vec<Fact> {
    let mut facts = per_run(runs, "Place", |run| run.place.as_deref().map(capital));
    facts.extend(per_run(runs, "Received", |run| run.received.map(day)));
    facts.extend(per_run(runs, "Performed", |run| Some(day(run.performed))));
    facts.push(Fact::new("Issued", day(issue.issued)));
    facts.extend(per_run(runs, "Job", |run| Some(run.job.clone())));
    facts.extend(runs.first().map(|first| Fact::new("Method", capital(&first.rulebook.certificate.method))));
    facts.extend(per_run(runs, "Adjustment", |run| run.terms.adjustment.as_deref().map(capital)));
    facts
}

/// What the room was like in each run, and what the procedure allows.
pub(super) fn environment(runs: &[Judged<'_>]) -> Vec<EnvironmentRow> {
    let mut rows = Vec::new();
    for Judged { run, rulebook, .. } in runs {
        let of = if runs.len() > 1 { format!(", {}", run.condition) } else { String::new() };
        let (room, limits) = (&run.environment, &rulebook.environment);
        rows.push(EnvironmentRow {
            quantity: format!("Air temperature{of}"),
            start: celsius(room.temperature_start),
            end: celsius(room.temperature_end),
            allowed: allowed_temperatures(limits),
        });
        rows.push(EnvironmentRow {
            quantity: format!("Relative humidity{of}"),
            start: humidity(room.humidity_start),
            end: humidity(room.humidity_end),
            allowed: format!("at most {}", written(&limits.humidity_max, "%")),
        });
    }
    rows
}

/// "18 °C to 28 °C, change at most 2 K", in the digits of the document.
fn allowed_temperatures(limits: &EnvironmentLimits) -> String {
    format!(
        "{} to {}, change at most {}",
        written(&limits.temperature_min, "°C"),
        written(&limits.temperature_max, "°C"),
        written(&limits.temperature_change, "K")
    )
}

fn written(limit: &Written, unit: &str) -> String {
    limit.words(unit).replace(' ', "\u{a0}").replace('-', "−")
}

/// A temperature as it is read: to a tenth, or finer where it was.
fn celsius(value: Option<Celsius>) -> String {
    let digits = |v: Celsius| if v.0.fract() == 0.0 { format!("{:.1}", v.0) } else { v.0.to_string() };
    value.map_or_else(String::new, |v| format!("{}{NO_BREAK}°C", digits(v)).replace('-', "−"))
}

fn humidity(value: Option<Percent>) -> String {
    value.map_or_else(String::new, percent)
}

/// Each reference once, with its traceability.
pub(super) fn references(runs: &[Judged<'_>]) -> Vec<ReferenceView> {
    let mut seen: Vec<(&str, &str)> = Vec::new();
    let mut views = Vec::new();
    for Judged { reference, .. } in runs {
        let key = (reference.serial.as_str(), reference.certificate.as_str());
        if seen.contains(&key) {
            continue;
        }
        seen.push(key);
        let stated = reference
            .traceability
            .as_deref()
            .unwrap_or("The reference is traceable to the SI through the certificate that is named here.");
        let used = which(runs, |other| {
            (other.reference.serial.as_str(), other.reference.certificate.as_str()) == key
        });
        let used = used.map(|runs| Fact::new("Used", runs));
        views.push(ReferenceView {
            facts: [
                Fact::new("Reference", format!("{}, {}", reference.id, reference.description)),
                Fact::new("Serial number", &reference.serial),
                Fact::new("Range", range(&reference.range)),
                Fact::new("Certificate", &reference.certificate),
                Fact::new("Calibrated by", &reference.calibrated_by),
                Fact::new("Calibrated on", day(reference.calibrated_on)),
                Fact::new("Valid until", day(reference.due)),
            ]
            .into_iter()
            .chain(used)
            .collect(),
            traceability: format!(
                "{} The reference’s own deviation was interpolated between its calibration points and corrected in every reading.",
                full_stop(stated)
            ),
        });
    }
    views
}

fn full_stop(text: &str) -> String {
    let text = text.trim_end();
    if text.ends_with('.') { text.to_owned() } else { format!("{text}.") }
}

/// Who measured, each run, and who answers for the certificate.
pub(super) fn people(runs: &[Judged<'_>], issue: &Issue) -> Vec<PersonView> {
    let mut people: Vec<PersonView> = Vec::new();
    for Judged { run, .. } in runs {
        let name = run.people.technician.clone().unwrap_or_default();
        let date = day(run.performed);
        match people.iter_mut().find(|known| known.name == name) {
            Some(known) if known.date != date => known.date = format!("{} and {date}", known.date),
            Some(_) => {}
            None => people.push(PersonView { role: "Measured by".to_owned(), name, date }),
        }
    }
    let approvers = each_run(runs, |judged| judged.run.people.approver.clone());
    people.push(PersonView {
        role: "Authorised by".to_owned(),
        name: in_words(&approvers),
        date: day(issue.issued),
    });
    people
}
