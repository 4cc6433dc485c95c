//! Transducer and display.

use leverarm_metrology::quantity::TorqueUnit;
use leverarm_rig::{Command, Display, Faults, Rig, Settings, Tool};

use super::{ideal, nm, pull};

/// The display shows whole steps, in every unit, and about twenty to fifty thousand of them.
#[test]
fn it_shows_whole_steps() {
    for unit in [TorqueUnit::NewtonMetre, TorqueUnit::PoundForceFoot, TorqueUnit::OunceForceInch] {
        let display = Display::for_range(nm(125.0), unit);
        let steps = nm(125.0).newton_metres() / display.resolution().newton_metres();
        assert!((19_000.0..=50_001.0).contains(&steps), "{unit} {steps}");
        let settings = Settings { display, ..Settings::new(Tool::click_wrench(nm(100.0)), 3) };
        for sample in pull(&mut Rig::new(settings).unwrap(), 100.0).1 {
            assert_eq!(sample.digits % i64::from(display.step), 0);
            let shown = sample.digits as f64 / 10_f64.powi(i32::from(display.decimals));
            assert!((shown * unit.newton_metres() - sample.torque_nm).abs() < 1e-9);
        }
    }
}

/// A lag of τ: the display shows a ramp later by τ (first-order response; any textbook), and the
/// highest value that it shows is lower than the truth by less than slope·τ.
#[test]
fn a_slow_transducer_shows_the_ramp_later() {
    let mut settings = ideal(1, 1000);
    settings.operator = super::calm(settings.operator);
    let mut slow = settings;
    slow.transducer.tau_s = 0.01;
    let ((truth, quick), (_, slow)) =
        (pull(&mut Rig::new(settings).unwrap(), 80.0), pull(&mut Rig::new(slow).unwrap(), 80.0));
    let release_s = truth.first_release.unwrap().time_s;
    let at = ((release_s - 0.3) * 1000.0) as usize;
    for i in at..at + 200 {
        assert!((slow[i + 10].torque_nm - quick[i].torque_nm).abs() < 2e-3, "{i}");
    }
}

#[test]
fn beyond_the_range_it_shows_no_value() {
    let mut settings = ideal(1, 1000);
    settings.transducer.range = nm(80.0);
    let (_, samples) = pull(&mut Rig::new(settings).unwrap(), 100.0);
    assert!(samples.iter().any(|sample| sample.is_overload));
    assert!(samples.iter().all(|sample| sample.is_overload == (sample.torque_nm.abs() > 88.0 + 1e-6)));
    assert!(samples.iter().any(|sample| sample.is_moving) && !samples[samples.len() - 1].is_moving);
}

/// The torque itself does not care what gets lost, and the truth says how much was.
#[test]
fn losses_change_nothing_but_what_is_seen() {
    let faults = Faults { dropout_share: 0.01, dropout_longest: 3, losses_per_hour: 1800.0, loss_s: 0.3 };
    let (whole, lossy) = (ideal(5, 1000), Settings { faults, ..ideal(5, 1000) });
    let ((_, whole), (truth, lossy)) =
        (pull(&mut Rig::new(whole).unwrap(), 50.0), pull(&mut Rig::new(lossy).unwrap(), 50.0));
    for (a, b) in whole.iter().zip(&lossy) {
        assert_eq!(a.digits, b.digits);
        assert!(!a.is_dropped && (b.is_dropped || !b.is_cut));
    }
    let end = lossy.iter().filter(|s| s.time_s < truth.end_s && s.is_dropped).count();
    assert!(truth.dropped.abs_diff(end as u64) <= 3 && truth.dropped > 0, "{} {end}", truth.dropped);
    assert_eq!(truth.is_cut, lossy.iter().any(|s| s.time_s < truth.end_s && s.is_cut));
}

/// Zero and gain drift with time and temperature as stated: linear.
#[test]
fn zero_drifts() {
    let mut settings = ideal(1, 20);
    (settings.transducer.zero_percent_per_h, settings.transducer.zero_percent_per_k) = (0.1, 0.05);
    (settings.room.temperature_c, settings.room.kelvin_per_h) = (22.0, 1.0);
    let mut rig = Rig::new(settings).unwrap();
    let mut last = rig.next_sample();
    assert!((last.torque_nm - 200.0 * 0.0005 * 2.0).abs() < 2e-6);
    for _ in 0..72_000 {
        last = rig.next_sample();
    }
    assert!((last.torque_nm - 200.0 * (0.0005 * 3.0 + 0.001)).abs() < 1e-5, "{last:?}");
    assert!((rig.temperature_c() - 23.0).abs() < 1e-4);
    rig.command(Command::Idle).unwrap();
}

#[test]
fn set_to_zero_it_shows_none_and_a_pull_is_left_alone() {
    let mut settings = Settings::new(Tool::click_wrench(nm(200.0)), 11);
    settings.transducer.zero = nm(0.5);
    let mut rig = Rig::new(settings).unwrap();
    let mean = |rig: &mut Rig| (0..1000).map(|_| rig.next_sample().torque_nm).sum::<f64>() / 1000.0;
    assert!((mean(&mut rig) - 0.5).abs() < 0.02);
    rig.command(Command::SetZero).unwrap();
    assert!(mean(&mut rig).abs() < 0.02);
    rig.command(Command::Pull { target: nm(100.0), at_s: 0.0 }).unwrap();
    while rig.next_sample().torque_nm < 50.0 {}
    rig.command(Command::SetZero).unwrap();
    while rig.is_pulling() {
        rig.next_sample();
    }
    let _ = mean(&mut rig);
    assert!(mean(&mut rig).abs() < 0.02);
}
