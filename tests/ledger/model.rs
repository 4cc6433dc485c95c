//! Random operations against a model that shares no code with the ledger: a list of jobs, each with
//! a word for its state, and a counter for the numbers.

use std::collections::{BTreeMap, BTreeSet};

use leverarm_ledger::event::*;
use leverarm_ledger::rules::Command;
use leverarm_ledger::store::{MemoryStore, SqliteStore, Store};
use leverarm_ledger::verify::verify;
use leverarm_ledger::{Ledger, LedgerError};
use proptest::prelude::*;

use crate::house::*;

const PEOPLE: [(&str, &str); 5] =
    [("runa", "t"), ("idunn", "p"), ("halvar", "m"), ("torunn", "tpm"), ("eskil", "a")];

#[derive(Debug, Clone, Copy)]
pub enum Deed {
    Receive,
    Run,
    Evaluate,
    Submit,
    Return,
    Approve,
    Issue,
    Amend,
    Withdraw,
    Close,
}

#[derive(Debug, Clone)]
pub struct Op {
    deed: Deed,
    job: usize,
    who: usize,
}

pub fn ops() -> impl Strategy<Value = Vec<Op>> {
    use Deed::*;
    let deed = prop::sample::select(vec![
        Receive, Receive, Run, Run, Run, Evaluate, Evaluate, Evaluate, Submit, Submit, Return, Approve,
        Approve, Issue, Issue, Amend, Withdraw, Close,
    ]);
    let op = (deed, 0..3_usize, 0..PEOPLE.len()).prop_map(|(deed, job, who)| Op { deed, job, who });
    prop::collection::vec(op, 1..120)
}

#[derive(Default, Clone)]
struct ModelJob {
    word: &'static str,
    measured: BTreeSet<usize>,
    runs: usize,
    unevaluated: BTreeSet<usize>,
    certificate: u64,
}

#[derive(Default)]
struct Model {
    jobs: BTreeMap<usize, ModelJob>,
    last_number: u64,
    current: BTreeMap<u64, usize>,
}

impl Model {
    /// Whether it is allowed; it is then done.
    fn allows(&mut self, op: &Op) -> bool {
        let rights = PEOPLE[op.who].1;
        let Some(job) = self.jobs.get_mut(&op.job) else {
            let allowed = matches!(op.deed, Deed::Receive) && (rights.contains('t') || rights.contains('p'));
            if allowed {
                self.jobs.insert(op.job, ModelJob { word: "received", ..ModelJob::default() });
            }
            return allowed;
        };
        let answers = |right: char| rights.contains(right) && !job.measured.contains(&op.who);
        let allowed = match op.deed {
            Deed::Receive => false,
            Deed::Run => {
                rights.contains('t') && ["received", "measured", "evaluated", "returned"].contains(&job.word)
            }
            Deed::Evaluate => {
                (rights.contains('t') || rights.contains('p'))
                    && job.runs > 0
                    && ["measured", "evaluated", "returned", "issued"].contains(&job.word)
            }
            Deed::Submit => rights.contains('t') && ["evaluated", "returned"].contains(&job.word),
            Deed::Return => answers('p') && ["submitted", "approved"].contains(&job.word),
            Deed::Approve => answers('p') && job.word == "submitted",
            Deed::Issue => answers('p') && job.word == "approved",
            Deed::Amend => answers('m') && job.word == "issued",
            Deed::Withdraw => rights.contains('m') && job.word == "issued",
            Deed::Close => rights.contains('p') && !["issued", "withdrawn", "closed"].contains(&job.word),
        };
        if !allowed {
            return false;
        }
        match op.deed {
            Deed::Receive => {}
            Deed::Run => {
                job.runs += 1;
                job.unevaluated.insert(job.runs);
                job.measured.insert(op.who);
                job.word = "measured";
            }
            Deed::Evaluate => {
                job.unevaluated.remove(&job.runs);
                if job.word != "issued" {
                    job.word = if job.unevaluated.is_empty() { "evaluated" } else { "measured" };
                }
            }
            Deed::Submit => job.word = "submitted",
            Deed::Return => job.word = "returned",
            Deed::Approve => job.word = "approved",
            Deed::Issue | Deed::Amend => {
                self.last_number += 1;
                self.current.remove(&job.certificate);
                self.current.insert(self.last_number, op.job);
                job.certificate = self.last_number;
                job.word = "issued";
            }
            Deed::Withdraw => {
                self.current.remove(&job.certificate);
                job.word = "withdrawn";
            }
            Deed::Close => job.word = "closed",
        }
        true
    }
}

fn act<S: Store>(house: &mut House<S>, model: &Model, op: &Op) -> Result<(), LedgerError> {
    let (who, job) = (PEOPLE[op.who].0, format!("J-{}", op.job));
    let runs = model.jobs.get(&op.job).map_or(0, |job| job.runs);
    let certificate = number(model.jobs.get(&op.job).map_or(0, |job| job.certificate));
    let (readings, result) = (format!("readings of {job}"), format!("result of {job}"));
    let record = Command::Record;
    let command = match op.deed {
        Deed::Receive => record(Event::JobReceived(received(&job))),
        Deed::Run => record(Event::RunAdded(run(&job, &format!("{}", runs + 1), who))),
        Deed::Evaluate => record(Event::Evaluated(evaluated(&job, &format!("{}", runs.max(1))))),
        Deed::Submit => record(Event::Submitted(Submitted { job: id(&job) })),
        Deed::Return => record(returned(&job)),
        Deed::Approve => record(Event::Approved(Approved { job: id(&job) })),
        Deed::Issue => issue(&job),
        Deed::Amend => amend(certificate.number),
        Deed::Withdraw => record(Event::Withdrawn(Withdrawn { certificate, why: text("wrong") })),
        Deed::Close => record(Event::JobClosed(JobClosed { job: id(&job), why: text("broken") })),
    };
    house.command(who, command, &[readings.as_bytes(), result.as_bytes(), b"certificate"]).map(drop)
}

pub fn drive<S: Store>(store: S, ops: &[Op]) -> Result<(), TestCaseError> {
    let mut house = House::furnished(store);
    let mut model = Model::default();
    let mut accepted = house.ledger.state().head().sequence;
    for op in ops {
        let before = Model { jobs: model.jobs.clone(), ..Model::default() };
        let allowed = model.allows(op);
        let outcome = act(&mut house, &before, op);
        prop_assert_eq!(allowed, outcome.is_ok(), "{:?}: {:?}", op, outcome);
        accepted += u64::from(allowed);
        prop_assert_eq!(house.ledger.state().head().sequence, accepted);
    }
    let state = house.ledger.state().clone();
    prop_assert_eq!(state.jobs().len(), model.jobs.len());
    for (job, wanted) in &model.jobs {
        let found = &state.jobs()[&id(&format!("J-{job}"))];
        prop_assert_eq!(found.state.as_str(), wanted.word);
        prop_assert_eq!(found.runs.len(), wanted.runs);
    }
    let numbers: Vec<u64> = state.certificates().keys().map(|number| number.number).collect();
    prop_assert_eq!(numbers, (1..=model.last_number).collect::<Vec<_>>());
    let current = state.certificates().iter().filter(|(_, found)| found.state.as_str() == "current");
    let current: BTreeMap<u64, String> =
        current.map(|(number, found)| (number.number, found.job.to_string())).collect();
    let wanted: BTreeMap<u64, String> =
        model.current.iter().map(|(number, job)| (*number, format!("J-{job}"))).collect();
    prop_assert_eq!(current, wanted);
    let mut store = house.ledger.into_store();
    let report = verify(&mut store, &[state.head()], &mut |_, _| Ok(()));
    prop_assert!(report.is_clean(), "{:?}", report.findings);
    let reopened = Ledger::open(store).unwrap();
    prop_assert_eq!(reopened.state(), &state);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn memory_does_what_the_model_does(ops in ops()) {
        drive(MemoryStore::new(), &ops)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sqlite_does_what_the_model_does(ops in ops()) {
        let folder = tempfile::tempdir().unwrap();
        drive(SqliteStore::create(&folder.path().join("model.ledger")).unwrap(), &ops)?;
    }
}
