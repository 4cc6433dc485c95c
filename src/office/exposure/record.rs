//! The report as data: what JSON, CSV, terminal and letters are made of.

use chrono::NaiveDate;
use leverarm_metrology::decision::{Verdict, Zone};
use leverarm_metrology::exposure::Change;
use leverarm_metrology::run::{Laboratory, Run};
use serde::Serialize;

use super::cases::Addressee;
use super::examine::Question;

/// How grave it is, the gravest last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gravity {
    /// every verdict stands
    Stands,
    /// conformity was not stated and is now
    ToPass,
    /// it could not be computed again
    NotRecomputed,
    /// what was stated can no longer be, nor its opposite
    NoLongerDecided,
    /// it now lies outside the limits
    ToFail,
}

impl Gravity {
    /// The gravest first.
    pub const ALL: [Gravity; 5] =
        [Gravity::ToFail, Gravity::NoLongerDecided, Gravity::NotRecomputed, Gravity::ToPass, Gravity::Stands];

    /// Of a change.
    #[must_use]
    pub const fn of(change: Change) -> Gravity {
        match change {
            Change::Stands => Gravity::Stands,
            Change::ToPass => Gravity::ToPass,
            Change::Undecided => Gravity::NoLongerDecided,
            Change::ToFail => Gravity::ToFail,
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Gravity::Stands => "stands",
            Gravity::ToPass => "now passes",
            Gravity::NotRecomputed => "not computed again",
            Gravity::NoLongerDecided => "no longer decided",
            Gravity::ToFail => "now FAILS",
        }
    }
}

/// Why a run is not in the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOut {
    /// it used another reference
    OtherReference,
    /// it was measured before the day that was asked, or under an earlier calibration
    Earlier,
    /// it was measured after the calibration that found the deviation
    Later,
}

/// One test point.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // the names say it; `printed` are rounded, the others are not
pub struct PointRow {
    pub target: String,
    pub direction: String,
    pub limit: String,
    pub deviation_before_percent: f64,
    pub deviation_after_percent: f64,
    pub shift_percent: f64,
    pub expanded_before_percent: Option<f64>,
    pub expanded_after_percent: Option<f64>,
    pub printed_before: String,
    pub printed_after: String,
    pub printed_shift: String,
    pub printed_expanded_before: Option<String>,
    pub printed_expanded_after: Option<String>,
    pub verdict_before: Verdict,
    pub verdict_after: Verdict,
    pub zone_after: Option<Zone>,
    pub change: &'static str,
    #[serde(skip)]
    pub gravity: Gravity,
}

impl PointRow {
    /// The verdict now in words; that a result failed within the guard band is said.
    #[must_use]
    pub fn now(&self) -> String {
        match (self.verdict_after, self.zone_after) {
            (Verdict::Fail, Some(Zone::GuardBand)) => "FAIL (guard band)".to_owned(),
            (verdict, _) => verdict.word().to_owned(),
        }
    }
}

/// Which tool, in which job.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
#[allow(missing_docs)] // the names say it
pub struct Whose {
    pub job: Option<String>,
    pub condition: Option<&'static str>,
    pub performed: Option<NaiveDate>,
    pub maker: Option<String>,
    pub model: Option<String>,
    pub serial: Option<String>,
    #[serde(skip)]
    pub laboratory: Laboratory,
}

impl Whose {
    /// Of a run, where it could be read.
    #[must_use]
    pub fn of(run: Option<&Run>) -> Whose {
        let Some(run) = run else { return Whose::default() };
        Whose {
            job: Some(run.job.clone()),
            condition: Some(run.condition.words()),
            performed: Some(run.performed),
            maker: Some(run.tool.maker.clone()),
            model: Some(run.tool.model.clone()),
            serial: Some(run.tool.serial.clone()),
            laboratory: run.laboratory.clone(),
        }
    }

    /// Maker, model and serial number in one line.
    #[must_use]
    pub fn tool(&self) -> String {
        let parts = [&self.maker, &self.model, &self.serial];
        let known: Vec<&str> = parts.into_iter().flatten().map(String::as_str).collect();
        if known.is_empty() { "tool not known".to_owned() } else { known.join(" ") }
    }
}

/// One run: as certified and as known now.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // the names say it
pub struct RunRow {
    pub origin: String,
    pub certificate: Option<String>,
    /// whether the certificate was replaced or withdrawn already
    pub superseded: bool,
    #[serde(flatten)]
    pub whose: Whose,
    pub customer: Option<Addressee>,
    /// the calibration of the reference that it was certified with
    pub calibration: Option<String>,
    pub calibrated_on: Option<NaiveDate>,
    /// the largest change of the reference since then, in percent of the torque as it was believed
    pub reference_change_percent: Option<f64>,
    /// the gravest at a point or of the tool
    pub gravity: Gravity,
    /// why it could not be computed again
    pub reason: Option<String>,
    pub rule: Option<String>,
    pub verdict_before: Option<Verdict>,
    pub verdict_after: Option<Verdict>,
    pub tool_change: Option<&'static str>,
    #[serde(skip)]
    pub tool_stands: bool,
    pub largest_shift_percent: Option<f64>,
    /// whether the record holds another verdict than the one that its own inputs give by the GUM
    pub recorded_differs: bool,
    pub points: Vec<PointRow>,
}

impl RunRow {
    /// The certificate's number; the job's, or where the run comes from, where it has none.
    #[must_use]
    pub fn name(&self) -> &str {
        self.certificate.as_deref().or(self.whose.job.as_deref()).unwrap_or(&self.origin)
    }

    /// Whether the customer must hear of it.
    #[must_use]
    pub fn is_affected(&self) -> bool {
        self.gravity != Gravity::Stands
    }
}

/// The reference as the new calibration found it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // the names say it
pub struct FoundRow {
    pub id: String,
    pub description: String,
    pub serial: String,
    pub certificate: String,
    pub calibrated_by: String,
    pub calibrated_on: NaiveDate,
}

/// How many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[allow(missing_docs)] // the names say it
pub struct Counts {
    pub runs: usize,
    pub to_fail: usize,
    pub no_longer_decided: usize,
    pub not_recomputed: usize,
    pub to_pass: usize,
    pub stands: usize,
    pub points: usize,
    pub points_changed: usize,
    pub customers_affected: usize,
    pub other_reference: usize,
    pub earlier: usize,
    pub later: usize,
}

/// Everything.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// what the file is
    pub format: &'static str,
    /// version of the format
    pub version: u32,
    /// version of the program
    pub program: &'static str,
    /// the new calibration
    pub found: FoundRow,
    /// when the reference is taken to have changed
    pub model: &'static str,
    /// from which day on runs are looked at
    pub since: Option<NaiveDate>,
    /// the largest change of the reference, in percent of the torque as it was believed, against any
    /// calibration that a run was certified with
    pub largest_change_percent: Option<f64>,
    /// how many
    pub counts: Counts,
    /// run by run, the gravest first
    #[serde(rename = "runs")]
    pub rows: Vec<RunRow>,
}

impl Report {
    pub(super) fn new(question: &Question<'_>) -> Report {
        let found = question.found;
        Report {
            format: "leverarm exposure",
            version: 1,
            program: env!("CARGO_PKG_VERSION"),
            found: FoundRow {
                id: found.id.clone(),
                description: found.description.clone(),
                serial: found.serial.clone(),
                certificate: found.certificate.clone(),
                calibrated_by: found.calibrated_by.clone(),
                calibrated_on: found.calibrated_on,
            },
            model: question.model.word(),
            since: question.since,
            largest_change_percent: None,
            counts: Counts::default(),
            rows: Vec::new(),
        }
    }

    pub(super) fn leave_out(&mut self, why: LeftOut) {
        match why {
            LeftOut::OtherReference => self.counts.other_reference += 1,
            LeftOut::Earlier => self.counts.earlier += 1,
            LeftOut::Later => self.counts.later += 1,
        }
    }

    /// Leaves out what an earlier calibration covers, sorts and counts.
    pub(super) fn finish(&mut self, since: Option<NaiveDate>) {
        if since.is_none() {
            self.since = self.rows.iter().filter_map(|row| row.calibrated_on).max();
            let latest = self.since;
            let before = self.rows.len();
            self.rows.retain(|row| row.calibrated_on.is_none() || row.calibrated_on >= latest);
            self.counts.earlier += before - self.rows.len();
        }
        let shift = |row: &RunRow| row.largest_shift_percent.unwrap_or(0.0).abs();
        self.rows.sort_by(|a, b| {
            b.gravity
                .cmp(&a.gravity)
                .then_with(|| shift(b).total_cmp(&shift(a)))
                .then_with(|| a.name().cmp(b.name()))
                .then_with(|| a.origin.cmp(&b.origin))
        });
        let changes = self.rows.iter().filter_map(|row| row.reference_change_percent);
        self.largest_change_percent = changes.max_by(|a, b| a.abs().total_cmp(&b.abs()));
        self.count();
    }

    fn count(&mut self) {
        let of = |gravity: Gravity| self.rows.iter().filter(|row| row.gravity == gravity).count();
        let points = || self.rows.iter().flat_map(|row| &row.points);
        let mut customers: Vec<_> =
            self.rows.iter().filter(|row| row.is_affected()).map(|row| &row.customer).collect();
        customers.sort();
        customers.dedup();
        self.counts = Counts {
            runs: self.rows.len(),
            to_fail: of(Gravity::ToFail),
            no_longer_decided: of(Gravity::NoLongerDecided),
            not_recomputed: of(Gravity::NotRecomputed),
            to_pass: of(Gravity::ToPass),
            stands: of(Gravity::Stands),
            points: points().count(),
            points_changed: points().filter(|point| point.gravity != Gravity::Stands).count(),
            customers_affected: customers.len(),
            ..self.counts
        };
    }

    /// Whether any verdict changed, or could not be looked at.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        self.rows.iter().any(RunRow::is_affected)
    }
}
