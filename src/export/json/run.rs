//! A run with its evaluation as the record that `result.json` holds.

use leverarm_metrology::decision::{DecisionRule, Guard};
use leverarm_metrology::evaluate::{Evaluation, PointResult, VariationResult};
use leverarm_metrology::finding::{Finding, Severity};
use leverarm_metrology::reading::{LoadingTime, Reading, Status};
use leverarm_metrology::reference::Reference;
use leverarm_metrology::rounding::{RoundingError, RoundingRule};
use leverarm_metrology::rulebook::Rulebook;
use leverarm_metrology::run::Run;

use super::{
    DecisionRecord, FindingRecord, GlobalRiskRecord, InputRecord, KeptTraceRecord, LineRecord, PointRecord,
    ReadingRecord, ReferenceRecord, RulebookRecord, RunRecord, ToolRecord, TraceRecord, UncertaintyRecord,
    VariationRecord, VoidRecord,
};
use crate::export::curve::curves;
use crate::printed::{PrintedLine, PrintedPoint, prior_words};

/// What a run record is made of.
pub struct RunParts<'a> {
    /// the run
    pub run: &'a Run,
    /// its rulebook
    pub rulebook: &'a Rulebook,
    /// its reference
    pub reference: &'a Reference,
    /// its evaluation
    pub evaluation: &'a Evaluation,
    /// what the checks found
    pub findings: &'a [Finding],
    /// the inputs
    pub inputs: Vec<InputRecord>,
}

/// The record of one run.
///
/// # Errors
/// [`RoundingError`] when a number has no printable digits.
pub fn run_record(parts: RunParts, rounding: RoundingRule) -> Result<RunRecord, RoundingError> {
    let RunParts { run, rulebook, reference, evaluation, findings, inputs } = parts;
    Ok(RunRecord {
        job: run.job.clone(),
        condition: run.condition,
        performed: run.performed.to_string(),
        tool: ToolRecord {
            class: run.tool.class.code().to_owned(),
            maker: run.tool.maker.clone(),
            model: run.tool.model.clone(),
            serial: run.tool.serial.clone(),
            range: run.tool.range.to_string(),
            resolution: run.tool.resolution.map(|r| r.to_string()),
            head: run.tool.head.clone(),
        },
        reference: ReferenceRecord {
            id: reference.id.clone(),
            serial: reference.serial.clone(),
            certificate: reference.certificate.clone(),
            calibrated_on: reference.calibrated_on.to_string(),
            due: reference.due.to_string(),
        },
        rulebook: RulebookRecord {
            name: rulebook.name.clone(),
            standard: rulebook.standard.clone(),
            edition: rulebook.edition.clone(),
            deviation: rulebook.deviation.value.words().to_owned(),
        },
        decision: DecisionRecord {
            rule: evaluation.rule.map(|r| r.to_string()),
            words: evaluation.rule.map(DecisionRule::words),
            agreed: run.agreement.and_then(|a| a.agreed).map(|d| d.to_string()),
            limit: evaluation.limit.permissible,
            class_limit: evaluation.limit.class_permissible,
            by_claim: evaluation.limit.by_claim,
            prior: run.prior.as_ref().map(prior_words),
        },
        points: evaluation
            .points
            .iter()
            .map(|point| point_record(point, &run.readings, rounding))
            .collect::<Result<_, _>>()?,
        voids: run.readings.iter().filter_map(void_record).collect(),
        variations: evaluation.variations.iter().map(variation_record).collect(),
        curves: curves(evaluation, reference),
        verdict: evaluation.verdict,
        certifiable: findings.iter().all(|f| f.severity() == Severity::Warning),
        floor: evaluation.floor.clone(),
        findings: findings
            .iter()
            .map(|f| FindingRecord {
                check: f.check.name,
                severity: f.severity(),
                message: f.message.clone(),
            })
            .collect(),
        inputs,
        traces: run.readings.iter().filter_map(kept_trace).collect(),
    })
}

/// The trace of a reading, where it was read.
fn trace(reading: &Reading) -> Option<TraceRecord> {
    let kept = reading.trace.as_ref()?;
    Some(TraceRecord { file: kept.file.clone(), sha256: kept.sha256.clone()? })
}

fn kept_trace(reading: &Reading) -> Option<KeptTraceRecord> {
    Some(KeptTraceRecord { row: reading.row, trace: trace(reading)? })
}

fn point_record(
    point: &PointResult,
    readings: &[Reading],
    rounding: RoundingRule,
) -> Result<PointRecord, RoundingError> {
    let mut records: Vec<ReadingRecord> = point
        .readings
        .iter()
        .map(|r| ReadingRecord {
            row: r.row,
            status: "valid",
            reason: None,
            indicated: r.indicated.to_string(),
            shown: r.shown.to_string(),
            reference_newton_metres: Some(r.reference.newton_metres()),
            deviation: Some(r.deviation),
            within: Some(r.within),
            seconds: None,
            trace: None,
        })
        .collect();
    records.extend(readings.iter().filter(|r| point.voided.contains(&r.row)).map(|r| ReadingRecord {
        row: r.row,
        status: "void",
        reason: match &r.status {
            Status::Void { reason } => Some(reason.clone()),
            Status::Valid => None,
        },
        indicated: r.indicated.to_string(),
        shown: r.reference.to_string(),
        reference_newton_metres: None,
        deviation: None,
        within: None,
        seconds: None,
        trace: None,
    }));
    records.sort_by_key(|r| r.row);
    add_pulls(&mut records, readings);
    let printed = PrintedPoint::new(point, rounding)?;
    Ok(PointRecord {
        target_newton_metres: point.target.torque().newton_metres(),
        readings: records,
        n: point.readings.len(),
        mean_reference_newton_metres: point.mean_reference.newton_metres(),
        mean_deviation: point.mean_deviation,
        standard_deviation: point.standard_deviation,
        spread: point.spread,
        uncertainty: uncertainty_record(point, printed.decimals)?,
        limit: point.limit,
        guard_band: point.guard.and_then(Guard::width),
        nothing_accepted: point.no_result_accepted(),
        sides: point.sides,
        acceptance_limit: point.acceptance_limit(),
        zone: point.zone,
        verdict: point.verdict,
        conformity_probability: point.conformity_probability,
        false_acceptance: point.false_acceptance(),
        false_rejection: point.false_rejection(),
        global_risk: point
            .global_risk
            .map(|risk| GlobalRiskRecord { consumer: risk.consumer, producer: risk.producer }),
        uncertainty_ratio: point.uncertainty_ratio,
        printed,
    })
}

/// Adds what is known of the pull of each reading. Both lists are in the order of their rows.
fn add_pulls(records: &mut [ReadingRecord], readings: &[Reading]) {
    let mut of_run = readings.iter();
    for record in records {
        let Some(reading) = of_run.find(|reading| reading.row == record.row) else { return };
        record.seconds = reading.loading_time.map(LoadingTime::seconds);
        record.trace = trace(reading);
    }
}

fn uncertainty_record(
    point: &PointResult,
    decimals: u32,
) -> Result<Option<UncertaintyRecord>, RoundingError> {
    let Some(u) = &point.uncertainty else { return Ok(None) };
    let lines = u
        .budget
        .lines
        .iter()
        .zip(&u.combined.shares)
        .map(|(line, share)| {
            Ok(LineRecord {
                influence: line.influence,
                symbol: line.influence.symbol(),
                value: line.value,
                distribution: line.distribution,
                divisor: line.divisor,
                freedom: line.freedom,
                standard: line.standard(),
                share: *share,
                scope: line.scope,
                source: line.source.clone(),
                printed: PrintedLine::new(line, *share, decimals)?,
            })
        })
        .collect::<Result<_, RoundingError>>()?;
    Ok(Some(UncertaintyRecord {
        lines,
        missing: u.budget.missing.clone(),
        combined: u.combined.standard,
        freedom: u.combined.freedom,
        k: u.expanded.k,
        k_effective: u.expanded.k_effective,
        expanded: u.expanded.expanded,
        interval: u.interval,
        monte_carlo: u.monte_carlo.clone(),
        reported: u.reported,
    }))
}

fn void_record(reading: &Reading) -> Option<VoidRecord> {
    match &reading.status {
        Status::Valid => None,
        Status::Void { reason } => Some(VoidRecord {
            row: reading.row,
            series: reading.series,
            target: reading.target.to_string(),
            shown: reading.reference.to_string(),
            reason: reason.clone(),
        }),
    }
}

fn variation_record(v: &VariationResult) -> VariationRecord {
    VariationRecord {
        variation: v.variation,
        direction: v.direction,
        target: v.target.to_string(),
        means: v.means.iter().map(|(position, mean)| (position.clone(), mean.newton_metres())).collect(),
        width_newton_metres: v.width.newton_metres(),
        relative_width: v.relative_width,
    }
}
