//! The truth of a pull and what an ideal display shows of it.

use leverarm_rig::{Command, Mechanism, Mistake, Mistakes, Operator, Rig, Settings, Tool};
use proptest::prelude::*;

use super::{calm, ideal, nm, pull, with_tool};

/// What an ideal display shows is never above the truth, and as near to it as the torque goes in one
/// sample. Every operator, both senses, both mechanisms, drops from 1 % to 20 %.
#[test]
fn no_sample_is_above_the_truth() {
    let mechanisms = [Mechanism::TiltingBlock, Mechanism::Cam];
    for (seed, operator) in Operator::all().into_iter().enumerate() {
        for (mechanism, drop) in mechanisms.into_iter().flat_map(|m| [1.0, 6.0, 20.0].map(|d| (m, d))) {
            let settings = with_tool(ideal(seed as u64, 2000), |tool| {
                (tool.mechanism, tool.drop_percent) = (mechanism, drop);
            });
            let mut rig = Rig::new(Settings { operator, ..settings }).unwrap();
            for target in [60.0, -100.0, 20.0] {
                let (truth, samples) = pull(&mut rig, target);
                let sign = f64::signum(target);
                let peak = sign * truth.peak.torque.newton_metres();
                let highest = samples.iter().map(|s| sign * s.torque_nm).fold(f64::MIN, f64::max);
                assert!(highest <= peak + 1e-6 && highest > 0.997 * peak, "{highest} {peak} {operator:?}");
                let Some(release) = truth.first_release else {
                    assert_eq!(truth.mistake, Some(Mistake::StopsShort), "{operator:?}");
                    continue;
                };
                let torque = sign * release.torque.newton_metres();
                let before = samples.iter().filter(|s| s.time_s <= release.time_s);
                let shown = before.map(|s| sign * s.torque_nm).fold(f64::MIN, f64::max);
                assert!(shown <= torque + 1e-6, "{shown} {torque}");
                if truth.mistake != Some(Mistake::TooFast) {
                    assert!(shown > 0.998 * torque, "{shown} {torque} {operator:?}");
                }
                // then it falls: half the drop at least, within one period of the block
                let fall = samples.iter().filter(|s| (0.0..0.02).contains(&(s.time_s - release.time_s)));
                let lowest = fall.map(|s| sign * s.torque_nm).fold(f64::MAX, f64::min);
                assert!(lowest < torque * (1.0 - 0.005 * drop), "{lowest} {torque} {drop}");
            }
        }
    }
}

/// What a mistake is called, it is.
#[test]
fn mistakes_are_what_they_are_called() {
    let with = |mistakes: Mistakes| Operator { mistakes, ..calm(Operator::steady()) };
    let one = 1.0;
    for seed in 0..40 {
        let run = |mistakes: Mistakes| {
            let settings = Settings { operator: with(mistakes), ..ideal(seed, 1000) };
            pull(&mut Rig::new(settings).unwrap(), 80.0)
        };
        let good = run(Mistakes::default()).0;
        assert_eq!((good.mistake, good.releases), (None, 1));
        let loading = good.loading_s().unwrap();
        assert!((1.2..4.0).contains(&loading), "{loading}");
        let fast = run(Mistakes { too_fast: one, ..Mistakes::default() }).0;
        assert!(fast.mistake == Some(Mistake::TooFast) && fast.loading_s().unwrap() < 0.45);
        let short = run(Mistakes { stops_short: one, ..Mistakes::default() }).0;
        assert_eq!(
            (short.mistake, short.releases, short.first_release),
            (Some(Mistake::StopsShort), 0, None)
        );
        assert!((0.8..0.95).contains(&(short.peak.torque.newton_metres() / 80.0)), "{short:?}");
        let twice = run(Mistakes { pulls_twice: one, ..Mistakes::default() }).0;
        assert_eq!((twice.mistake, twice.releases), (Some(Mistake::PullsTwice), 2), "{twice:?}");
        let (jerky, samples) = run(Mistakes { jerky: one, ..Mistakes::default() });
        assert_eq!(jerky.mistake, Some(Mistake::Jerky));
        // the torque falls by 1.5 % of the target at least, and rises again, before the release
        let release_s = jerky.first_release.unwrap().time_s;
        let (mut high, mut fall): (f64, f64) = (0.0, 0.0);
        for sample in samples.iter().filter(|sample| sample.time_s < release_s) {
            high = high.max(sample.torque_nm);
            fall = fall.max(high - sample.torque_nm);
        }
        assert!(fall > 0.015 * 80.0, "{fall}");
    }
}

/// The hand goes on for the reaction time after the click, at the speed it had: the over-pull of a
/// tilting block is v·(t_r + τ) − d·M_r above the release, or nothing (kinematics).
#[test]
fn over_pull_is_speed_times_reaction() {
    let settings = with_tool(ideal(2, 10_000), |tool| {
        (tool.drop_percent, tool.scatter_percent, tool.damping) = (1.0, 0.0, 0.9);
    });
    let operator =
        Operator { loading_s: 0.6, reaction_s: 0.4, spread_percent: 0.0, ..calm(Operator::steady()) };
    let (truth, _) = pull(&mut Rig::new(Settings { operator, ..settings }).unwrap(), 100.0);
    let release = truth.first_release.unwrap().torque.newton_metres();
    let expected = release * 0.99 + 0.2 * 100.0 / 0.6 * (0.4 + 0.06);
    let peak = truth.peak.torque.newton_metres();
    assert!((peak - expected).abs() < 0.02, "{peak} {expected}");
    assert!(
        truth.loading_s().unwrap() > 0.5 && truth.peak.time_s > truth.first_release.unwrap().time_s + 0.4
    );
}

#[test]
fn the_torque_is_gone_after_the_pull_and_between() {
    let mut rig = Rig::new(Settings { operator: Operator::unsteady(), ..ideal(7, 1000) }).unwrap();
    for _ in 0..20 {
        let (truth, samples) = pull(&mut rig, 70.0);
        let after = samples.iter().filter(|sample| sample.time_s > truth.end_s + 1e-3);
        assert!(after.clone().count() >= 490);
        assert!(after.map(|sample| sample.torque_nm.abs()).fold(0.0, f64::max) < 1e-6);
    }
}

#[test]
fn the_hand_waits_for_its_time_and_lets_go_when_told() {
    let mut rig = Rig::new(ideal(1, 1000)).unwrap();
    rig.command(Command::Pull { target: nm(100.0), at_s: 0.5 }).unwrap();
    for _ in 0..500 {
        assert_eq!(rig.next_sample().digits, 0);
    }
    assert!(!rig.is_pulling() && rig.is_ordered());
    for _ in 0..1000 {
        rig.next_sample();
    }
    assert!(rig.is_pulling() && rig.true_torque_nm() > 10.0);
    rig.command(Command::Unload).unwrap();
    for _ in 0..400 {
        rig.next_sample();
    }
    assert!(!rig.is_pulling());
    let truth = rig.truth().unwrap();
    assert!(truth.first_release.is_none() && truth.start_s == 0.5, "{truth:?}");
    rig.command(Command::Pull { target: nm(100.0), at_s: 1e9 }).unwrap();
    rig.command(Command::Idle).unwrap();
    assert!(!rig.is_ordered());
}

/// A preload has no mistakes, whoever pulls, and it releases.
#[test]
fn preloads_are_good() {
    let operator = Operator { mistakes: Mistakes::each(0.25), ..Operator::unsteady() };
    let mut rig = Rig::new(Settings { operator, ..ideal(1, 1000) }).unwrap();
    for _ in 0..20 {
        rig.command(Command::Preload { target: nm(100.0), at_s: 0.0 }).unwrap();
        rig.next_sample();
        while rig.is_pulling() {
            rig.next_sample();
        }
        let truth = rig.truth().unwrap();
        assert!(truth.is_preload && truth.mistake.is_none() && truth.releases == 1, "{truth:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    /// The truth does not depend on the transducer, and hardly on the sample rate: the first torque of
    /// release is that of the tool.
    #[test]
    fn the_truth_is_that_of_the_tool(seed in any::<u64>(), rate in 20_u32..10_000, target in 10.0_f64..100.0) {
        let settings = Settings::new(Tool::click_wrench(nm(100.0)), seed);
        let fair = Settings { sample_rate_hz: rate, ..settings };
        let (a, _) = pull(&mut Rig::new(fair).unwrap(), target);
        let (b, _) = pull(&mut Rig::new(ideal(seed, 4000)).unwrap(), target);
        let torque = |truth: leverarm_rig::Truth| truth.first_release.unwrap().torque.newton_metres();
        prop_assert!((torque(a) - torque(b)).abs() < 1e-9 * target);
        prop_assert!((a.first_release.unwrap().time_s - b.first_release.unwrap().time_s).abs() < 0.01);
    }
}
