//! `leverarm ledger receive`: a tool at the door, and what was agreed about it.

use std::io::Write;
use std::path::PathBuf;

use chrono::NaiveDate;
use clap::Args;
use leverarm_ledger::event::{Event, JobReceived};
use leverarm_ledger::state::State;
use leverarm_ledger::text::{Id, Text};
use leverarm_metrology::decision::DecisionRule;
use serde_json::json;

use super::desk::{Desk, attach_all, now};
use super::names;
use super::things::run_in;
use crate::cli::{Ending, Failure};
use crate::ingest::Loaded;
use crate::office::belongs::{NO_DECISION, decision, decision_of};

/// Arguments of `receive`.
#[derive(Debug, Args)]
pub(super) struct Receive {
    /// the laboratory's number of the job; that of the run where --from names one
    #[arg(value_parser = names::id, required_unless_present = "from")]
    job: Option<Id>,
    /// take number, tool, day of receipt, rulebook and decision rule from run.toml of this run folder
    #[arg(long, value_name = "RUN")]
    from: Option<PathBuf>,
    /// which tool
    #[arg(long, value_parser = names::id, required_unless_present = "from")]
    tool: Option<Id>,
    /// who ordered; the owner of the tool where it is not said
    #[arg(long, value_parser = names::id)]
    customer: Option<Id>,
    /// in what state it came
    #[arg(long, value_parser = names::text)]
    condition: Text,
    /// what came with it; can be given again
    #[arg(long, value_parser = names::text)]
    accessory: Vec<Text>,
    /// a photo of it; can be given again
    #[arg(long, value_name = "FILE")]
    photo: Vec<PathBuf>,
    /// day of receipt; today where it is not said
    #[arg(long, value_name = "DATE", value_parser = names::day)]
    received: Option<NaiveDate>,
    /// the procedure agreed, such as iso-6789-2
    #[arg(long, value_parser = names::id, required_unless_present = "from")]
    rulebook: Option<Id>,
    /// the decision rule agreed, such as guarded, or none
    #[arg(long, value_parser = rule, required_unless_present = "from")]
    decision: Option<Id>,
}

fn rule(text: &str) -> Result<Id, String> {
    if text != NO_DECISION && DecisionRule::parse(text).is_none() {
        return Err(format!("write {NO_DECISION} or a rule, such as {}", DecisionRule::EXAMPLES.join(", ")));
    }
    names::id(&decision(text))
}

pub(super) fn run(desk: &mut Desk<'_, impl Write>, receive: &Receive) -> Result<Ending, Failure> {
    let ledger = desk.open()?;
    let loaded = receive.from.as_deref().map(run_in).transpose()?;
    let (photos, bytes) = attach_all(&receive.photo)?;
    let event = receive.event(ledger.state(), loaded.as_ref(), photos)?;
    drop(ledger);
    let said = format!(
        "job {}: tool {} of {}, rulebook {}, decision rule {}",
        event.job, event.tool, event.customer, event.rulebook, event.decision
    );
    let more = json!({ "job": event.job, "tool": event.tool });
    desk.record(Event::JobReceived(event), &bytes, &said, more)
}

impl Receive {
    fn event(
        &self,
        state: &State,
        loaded: Option<&Loaded>,
        photos: Vec<leverarm_ledger::event::FileRef>,
    ) -> Result<JobReceived, Failure> {
        let run = loaded.and_then(|loaded| loaded.run.as_ref());
        let name = |given: &Option<Id>, found: Option<&str>, what: &str| match (given, found) {
            (Some(given), _) => Ok(given.clone()),
            (None, Some(found)) => {
                names::id(found).map_err(|reason| Failure::bad_input(reason, "mend it in run.toml"))
            }
            (None, None) => Err(Failure::bad_input(format!("no {what}"), format!("give --{what}"))),
        };
        let tool = match (&self.tool, run) {
            (Some(tool), _) => tool.clone(),
            (None, Some(run)) => of_run(state, &run.tool)?,
            (None, None) => return Err(Failure::bad_input("no tool", "give --tool")),
        };
        let owner = state.tools().get(&tool).map(|tool| tool.customer.as_str());
        let rulebook =
            loaded.and_then(|loaded| loaded.rulebook.as_ref()).map(|rulebook| rulebook.name.as_str());
        Ok(JobReceived {
            job: name(&self.job, run.map(|run| run.job.as_str()), "job")?,
            customer: name(&self.customer, owner, "customer")?,
            tool,
            received: self
                .received
                .or_else(|| run.and_then(|run| run.received))
                .unwrap_or_else(|| now().date_naive()),
            condition: self.condition.clone(),
            accessories: self.accessory.clone(),
            photos,
            rulebook: name(&self.rulebook, rulebook, "rulebook")?,
            decision: name(&self.decision, run.map(decision_of).as_deref(), "decision")?,
        })
    }
}

/// The registered tool of a run.
fn of_run(state: &State, tool: &leverarm_metrology::tool::Tool) -> Result<Id, Failure> {
    let is_it = |known: &&leverarm_ledger::event::Tool| {
        known.maker.as_str() == tool.maker
            && known.model.as_str() == tool.model
            && known.serial.as_str() == tool.serial
    };
    state.tools().values().find(is_it).map(|known| known.id.clone()).ok_or_else(|| {
        let what = format!("{} {}, serial {}, is not registered", tool.maker, tool.model, tool.serial);
        let remedy = "register it first: 'leverarm ledger tool add NAME --customer CUSTOMER --from RUN'";
        Failure::bad_input(crate::diagnose::harmless(&what), remedy)
    })
}
