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
const LARGE: u64 = 960_000_000;
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
pub fn each<T: Send>(seeds: std::ops::Range<u64>, work: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let middle = seeds.start.midpoint(seeds.end);
    std::thread::scope(|scope| {
        let late = scope.spawn(|| (middle..seeds.end).map(&work).collect::<Vec<T>>());
        let mut all: Vec<T> = (seeds.start..middle).map(&work).collect();
        all.extend(late.join().unwrap());
        all
    })
}

/// A pull within the domain of the claim.
fn claimed(seed: u64) -> Case {
    let mut dice = Dice::new(seed);
    let mut plan = Plan::draw(&mut dice, true);
    while Beyond::of(&plan) != Beyond::Nothing {
        plan = Plan::draw(&mut dice, true);
    }
    case(&Pull::of(plan), &mut dice)
}

/// The larger proof: minutes, so it is asked for. `LEVERARM_SEEDS` draws other pulls.
#[test]
#[ignore = "takes minutes: cargo test --release -p leverarm-pull -- --ignored --nocapture"]
fn a_hundred_thousand_setting_wrenches() {
    let asked = std::env::var("LEVERARM_SEEDS").ok().and_then(|text| text.parse().ok());
    let first: u64 = asked.unwrap_or(LARGE);
    let cases = each(first..first + 10 * PULLS, claimed);
    let misses: Vec<_> = cases.iter().zip(first..).filter(|(case, _)| case.fate != Fate::Within).collect();
    for (case, seed) in &misses {
        println!("{seed}: {case:?}");
    }
    let (low, high) = clopper_pearson(misses.len() as u64, 10 * PULLS);
    println!(
        "{} misses of {}; 95 %: {:.4} % to {:.4} %",
        misses.len(),
        cases.len(),
        low * 100.0,
        high * 100.0
    );
    assert!(high < 1e-3, "the claim does not hold with 95 % confidence");
}

/// The interval of 95 % for a share of which k of n were seen (C. J. Clopper, E. S. Pearson,
/// Biometrika 26, 1934, 404-413).
fn clopper_pearson(k: u64, n: u64) -> (f64, f64) {
    // the probability of at most k
    let at_most = |k: u64, p: f64| {
        let mut log = n as f64 * (-p).ln_1p();
        let mut sum = log.exp();
        for i in 1..=k {
            log += ((n - i + 1) as f64 / i as f64).ln() + p.ln() - (-p).ln_1p();
            sum += log.exp();
        }
        sum
    };
    let solve = |k: u64, share: f64| {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if at_most(k, middle) > share { low = middle } else { high = middle }
        }
        high
    };
    (if k == 0 { 0.0 } else { solve(k - 1, 0.975) }, solve(k, 0.025))
}

/// No miss in n: the upper end is 1 − 0.025^(1/n), in closed form; 1 of 10: the table of the paper
/// gives 0.003 and 0.445.
#[test]
fn clopper_and_pearson() {
    let (none, high) = clopper_pearson(0, 100);
    assert!(none.abs() < 1e-12 && (high - (1.0 - 0.025_f64.powf(0.01))).abs() < 1e-9);
    let (low, high) = clopper_pearson(1, 10);
    assert!((low - 0.0025).abs() < 1e-4 && (high - 0.4450).abs() < 1e-4, "{low} {high}");
}

#[test]
fn ten_thousand_setting_wrenches() {
    let whole = each(CLICKING..CLICKING + PULLS, |seed| {
        let mut dice = Dice::new(seed);
        let pull = Pull::of(Plan::draw(&mut dice, true));
        case(&pull, &mut dice)
    });
    // as many again within the domain of the claim
    let claimed = each(CLICKING + PULLS..CLICKING + 2 * PULLS, claimed);
    let false_clicks = each(INDICATING..INDICATING + PULLS, |seed| {
        let mut dice = Dice::new(seed);
        let pull = Pull::of(Plan::draw(&mut dice, false));
        detect(&pull, &mut dice).0.map(|click| (seed, pull.plan, click))
    });
    let false_clicks: Vec<_> = false_clicks.into_iter().flatten().collect();
    page::check("first-peak.md", &page::first_peak(&whole, &claimed, false_clicks.len()));

    let within = claimed.iter().filter(|case| case.fate == Fate::Within).count();
    assert!(within as f64 >= 0.999 * claimed.len() as f64, "{within} of {}", claimed.len());
    assert!(claimed.iter().all(|case| case.beyond == Beyond::Nothing && !case.again));
    assert!(false_clicks.is_empty(), "{false_clicks:#?}");
}
