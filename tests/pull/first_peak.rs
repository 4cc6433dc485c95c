//! The proof of first-peak detection: simulated pulls over the whole span, and what became of each.
//!
//! The thresholds of the detector were set on other seeds than the ones here.

use leverarm_metrology::quantity::Torque;
use leverarm_pull::detector::{Click, Detector, Event, Mode, Settings};
use leverarm_pull::trace::Sample;

use crate::dice::Dice;
use crate::page;
use crate::truth::{Plan, Pull};

/// Seeds of the proof.
const CLICKING: u64 = 930_000_000;
const INDICATING: u64 = 940_000_000;
pub const PULLS: u64 = 10_000;
/// A first peak counts as found within this share of the truth.
const WITHIN: f64 = 1e-3;
/// So much too early, in seconds, it was not the release at all.
const EARLY_S: f64 = 0.025;

/// For what the claim is not made, in the order in which it is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beyond {
    Nothing,
    DropInNoise,
    SampledTooSlowly,
    HumTooFast,
    Noisy,
}

impl Beyond {
    pub const ALL: [Beyond; 5] =
        [Beyond::Nothing, Beyond::DropInNoise, Beyond::SampledTooSlowly, Beyond::HumTooFast, Beyond::Noisy];

    fn of(plan: &Plan) -> Beyond {
        let noise = plan.noise_share();
        let drop = plan.release.map_or(0.0, |release| release.drop);
        if drop <= 5.0 * noise {
            Beyond::DropInNoise
        } else if plan.advance() > 1e-3 {
            Beyond::SampledTooSlowly
        } else if plan.hum_share() > 2e-4 {
            Beyond::HumTooFast
        } else if noise > 3e-4 * (plan.rate_hz / 1000.0).sqrt() {
            Beyond::Noisy
        } else {
            Beyond::Nothing
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    Within,
    Low,
    High,
    Early,
    NotFound,
}

/// What became of one pull.
#[derive(Debug, Clone, Copy)]
pub struct Case {
    pub beyond: Beyond,
    pub fate: Fate,
    pub rate_hz: f64,
    pub drop: f64,
    /// relative
    pub error: f64,
    pub again: bool,
}

fn detect(pull: &Pull, dice: &mut Dice) -> (Option<Click>, bool) {
    let plan = &pull.plan;
    let target = Torque::from_newton_metres(plan.target);
    let mut settings = Settings::new(Mode::FirstPeak, target, plan.rate_hz);
    settings.mains_hz = Some(plan.mains_hz);
    let mut detector = Detector::new(settings).unwrap();
    let (mut events, mut first, mut again) = (Vec::new(), None, false);
    for (time_s, torque) in pull.samples(dice) {
        let torque = Torque::from_newton_metres(torque);
        detector.push(Sample { time_s, torque }, &mut events);
        for event in events.drain(..) {
            match event {
                Event::FirstPeak(click) => first = Some(click),
                Event::Again(_) => again = true,
                _ => {}
            }
        }
    }
    (first, again)
}

fn case(pull: &Pull, dice: &mut Dice) -> Case {
    let plan = &pull.plan;
    let (click, again) = detect(pull, dice);
    let error = click.map_or(f64::NAN, |click| {
        (click.peak.torque.newton_metres() - plan.zero - pull.first_peak) / pull.first_peak
    });
    let fate = match click {
        None => Fate::NotFound,
        Some(click) if click.peak.time_s < pull.click_s - EARLY_S => Fate::Early,
        Some(_) if error.abs() <= WITHIN => Fate::Within,
        Some(_) if error < 0.0 => Fate::Low,
        Some(_) => Fate::High,
    };
    let drop = plan.release.map_or(0.0, |release| release.drop);
    Case { beyond: Beyond::of(plan), fate, rate_hz: plan.rate_hz, drop, error, again }
}

/// The same on both cores, in the order of the seeds.
fn each<T: Send>(seeds: std::ops::Range<u64>, work: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let middle = seeds.start.midpoint(seeds.end);
    std::thread::scope(|scope| {
        let late = scope.spawn(|| (middle..seeds.end).map(&work).collect::<Vec<T>>());
        let mut all: Vec<T> = (seeds.start..middle).map(&work).collect();
        all.extend(late.join().unwrap());
        all
    })
}

#[test]
fn ten_thousand_setting_wrenches() {
    let whole = each(CLICKING..CLICKING + PULLS, |seed| {
        let mut dice = Dice::new(seed);
        let pull = Pull::of(Plan::draw(&mut dice, true));
        case(&pull, &mut dice)
    });
    // as many again within the domain of the claim
    let claimed = each(CLICKING + PULLS..CLICKING + 2 * PULLS, |seed| {
        let mut dice = Dice::new(seed);
        let mut plan = Plan::draw(&mut dice, true);
        while Beyond::of(&plan) != Beyond::Nothing {
            plan = Plan::draw(&mut dice, true);
        }
        let pull = Pull::of(plan);
        case(&pull, &mut dice)
    });
    let false_clicks = each(INDICATING..INDICATING + PULLS, |seed| {
        let mut dice = Dice::new(seed);
        let pull = Pull::of(Plan::draw(&mut dice, false));
        detect(&pull, &mut dice).0.map(|click| (seed, pull.plan, click))
    });
    let false_clicks: Vec<_> = false_clicks.into_iter().flatten().collect();
    page::check(&page::first_peak(&whole, &claimed, false_clicks.len()));

    let within = claimed.iter().filter(|case| case.fate == Fate::Within).count();
    assert!(within as f64 >= 0.999 * claimed.len() as f64, "{within} of {}", claimed.len());
    assert!(claimed.iter().all(|case| case.beyond == Beyond::Nothing && !case.again));
    assert!(false_clicks.is_empty(), "{false_clicks:#?}");
}
