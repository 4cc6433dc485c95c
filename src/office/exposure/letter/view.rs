//! What a letter prints: words and digits, ready to be laid out.

use leverarm_metrology::decision::{Verdict, Zone};
use leverarm_metrology::rounding::round_figures;
use leverarm_metrology::run::Laboratory;
use serde::Serialize;

use super::Terms;
use super::words::{counted, day, paper_text};
use crate::office::exposure::cases::Addressee;
use crate::office::exposure::record::{Gravity, PointRow, Report, RunRow};

/// A whole letter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // the names say it
pub struct LetterView {
    pub title: String,
    /// "Draft for review", while nobody approved it
    pub draft: Option<String>,
    pub laboratory: String,
    pub laboratory_lines: Vec<String>,
    pub to: String,
    pub to_lines: Vec<String>,
    pub dated: String,
    pub subject: String,
    pub happened: Vec<String>,
    pub groups: Vec<Group>,
    pub to_do: Vec<String>,
    pub unchanged: Vec<String>,
    pub signature: String,
    pub software: String,
}

/// Certificates to which the same happened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // the names say it
pub struct Group {
    pub heading: String,
    pub sign: &'static str,
    pub lines: Vec<Line>,
}

/// One test point.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // the names say it
pub struct Line {
    pub certificate: String,
    pub tool: String,
    pub point: String,
    pub limit: String,
    pub certified: String,
    pub certified_verdict: String,
    pub now: String,
    pub now_verdict: String,
}

pub(super) fn view(
    report: &Report,
    terms: &Terms,
    laboratory: &Laboratory,
    to: &Addressee,
    rows: &[&RunRow],
) -> LetterView {
    let found = &report.found;
    let reference = paper_text(&found.id);
    let affected = rows.iter().filter(|row| row.is_affected()).count();
    let subject = if affected == 0 {
        format!("Reference {reference}: the verdicts on your certificates stand")
    } else {
        let of_yours = counted(affected, "calibration");
        format!("Reference {reference} found changed: {of_yours} of yours concerned")
    };
    let lines = |text: &Option<String>| text.iter().map(|text| paper_text(text)).collect::<Vec<_>>();
    let mut laboratory_lines = lines(&laboratory.address);
    laboratory_lines.extend(lines(&laboratory.contact));
    LetterView {
        title: "Letter about a reference".to_owned(),
        draft: terms
            .approved_by
            .is_none()
            .then(|| "Draft for review. Not approved, not to be sent.".to_owned()),
        laboratory: laboratory.name.as_deref().map_or_else(|| "The laboratory".to_owned(), paper_text),
        laboratory_lines,
        to: paper_text(&to.name),
        to_lines: lines(&to.address),
        dated: day(terms.dated),
        subject,
        happened: happened(report, rows),
        groups: groups(rows),
        to_do: to_do(rows),
        unchanged: unchanged(rows),
        signature: terms.approved_by.as_deref().map_or_else(String::new, paper_text),
        software: format!("leverarm {}", report.program),
    }
}

fn happened(report: &Report, rows: &[&RunRow]) -> Vec<String> {
    let found = &report.found;
    let changes = rows.iter().filter_map(|row| row.reference_change_percent);
    let largest = changes.max_by(|a, b| a.abs().total_cmp(&b.abs()));
    let largest = largest.and_then(|change| round_figures(change, 2).ok()).map_or_else(String::new, |change| {
        format!(" The torque that stands behind its indication differs by up to {}\u{a0}% from what we took it for.", change.signed())
    });
    let days: Vec<_> = rows.iter().filter_map(|row| row.whose.performed).collect();
    let between = match (days.iter().min(), days.iter().max()) {
        (Some(first), Some(last)) if first < last => format!(" between {} and {}", day(*first), day(*last)),
        (Some(only), _) => format!(" on {}", day(*only)),
        _ => String::new(),
    };
    let model = match report.model {
        "linear" => {
            "Nobody knows when it changed; we took it to have changed evenly between its two calibrations."
        }
        _ => {
            "Nobody knows when it changed; we took it to have been for all of this time as it was found, \
             which is the largest effect that a change in one direction can have had."
        }
    };
    vec![
        format!(
            "We calibrate torque tools by comparing them with a reference of our own. One of them, {} \
             (serial number {}), was itself calibrated on {} (certificate {}) and was found to have \
             changed since its calibration before.{largest}",
            paper_text(&found.id),
            paper_text(&found.serial),
            day(found.calibrated_on),
            paper_text(&found.certificate),
        ),
        format!(
            "We used this reference for {} of yours{between}. We have evaluated them again from the readings on \
             record, with the reference as it is known now. {model} The readings themselves are as they \
             were taken.",
            counted(rows.len(), "calibration"),
        ),
    ]
}

const ORDER: [(Gravity, &str, &str); 3] = [
    (Gravity::ToFail, "Now outside the permissible deviation", "fail"),
    (
        Gravity::NoLongerDecided,
        "No longer decided: neither conformity nor its opposite can be stated",
        "open",
    ),
    (Gravity::ToPass, "Now conforms", "pass"),
];

fn groups(rows: &[&RunRow]) -> Vec<Group> {
    let mut groups: Vec<Group> = ORDER
        .iter()
        .map(|(gravity, heading, sign)| Group {
            heading: (*heading).to_owned(),
            sign,
            lines: rows
                .iter()
                .flat_map(|row| row.points.iter().map(move |point| (*row, point)))
                .filter(|(_, point)| point.gravity == *gravity)
                .map(|(row, point)| line(row, point))
                .collect(),
        })
        .filter(|group| !group.lines.is_empty())
        .collect();
    let unread: Vec<Line> =
        rows.iter().filter(|row| row.gravity == Gravity::NotRecomputed).map(|row| unread(row)).collect();
    if !unread.is_empty() {
        let heading = "Could not be evaluated again: the new calibration says nothing here".to_owned();
        groups.push(Group { heading, sign: "open", lines: unread });
    }
    groups
}

fn tool(row: &RunRow) -> String {
    let serial = row.whose.serial.as_deref().map_or_else(|| "not known".to_owned(), paper_text);
    match row.whose.condition {
        Some(condition) => format!("{serial}, {condition}"),
        None => serial,
    }
}

fn line(row: &RunRow, point: &PointRow) -> Line {
    let with = |result: &str, expanded: &Option<String>| match expanded {
        Some(expanded) => format!("{result}\u{a0}±\u{a0}{expanded}"),
        None => result.to_owned(),
    };
    Line {
        certificate: paper_text(row.name()),
        tool: tool(row),
        point: format!("{} {}", point.target.replace(' ', "\u{a0}"), point.direction),
        limit: point.limit.replace(' ', "\u{a0}"),
        certified: with(&point.printed_before, &point.printed_expanded_before),
        certified_verdict: point.verdict_before.word().to_owned(),
        now: with(&point.printed_after, &point.printed_expanded_after),
        now_verdict: match (point.verdict_after, point.zone_after) {
            (Verdict::Fail, Some(Zone::GuardBand)) => "within the guard band".to_owned(),
            (verdict, _) => verdict.word().to_owned(),
        },
    }
}

fn unread(row: &RunRow) -> Line {
    let dash = || "–".to_owned();
    Line {
        certificate: paper_text(row.name()),
        tool: tool(row),
        point: "all".to_owned(),
        limit: dash(),
        certified: dash(),
        certified_verdict: dash(),
        now: dash(),
        now_verdict: "not evaluated".to_owned(),
    }
}

fn to_do(rows: &[&RunRow]) -> Vec<String> {
    let any = |gravity: Gravity| {
        rows.iter().any(|row| row.gravity == gravity || row.points.iter().any(|p| p.gravity == gravity))
    };
    let mut to_do = Vec::new();
    if any(Gravity::ToFail) || any(Gravity::NoLongerDecided) || any(Gravity::NotRecomputed) {
        to_do.push(
            "Take the tools listed under a changed verdict out of use and send them to us to be \
             calibrated again, or have them calibrated elsewhere. One that could not be evaluated again, \
             or is no longer decided, is not shown to conform."
                .to_owned(),
        );
        to_do.push(
            "Have the joints that were tightened with these tools since their calibration assessed by \
             whoever answers for them, under the rules and codes that hold at your place. A joint may \
             have got more or less torque than was meant, by about the deviation known now (positive: \
             the tool gave less than it said); what that means for the joint we cannot know."
                .to_owned(),
        );
    }
    if any(Gravity::ToPass) {
        to_do.push(
            "A tool listed as now conforming was stated not to conform. Ask us before you use it on the \
             strength of this letter."
                .to_owned(),
        );
    }
    if to_do.is_empty() {
        to_do.push("Nothing. This letter is for your records.".to_owned());
    } else {
        to_do
            .push("Tell everybody in your house to whom you passed one of these certificates on.".to_owned());
    }
    to_do
}

/// So many certificates are named; of more, the number is said.
const NAMED_MAX: usize = 40;

fn unchanged(rows: &[&RunRow]) -> Vec<String> {
    let mut out = Vec::new();
    let mut stand: Vec<String> =
        rows.iter().filter(|row| !row.is_affected()).map(|row| paper_text(row.name())).collect();
    stand.sort();
    stand.dedup();
    if !stand.is_empty() {
        let rest = stand.len().saturating_sub(NAMED_MAX);
        stand.truncate(NAMED_MAX);
        let more = if rest == 0 { String::new() } else { format!(" and {rest} more") };
        out.push(format!("Evaluated again with every verdict as it was: {}{more}.", stand.join(", ")));
    }
    out.push("At test points that are not listed the verdict stands.".to_owned());
    out.push(
        "Certificates for which we used other references are not concerned. Those listed here hold as \
         they were issued until we amend or withdraw them by their number."
            .to_owned(),
    );
    out
}
