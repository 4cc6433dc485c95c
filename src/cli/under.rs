//! `--under` of `leverarm evaluate`: the run under several rules, for understanding.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use clap::Args;
use leverarm_metrology::decision::DecisionRule;
use leverarm_metrology::rounding::RoundingRule;
use leverarm_metrology::rulebook::Denominator;
use leverarm_metrology::under::{Ground, UnderRule, under};

use super::Failure;
use crate::assess::JudgedRun;
use crate::certificate::draw::draw;
use crate::export::folder;
use crate::export::under::{ComparisonRecord, Parts, density, record};

/// Decision rules side by side.
#[derive(Debug, Clone, Args)]
pub struct Under {
    /// show the run under other decision rules too, and what it would take to pass: `all`, or a rule
    /// such as "guarded 0.83"; may be repeated. For understanding only: the agreed rule decides
    #[arg(long, value_name = "RULE")]
    under: Vec<String>,
    /// draw the probability density of each deviation over the limits, under the first rule that was
    /// named, else under the agreed one
    #[arg(long, value_name = "FILE.svg", requires = "under")]
    chart: Option<PathBuf>,
    /// let --chart replace a file with other content
    #[arg(long, requires = "chart")]
    force: bool,
}

/// What was asked, understood.
#[derive(Debug, Clone)]
pub(super) struct Wanted<'a> {
    all: bool,
    named: Vec<DecisionRule>,
    chart: Option<&'a Path>,
    force: bool,
}

/// What came of it.
pub(super) struct Compared {
    pub record: ComparisonRecord,
    under: Vec<UnderRule>,
}

impl Under {
    /// Reads the rules; `None` where none was asked for.
    pub(super) fn wanted(&self) -> Result<Option<Wanted<'_>>, Failure> {
        if self.under.is_empty() {
            return Ok(None);
        }
        let mut wanted =
            Wanted { all: false, named: Vec::new(), chart: self.chart.as_deref(), force: self.force };
        for words in &self.under {
            if words.trim().eq_ignore_ascii_case("all") {
                wanted.all = true;
                continue;
            }
            let rule = DecisionRule::parse(words).ok_or_else(|| {
                Failure::bad_input(
                    format!("`{words}` is no decision rule"),
                    format!("write `all`, or one of: {}", DecisionRule::EXAMPLES.join(", ")),
                )
            })?;
            wanted.named.push(rule);
        }
        Ok(Some(wanted))
    }
}

impl Wanted<'_> {
    /// The agreed rule, those that were named and those of `all`, each once; in the order of `all`
    /// where it was asked for.
    fn rules(&self, agreed: Option<DecisionRule>) -> Vec<DecisionRule> {
        let of_all: &[DecisionRule] = if self.all { &DecisionRule::COMPARED } else { &[] };
        let mut rules: Vec<DecisionRule> = of_all.to_vec();
        for rule in agreed.into_iter().chain(self.named.iter().copied()) {
            if !rules.contains(&rule) {
                rules.push(rule);
            }
        }
        rules
    }

    pub(super) fn compare(&self, judged: &JudgedRun) -> Result<Compared, Failure> {
        let evaluation = &judged.evaluation;
        let ground = Ground::of(&judged.run, &judged.rulebook, evaluation.limit.permissible);
        let under = under(evaluation, &self.rules(evaluation.rule), &ground);
        let record = record(&Parts {
            evaluation,
            under: &under,
            allowed: &judged.rulebook.decisions.value,
            prior: judged.run.prior.as_ref(),
            rounding: RoundingRule::default(),
        })?;
        Ok(Compared { record, under })
    }

    /// Writes the chart, where one was asked for, and says what was drawn.
    pub(super) fn draw(&self, judged: &JudgedRun, compared: &Compared) -> Result<Option<String>, Failure> {
        let Some(path) = self.chart else { return Ok(None) };
        let shown = self.named.first().copied().or(judged.evaluation.rule);
        let of = |rule: DecisionRule| compared.under.iter().find(|u| u.rule == rule);
        let guarded = || of(DecisionRule::GUARDED);
        let Some(under) = shown.and_then(of).or_else(guarded).or(compared.under.first()) else {
            return Ok(None);
        };
        let whole = match judged.rulebook.deviation.value.denominator {
            Denominator::Reference => "the reference torque",
            Denominator::Tool => "the value of the tool",
        };
        let chart = density::chart(&judged.evaluation, under, whole, RoundingRule::default())?;
        let Some(chart) = chart else {
            return Err(Failure::bad_input(
                "no test point has a whole uncertainty budget, so there is no probability density to draw",
                "measure what the budget misses, or leave --chart out",
            ));
        };
        let svg = draw(&chart).map_err(|error| Failure::fault(error.to_string()))?;
        write(path, svg.as_bytes(), self.force)?;
        Ok(Some(format!("Chart, under `{}`: {}", under.rule, path.display())))
    }
}

/// Writes a file whole or not at all. Other content is replaced only when that was asked for.
fn write(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    let unwritable = |error: io::Error| {
        Failure::bad_input(
            format!("cannot write {}: {error}", path.display()),
            "give a file in a folder that is there and may be written to",
        )
    };
    if path.exists() {
        if fs::read(path).is_ok_and(|there| there == bytes) {
            return Ok(());
        }
        if !force {
            return Err(Failure::bad_input(
                format!("{} is there with other content", path.display()),
                "give another file, or --force to replace it",
            ));
        }
    }
    folder::replace_file(path, bytes).map_err(unwritable)
}
