//! Properties of decision rules, and of what it would take to satisfy them.

use leverarm_metrology::budget::{Budget, Influence};
use leverarm_metrology::coverage::Freedom;
use leverarm_metrology::decision::{DecisionRule, Measured, Sides, Uncertainty, Verdict};
use leverarm_metrology::evaluate::{Evaluation, PointResult, evaluate};
use leverarm_metrology::quantity::Percent;
use leverarm_metrology::risk::{Belief, Prior};
use leverarm_metrology::rulebook::CoverageRule;
use leverarm_metrology::run::{PriorStatement, StatedPrior};
use leverarm_metrology::under::{Ground, Lacking, Lever, LeverNeed, Outlook, Reach, under, what_it_takes};
use proptest::prelude::*;
use proptest::sample::select;

use crate::properties::{rulebook, run};
use crate::sample;

const LIMIT: f64 = 4.0;

fn freedom() -> impl Strategy<Value = Freedom> {
    prop_oneof![Just(Freedom::Infinite), (1.0..200.0_f64).prop_map(Freedom::Finite)]
}

fn measured(mean: f64, u: f64, freedom: Freedom) -> Measured {
    let uncertainty = Uncertainty { expanded: Percent::new(2.0 * u), standard: Percent::new(u), freedom };
    Measured { mean: Percent::new(mean), farthest: Percent::new(mean), uncertainty: Some(uncertainty) }
}

fn passes(rule: DecisionRule, measured: &Measured, sides: Sides) -> bool {
    let prior = Prior::normal(0.3, 1.8).unwrap();
    rule.judge(measured, Percent::new(LIMIT), sides, Some(&prior)).verdict == Verdict::Pass
}

fn combine_and_judge(point: &PointResult, rule: DecisionRule, ground: &Ground, budget: &Budget) -> Verdict {
    let (percent, coverage) = ground.coverage.unwrap();
    let combined = budget.combine();
    let expanded = combined.expand(percent, coverage).unwrap().expanded;
    let uncertainty = Uncertainty { expanded, standard: combined.standard, freedom: combined.freedom };
    let mean = point.mean_deviation;
    let measured = Measured { mean, farthest: mean, uncertainty: Some(uncertainty) };
    rule.judge(&measured, point.limit, point.sides, ground.prior.as_ref()).verdict
}

/// The budget with what a lever asks for, said from the need alone. `slack` makes it a little more or
/// less than asked.
fn with(budget: &Budget, need: &LeverNeed, slack: f64) -> Option<Budget> {
    match need.reach {
        Reach::Relative { now, at_most } => {
            Some(need.lever.scaled(budget, at_most?.value() / now.value() * slack))
        }
        Reach::Step { now, at_most } => {
            Some(need.lever.scaled(budget, at_most?.newton_metres() / now.newton_metres() * slack))
        }
        Reach::Count { at_least, .. } => {
            let n = at_least? - usize::from(slack > 1.0);
            let mut changed = budget.clone();
            for line in changed.lines.iter_mut().filter(|l| l.influence == Influence::Repeatability) {
                line.divisor = (n as f64).sqrt();
                line.freedom = Freedom::Finite(n as f64 - 1.0);
            }
            Some(changed)
        }
    }
}

/// A run with a prior, and what stands behind it, with the coverage factor fixed or not.
fn evaluated(mut run: leverarm_metrology::run::Run, effective: bool) -> (Evaluation, Ground) {
    let (mean, standard_deviation) = (Percent::new(0.3), Percent::new(1.8));
    run.prior = Some(StatedPrior {
        statement: PriorStatement::Normal { mean, standard_deviation },
        source: "invented".into(),
    });
    let mut rulebook = rulebook();
    if effective {
        rulebook.budget.as_mut().unwrap().coverage.value = CoverageRule::Effective;
    }
    let evaluation = evaluate(&run, &rulebook, &sample::ideal_reference()).unwrap();
    let ground = Ground::of(&run, &rulebook, evaluation.limit.permissible);
    (evaluation, ground)
}

fn rule() -> impl Strategy<Value = DecisionRule> {
    select(DecisionRule::COMPARED.to_vec())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn conformity_falls_as_the_mean_leaves_the_limits(
        a in 0.0..8.0_f64, b in 0.0..8.0_f64, u in 0.05..3.0_f64, freedom in freedom(),
        sides in select(Sides::ALL.to_vec()), negative: bool,
    ) {
        let belief = Belief::new(u, freedom).unwrap();
        let limits = sides.limits(Percent::new(LIMIT)).unwrap();
        let sign = match sides { Sides::Lower => -1.0, Sides::Upper => 1.0, Sides::Both => if negative { -1.0 } else { 1.0 } };
        let (near, far) = (a.min(b), a.max(b));
        let of = |mean: f64| belief.inside(sign * mean, &limits).unwrap();
        prop_assert!(of(near) >= of(far) - 1e-12, "{} {}", of(near), of(far));
        if far - near > 1e-3 && far > LIMIT - 2.0 * u && near < LIMIT + 2.0 * u {
            prop_assert!(of(near) > of(far));
        }
    }

    /// Theory: for a normal state of knowledge and a tolerance so wide that the other tail is nothing,
    /// a specific risk of 5 % is a guard band of z = 1.644 853 63 (any table of the normal
    /// distribution) standard uncertainties.
    #[test]
    fn five_percent_is_a_guard_band_of_1_645_u(mean in -4.5..4.5_f64, u in 0.01..0.4_f64) {
        let of = measured(mean, u, Freedom::Infinite);
        let risk = DecisionRule::Risk { percent_max: 5.0 };
        let guard = risk.guard(Percent::new(LIMIT), Sides::Both, of.uncertainty, None).unwrap();
        let width = guard.width().unwrap().value();
        prop_assert!((width - 1.644_853_626_951 * u).abs() < 1e-9, "{} {}", width, u);
        let guarded = DecisionRule::Guarded { ratio: 1.644_853_626_951 / 2.0 };
        if (mean.abs() - (LIMIT - width)).abs() > 1e-8 {
            prop_assert_eq!(passes(risk, &of, Sides::Both), passes(guarded, &of, Sides::Both));
        }
    }

    #[test]
    fn a_stricter_rule_never_passes_what_a_looser_one_fails(
        mean in -5.0..5.0_f64, u in 0.01..3.0_f64, freedom in freedom(), sides in select(Sides::ALL.to_vec()),
        a in 0.05..3.0_f64, b in 0.05..3.0_f64, p in 0.1..40.0_f64, q in 0.1..40.0_f64,
    ) {
        let of = measured(mean, u, freedom);
        let pairs = [
            (DecisionRule::Guarded { ratio: a.max(b) }, DecisionRule::Guarded { ratio: a.min(b) }),
            (DecisionRule::Risk { percent_max: p.min(q) }, DecisionRule::Risk { percent_max: p.max(q) }),
            (DecisionRule::Capped { percent_max: p.min(q) }, DecisionRule::Capped { percent_max: p.max(q) }),
        ];
        for (strict, loose) in pairs {
            prop_assert!(!passes(strict, &of, sides) || passes(loose, &of, sides), "{} {}", strict, loose);
            prop_assert!(!passes(loose, &of, sides) || passes(DecisionRule::Simple, &of, sides), "{}", loose);
        }
        prop_assert_eq!(
            passes(DecisionRule::FourState, &of, sides),
            passes(DecisionRule::GUARDED, &of, sides)
        );
    }

    #[test]
    fn under_the_agreed_rule_it_is_the_evaluation(run in run(), rule in rule()) {
        let (evaluation, ground) = evaluated(sample::agreed(run, rule), false);
        let compared = under(&evaluation, &[rule], &ground);
        prop_assert_eq!(compared[0].verdict, evaluation.verdict);
        for (point, of_rule) in evaluation.points.iter().zip(&compared[0].points) {
            prop_assert_eq!(of_rule.judgement.verdict, point.verdict);
            prop_assert_eq!(of_rule.judgement.guard, point.guard);
            prop_assert_eq!(of_rule.judgement.zone, point.zone);
            prop_assert_eq!(of_rule.acceptance_limit, point.acceptance_limit());
            prop_assert_eq!(of_rule.specific_risk, point.specific_risk);
            prop_assert_eq!(of_rule.global_risk, point.global_risk);
            prop_assert_eq!(of_rule.lacking.clone(), None);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn at_the_stated_uncertainty_it_passes_and_one_percent_above_it_fails(
        run in run(), rule in rule(), effective: bool,
    ) {
        let (evaluation, ground) = evaluated(run, effective);
        for point in &evaluation.points {
            let Some(takes) = what_it_takes(point, rule, &ground) else {
                prop_assert!(!rule.needs_uncertainty());
                continue;
            };
            let known = point.uncertainty.as_ref().unwrap();
            let at = |u: f64| {
                let uncertainty = Uncertainty {
                    expanded: Percent::new(known.expanded.k * u),
                    standard: Percent::new(u),
                    freedom: known.combined.freedom,
                };
                let mean = point.mean_deviation;
                let measured = Measured { mean, farthest: mean, uncertainty: Some(uncertainty) };
                rule.judge(&measured, point.limit, point.sides, ground.prior.as_ref()).verdict == Verdict::Pass
            };
            let now = takes.standard.value();
            match takes.outlook {
                Outlook::Passes { standard_max } => {
                    prop_assert!(at(now));
                    if let Some(most) = standard_max {
                        prop_assert!(most.value() >= now && at(most.value()) && !at(most.value() * 1.01));
                    }
                }
                Outlook::Held { standard_max, .. } => {
                    let most = standard_max.value();
                    prop_assert!(!at(now) && most < now && at(most), "{} {} {}", rule, most, now);
                    prop_assert!(!at((most * 1.01).min(now)));
                }
                Outlook::Beyond { by } => {
                    prop_assert!(!at(now * 1e-6) && by.value() >= 0.0);
                    let beyond = point.mean_deviation.value().abs() - point.limit.value();
                    prop_assert!((by.value() - beyond.max(0.0)).abs() < 1e-9);
                }
            }
            if let Some(by) = takes.adjust_by {
                let mean = Percent::new(point.mean_deviation.value().abs() - by.value());
                let measured = Measured { mean, farthest: mean, uncertainty: Some(known.known()) };
                let prior = ground.prior.as_ref();
                let verdict = rule.judge(&measured, point.limit, point.sides, prior).verdict;
                prop_assert_eq!(verdict, Verdict::Pass);
            }
        }
    }

    /// Combined and judged anew with what the lever asks for; with a little more than that it fails.
    #[test]
    fn what_a_lever_asks_for_settles_it(run in run(), rule in rule(), effective: bool) {
        let (evaluation, ground) = evaluated(run, effective);
        for point in &evaluation.points {
            let Some(takes) = what_it_takes(point, rule, &ground) else { continue };
            let Outlook::Held { levers, together, .. } = takes.outlook else { continue };
            let budget = &point.uncertainty.as_ref().unwrap().budget;
            prop_assert_eq!(levers.len(), Lever::ALL.len());
            for need in &levers {
                if let Some(enough) = with(budget, need, 1.0) {
                    let verdict = combine_and_judge(point, rule, &ground, &enough);
                    prop_assert_eq!(verdict, Verdict::Pass, "{:?}", need);
                }
                if let Some(short) = with(budget, need, 1.001) {
                    let verdict = combine_and_judge(point, rule, &ground, &short);
                    prop_assert_ne!(verdict, Verdict::Pass, "{:?}", need);
                }
            }
            if !together.is_empty() {
                prop_assert!(levers.iter().all(|need| !need.reach.settles()));
                let all = together.iter().try_fold(budget.clone(), |budget, need| with(&budget, need, 1.0));
                prop_assert_eq!(combine_and_judge(point, rule, &ground, &all.unwrap()), Verdict::Pass);
            }
        }
    }
}

#[test]
fn what_is_missing_is_named() {
    let wrench = sample::wrench(&[[0.1, -0.1, 0.2, 0.0, -0.2]; 3], 0.1);
    let capped = [DecisionRule::Capped { percent_max: 2.0 }];
    let book = rulebook();
    let evaluation = evaluate(&wrench, &book, &sample::ideal_reference()).unwrap();
    let ground = Ground::of(&wrench, &book, evaluation.limit.permissible);
    assert_eq!(under(&evaluation, &capped, &ground)[0].points[0].lacking, Some(Lacking::Prior));
    assert_eq!(under(&evaluation, &capped, &ground)[0].verdict, Verdict::NotJudged);

    let mut bare = wrench.clone();
    bare.readings.retain(|r| r.series == leverarm_metrology::reading::Series::Points);
    let evaluation = evaluate(&bare, &book, &sample::ideal_reference()).unwrap();
    let compared = under(&evaluation, &DecisionRule::COMPARED, &ground);
    assert_eq!(compared[0].verdict, Verdict::Pass, "simple acceptance asks for no uncertainty");
    assert!(matches!(&compared[3].points[0].lacking, Some(Lacking::Lines(lines)) if lines.len() == 4));

    let book = sample::rulebook("iso-6789-1");
    let evaluation = evaluate(&wrench, &book, &sample::ideal_reference()).unwrap();
    let compared = under(&evaluation, &DecisionRule::COMPARED, &ground);
    assert_eq!(compared[3].points[0].lacking, Some(Lacking::Budget));
    assert!(compared[3].points[0].takes.is_none());
}

#[test]
fn under_one_limit_alone_the_way_to_it_is_what_the_uncertainty_may_take() {
    let mut run = sample::wrench(&[[-3.0, -3.1, -2.9, -3.0, -3.0]; 3], 0.1);
    run.sides = Sides::Upper;
    let book = rulebook();
    let evaluation = evaluate(&run, &book, &sample::ideal_reference()).unwrap();
    let ground = Ground::of(&run, &book, evaluation.limit.permissible);
    let takes = what_it_takes(&evaluation.points[0], DecisionRule::GUARDED, &ground).unwrap();
    let Outlook::Passes { standard_max: Some(most) } = takes.outlook else { panic!("{takes:?}") };
    // 4 % − (−3 %) = 7 % = U = 2 u
    assert!((most.value() - 3.5).abs() < 0.01, "{most:?}");
}
