//! The reference file (`standards-notes/run-folder.md`, "The reference file").

use chrono::NaiveDate;

use super::curve::text;
use super::{Curve, ReferenceData, Shown};

/// What no certificate of a reference says, and its laboratory knows. What is left out stands in the file
/// as a comment that asks for it; leverarm refuses the file until it is said.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Own {
    /// the laboratory's name for it
    pub id: Option<String>,
    /// to what it is traceable, through what
    pub traceability: Option<String>,
    /// last day on which it may be used
    pub due: Option<NaiveDate>,
    /// one step of its display, as `0.01 N·m`
    pub resolution: Option<String>,
    /// whether the uncertainties of the certificate hold the resolution
    pub resolution_included: Option<bool>,
}

/// The reference file as text.
#[must_use]
pub fn to_toml(data: &ReferenceData, own: &Own) -> String {
    let mut out = String::from("# Made from the Digital Calibration Certificate of the reference.\n");
    for note in &data.notes {
        out.push_str(&format!("# {}\n", plain(note)));
    }
    let mut ask = |key: &str, value: Option<String>, example: &str| match value {
        Some(value) => out.push_str(&format!("{key} = {value}\n")),
        None => out.push_str(&format!("# {key} = {example}  # the certificate does not say it\n")),
    };
    let text_of = |text: &Option<String>| text.as_ref().map(|text| quoted(text));
    ask("id", text_of(&own.id), "\"RT-250\"");
    ask("description", Some(quoted(&description(data))), "");
    ask("serial", Some(quoted(&data.serial)), "");
    ask("certificate", Some(quoted(&data.certificate)), "");
    ask("calibrated_by", Some(quoted(&data.calibrated_by)), "");
    ask("traceability", text_of(&own.traceability), "\"SI, through …\"");
    ask("calibrated_on", Some(quoted(&data.calibrated_on.to_string())), "");
    ask("due", own.due.map(|day| quoted(&day.to_string())), "\"2028-03-12\"");
    ask("range", range(&data.curves), "\"5 N·m .. 250 N·m\"");
    ask("resolution", text_of(&own.resolution), "\"0.01 N·m\"");
    ask("resolution_included", own.resolution_included.map(|included| included.to_string()), "false");
    for curve in &data.curves {
        out.push_str(&write_curve(curve));
    }
    out
}

fn description(data: &ReferenceData) -> String {
    let parts = [Some(&data.description), data.maker.as_ref(), data.model.as_ref()];
    parts.into_iter().flatten().map(String::as_str).collect::<Vec<_>>().join(", ")
}

/// Where every curve has been calibrated: a reference is never extrapolated.
fn range(curves: &[Curve]) -> Option<String> {
    let ends =
        |curve: &Curve| Some((curve.points.first()?.applied.clone(), curve.points.last()?.applied.clone()));
    let mut all = curves.iter().filter_map(ends);
    let (mut low, mut high) = all.next()?;
    for (lower, higher) in all {
        low = if lower.value() > low.value() { lower } else { low };
        high = if higher.value() < high.value() { higher } else { high };
    }
    (low.value() < high.value()).then(|| quoted(&format!("{low} N·m .. {high} N·m")))
}

fn write_curve(curve: &Curve) -> String {
    let mut out = format!("\n[[curve]]\ndirection = {}\n", quoted(curve.direction.word()));
    let first = curve.points.first().map(|point| &point.k);
    let common = first.filter(|k| curve.points.iter().all(|point| point.k == **k));
    if let Some(k) = common {
        out.push_str(&format!("k = {}\n", number(k)));
    }
    out.push_str("points = [\n");
    for point in &curve.points {
        let applied = quoted(&format!("{} N·m", point.applied));
        let shown = match &point.shown {
            Shown::Indicated(digits) => {
                format!("indicated = {}, applied = {applied}", quoted(&format!("{digits} N·m")))
            }
            Shown::Deviation(amount) => format!("torque = {applied}, deviation = {}", quoted(&text(amount))),
        };
        let k = if common.is_some() { String::new() } else { format!(", k = {}", number(&point.k)) };
        out.push_str(&format!("  {{ {shown}, expanded = {}{k} }},\n", quoted(&text(&point.expanded))));
    }
    out.push_str("]\n");
    out
}

/// A number as TOML writes it: no point without digits on both sides.
fn number(k: &crate::Digits) -> String {
    let plain = k.plain(0).unwrap_or_else(|| k.clone());
    plain.as_str().to_owned()
}

/// A text of one line without what controls a terminal or ends a comment.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").chars().filter(|c| !c.is_control()).collect()
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", plain(text).replace('\\', "\\\\").replace('"', "\\\""))
}
