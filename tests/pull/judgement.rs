//! What is said of a pull: pulls drawn by hand, one fault each.

use leverarm_metrology::quantity::Torque;
use leverarm_pull::detector::{
    Detector, Event, Flaw, LoadingEnd, LoadingWindow, Mode, Pull, Sense, Settings, SettingsError,
};
use leverarm_pull::trace::Sample;

use crate::dice::Dice;

const RATE: f64 = 1000.0;

fn nm(value: f64) -> Torque {
    Torque::from_newton_metres(value)
}

fn settings(mode: Mode) -> Settings {
    let mut settings = Settings::new(mode, nm(100.0), RATE);
    settings.window = Some(LoadingWindow { seconds_min: 0.5, seconds_max: Some(4.0) });
    settings.torque_limit = Some(nm(125.0));
    settings.sensor_range = Some(nm(150.0));
    settings
}

/// Corners of time and torque, joined by straight lines, with a noise of 0.02 N·m.
fn line(corners: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut dice = Dice::new(7);
    let end = corners.last().unwrap().0;
    let torque = |t: f64| {
        let pair = corners.windows(2).find(|pair| t < pair[1].0).unwrap();
        pair[0].1 + (pair[1].1 - pair[0].1) * (t - pair[0].0) / (pair[1].0 - pair[0].0)
    };
    (0..(end * RATE) as usize)
        .map(|i| i as f64 / RATE)
        .map(|t| (t, torque(t) + 0.02 * dice.normal()))
        .collect()
}

fn events(settings: Settings, samples: &[(f64, f64)]) -> Vec<Event> {
    let mut detector = Detector::new(settings).unwrap();
    let mut events = Vec::new();
    for (time_s, torque) in samples {
        detector.push(Sample { time_s: *time_s, torque: nm(*torque) }, &mut events);
    }
    detector.finish(&mut events);
    events
}

/// The pull that these events end with.
fn done(events: Vec<Event>) -> Pull {
    let of = |event| if let Event::Done(pull) = event { Some(*pull) } else { None };
    events.into_iter().filter_map(of).next_back().unwrap()
}

fn pulls(settings: Settings, corners: &[(f64, f64)]) -> Vec<Pull> {
    let of = |event| if let Event::Done(pull) = event { Some(*pull) } else { None };
    events(settings, &line(corners)).into_iter().filter_map(of).collect()
}

fn pull(mode: Mode, corners: &[(f64, f64)]) -> Pull {
    let mut pulls = pulls(settings(mode), corners);
    assert_eq!(pulls.len(), 1);
    pulls.remove(0)
}

/// 0.6 s of zero, 80 % within half a second, 100 N·m after two more; release at 98 by 6.
const GOOD: [(f64, f64); 8] =
    [(0.0, 0.0), (0.6, 0.0), (1.1, 80.0), (2.9, 98.0), (2.905, 92.0), (3.05, 92.0), (3.2, 0.0), (4.2, 0.0)];

#[test]
fn a_good_pull_of_a_setting_wrench() {
    let pull = pull(Mode::FirstPeak, &GOOD);
    assert_eq!(pull.flaws, []);
    let click = pull.click.unwrap();
    assert!((click.peak.torque.newton_metres() - 98.0).abs() < 0.05, "{click:?}");
    assert!((click.peak.time_s - 2.9).abs() < 0.002);
    assert!((click.drop.newton_metres() - 6.0).abs() < 0.2);
    let loading = pull.loading.unwrap();
    assert_eq!(loading.end, LoadingEnd::FirstPeak);
    assert!((loading.seconds - 1.8).abs() < 0.01);
    assert_eq!(pull.reading(), Some(click.peak.torque));
    assert!((pull.zero_before.unwrap().noise.newton_metres() - 0.02).abs() < 0.003);
    assert!((pull.start_s - 0.63).abs() < 0.01 && (pull.end_s - 3.195).abs() < 0.01);
}

#[test]
fn the_order_of_events() {
    let names: Vec<&str> = events(settings(Mode::FirstPeak), &line(&GOOD))
        .iter()
        .map(|event| match event {
            Event::Ready(_) => "ready",
            Event::Started(_) => "started",
            Event::Slowly(_) => "slowly",
            Event::FirstPeak(_) => "first peak",
            Event::Again(_) => "again",
            Event::Tracked(_) => "tracked",
            Event::Ended { .. } => "ended",
            Event::Done(_) => "done",
        })
        .collect();
    assert_eq!(names, ["ready", "started", "slowly", "first peak", "ended", "done", "ready"]);
}

#[test]
fn the_other_direction_reads_the_same_with_the_other_sign() {
    let forward = pull(Mode::FirstPeak, &GOOD);
    let mut settings = settings(Mode::FirstPeak);
    settings.sense = Sense::Negative;
    let samples: Vec<(f64, f64)> = line(&GOOD).iter().map(|(t, torque)| (*t, -torque)).collect();
    let back = events(settings, &samples);
    let back = done(back);
    let (a, b) = (forward.reading().unwrap().newton_metres(), back.reading().unwrap().newton_metres());
    assert!((a + b).abs() < 1e-9, "{a} {b}");
    assert_eq!(back.flaws, []);
}

#[test]
fn pulled_on_past_the_release() {
    let mut corners = GOOD.to_vec();
    corners.splice(6..7, [(3.6, 118.0), (3.8, 0.0)]);
    let pull = pull(Mode::FirstPeak, &corners);
    assert!((pull.reading().unwrap().newton_metres() - 98.0).abs() < 0.05);
    assert!((pull.peak.torque.newton_metres() - 118.0).abs() < 0.2, "{:?}", pull.peak);
    assert_eq!(pull.flaws, []);
}

fn has(pull: &Pull, test: impl Fn(&Flaw) -> bool) {
    assert!(pull.flaws.len() == 1 && test(&pull.flaws[0]), "{:?}", pull.flaws);
}

#[test]
fn too_fast_and_too_slow() {
    let fast = [
        (0.0, 0.0),
        (0.6, 0.0),
        (1.1, 80.0),
        (1.4, 98.0),
        (1.405, 92.0),
        (1.6, 92.0),
        (1.8, 0.0),
        (2.6, 0.0),
    ];
    has(
        &pull(Mode::FirstPeak, &fast),
        |flaw| matches!(flaw, Flaw::TooFast { seconds, .. } if *seconds < 0.32),
    );
    let slow = [
        (0.0, 0.0),
        (0.6, 0.0),
        (1.1, 80.0),
        (6.1, 98.0),
        (6.105, 92.0),
        (6.3, 92.0),
        (6.5, 0.0),
        (7.3, 0.0),
    ];
    has(
        &pull(Mode::FirstPeak, &slow),
        |flaw| matches!(flaw, Flaw::TooSlow { seconds, .. } if *seconds > 4.9),
    );
}

#[test]
fn jerky() {
    let mut corners = GOOD.to_vec();
    corners.splice(3..3, [(1.8, 87.0), (1.95, 83.0), (2.1, 88.0)]);
    let wanted = |flaw: &Flaw| matches!(flaw, Flaw::Jerky { reversals: 1, largest } if (largest.newton_metres() - 4.0).abs() < 0.3);
    has(&pull(Mode::FirstPeak, &corners), wanted);
}

#[test]
fn released_twice() {
    let mut corners = GOOD.to_vec();
    corners.splice(6..6, [(3.5, 99.0), (3.505, 93.0), (3.7, 93.0)]);
    for corner in &mut corners[9..] {
        corner.0 += 0.8;
    }
    has(
        &pull(Mode::FirstPeak, &corners),
        |flaw| matches!(flaw, Flaw::DoubleClick { second, .. } if (second.torque.newton_metres() - 99.0).abs() < 0.2),
    );
}

const INDICATING: [(f64, f64); 6] =
    [(0.0, 0.0), (0.6, 0.0), (1.1, 80.0), (3.1, 100.0), (3.4, 0.0), (4.2, 0.0)];

#[test]
fn never_released() {
    has(&pull(Mode::FirstPeak, &INDICATING), |flaw| matches!(flaw, Flaw::NeverReleased));
}

#[test]
fn peak_of_an_indicating_wrench() {
    let mut corners = INDICATING.to_vec();
    corners.splice(4..4, [(3.9, 100.0)]);
    for corner in &mut corners[5..] {
        corner.0 += 0.9;
    }
    let held = pull(Mode::Peak, &corners);
    assert_eq!(held.flaws, []);
    assert!((held.reading().unwrap().newton_metres() - 100.0).abs() < 0.06, "{:?}", held.peak);
    let tracked = pull(Mode::Track, &corners).tracked.unwrap();
    assert!((tracked.torque.newton_metres() - 100.0).abs() < 0.1);
    assert!(tracked.to_s - tracked.from_s > 0.7);
}

#[test]
fn a_key_takes_the_value_in_between() {
    let mut detector = Detector::new(settings(Mode::Track)).unwrap();
    let (mut events, mut corners) = (Vec::new(), INDICATING.to_vec());
    corners.splice(2..5, [(1.1, 60.0), (3.1, 60.0), (3.4, 0.0)]);
    for (time_s, torque) in line(&corners) {
        if (time_s - 2.0).abs() < 1e-9 {
            detector.press();
        }
        if (time_s - 2.5).abs() < 1e-9 {
            detector.release(&mut events);
        }
        detector.push(Sample { time_s, torque: nm(torque) }, &mut events);
    }
    detector.finish(&mut events);
    let pull = done(events);
    assert!((pull.reading().unwrap().newton_metres() - 60.0).abs() < 0.01);
    has(&pull, |flaw| matches!(flaw, Flaw::TargetNotReached { .. }));
}

#[test]
fn beyond_limit_and_range() {
    let mut over = INDICATING.to_vec();
    over.splice(3..5, [(4.1, 120.0), (4.6, 131.0), (4.9, 0.0)]);
    over[6].0 = 5.6;
    has(&pull(Mode::Peak, &over), |flaw| matches!(flaw, Flaw::Overshoot { .. }));
    let mut clipped = settings(Mode::Peak);
    clipped.sensor_range = Some(nm(110.0));
    has(&pulls(clipped, &over_to(110.0))[0], |flaw| matches!(flaw, Flaw::Clipped { .. }));
}

fn over_to(end: f64) -> Vec<(f64, f64)> {
    vec![(0.0, 0.0), (0.6, 0.0), (1.1, 80.0), (4.1, end), (4.3, end), (4.6, 0.0), (5.4, 0.0)]
}

#[test]
fn zeros() {
    let mut drifted = INDICATING.to_vec();
    drifted[4].1 = 0.5;
    drifted[5].1 = 0.5;
    has(&pull(Mode::Peak, &drifted), |flaw| matches!(flaw, Flaw::ZeroDrifted { .. }));
    drifted[4].1 = 2.0;
    drifted[5].1 = 2.0;
    has(&pull(Mode::Peak, &drifted), |flaw| matches!(flaw, Flaw::NoReturnToZero { .. }));
    has(&pull(Mode::Peak, &INDICATING[..4]), |flaw| matches!(flaw, Flaw::NoReturnToZero { .. }));
    has(&pull(Mode::Peak, &[(0.0, 20.0), (0.4, 80.0), (2.4, 100.0), (2.7, 0.0), (3.5, 0.0)]), |flaw| {
        matches!(flaw, Flaw::NoZeroBefore { .. })
    });
}

#[test]
fn pulls_in_a_row_and_samples_that_are_none() {
    let mut corners = GOOD.to_vec();
    corners.extend(GOOD[1..].iter().map(|(t, torque)| (t + 4.2, *torque)));
    assert_eq!(pulls(settings(Mode::FirstPeak), &corners).len(), 2);

    let mut samples = line(&GOOD);
    samples.insert(1500, (1.5, f64::NAN));
    samples.insert(1600, (0.2, 50.0));
    let all = events(settings(Mode::FirstPeak), &samples);
    let pull = done(all);
    assert_eq!(pull.flaws, []);
    samples.drain(1700..1800);
    let all = events(settings(Mode::FirstPeak), &samples);
    let pull = done(all);
    has(&pull, |flaw| matches!(flaw, Flaw::Gap { seconds } if (*seconds - 0.1).abs() < 0.003));
}

#[test]
fn settings_that_are_none() {
    let none = |settings| Detector::new(settings).err();
    assert!(matches!(none(Settings::new(Mode::Peak, nm(0.0), 100.0)), Some(SettingsError::Target { .. })));
    assert!(matches!(none(Settings::new(Mode::Peak, nm(1.0), 5.0)), Some(SettingsError::SampleRate { .. })));
    assert_eq!(Settings::new(Mode::Peak, nm(-5.0), 100.0).sense, Sense::Negative);
}

/// 1.5 % of the target in a second, from zero to the target and back.
#[test]
fn a_slow_pull_is_a_pull() {
    for share in [0.005, 0.015, 0.05] {
        let rise_s = 1.0 / share;
        let corners =
            [(0.0, 0.3), (2.0, 0.3), (2.0 + rise_s, 100.3), (2.4 + rise_s, 0.3), (4.0 + rise_s, 0.3)];
        let mut settings = settings(Mode::Peak);
        settings.window = None;
        let pulls = pulls(settings, &corners);
        assert_eq!(pulls.len(), 1, "{share}");
        let pull = &pulls[0];
        assert_eq!(pull.flaws, [], "{share}");
        let zero = pull.zero_before.unwrap().torque.newton_metres();
        assert!((zero - 0.3).abs() < 0.05, "{zero} at {share}");
        assert!((pull.reading().unwrap().newton_metres() - 100.3).abs() < 0.06);
    }
}

/// Six hours at 50 Hz while the zero drifts by 15 % of the target, three times that at which a pull
/// begins: no pull, and the one after it is read from the zero that is there then.
#[test]
fn a_bench_that_stands_for_hours() {
    let (hours_s, rate_hz, drift) = (6.0 * 3600.0, 50.0, 15.0 / 21_600.0);
    let mut settings = Settings::new(Mode::Peak, nm(100.0), rate_hz);
    settings.window = None;
    let mut detector = Detector::new(settings).unwrap();
    let (mut events, mut dice) = (Vec::new(), Dice::new(11));
    let hand = |t: f64| match t - hours_s {
        t if t < 0.0 => 0.0,
        t if t < 2.5 => 40.0 * t,
        t if t < 2.8 => 100.0 - (t - 2.5) / 0.3 * 100.0,
        _ => 0.0,
    };
    for i in 0..((hours_s + 4.0) * rate_hz) as usize {
        let time_s = i as f64 / rate_hz;
        let torque = nm(hand(time_s) + drift * time_s + 0.02 * dice.normal());
        detector.push(Sample { time_s, torque }, &mut events);
    }
    detector.finish(&mut events);
    assert!(events.len() < 10, "{events:?}");
    let pull = done(events);
    assert_eq!(pull.flaws, []);
    assert!((pull.zero_before.unwrap().torque.newton_metres() - 15.0).abs() < 0.02);
    assert!((pull.reading().unwrap().newton_metres() - 115.0).abs() < 0.9);
}

/// A wrench hung on the square is a new zero, once it hangs still.
#[test]
fn a_zero_that_steps_is_a_new_zero() {
    let corners =
        [(0.0, 0.0), (1.0, 0.0), (1.1, 3.0), (4.0, 3.0), (4.5, 83.0), (6.5, 103.0), (6.8, 3.0), (8.0, 3.0)];
    let pull = pull(Mode::Peak, &corners);
    assert_eq!(pull.flaws, []);
    assert!((pull.zero_before.unwrap().torque.newton_metres() - 3.0).abs() < 0.02);
}
