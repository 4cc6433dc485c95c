//! Whether the plan is the one with which the session was begun.

use super::RecordError;
use crate::entry::Fact;
use crate::plan::{InputFile, Plan};

/// Why an entry is not taken.
pub(super) enum Fault {
    Plan(RecordError),
    Why(&'static str),
}

fn other(name: &str, begun: &str, now: &str) -> Fault {
    Fault::Plan(RecordError::OtherPlan {
        name: name.to_owned(),
        begun: begun.to_owned(),
        now: now.to_owned(),
    })
}

pub(super) fn same(plan: &Plan, begun: [(&str, &String); 4]) -> Result<(), Fault> {
    let now = [plan.job.clone(), plan.condition.words().to_owned(), plan.tool_words(), plan.rulebook.clone()];
    match begun.iter().zip(&now).find(|((_, begun), now)| *begun != *now) {
        Some(((name, begun), now)) => Err(other(name, begun, now)),
        None => Ok(()),
    }
}

pub(super) fn same_basis(plan: &Plan, begun: &[Fact]) -> Result<(), Fault> {
    let now = plan.basis();
    for (name, value) in &now {
        let was = begun.iter().find(|fact| fact.name == *name).map(|fact| fact.value.as_str());
        if was != Some(value) {
            return Err(other(name, was.unwrap_or("not said"), value));
        }
    }
    Ok(())
}

pub(super) fn same_inputs(plan: &Plan, begun: &[InputFile]) -> Result<(), Fault> {
    for now in &plan.inputs {
        let was = begun.iter().find(|file| file.name == now.name).map(|file| file.sha256.as_str());
        if was != Some(&now.sha256) {
            return Err(other(&now.name, was.unwrap_or("without it"), &now.sha256));
        }
    }
    match begun.iter().find(|file| plan.inputs.iter().all(|now| now.name != file.name)) {
        Some(gone) => Err(other(&gone.name, &gone.sha256, "without it")),
        None => Ok(()),
    }
}
