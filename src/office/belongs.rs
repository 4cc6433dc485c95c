//! Whether a run folder is a run of the job that it is added to, and what the record says of it.

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::event::{self, Condition, JobReceived, RunAdded};
use leverarm_ledger::state::{ReferenceRecord, State};
use leverarm_ledger::text::{Id, TextError};
use leverarm_metrology::decision::DecisionRule;
use leverarm_metrology::finding::Document;
use leverarm_metrology::{reference, run, tool};

use crate::ingest::Loaded;

use super::layout::Kept;

/// Something that the run says otherwise than the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mismatch {
    /// what
    pub what: &'static str,
    /// as the run says it
    pub run: String,
    /// as the record says it
    pub record: String,
}

/// A run beside the job that it is said to belong to.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// the record
    pub state: &'a State,
    /// the job
    pub job: &'a JobReceived,
    /// who adds it
    pub technician: &'a Id,
    /// what was read
    pub loaded: &'a Loaded,
    /// the files
    pub kept: &'a Kept,
}

/// Everything that the run says otherwise than the record; nothing where it belongs to the job. What
/// could not be read is no mismatch: the findings say it.
#[must_use]
pub fn mismatches(asked: &Asked<'_>) -> Vec<Mismatch> {
    let Some(run) = &asked.loaded.run else { return Vec::new() };
    let mut found = Vec::new();
    let mut hold = |what, run: &str, record: &str| {
        if run != record {
            found.push(Mismatch { what, run: run.to_owned(), record: record.to_owned() });
        }
    };
    hold("number of the job", &run.job, asked.job.job.as_str());
    if let Some(tool) = asked.state.tools().get(&asked.job.tool) {
        hold("maker of the tool", &run.tool.maker, tool.maker.as_str());
        hold("model of the tool", &run.tool.model, tool.model.as_str());
        hold("serial number of the tool", &run.tool.serial, tool.serial.as_str());
    }
    if let Some(rulebook) = &asked.loaded.rulebook {
        hold("rulebook", &rulebook.name, asked.job.rulebook.as_str());
    }
    hold("decision rule", &decision_of(run), &decision(asked.job.decision.as_str()));
    if let (Some(named), Some(person)) = (&run.people.technician, asked.state.people().get(asked.technician))
    {
        hold("technician", named, person.name.as_str());
    }
    if let Some(reference) = &asked.loaded.reference {
        found.extend(calibration(asked, reference));
    }
    found
}

/// The reference file must be the one that was recorded with the calibration that it names.
fn calibration(asked: &Asked<'_>, reference: &reference::Reference) -> Option<Mismatch> {
    let record = asked.state.references().iter().find(|(id, _)| id.as_str() == reference.id)?.1;
    let known = of_certificate(record, &reference.certificate)?;
    let input = asked.loaded.inputs.iter().find(|input| input.document == Document::Reference)?;
    let given = Digest::of(&input.bytes);
    let is_toml = |file: &&event::FileRef| file.path.as_str().ends_with(".toml");
    let recorded = known.files.iter().find(is_toml)?;
    (recorded.sha256 != given).then(|| Mismatch {
        what: "reference file (SHA-256)",
        run: given.to_string(),
        record: recorded.sha256.to_string(),
    })
}

fn of_certificate<'a>(
    record: &'a ReferenceRecord,
    certificate: &str,
) -> Option<&'a event::ReferenceCalibrated> {
    record.calibrations.iter().find(|known| known.certificate.as_str() == certificate)
}

/// A decision rule in one spelling, so that `Guarded` and `guarded` are the same.
#[must_use]
pub fn decision(text: &str) -> String {
    DecisionRule::parse(text).map_or_else(|| text.to_owned(), |rule| rule.to_string())
}

/// The word for a run without an agreed decision rule.
pub const NO_DECISION: &str = "none";

/// The decision rule of a run in one spelling.
#[must_use]
pub fn decision_of(run: &run::Run) -> String {
    run.agreement.map_or_else(|| NO_DECISION.to_owned(), |agreement| agreement.rule.to_string())
}

/// The state of the tool, in the words of the record.
#[must_use]
pub const fn condition(condition: run::Condition) -> Condition {
    match condition {
        run::Condition::AsFound => Condition::AsFound,
        run::Condition::AsLeft => Condition::AsLeft,
        run::Condition::New => Condition::New,
    }
}

/// The event that adds a run: `None` where run or reference could not be read.
///
/// # Errors
/// [`TextError`] where a name cannot stand in the record.
pub fn added(asked: &Asked<'_>, name: &Id) -> Result<Option<RunAdded>, TextError> {
    let (Some(run), Some(reference)) = (&asked.loaded.run, &asked.loaded.reference) else { return Ok(None) };
    Ok(Some(RunAdded {
        job: asked.job.job.clone(),
        run: name.clone(),
        condition: condition(run.condition),
        performed: run.performed,
        technician: asked.technician.clone(),
        reference: Id::new(&reference.id)?,
        certificate: Id::new(&reference.certificate)?,
        // A reading that was struck out loaded the reference all the same.
        uses: run.readings.len() as u64,
        files: asked.kept.files.clone(),
    }))
}

/// A name for the next run of a job in this state of the tool: `as-found`, then `as-found-2`.
#[must_use]
pub fn name_for(condition: run::Condition, is_taken: impl Fn(&str) -> bool) -> String {
    let base = condition.words().replace(' ', "-");
    let mut name = base.clone();
    let mut count = 2_u32;
    while is_taken(&name) {
        name = format!("{base}-{count}");
        count = count.saturating_add(1);
    }
    name
}

/// What a run tells of its tool, as the record keeps it: class, range, claim and head.
#[must_use]
pub fn tool_words(tool: &tool::Tool) -> (String, String, Option<String>, Vec<String>) {
    let claim = tool.claim.map(|claim| format!("±{} %", claim.value()));
    let heads = tool.head.iter().cloned().collect();
    (tool.class.code().to_owned(), tool.range.to_string(), claim, heads)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_has_one_spelling() {
        assert_eq!(decision("Guarded r = 0.83"), decision("guarded 0.83"));
        assert_eq!(decision("no such rule"), "no such rule");
    }

    #[test]
    fn runs_are_named_by_the_state_of_the_tool() {
        let taken = ["as-found", "as-found-2"];
        assert_eq!(name_for(run::Condition::AsFound, |name| taken.contains(&name)), "as-found-3");
        assert_eq!(name_for(run::Condition::AsLeft, |name| taken.contains(&name)), "as-left");
    }
}
