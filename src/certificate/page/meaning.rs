//! What the verdict means and what it does not, for a reader who does not calibrate for a living.

use chrono::NaiveDate;

use super::Page;
use super::markup::Html;
use crate::certificate::view::ConditionView;
use crate::export::json::RunRecord;
use crate::metrology::decision::{DecisionRule, RuleKind, Verdict};
use crate::metrology::finding::joined;
use crate::metrology::run::Condition;

/// "18 November 2026" from the day of the record.
pub(super) fn day(iso: &str) -> String {
    NaiveDate::parse_from_str(iso, "%Y-%m-%d")
        .map_or_else(|_| iso.to_owned(), |date| date.format("%-d\u{a0}%B\u{a0}%Y").to_string())
}

/// The state of the tool, within a sentence.
const fn state(condition: Condition) -> &'static str {
    match condition {
        Condition::AsFound => "as it came in",
        Condition::AsLeft => "as you get it back",
        Condition::New => "new, before its first use",
    }
}

impl Page<'_> {
    /// The last run: the state in which the tool leaves the laboratory.
    fn last(&self) -> Option<(&ConditionView, &RunRecord)> {
        self.view.conditions.last().zip(self.record.runs.last())
    }

    /// The run as found, where the tool was not shown to hold its limit.
    pub(super) fn failed_as_found(&self) -> Option<&RunRecord> {
        self.record.runs.iter().find(|run| {
            run.condition == Condition::AsFound
                && matches!(run.verdict, Verdict::Fail | Verdict::ConditionalFail)
        })
    }

    pub(super) fn meaning(&self, out: &mut Html) {
        out.section("meaning", "What the verdict means, and what it does not", |out| {
            for (condition, run) in self.view.conditions.iter().zip(&self.record.runs) {
                out.node("p", &[("dir", "auto")], |out| {
                    out.leaf("b", &[], &format!("{}: {}. ", condition.heading, condition.verdict.words));
                    out.text(&says(condition, run));
                });
            }
            out.leaf("h3", &[], "What it does not say");
            out.list(&self.limits_of_the_verdict());
            out.leaf("h3", &[], "How to read the numbers");
            out.paragraph(&self.view.deviation_definition);
            if self.has_uncertainty() {
                out.paragraph("The measurement itself is not exact. The expanded uncertainty U says by how much the printed deviation may reasonably be off, on either side; the certificate says with which coverage.");
            } else {
                for paragraph in &self.view.uncertainty {
                    out.paragraph(paragraph);
                }
            }
        });
    }

    fn has_uncertainty(&self) -> bool {
        self.record.runs.iter().any(|run| run.points.iter().any(|point| point.printed.expanded.is_some()))
    }

    fn limits_of_the_verdict(&self) -> Vec<String> {
        let mut limits = vec![
            "Nothing about later. Wear, a fall, an overload or an adjustment can change the tool the day after.".to_owned(),
            "Nothing about another tool, another direction, or another head, insert or extension than the one that is named: another lever gives another torque.".to_owned(),
            "Nothing about torques below the lowest or above the highest test point; what lies between them was not measured.".to_owned(),
            "Nothing about a joint. Friction, the joint itself and the way of pulling decide its clamping force as much as the tool does.".to_owned(),
        ];
        if let Some((_, run)) = self.last() {
            let alone = self.record.runs.len() == 1;
            match run.condition {
                Condition::AsLeft if alone => limits.push(
                    "Nothing about the time before the adjustment: this paper holds no results from before it.".to_owned(),
                ),
                Condition::AsLeft => limits.push(
                    "The verdict as left does not reach back: for work done before, the results as found count.".to_owned(),
                ),
                _ => {}
            }
        }
        limits
    }

    /// What a tool that did not conform as found may mean for work that is done.
    pub(super) fn joints(&self, out: &mut Html) {
        let Some(run) = self.failed_as_found() else { return };
        out.section("joints", "If you have worked with this tool", |out| {
            out.paragraph(&format!(
                "On {}, as it came in, the tool was not shown to hold its limit at every test point. Joints that were tightened with it since it was last known to be right may have received another torque than was set. This page does not say that any joint is bad, nor that any is good.",
                day(&run.performed)
            ));
            out.list(&[
                "Find out what the tool was used on since its last calibration that conformed, and tell whoever answers for that work.",
                "Have them assess those joints, and decide with them whether any must be checked, tightened anew or replaced, by the instructions of the makers, local codes and licensed practice.",
                "Give them this certificate: deviation and uncertainty of each point say how far and to which side the tool was off.",
                "Do not retighten on the strength of this page alone: tightening again can harm a joint too.",
            ]);
        });
    }

    /// The decision rule: what it does in plain words, then in those of the certificate.
    pub(super) fn rule(&self, out: &mut Html) {
        let decision = &self.view.decision;
        out.section("rule", "The decision rule in plain words", |out| {
            out.paragraph("No measurement is exact, so customer and laboratory agree beforehand how a result near a limit is judged. That agreement is the decision rule.");
            let rule = self.last().and_then(|(_, run)| DecisionRule::parse(run.decision.rule.as_deref()?));
            out.paragraph(plain(rule.map(DecisionRule::kind)));
            out.paragraph_typed(&format!("In the certificate: {}.", decision.rule));
            for paragraph in &decision.statement {
                out.paragraph_typed(paragraph);
            }
            if let Some(paragraph) = &decision.claim {
                out.paragraph_typed(paragraph);
            }
        });
    }
}

/// What one run says, in plain words.
fn says(condition: &ConditionView, run: &RunRecord) -> String {
    let directions: Vec<String> = condition
        .directions
        .iter()
        .filter(|direction| !direction.results.is_empty())
        .map(|direction| direction.heading.to_lowercase())
        .collect();
    let directions: Vec<&str> = directions.iter().map(String::as_str).collect();
    let head = run.tool.head.as_ref().map(|head| format!(", with the head “{head}”"));
    let scope = format!(
        "On {}, {}, turned {}{}",
        day(&run.performed),
        state(run.condition),
        joined(&directions, "and"),
        head.unwrap_or_default()
    );
    match run.verdict {
        Verdict::Pass => format!(
            "{scope}, this tool met its permissible deviation at every test point, judged by the agreed rule. That holds for that day."
        ),
        Verdict::ConditionalPass => format!(
            "{scope}, this tool lay within its permissible deviation at every test point, but at one of them or more so near to the limit that the uncertainty of the measurement leaves it open. Whether that is enough is for you to decide."
        ),
        Verdict::ConditionalFail => format!(
            "{scope}, this tool lay outside its permissible deviation at one test point or more, but by no more than the uncertainty of the measurement. It was not shown to conform."
        ),
        Verdict::Fail => format!(
            "{scope}, this tool was not shown to hold its permissible deviation at one test point or more, judged by the agreed rule; the table says at which. That alone does not say that it cannot be adjusted or repaired."
        ),
        Verdict::NotJudged => format!(
            "{scope}, this tool was measured and not judged, because no decision rule was agreed. Compare the numbers, with their uncertainty, with what your work asks for."
        ),
    }
}

/// A kind of rule for somebody who has never met one.
const fn plain(kind: Option<RuleKind>) -> &'static str {
    match kind {
        Some(RuleKind::Simple) => {
            "Here the mean of the readings counts alone: within the limit it passes, however near. A verdict close to the limit can therefore be wrong nearly as often as right."
        }
        Some(RuleKind::Guarded) => {
            "Here a strip inside each limit, the guard band, is given up for safety: a result passes only when it stays clear of the limit by that much, so that a tool that passes is very likely right. A result in the strip does not pass, although it may be within the limit."
        }
        Some(RuleKind::EachReading) => {
            "Here every single reading counts, not their mean: one beyond the limit and the point fails. The uncertainty of the measurement takes no part; the reference must be good enough instead."
        }
        Some(RuleKind::Risk) => {
            "Here a result passes when the chance that the tool is nevertheless outside its limit is small enough; how small was agreed."
        }
        Some(RuleKind::FourState) => {
            "Here there are four answers: clear of the limit on the good side is a pass, clear of it on the bad side a fail, and between them a conditional pass or a conditional fail says on which side of the limit the result lies, too near to be sure."
        }
        Some(RuleKind::Capped) => {
            "Here a strip inside each limit is given up, just wide enough that of all such tools only few are passed wrongly; how few was agreed, and what was known of such tools before was taken into account."
        }
        None => "Here no such rule was agreed, and so there is no verdict.",
    }
}
