//! The front page: who, what, where, when.

use super::words::{NO_BREAK, capital, class, day, digits, percent, torque};
use super::{Issue, Judged};
use crate::certificate::view::{EnvironmentRow, Fact, PartyView, PersonView, ReferenceView};
use crate::metrology::quantity::{Celsius, Percent};
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
fn range(range: &TorqueRange) -> String {
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

/// The item, unambiguously.
pub(super) fn item(tool: &Tool) -> Vec<Fact> {
    let directions: Vec<&str> = tool.directions.iter().map(|d| d.word()).collect();
    let optional = [
        tool.resolution.as_ref().map(|r| Fact::new("Resolution", torque(r))),
        tool.drive.as_ref().map(|d| Fact::new("Drive", d)),
        tool.head.as_ref().map(|h| Fact::new("Head", capital(h))),
        tool.length.map(|l| Fact::new("Length", format!("{}{NO_BREAK}mm, drive to grip", l.0))),
        (!directions.is_empty()).then(|| Fact::new("Direction", capital(&directions.join(", ")))),
        tool.claim.map(|c| Fact::new("Maker’s claim", format!("±{}", percent(c)))),
        tool.uses.map(|n| Fact::new("Use counter", n.to_string())),
        tool.owner_mark.as_ref().map(|m| Fact::from_customer("Owner’s mark", m)),
    ];
    let mut facts = vec![
        Fact::new("Type and class", format!("{} ({})", capital(tool.class.words()), class(tool.class))),
        Fact::new("Maker", &tool.maker),
        Fact::new("Model", &tool.model),
        Fact::new("Serial number", &tool.serial),
        Fact::new("Range", range(&tool.range)),
    ];
    facts.extend(optional.into_iter().flatten());
    facts
}

/// Adds which run a fact belongs to, where there are two that differ.
fn per_run(runs: &[Judged<'_>], label: &str, value: impl Fn(&Run) -> Option<String>) -> Vec<Fact> {
    let values: Vec<(String, String)> =
        runs.iter().filter_map(|r| value(r.run).map(|text| (r.run.condition.to_string(), text))).collect();
    let same = values.windows(2).all(|pair| pair[0].1 == pair[1].1);
    match values.first() {
        Some((_, only)) if same => vec![Fact::new(label, only)],
        _ => values
            .into_iter()
            .map(|(condition, text)| Fact::new(format!("{label}, {condition}"), text))
            .collect(),
    }
}

/// Place, dates and procedure of the work.
pub(super) fn work(runs: &[Judged<'_>], issue: &Issue) -> Vec<Fact> {
    let mut facts = per_run(runs, "Place", |run| run.place.as_deref().map(capital));
    facts.extend(per_run(runs, "Received", |run| run.received.map(day)));
    facts.extend(per_run(runs, "Performed", |run| Some(day(run.performed))));
    facts.push(Fact::new("Issued", day(issue.issued)));
    facts.extend(per_run(runs, "Job", |run| Some(run.job.clone())));
    facts.extend(runs.first().map(|first| {
        let rulebook = first.rulebook;
        Fact::new("Method", format!("{}:{}", rulebook.standard, rulebook.edition))
    }));
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
            allowed: format!(
                "{0} to {1}{NO_BREAK}°C, change at most {2}{NO_BREAK}K",
                limits.temperature_min.value, limits.temperature_max.value, limits.temperature_change.value
            ),
        });
        rows.push(EnvironmentRow {
            quantity: format!("Relative humidity{of}"),
            start: humidity(room.humidity_start),
            end: humidity(room.humidity_end),
            allowed: format!("at most {}{NO_BREAK}%", limits.humidity_max.value),
        });
    }
    rows
}

fn celsius(value: Option<Celsius>) -> String {
    value.map_or_else(String::new, |v| format!("{}{NO_BREAK}°C", v.0).replace('-', "−"))
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
        views.push(ReferenceView {
            facts: vec![
                Fact::new("Reference", format!("{}, {}", reference.id, reference.description)),
                Fact::new("Serial number", &reference.serial),
                Fact::new("Range", range(&reference.range)),
                Fact::new("Certificate", &reference.certificate),
                Fact::new("Calibrated by", &reference.calibrated_by),
                Fact::new("Calibrated on", day(reference.calibrated_on)),
                Fact::new("Valid until", day(reference.due)),
            ],
            traceability: format!(
                "{} Its own deviation was interpolated between its calibration points and corrected in every reading.",
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
        if people.iter().any(|known| known.name == name) {
            continue;
        }
        people.push(PersonView { role: "Measured by".to_owned(), name, date: day(run.performed) });
    }
    people.extend(runs.last().map(|last| PersonView {
        role: "Authorised by".to_owned(),
        name: last.run.people.approver.clone().unwrap_or_default(),
        date: day(issue.issued),
    }));
    people
}
