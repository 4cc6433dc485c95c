//! The built-in rulebooks, what is refused, and what is selected for a tool.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;

use super::*;
use crate::quantity::{Torque, TorqueUnit};
use crate::reading::{Direction, Recorded};
use crate::tool::{Tool, TorqueRange};

fn book(name: &str) -> Rulebook {
    Rulebook::parse(embedded(name).expect("built in").text).expect("a built-in rulebook is sound")
}

fn tool(class: ToolClass, lower: &str, upper: &str, claim: Option<f64>) -> Tool {
    let recorded = |text: &str| Recorded::parse(text).expect("a torque");
    Tool {
        class,
        maker: "maker".to_owned(),
        model: "model".to_owned(),
        serial: "1".to_owned(),
        range: TorqueRange { lower: recorded(lower), upper: recorded(upper) },
        resolution: None,
        directions: vec![Direction::Clockwise],
        claim: claim.map(Percent::new),
        drive: None,
        head: None,
        length: None,
        uses: None,
        owner_mark: None,
    }
}

/// The problems of a built-in rulebook in which one text was exchanged for another, each with the
/// text that its span covers.
fn problems(name: &str, from: &str, to: &str) -> Vec<(RulebookProblem, String)> {
    let text = embedded(name).expect("built in").text;
    assert!(text.contains(from), "the rulebook has no '{from}'");
    let text = text.replacen(from, to, 1);
    let errors = Rulebook::parse(&text).expect_err("it must be refused");
    errors
        .into_iter()
        .map(|error| {
            let covered = error.span.map_or(String::new(), |span| text[span].to_owned());
            assert!(!error.problem.remedy().is_empty() && !error.problem.to_string().is_empty());
            (error.problem, covered)
        })
        .collect()
}

#[test]
fn every_built_in_rulebook_is_sound_and_covers_every_class() {
    for built_in in EMBEDDED {
        let book = book(built_in.name);
        assert_eq!(book.name, built_in.name);
        for class in ToolClass::ALL {
            let row = book.points_for(class).expect("points");
            assert!(row.readings > 0);
            assert!(book.preload_for(class).is_some());
            assert_eq!(class.is_fixed(), row.points == [TestPoint::SetValue]);
        }
        assert_eq!(book.budget.is_some(), book.purpose == Purpose::Calibration);
        assert!(book.count_of(Certainty::FromMemory) > 0);
        assert!(book.sources().iter().all(|source| !source.source.is_empty()));
    }
    assert!(embedded("iso-6789").is_none());
}

#[test]
fn parts_1_and_2_agree_on_what_part_2_takes_over() {
    let (one, two) = (book("iso-6789-1"), book("iso-6789-2"));
    assert_eq!(one.limits, two.limits);
    assert_eq!(one.points, two.points);
    assert_eq!(one.preloads, two.preloads);
    assert_eq!(one.pulls, two.pulls);
    assert_eq!(one.environment, two.environment);
    assert_eq!(one.decisions.value, [RuleKind::EachReading]);
    assert_eq!(two.decisions.value, RuleKind::ALL);
}

#[test]
fn a_certificate_is_told_what_to_cite() {
    let class = "type II, class A";
    let cited = |name| book(name).certificate.specification(ToolClass::IIA, class);
    assert_eq!(cited("iso-6789-2"), "type II, class A of ISO 6789-1:2017");
    assert_eq!(
        cited("asme-b107-300"),
        "its kind in ASME B107.300:2021 (setting wrench, adjustable, graduated)"
    );
    let text = embedded("iso-6789-1").unwrap().text;
    let start = text.find("[certificate]").unwrap();
    let end = text.find("[deviation]").unwrap();
    let bare = Rulebook::parse(&format!("{}{}", &text[..start], &text[end..])).unwrap();
    assert_eq!(bare.certificate.specification(ToolClass::IIA, class), "type II, class A by ISO 6789-1:2017");
}

#[test]
fn fahrenheit_is_given_exactly_in_celsius() {
    let room = book("asme-b107-300").environment;
    assert_eq!(room.temperature_min.value, (64.0 - 32.0) / 1.8);
    assert_eq!(room.temperature_max.value, (82.0 - 32.0) / 1.8);
    assert_eq!(room.temperature_change.value, 2.0 / 1.8);
}

#[test]
fn a_tighter_claim_governs_and_a_looser_one_is_reported() {
    let book = book("iso-6789-2");
    let governing = |claim| book.governing_limit(&tool(ToolClass::IIA, "40 N·m", "200 N·m", claim));
    let by_class = governing(None).unwrap();
    assert_eq!((by_class.permissible, by_class.by_claim), (Percent::new(4.0), false));
    let tighter = governing(Some(2.0)).unwrap();
    assert_eq!((tighter.permissible, tighter.class_permissible), (Percent::new(2.0), Percent::new(4.0)));
    assert!(tighter.by_claim && tighter.source.starts_with("maker's claim of ±2 %"));
    let looser = governing(Some(6.0)).unwrap();
    assert_eq!(looser.permissible, Percent::new(4.0));
    assert_eq!(looser.idle_claim, Some(IdleClaim::Looser { claim: Percent::new(6.0) }));
    assert_eq!(governing(Some(4.0)).unwrap(), by_class);
    for wrong in [0.0, -2.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(governing(Some(wrong)), Err(LimitError::Claim { .. })));
    }
}

#[test]
fn a_rulebook_may_let_no_claim_govern() {
    let mut book = book("iso-6789-1");
    book.claim_governs.value = false;
    let limit = book.governing_limit(&tool(ToolClass::IC, "1.5 N·m", "30 N·m", Some(2.0))).unwrap();
    assert_eq!(limit.permissible, Percent::new(4.0));
    assert_eq!(limit.idle_claim, Some(IdleClaim::NotAllowed { claim: Percent::new(2.0) }));
}

#[test]
fn points_become_torques_and_forgive_a_rounded_scale() {
    let book = book("iso-6789-2");
    let wrench = tool(ToolClass::IIA, "6.8 N·m", "135 N·m", None);
    let row = book.points_for(wrench.class).unwrap();
    assert_eq!(row.words(), "lower limit, 60 %, 100 % of the maximum");
    let torques: Vec<f64> = row.points.iter().map(|p| p.torque(&wrench).newton_metres()).collect();
    assert!((torques[0] - 6.8).abs() < 1e-12 && (torques[1] - 81.0).abs() < 1e-9);
    let accepts = |i: usize, value, unit| row.accepts(row.points[i], &wrench, Torque::new(value, unit));
    assert!(accepts(0, 5.0, TorqueUnit::PoundForceFoot), "5 lbf·ft is 6.779 N·m");
    assert!(accepts(2, 100.0, TorqueUnit::PoundForceFoot), "100 lbf·ft is 135.6 N·m");
    assert!(accepts(1, 80.0, TorqueUnit::NewtonMetre) && !accepts(1, 75.0, TorqueUnit::NewtonMetre));
    assert!(!accepts(2, 130.0, TorqueUnit::NewtonMetre), "an end is no 'about'");
}

#[test]
fn screwdrivers_have_no_loading_point_and_conformance_no_variations() {
    let book_2 = book("iso-6789-2");
    for class in ToolClass::ALL {
        let plan = book_2.variation_plan(Variation::LoadingPoint, class);
        assert_eq!(plan.is_none(), class.is_screwdriver());
        for variation in [Variation::Reproducibility, Variation::Drive, Variation::Interface] {
            assert!(book_2.variation_plan(variation, class).is_some());
            assert!(book("iso-6789-1").variation_plan(variation, class).is_none());
        }
    }
    let plan = book_2.variation_plan(Variation::Reproducibility, ToolClass::IIA).unwrap();
    assert_eq!((plan.positions, plan.readings), (4, 5));
}

#[test]
fn the_time_of_a_pull_follows_the_size() {
    let book = book("iso-6789-2");
    let seconds = |class, nm| book.pull_for(class, Torque::from_newton_metres(nm)).map(|row| row.seconds_min);
    assert_eq!(seconds(ToolClass::IIA, 5.0), Some(0.5));
    assert_eq!(seconds(ToolClass::IIA, 100.0), Some(1.0));
    assert_eq!(seconds(ToolClass::IIA, 340.0), Some(1.5));
    assert_eq!(seconds(ToolClass::IB, 340.0), None);
}

#[test]
fn everything_wrong_is_said_at_once() {
    let text = embedded("iso-6789-2").unwrap().text;
    let text = text
        .replacen("name = \"iso-6789-2\"", "name = \"ISO 6789\"", 1)
        .replacen("humidity_max_percent = { value = 90", "humidity_max_percent = { value = 120", 1)
        .replacen("\"II A\", \"II D\", \"II G\"]", "\"II A\", \"II Z\", \"II G\"]", 1)
        .replacen("positions = 4", "positions = 1", 1);
    let errors = Rulebook::parse(&text).unwrap_err();
    let covered: Vec<&str> = errors.iter().map(|e| &text[e.span.clone().unwrap()]).collect();
    assert_eq!(covered, ["\"ISO 6789\"", "120", "\"II Z\"", "1"]);
}

#[test]
fn each_problem_is_found() {
    use RulebookProblem as P;
    let one = |from: &str, to: &str| {
        let mut all = problems("iso-6789-2", from, to);
        assert_eq!(all.len(), 1, "{all:?}");
        all.remove(0)
    };
    assert!(matches!(one("format = 1", "format = 2"), (P::Format { given: 2 }, span) if span == "2"));
    assert!(matches!(one("format = 1\n", "\n"), (P::Toml { .. }, _)));
    assert!(matches!(one("edition = \"2017\"", "edition = \" \""), (P::Empty { key: "edition" }, _)));
    assert!(matches!(
        one("\"{class} of ISO 6789-1:2017\"", "\"{klass}\""),
        (P::Placeholder { .. }, span) if span == "\"{klass}\""
    ));
    assert!(
        matches!(one("up_to = \"10 N·m\"", "up_to = \"10\""), (P::Torque { .. }, span) if span == "\"10\"")
    );
    assert!(matches!(one("up_to = \"10 N·m\"", "up_to = \"10,5 N·m\""), (P::Torque { .. }, _)));
    assert!(matches!(one("up_to = \"10 N·m\"", "up_to = \"0 N·m\""), (P::TorqueNotPositive { .. }, _)));
    assert!(
        matches!(one("permissible_percent = 4", "permissible_percent = 0"), (P::Number { .. }, span) if span == "0")
    );
    assert!(matches!(one("permissible_percent = 4", "permissible_percent = nan"), (P::Number { .. }, _)));
    assert!(matches!(one("count = 5", "count = 0"), (P::Count { given: 0, .. }, _)));
    assert!(matches!(one("value = 95.45", "value = 50"), (P::Number { .. }, _)));
    assert!(matches!(
        one("coverage_factor = { value = 2", "coverage_factor = { value = 0.5"),
        (P::Number { .. }, _)
    ));
    assert!(matches!(
        one("coverage_factor = { value = 2", "coverage_factor = { value = \"t\""),
        (P::Coverage { .. }, _)
    ));
    assert!(matches!(
        one(
            "value = [\"simple\", \"guarded\", \"each-reading\", \"risk\", \"four-state\", \"capped\"]",
            "value = []"
        ),
        (P::NoDecision, _)
    ));
    assert!(matches!(
        one("[\"simple\", \"guarded\"", "[\"simple\", \"simple\""),
        (P::DecisionTwice { .. }, _)
    ));
    assert!(matches!(one("purpose = \"calibration\"", "purpose = \"payment\""), (P::Toml { .. }, _)));
    assert!(matches!(
        one("variation = \"drive\"", "variation = \"interface\""),
        (P::VariationTwice { .. }, _)
    ));
    assert!(matches!(one("value = 18,", "value = 29,"), (P::Temperatures { .. }, _)));
    assert!(matches!(
        one("\"lower limit\", \"60 %\"", "\"60 %\", \"lower limit\""),
        (P::PointOrder { .. }, _)
    ));
    assert!(matches!(one("\"lower limit\", \"60 %\"", "\"lower limit\", \"60\""), (P::Point { .. }, _)));
    assert!(matches!(one("seconds_min = 0.5", "seconds_min = 5\nseconds_max = 4"), (P::PullTimes { .. }, _)));
    assert!(matches!(
        one("\"II B\", \"II E\"]\npoints", "\"II B\", \"II E\", \"II F\"]\npoints"),
        (P::ClassTwice { table: "points", class: ToolClass::IIF }, _) | (P::SetValueOfRange { .. }, _)
    ));
}

#[test]
fn purpose_and_budget_belong_together() {
    let wrong = problems("iso-6789-1", "purpose = \"conformance\"", "purpose = \"calibration\"");
    assert_eq!(wrong, [(RulebookProblem::BudgetMissing, String::new())]);
    let wrong: Vec<_> = problems("iso-6789-2", "purpose = \"calibration\"", "purpose = \"conformance\"");
    let wrong: Vec<RulebookProblem> = wrong.into_iter().map(|(problem, _)| problem).collect();
    let needing = RuleKind::ALL.into_iter().filter(|rule| rule.needs_uncertainty());
    let wanted: Vec<RulebookProblem> = needing
        .map(|rule| RulebookProblem::DecisionNeedsBudget { rule })
        .chain([RulebookProblem::BudgetUnexpected])
        .collect();
    assert_eq!(wrong, wanted);
}

#[test]
fn a_size_without_a_limit_or_with_two_is_refused() {
    let gap = problems("iso-6789-1", "above = \"10 N·m\"", "above = \"12 N·m\"");
    let said: Vec<String> = gap.iter().map(|(problem, _)| problem.to_string()).collect();
    assert_eq!(
        said[0],
        "class I B has test points and no permissible deviation for a maximum above 10 N·m and up to 12 N·m"
    );
    assert_eq!(said.len(), 3);
    let overlap = problems("iso-6789-1", "above = \"10 N·m\"", "above = \"8 N·m\"");
    assert_eq!(
        overlap[0].0.to_string(),
        "class I B has two permissible deviations: for a maximum up to 10 N·m, and for a maximum above 8 N·m"
    );
    let none = problems("iso-6789-1", "classes = [\"I A\", \"I D\"]", "classes = [\"I A\"]");
    assert_eq!(
        none[0].0.to_string(),
        "class I D has test points and no permissible deviation for every size"
    );
}

proptest! {
    #[test]
    fn any_maximum_has_exactly_one_limit(
        class in prop::sample::select(ToolClass::ALL.as_slice()),
        value in prop_oneof![Just(10.0), 9.99..10.01, 0.01..5000.0],
        unit in prop::sample::select(TorqueUnit::ALL.as_slice()),
    ) {
        let maximum = Torque::new(Torque::from_newton_metres(value).in_unit(unit), unit);
        for built_in in EMBEDDED {
            let book = book(built_in.name);
            let rows = book.limits.iter().filter(|row| row.applies(class, maximum)).count();
            prop_assert_eq!(rows, 1);
        }
    }

    #[test]
    fn no_text_makes_the_parser_panic(cut in 0usize..4000, junk in "[\\[\\]{}=\"a-z0-9·% \\n]{0,12}") {
        let text = embedded("iso-6789-2").unwrap().text;
        let cut = (cut..text.len()).find(|i| text.is_char_boundary(*i)).unwrap();
        let broken = format!("{}{junk}{}", &text[..cut], &text[cut..]);
        if let Err(errors) = Rulebook::parse(&broken) {
            prop_assert!(!errors.is_empty());
            for span in errors.into_iter().filter_map(|error| error.span) {
                prop_assert!(span.end <= broken.len());
            }
        }
    }
}
