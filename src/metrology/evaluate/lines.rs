//! The lines of a point's budget (ISO 6789-2:2017, clause 7, from memory; the influences agree with
//! Röske, Acta IMEKO 3(2), 2014). All are relative, in percent of the reference torque at the point.

use super::{Context, EvaluateError, VariationResult};
use crate::budget::{Budget, BudgetLine, Influence, Scope, Variation};
use crate::quantity::{Percent, Torque};
use crate::reading::{Direction, LoadingTime};
use crate::reference::Interpolated;
use crate::rulebook::{BudgetPlan, Carried, ResolutionReads};
use crate::statistics::Sample;

/// What a line needs to know of its point.
pub(super) struct PointAt<'a> {
    /// a row of the point, to name in an error
    pub row: u32,
    pub direction: Direction,
    /// mean of what the reference showed
    pub shown: Torque,
    /// mean of the corrected reference torque
    pub reference: Torque,
    pub deviations: &'a Sample,
    /// the test point
    pub target: Torque,
    /// the shortest loading time of its readings; `None` where one of them has none
    pub loading: Option<LoadingTime>,
}

impl PointAt<'_> {
    fn relative(&self, torque: Torque) -> Percent {
        torque.percent_of(self.reference)
    }
}

/// The budget of a point: what is known becomes a line, what the rulebook asks for and nobody
/// measured is named as missing.
pub(super) fn budget(
    context: &Context,
    plan: &BudgetPlan,
    at: &PointAt,
    variations: &[VariationResult],
) -> Result<Budget, EvaluateError> {
    let curve_at = context
        .reference
        .curve(at.direction)
        .and_then(|curve| curve.at(at.shown))
        .map_err(|error| EvaluateError::Reference { row: at.row, error })?;
    let mut budget = Budget::default();
    reference_lines(context, at, &curve_at, &mut budget);
    filter_line(context, at, &mut budget);
    resolution_lines(context, plan, at, &mut budget);
    for variation in Variation::ALL {
        if context.rulebook.variation_plan(variation, context.run.tool.class).is_some() {
            variation_line(context, plan, at, variation, variations, &mut budget);
        }
    }
    match at.deviations.standard_deviation() {
        Some(s) => budget.lines.push(BudgetLine::normal(
            Influence::Repeatability,
            Percent::new(s),
            (at.deviations.n() as f64).sqrt(),
            at.deviations.freedom(),
            Scope::PerReading,
            format!("this run, {} readings", at.deviations.n()),
        )),
        None => budget.missing.push(Influence::Repeatability),
    }
    Ok(budget)
}

fn reference_lines(context: &Context, at: &PointAt, curve_at: &Interpolated, budget: &mut Budget) {
    let reference = context.reference;
    let certificate = format!("certificate {}", reference.certificate);
    let common =
        |influence, half_width, source| BudgetLine::rectangular(influence, half_width, Scope::Common, source);
    budget.lines.push(BudgetLine::normal(
        Influence::Reference,
        Percent::new(2.0 * at.relative(curve_at.standard_uncertainty).value()),
        2.0,
        crate::coverage::Freedom::Infinite,
        Scope::Common,
        certificate,
    ));
    if !reference.resolution_included {
        let half_step = Torque::from_newton_metres(reference.resolution.torque().newton_metres() / 2.0);
        budget.lines.push(common(
            Influence::ReferenceResolution,
            at.relative(half_step),
            format!("one step of {}", reference.resolution),
        ));
    }
    match reference.drift_per_year {
        Some(drift) => {
            let years = reference.years_since_calibration(context.run.performed);
            budget.lines.push(common(
                Influence::ReferenceDrift,
                Percent::new(drift.value() * years),
                format!("{drift} a year, {years:.2} years"),
            ));
        }
        None => budget.missing.push(Influence::ReferenceDrift),
    }
    match (reference.interpolation, curve_at.lack_of_linearity) {
        (Some(stated), _) => budget.lines.push(common(
            Influence::ReferenceInterpolation,
            stated,
            "stated in the reference file".to_owned(),
        )),
        (None, Some(remainder)) => budget.lines.push(common(
            Influence::ReferenceInterpolation,
            at.relative(remainder),
            "from the bend of its calibration points".to_owned(),
        )),
        (None, None) => budget.missing.push(Influence::ReferenceInterpolation),
    }
    if let Some(effect) = reference.temperature {
        match context.run.farthest_from(effect.calibrated_at) {
            Some(difference) => budget.lines.push(common(
                Influence::Temperature,
                Percent::new((effect.per_kelvin.value() * difference).abs()),
                format!("{} per kelvin, {difference:.1} K", effect.per_kelvin),
            )),
            None => budget.missing.push(Influence::Temperature),
        }
    }
}

/// A stated low-pass lags behind the ramp of the pull (see [`crate::low_pass`]). The lag has one sign
/// for all readings of a point: it is common, and more readings do not make it smaller. The fastest
/// pull bounds it; where the loading time of a reading is not known, nothing does.
fn filter_line(context: &Context, at: &PointAt, budget: &mut Budget) {
    let Some(filter) = context.run.chain.as_ref().and_then(|chain| chain.filter) else { return };
    match at.loading {
        Some(loading) => budget.lines.push(BudgetLine::rectangular(
            Influence::Filter,
            at.relative(filter.peak_error(at.target, loading.seconds())),
            Scope::Common,
            format!("{filter}; fastest pull {loading}"),
        )),
        None => budget.missing.push(Influence::Filter),
    }
}

fn resolution_lines(context: &Context, plan: &BudgetPlan, at: &PointAt, budget: &mut Budget) {
    let Some(resolution) = context.run.tool.resolution else { return };
    let half_step = Torque::from_newton_metres(resolution.torque().newton_metres() / 2.0);
    let line = |what: &str| {
        BudgetLine::rectangular(
            Influence::Resolution,
            at.relative(half_step),
            Scope::PerReading,
            format!("{what}, step {resolution}"),
        )
    };
    match plan.resolution_reads.value {
        ResolutionReads::Once => budget.lines.push(line("value")),
        ResolutionReads::Twice => budget.lines.extend([line("zero"), line("value")]),
    }
}

/// A variation b is a difference of means: rectangular with full width b, so half width b/2 and
/// standard uncertainty b/(2√3).
fn variation_line(
    context: &Context,
    plan: &BudgetPlan,
    at: &PointAt,
    variation: Variation,
    measured: &[VariationResult],
    budget: &mut Budget,
) {
    let influence = Influence::of_variation(variation);
    // The direction of the point first; else the other one, and the line says so.
    let own = measured.iter().find(|m| m.variation == variation && m.direction == at.direction);
    let found = own.or_else(|| measured.iter().find(|m| m.variation == variation));
    if let Some(found) = found {
        let full_width = match plan.carried.value {
            Carried::Relative => found.relative_width,
            Carried::Absolute => at.relative(found.width),
        };
        budget.lines.push(BudgetLine::rectangular(
            influence,
            Percent::new(full_width.value() / 2.0),
            Scope::Common,
            format!("this run at {} {}, {} means", found.target, found.direction, found.means.len()),
        ));
        return;
    }
    let study = context.run.study.as_ref().filter(|study| {
        study.is_of(&context.run.tool)
            && plan.study_tools_min.as_ref().is_some_and(|least| study.tools >= least.value)
    });
    match study.and_then(|study| study.width(variation).map(|width| (study, width))) {
        Some((study, width)) => budget.lines.push(BudgetLine::rectangular(
            influence,
            Percent::new(width.value() / 2.0),
            Scope::Common,
            format!("study {}, {} tools", study.id, study.tools),
        )),
        None => budget.missing.push(influence),
    }
}
