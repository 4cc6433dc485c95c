//! What to do next, where each thing stands in the certificate, how to tell that it is genuine, and cautions.

use super::Page;
use super::markup::Html;
use super::meaning::day;
use crate::metrology::decision::Verdict;

impl Page<'_> {
    pub(super) fn next_steps(&self, out: &mut Html) {
        out.section("next", "How old it is, and what to do next", |out| {
            self.age(out);
            match &self.view.interval {
                Some(interval) => {
                    out.paragraph_typed(&format!("Next calibration, as agreed with the customer: {interval}"));
                }
                None => out.paragraph(
                    "No date of the next calibration is printed, because none was agreed: it follows from your own procedure, the maker’s instructions and the rules of your trade.",
                ),
            }
            let mut steps = vec![
                "Compare the serial number on the tool with the one on this page.",
                "Keep the PDF file itself. A print or a copy that was saved anew has lost what proves it.",
                "Have the tool calibrated anew when its time or its count of uses is up, and at once after an overload, a fall, a repair, or whenever a result surprises you.",
            ];
            let last = self.record.runs.last().map(|run| run.verdict);
            if matches!(last, Some(Verdict::Fail | Verdict::ConditionalFail)) {
                steps.insert(0, "Take the tool out of any work that relies on this limit, until it was adjusted or repaired and calibrated again.");
            }
            out.list(&steps);
        });
    }

    /// The page has no clock: it names the day from which to count.
    fn age(&self, out: &mut Html) {
        let mut days: Vec<&str> = self.record.runs.iter().map(|run| run.performed.as_str()).collect();
        days.dedup();
        out.node("p", &[], |out| {
            out.text("The age of a calibration counts from the day of its readings: ");
            for (i, iso) in days.iter().enumerate() {
                if i > 0 {
                    out.text(" and ");
                }
                out.leaf("time", &[("datetime", iso)], &day(iso));
            }
            out.text(&format!(". This {} was issued on {}.", self.paper(), self.view.issued.text));
        });
    }

    pub(super) fn where_to_look(&self, out: &mut Html) {
        out.section("where", &format!("Where to look in the {}", self.paper()), |out| {
            out.paragraph("What you may ask, and the heading in the PDF under which the answer stands.");
            out.node("dl", &[("class", "facts wide")], |out| {
                for (question, heading) in self.headings() {
                    out.node("div", &[], |out| {
                        out.leaf("dt", &[], question);
                        out.node("dd", &[], |out| out.typed(&heading));
                    });
                }
            });
        });
    }

    /// Questions, and the headings of the PDF that answer them: those that this certificate has.
    fn headings(&self) -> Vec<(&'static str, String)> {
        let view = self.view;
        let each = |prefix: &str, names: Vec<String>| {
            names.iter().map(|n| format!("{prefix}{n}")).collect::<Vec<_>>().join("; ")
        };
        let conditions: Vec<String> = view.conditions.iter().map(|c| c.heading.to_lowercase()).collect();
        let parts: Vec<String> = view
            .conditions
            .iter()
            .flat_map(|c| c.directions.iter().map(move |d| (c, d)))
            .map(|(c, d)| format!("{}, {}", c.heading.to_lowercase(), d.heading.to_lowercase()))
            .collect();
        let any = |has: fn(&crate::certificate::view::ConditionView) -> bool| view.conditions.iter().any(has);
        let mut list = vec![
            ("Results with every column, charts", each("Results: ", conditions)),
            (
                "From which torque on such a tool can be shown to conform",
                "The floor: from where on, apart from the deviation".to_owned(),
            ),
        ];
        if any(|c| !c.voids.is_empty()) {
            list.push(("What was struck out, and why", "Readings struck out".to_owned()));
        }
        if any(|c| !c.warnings.is_empty()) {
            list.push(("What was noticed", "Warnings on the record".to_owned()));
        }
        if !view.changes.is_empty() {
            list.push(("What the adjustment changed", "What changed: as left less as found".to_owned()));
        }
        list.push((
            "Limits, guard band, chance of a wrong verdict",
            format!("Decision rule: {}", view.decision.rule),
        ));
        list.push(("What deviation, U and k mean", "Deviation and uncertainty".to_owned()));
        list.push(("How it was done", format!("Method: {}", view.method.name)));
        list.push(("Temperature and humidity", "Conditions in the room".to_owned()));
        list.push(("What it was compared with", "Reference and traceability".to_owned()));
        if view.interval.is_some() {
            list.push(("When again", "Next calibration".to_owned()));
        }
        list.push(("Who measured, who answers for it", "Signatures".to_owned()));
        list.push(("Each reading as it was recorded", each("Every reading: ", parts.clone())));
        if any(|c| c.directions.iter().any(|d| !d.budgets.is_empty())) {
            list.push(("Where the uncertainty comes from", each("Uncertainty budget: ", parts)));
        }
        if !view.inputs.is_empty() {
            list.push((
                "The files behind it, with their hashes",
                "What this certificate was made from".to_owned(),
            ));
        }
        list
    }

    pub(super) fn genuine(&self, out: &mut Html) {
        let paper = self.paper();
        out.section("genuine", "Is it genuine?", |out| {
            out.paragraph("This page is no proof: anybody can write such a page. Only the PDF can be checked.");
            match self.pdf.signed_by {
                Some(name) => {
                    out.node("p", &[], |out| {
                        out.text("The PDF bears the digital signature of ");
                        out.typed(name);
                        out.text(". A PDF reader that shows signatures says whether one byte was changed since. Whether the signature is that of the laboratory, ask the laboratory itself, by a way that you know: compare the fingerprint of its certificate.");
                    });
                }
                None => out.paragraph(
                    "The PDF bears no digital signature. Ask the laboratory, by a way that you know, whether it issued this number and these results.",
                ),
            }
            out.node("p", &[], |out| {
                out.text("With the program that made it, anyone can check the file without a network: ");
                out.node("code", &[], |out| {
                    out.text("leverarm recheck ");
                    out.typed(self.pdf.name);
                });
                let signature = if self.pdf.signed_by.is_some() { "verifies the signature, " } else { "" };
                out.text(&format!(
                    " {signature}computes every number anew from the readings that the file carries, and says line by line what agrees. Whether this {paper} was replaced or withdrawn since, the laboratory knows."
                ));
            });
            if let Some(hash) = self.pdf.sha256 {
                out.node("p", &[], |out| {
                    out.text("SHA-256 of the PDF: ");
                    out.leaf("code", &[], hash);
                });
            }
        });
    }

    pub(super) fn cautions(&self, out: &mut Html) {
        out.section("cautions", "Cautions", |out| {
            out.list(&self.view.cautions);
            if !self.view.statements.is_empty() {
                out.leaf("h3", &[], &format!("What the {} says of itself", self.paper()));
                out.list(&self.view.statements);
            }
        });
    }
}
