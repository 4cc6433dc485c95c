//! The record as it stands: the fold of its events. It holds no bytes of files, and knows no store.

mod apply;
mod job;
mod people;
mod questions;

use std::collections::BTreeMap;

use chrono::NaiveDate;

pub use apply::Touched;
pub use job::{Certificate, CertificateState, Evaluation, Job, JobState, RunRecord};
pub use people::{Authorisation, PersonRecord};
pub use questions::{Due, DueSubject};

use crate::bytes::PublicKey;
use crate::entry::{Head, Time};
use crate::event::{self, CertificateNumber};
use crate::text::{Decimal, Id, Text};

/// A reference and what happened to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReferenceRecord {
    /// as it is known now
    pub reference: event::Reference,
    /// every calibration, in the order in which they were recorded
    pub calibrations: Vec<event::ReferenceCalibrated>,
    /// how often it was loaded under each calibration
    pub uses: BTreeMap<Id, u64>,
}

impl ReferenceRecord {
    /// The calibration of the latest day.
    #[must_use]
    pub fn latest(&self) -> Option<&event::ReferenceCalibrated> {
        self.calibrations.iter().max_by_key(|calibration| calibration.date)
    }

    /// How often it was loaded since then.
    #[must_use]
    pub fn uses_since_latest(&self) -> u64 {
        self.latest().and_then(|latest| self.uses.get(&latest.certificate)).copied().unwrap_or(0)
    }
}

/// A check standard and its values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckStandardRecord {
    /// as registered
    pub standard: event::CheckStandard,
    /// each measurement: day, reference, value, unit
    pub values: Vec<(NaiveDate, Id, Decimal, Id)>,
}

/// A wrong reference and what was done about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExposureRecord {
    /// as opened
    pub found: event::ReferenceFoundWrong,
    /// every letter
    pub letters: Vec<event::Letter>,
}

/// The record as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    pub(crate) head: Head,
    pub(crate) time: Option<Time>,
    pub(crate) laboratory: Option<Text>,
    pub(crate) people: BTreeMap<Id, PersonRecord>,
    pub(crate) keys: BTreeMap<PublicKey, Id>,
    pub(crate) customers: BTreeMap<Id, event::Customer>,
    pub(crate) tools: BTreeMap<Id, event::Tool>,
    pub(crate) serials: BTreeMap<(Text, Text, Text), Id>,
    pub(crate) measured: BTreeMap<Id, NaiveDate>,
    pub(crate) references: BTreeMap<Id, ReferenceRecord>,
    pub(crate) standards: BTreeMap<Id, CheckStandardRecord>,
    pub(crate) jobs: BTreeMap<Id, Job>,
    pub(crate) certificates: BTreeMap<CertificateNumber, Certificate>,
    pub(crate) series: BTreeMap<Id, u64>,
    pub(crate) exposures: BTreeMap<Id, ExposureRecord>,
}

impl Default for State {
    fn default() -> State {
        State::new()
    }
}

impl State {
    /// Before the foundation.
    #[must_use]
    pub fn new() -> State {
        State {
            head: Head::NONE,
            time: None,
            laboratory: None,
            people: BTreeMap::new(),
            keys: BTreeMap::new(),
            customers: BTreeMap::new(),
            tools: BTreeMap::new(),
            serials: BTreeMap::new(),
            measured: BTreeMap::new(),
            references: BTreeMap::new(),
            standards: BTreeMap::new(),
            jobs: BTreeMap::new(),
            certificates: BTreeMap::new(),
            series: BTreeMap::new(),
            exposures: BTreeMap::new(),
        }
    }

    /// The last entry that is folded in.
    #[must_use]
    pub fn head(&self) -> Head {
        self.head
    }

    /// When it was written.
    #[must_use]
    pub fn time(&self) -> Option<Time> {
        self.time
    }

    /// The laboratory, once it is founded.
    #[must_use]
    pub fn laboratory(&self) -> Option<&Text> {
        self.laboratory.as_ref()
    }

    /// Everyone who was ever enrolled.
    #[must_use]
    pub fn people(&self) -> &BTreeMap<Id, PersonRecord> {
        &self.people
    }

    /// Customers as they are known now.
    #[must_use]
    pub fn customers(&self) -> &BTreeMap<Id, event::Customer> {
        &self.customers
    }

    /// Tools as they are known now.
    #[must_use]
    pub fn tools(&self) -> &BTreeMap<Id, event::Tool> {
        &self.tools
    }

    /// References.
    #[must_use]
    pub fn references(&self) -> &BTreeMap<Id, ReferenceRecord> {
        &self.references
    }

    /// Check standards.
    #[must_use]
    pub fn check_standards(&self) -> &BTreeMap<Id, CheckStandardRecord> {
        &self.standards
    }

    /// Jobs.
    #[must_use]
    pub fn jobs(&self) -> &BTreeMap<Id, Job> {
        &self.jobs
    }

    /// Certificates, those that hold no more among them.
    #[must_use]
    pub fn certificates(&self) -> &BTreeMap<CertificateNumber, Certificate> {
        &self.certificates
    }

    /// Exposures.
    #[must_use]
    pub fn exposures(&self) -> &BTreeMap<Id, ExposureRecord> {
        &self.exposures
    }

    /// The number that the next certificate of a series gets.
    #[must_use]
    pub fn next_number(&self, series: &Id) -> CertificateNumber {
        let number = self.series.get(series).copied().unwrap_or(0) + 1;
        CertificateNumber { series: series.clone(), number }
    }
}
