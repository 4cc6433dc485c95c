//! What people ask the record.

use chrono::{Months, NaiveDate};

use super::{Job, JobState, State};
use crate::event::Tool;
use crate::text::Id;

/// What is due.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum DueSubject {
    /// a customer's tool
    Tool(Id),
    /// a reference of the laboratory
    Reference(Id),
}

/// Something that is due by its date or by its uses.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Due {
    /// by date: the last day; by uses alone: none
    pub day: Option<NaiveDate>,
    /// what
    pub subject: DueSubject,
    /// uses since the last calibration and the uses allowed, where they are counted
    pub uses: Option<(u64, u64)>,
}

impl State {
    /// The jobs that wait for an approver, those submitted first standing first by name.
    pub fn queue(&self) -> impl Iterator<Item = (&Id, &Job)> {
        self.jobs.iter().filter(|(_, job)| job.state == JobState::Submitted)
    }

    /// When a tool is to come again: the agreed interval after the last day of its work.
    #[must_use]
    pub fn tool_due(&self, tool: &Tool) -> Option<NaiveDate> {
        let last = self.measured.get(&tool.id)?;
        last.checked_add_months(Months::new(tool.interval_months?))
    }

    /// Tools and references that are due on a day or before, or have used up their uses.
    #[must_use]
    pub fn due(&self, day: NaiveDate) -> Vec<Due> {
        let tools = self.tools.values().filter_map(|tool| {
            let due = self.tool_due(tool).filter(|due| *due <= day)?;
            Some(Due { day: Some(due), subject: DueSubject::Tool(tool.id.clone()), uses: None })
        });
        let references = self.references.iter().filter_map(|(id, record)| {
            let by_date = record.latest().map(|latest| latest.due);
            let uses = record.reference.interval_uses.map(|most| (record.uses_since_latest(), most));
            let is_due =
                by_date.is_none_or(|due| due <= day) || uses.is_some_and(|(uses, most)| uses >= most);
            is_due.then(|| Due { day: by_date, subject: DueSubject::Reference(id.clone()), uses })
        });
        let mut due: Vec<Due> = tools.chain(references).collect();
        due.sort();
        due
    }

    /// The runs that a reference was used for from a day on: job, run.
    pub fn runs_with<'a>(
        &'a self,
        reference: &'a Id,
        since: NaiveDate,
    ) -> impl Iterator<Item = (&'a Id, &'a super::RunRecord)> {
        self.jobs.iter().flat_map(move |(id, job)| {
            let used =
                move |run: &&super::RunRecord| run.run.reference == *reference && run.run.performed >= since;
            job.runs.iter().filter(used).map(move |run| (id, run))
        })
    }
}
