//! From the text of a rulebook to a rulebook: the shape first, then the sense, row by row; what
//! holds between rows stands in [`super::consistent`]. Everything wrong is said at once.

use std::ops::Range;

use toml::Spanned;

use super::problem::{Bounds, RulebookError, RulebookProblem};
use super::raw::{
    RawBudget, RawCoverage, RawLimit, RawPoints, RawPreload, RawPull, RawRecall, RawRulebook, RawValue,
    RawVariation, RawVersion, Text,
};
use super::{
    BudgetPlan, Certainty, CoverageRule, DeviationDefinition, LimitRow, PointsRow, PreloadRow, PullRow,
    RecallInterval, Rulebook, Source, Sourced, TestPoint, VariationPlan, consistent,
};
use crate::decision::RuleKind;
use crate::quantity::{Percent, Torque};
use crate::reading::Recorded;
use crate::tool::ToolClass;

const SHARE: Bounds = Bounds { lower: 0.0, above: true, upper: Some(100.0), below: false };
const TOLERANCE: Bounds = Bounds { lower: 0.0, above: false, upper: Some(100.0), below: true };
const PROBABILITY: Bounds = Bounds { lower: 50.0, above: true, upper: Some(100.0), below: true };
const COVERAGE: Bounds = Bounds { lower: 1.0, above: false, upper: None, below: false };
const ABOVE_ZERO: Bounds = Bounds { lower: 0.0, above: true, upper: None, below: false };

/// More than anybody counts by hand: a slip of the finger.
const COUNT_MAX: u32 = 1_000_000;

/// The newest format that this version reads.
const FORMAT: i64 = 1;

impl Rulebook {
    /// A rulebook from its TOML.
    ///
    /// # Errors
    /// Everything that is wrong with it, each with the bytes that it is about where they are known.
    pub fn parse(text: &str) -> Result<Rulebook, Vec<RulebookError>> {
        let version: RawVersion = toml::from_str(text).map_err(|error| vec![not_toml(&error)])?;
        if let Some(format) = version.format.filter(|format| *format.get_ref() != FORMAT) {
            let problem = RulebookProblem::Format { given: *format.get_ref() };
            return Err(vec![RulebookError { span: Some(format.span()), problem }]);
        }
        let raw: RawRulebook = toml::from_str(text).map_err(|error| vec![not_toml(&error)])?;
        let mut reader = Reader { errors: Vec::new() };
        let rulebook = reader.rulebook(raw);
        if reader.errors.is_empty() { Ok(rulebook) } else { Err(reader.errors) }
    }
}

fn not_toml(error: &toml::de::Error) -> RulebookError {
    RulebookError {
        span: error.span(),
        problem: RulebookProblem::Toml { message: error.message().to_owned() },
    }
}

/// Reads raw parts and collects what is wrong. A part that is wrong yields something harmless,
/// which nobody sees, because then there is no rulebook.
pub(super) struct Reader {
    errors: Vec<RulebookError>,
}

impl Reader {
    pub(super) fn report(&mut self, span: Option<Range<usize>>, problem: RulebookProblem) {
        self.errors.push(RulebookError { span, problem });
    }

    fn rulebook(&mut self, raw: RawRulebook) -> Rulebook {
        let name = self.name(raw.name);
        let title = self.text("title", raw.title);
        let standard = self.text("standard", raw.standard);
        let edition = self.text("edition", raw.edition);
        let certificate = self.certificate(raw.certificate, &format!("{standard}:{edition}"), &title);
        let deviation = Sourced {
            value: DeviationDefinition { sign: raw.deviation.sign, denominator: raw.deviation.denominator },
            from: self.source(raw.deviation.source, raw.deviation.certainty, raw.deviation.note),
        };
        let claim_governs = self.sourced(raw.acceptance.claim_governs, |_, value| value.into_inner());
        let purpose = raw.purpose;
        let decisions_span = raw.acceptance.decisions.value.span();
        let decisions =
            self.sourced(raw.acceptance.decisions, |reader, rules| reader.decisions(rules, purpose));
        if decisions.value.is_empty() {
            self.report(Some(decisions_span), RulebookProblem::NoDecision);
        }
        let reference_share = self.share("reference_share_percent", raw.equipment.reference_share_percent);
        let resolution_share = self.share("resolution_share_percent", raw.equipment.resolution_share_percent);
        let environment = self.environment(raw.environment);
        let before = self.errors.len();
        let limit_spans: Vec<_> = raw.limits.iter().map(|row| row.classes.span()).collect();
        let limits: Vec<LimitRow> = raw.limits.into_iter().map(|row| self.limit(row)).collect();
        let points_spans: Vec<_> = raw.points.iter().map(|row| row.classes.span()).collect();
        let points: Vec<PointsRow> = raw.points.into_iter().map(|row| self.points(row)).collect();
        let rows_are_sound = self.errors.len() == before;
        if rows_are_sound {
            consistent::limits(self, (&limits, &limit_spans), (&points, &points_spans));
        }
        let preload_spans: Vec<_> = raw.preloads.iter().map(|row| row.classes.span()).collect();
        let preloads: Vec<PreloadRow> = raw.preloads.into_iter().map(|row| self.preload(row)).collect();
        consistent::once("preloads", self, preloads.iter().map(|row| &row.classes), &preload_spans);
        let pull_spans: Vec<_> = raw.pulls.iter().map(|row| row.classes.span()).collect();
        let pulls: Vec<PullRow> = raw.pulls.into_iter().map(|row| self.pull(row)).collect();
        consistent::pulls(self, &pulls, &pull_spans);
        consistent::purpose(self, purpose, raw.budget.as_ref().map(Spanned::span));
        let budget = raw.budget.map(|budget| self.budget(budget.into_inner()));
        let recall = raw.recall.map(|recall| self.recall(recall));
        Rulebook {
            name,
            title,
            standard,
            edition,
            purpose,
            certificate,
            remarks: raw.remarks,
            deviation,
            limits,
            claim_governs,
            points,
            preloads,
            pulls,
            environment,
            reference_share,
            resolution_share,
            budget,
            decisions,
            recall,
            cautions: raw.cautions,
        }
    }

    fn limit(&mut self, raw: RawLimit) -> LimitRow {
        let span = raw.classes.span();
        let classes = self.classes("limits", raw.classes);
        let above = raw.above.and_then(|text| self.torque(text));
        let up_to = raw.up_to.and_then(|text| self.torque(text));
        consistent::sizes(self, above, up_to, span);
        LimitRow {
            classes,
            above,
            up_to,
            permissible: Percent::new(self.bounded("permissible_percent", &raw.permissible_percent, SHARE)),
            from: self.source(raw.source, raw.certainty, raw.note),
        }
    }

    fn points(&mut self, raw: RawPoints) -> PointsRow {
        let span = raw.points.value.span();
        let classes = self.classes("points", raw.classes);
        let points = self.sourced(raw.points, |reader, texts| {
            texts.into_inner().into_iter().filter_map(|text| reader.point(text)).collect::<Vec<_>>()
        });
        consistent::point_order(self, &points.value, &classes, span);
        let readings = self.count("readings", raw.readings, 1);
        let tolerance = self.number("tolerance_percent", raw.tolerance_percent, TOLERANCE);
        let ends = self.number("tolerance_ends_percent", raw.tolerance_ends_percent, TOLERANCE);
        PointsRow {
            classes,
            points: points.value,
            from: points.from,
            readings: readings.value,
            readings_from: readings.from,
            tolerance: Percent::new(tolerance.value),
            tolerance_from: tolerance.from,
            tolerance_ends: Percent::new(ends.value),
            tolerance_ends_from: ends.from,
        }
    }

    fn preload(&mut self, raw: RawPreload) -> PreloadRow {
        PreloadRow {
            classes: self.classes("preloads", raw.classes),
            count: self.whole("count", &raw.count, 1),
            from: self.source(raw.source, raw.certainty, raw.note),
        }
    }

    fn pull(&mut self, raw: RawPull) -> PullRow {
        let seconds_min = self.bounded("seconds_min", &raw.seconds_min, ABOVE_ZERO);
        let seconds_max = raw.seconds_max.map(|seconds| {
            let seconds_max = self.bounded("seconds_max", &seconds, ABOVE_ZERO);
            if seconds_min > seconds_max {
                self.report(Some(seconds.span()), RulebookProblem::PullTimes { seconds_min, seconds_max });
            }
            seconds_max
        });
        PullRow {
            classes: self.classes("pulls", raw.classes),
            up_to: raw.up_to.and_then(|text| self.torque(text)),
            seconds_min,
            seconds_max,
            from: self.source(raw.source, raw.certainty, raw.note),
        }
    }

    fn budget(&mut self, raw: RawBudget) -> BudgetPlan {
        let mut variations: Vec<VariationPlan> = Vec::new();
        for row in raw.variations {
            let span = row.variation.span();
            let plan = self.variation(row);
            if variations.iter().any(|known| known.variation == plan.variation) {
                self.report(Some(span), RulebookProblem::VariationTwice { variation: plan.variation });
            }
            variations.push(plan);
        }
        BudgetPlan {
            variations,
            carried: self.sourced(raw.carried, |_, value| value.into_inner()),
            resolution_reads: self.sourced(raw.resolution_reads, |_, value| value.into_inner()),
            coverage: self.sourced(raw.coverage_factor, Reader::coverage),
            probability: self.number("probability_percent", raw.probability_percent, PROBABILITY),
            study_tools_min: raw.study_tools_min.map(|tools| self.count("study_tools_min", tools, 1)),
        }
    }

    fn variation(&mut self, raw: RawVariation) -> VariationPlan {
        VariationPlan {
            variation: raw.variation.into_inner(),
            positions: self.whole("positions", &raw.positions, 2),
            readings: self.whole("readings", &raw.readings, 1),
            from: self.source(raw.source, raw.certainty, raw.note),
        }
    }

    fn coverage(&mut self, raw: Spanned<RawCoverage>) -> CoverageRule {
        let span = raw.span();
        match raw.into_inner() {
            RawCoverage::Number(k) => {
                CoverageRule::Fixed(self.bounded("coverage_factor", &Spanned::new(span, k), COVERAGE))
            }
            RawCoverage::Word(word) if word == "effective" => CoverageRule::Effective,
            RawCoverage::Word(given) => {
                self.report(Some(span), RulebookProblem::Coverage { given });
                CoverageRule::Effective
            }
        }
    }

    fn recall(&mut self, raw: RawRecall) -> RecallInterval {
        RecallInterval { months: self.count("months", raw.months, 1), uses: self.count("uses", raw.uses, 1) }
    }

    fn decisions(
        &mut self,
        rules: Spanned<Vec<Spanned<RuleKind>>>,
        purpose: super::Purpose,
    ) -> Vec<RuleKind> {
        let mut allowed = Vec::new();
        for rule in rules.into_inner() {
            let (span, rule) = (rule.span(), rule.into_inner());
            if allowed.contains(&rule) {
                self.report(Some(span), RulebookProblem::DecisionTwice { rule });
            } else if rule.needs_uncertainty() && purpose == super::Purpose::Conformance {
                self.report(Some(span), RulebookProblem::DecisionNeedsBudget { rule });
            }
            allowed.push(rule);
        }
        allowed
    }

    fn name(&mut self, raw: Text) -> String {
        let span = raw.span();
        let name = raw.into_inner();
        let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '-' | '.');
        if name.is_empty() || !name.chars().all(fits) {
            self.report(Some(span), RulebookProblem::Name { given: name.clone() });
        }
        name
    }

    pub(super) fn text(&mut self, key: &'static str, raw: Text) -> String {
        if raw.get_ref().trim().is_empty() {
            self.report(Some(raw.span()), RulebookProblem::Empty { key });
        }
        raw.into_inner()
    }

    pub(super) fn source(&mut self, source: Text, certainty: Certainty, note: Option<String>) -> Source {
        Source { source: self.text("source", source), certainty, note }
    }

    fn classes(&mut self, table: &'static str, raw: Spanned<Vec<Text>>) -> Vec<ToolClass> {
        let span = raw.span();
        let mut classes = Vec::new();
        let texts = raw.into_inner();
        if texts.is_empty() {
            self.report(Some(span), RulebookProblem::NoClasses { table });
        }
        for text in texts {
            let place = Some(text.span());
            match ToolClass::parse(text.get_ref()) {
                None => self.report(place, RulebookProblem::Class { given: text.into_inner() }),
                Some(class) if classes.contains(&class) => {
                    self.report(place, RulebookProblem::ClassTwice { table, class });
                }
                Some(class) => classes.push(class),
            }
        }
        classes
    }

    fn torque(&mut self, raw: Text) -> Option<Recorded> {
        let span = Some(raw.span());
        match Recorded::parse(raw.get_ref()) {
            Err(cause) => {
                self.report(span, RulebookProblem::Torque { given: raw.into_inner(), cause });
                None
            }
            Ok(given) if given.torque() <= Torque::ZERO => {
                self.report(span, RulebookProblem::TorqueNotPositive { given });
                None
            }
            Ok(torque) => Some(torque),
        }
    }

    fn point(&mut self, raw: Text) -> Option<TestPoint> {
        let span = raw.span();
        let point = match raw.get_ref().trim() {
            "lower limit" => Some(TestPoint::LowerLimit),
            "set value" => Some(TestPoint::SetValue),
            other => other
                .strip_suffix('%')
                .and_then(|number| number.trim().parse::<f64>().ok())
                .filter(|share| SHARE.hold(*share))
                .map(|share| TestPoint::OfMaximum(Percent::new(share))),
        };
        if point.is_none() {
            self.report(Some(span), RulebookProblem::Point { given: raw.into_inner() });
        }
        point
    }

    fn sourced<T, U>(
        &mut self,
        raw: RawValue<T>,
        read: impl FnOnce(&mut Reader, Spanned<T>) -> U,
    ) -> Sourced<U> {
        let value = read(self, raw.value);
        Sourced { value, from: self.source(raw.source, raw.certainty, raw.note) }
    }

    fn number(&mut self, key: &'static str, raw: RawValue<f64>, wanted: Bounds) -> Sourced<f64> {
        self.sourced(raw, |reader, value| reader.bounded(key, &value, wanted))
    }

    fn share(&mut self, key: &'static str, raw: RawValue<f64>) -> Sourced<f64> {
        self.number(key, raw, SHARE)
    }

    fn count(&mut self, key: &'static str, raw: RawValue<i64>, lowest: u32) -> Sourced<u32> {
        self.sourced(raw, |reader, value| reader.whole(key, &value, lowest))
    }

    pub(super) fn bounded(&mut self, key: &'static str, raw: &Spanned<f64>, wanted: Bounds) -> f64 {
        let given = *raw.get_ref();
        if !wanted.hold(given) {
            self.report(Some(raw.span()), RulebookProblem::Number { key, given, wanted });
        }
        given
    }

    fn whole(&mut self, key: &'static str, raw: &Spanned<i64>, lowest: u32) -> u32 {
        let given = *raw.get_ref();
        match u32::try_from(given) {
            Ok(count) if (lowest..=COUNT_MAX).contains(&count) => count,
            _ => {
                self.report(
                    Some(raw.span()),
                    RulebookProblem::Count { key, given, lowest, highest: COUNT_MAX },
                );
                lowest
            }
        }
    }
}
